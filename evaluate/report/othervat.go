package report

import (
	"fmt"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/tabular"
)

// OtherVAT says what the mean margin would be, in pounds, at the same hammer price if the
// shop were not registered for VAT, where it is, or were, where it is not.
func OtherVAT(registered bool, currency string, margin float64) string {
	if registered {
		return fmt.Sprintf("If you were not registered for VAT, the margin would be %s at the same hammer price.",
			about(currency, margin))
	}
	return fmt.Sprintf("If you were registered for VAT, the margin would be %s at the same hammer price.",
		about(currency, margin))
}

// Threshold says what becomes of the margins where the lots worth buying would bring the
// turnover of a shop that is not registered for VAT past the threshold (METHOD.md 12.6).
func (s *Screen) Threshold() string {
	x := &s.Shop.Settings
	if x.VATRegistered || x.Turnover == 0 || x.VATThreshold == 0 {
		return ""
	}
	sales, now, then, n := 0.0, 0.0, 0.0, 0
	for _, r := range s.Results {
		if r.Verdict() == bid.GoAfter {
			sales += r.Resale.Mean
			now += r.Margin.Mean
			then += r.MarginOtherVAT
			n++
		}
	}
	if n == 0 || x.Turnover+sales <= x.VATThreshold {
		return ""
	}
	sum := func(x float64) string { return about(s.Shop.Currency, x) }
	return fmt.Sprintf("With the %s to go after, sold for %s, your turnover of %s would pass the VAT registration "+
		"threshold of %s. "+
		"Together they leave %s as you are, %s if you were registered. Take advice.",
		tabular.Count(n, "lot"), sum(sales), sum(x.Turnover), sum(x.VATThreshold), sum(now), sum(then))
}
