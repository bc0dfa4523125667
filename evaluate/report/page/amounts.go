package page

import (
	"cmp"
	"math"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
)

// figures writes amounts of one currency.
type figures struct {
	format   draw.Format
	currency string
}

func figuresIn(currency string) figures { return figures{draw.Money(currency), currency} }

// about writes an amount in pounds to the nearest ten: the digits below are noise.
func (f figures) about(v float64) string { return f.format.Value(money.Tens(v)) }

// span writes an interval of amounts.
func (f figures) span(low, high float64) string { return f.about(low) + " to " + f.about(high) }

// exact writes an amount without its pence where they are zero.
func (f figures) exact(p money.Pence) string {
	format := f.format
	if p%100 != 0 {
		format.Decimals = 2
	}
	return format.Value(p.Pounds())
}

// pence and pennies write an amount with its pence.
func (f figures) pence(pounds float64) string {
	format := f.format
	format.Decimals = 2
	return format.Value(pounds)
}

func (f figures) pennies(p money.Pence) string { return f.pence(p.Pounds()) }

// number writes an amount in pounds as the JSON of the same result has it.
func number(v float64) string {
	return money.Plain(math.Round(v*100)/100 + 0)
}

// share writes a share likewise.
func share(v float64) string { return money.Plain(math.Round(v*1e6)/1e6 + 0) }

// either returns the first text, cleaned, or the second where it is blank.
func either(text, or string) string { return cmp.Or(strings.TrimSpace(report.Clean(text)), or) }

// percent writes a share.
func percent(share float64) string { return strings.Replace(report.Percent(share), "-", "−", 1) }
