// Package year says which sold cars paid, and how the year went: what an own hour, a bay
// day and a pound earned, what to buy more of, and how far the turnover is from where a
// workshop must register for VAT. METHOD.md, chapter 20. Nothing here is tax advice.
package year
