package report

import (
	"fmt"

	"wreckoner/evaluate/bid"
)

// OtherVAT says what the mean margin would be, in pounds, at the same hammer price if the
// shop were not registered for VAT, where it is, or were, where it is not.
func OtherVAT(registered bool, margin float64) string {
	if registered {
		return fmt.Sprintf("If you were not registered for VAT: a margin of %s at the same hammer price.", Pounds(margin))
	}
	return fmt.Sprintf("If you were registered for VAT: a margin of %s at the same hammer price.", Pounds(margin))
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
	return fmt.Sprintf("A turnover of %s and the %s worth buying, at %s, pass the VAT registration threshold of %s: together they leave %s as you are, %s if you were registered. Take advice.",
		Pounds(x.Turnover), count(n, "lot"), Pounds(sales), Pounds(x.VATThreshold), Pounds(now), Pounds(then))
}
