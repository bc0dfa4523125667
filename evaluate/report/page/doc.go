// Package page writes results as web pages to take to a sale: a sale with its bid
// sheet, a probe, a review, a reforecast.
//
// A page is one file. It asks for nothing, in a browser that keeps to its content
// security policy cannot, and says everything without its script, which only sorts
// and filters. What a list says reaches the page through html/template, cleaned of
// control and direction characters.
package page
