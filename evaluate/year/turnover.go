package year

import (
	"math"
	"time"
)

func sqrt(x float64) float64 { return math.Sqrt(x) }

// A Turnover is what was sold in twelve months, month by month, beside the threshold of
// VAT. Sale prices count in full. It is no tax advice.
type Turnover struct {
	// Months are the last twelve, the first first.
	Months []Rolling
	// Passed is the first day of the first month, of all that there are, at whose end the
	// twelve months before came to more than the threshold; zero where none did.
	Passed time.Time
	// Since is the first month with a sale: twelve months that begin before it are not
	// whole.
	Since time.Time
}

// A Rolling is the turnover of one month, and of the twelve that end with it.
type Rolling struct {
	First         time.Time
	Month, Twelve float64
}

// turnover adds up all cars that were sold by the last day, whatever the first is.
func turnover(cars []Car, s Settings) (t Turnover) {
	byMonth := map[time.Time]float64{}
	for i := range cars {
		if c := &cars[i]; !c.Sold.IsZero() && !c.Sold.After(s.To) {
			m := firstOf(c.Sold)
			byMonth[m] += c.Sale
			if t.Since.IsZero() || m.Before(t.Since) {
				t.Since = m
			}
		}
	}
	if t.Since.IsZero() {
		return t
	}
	last := firstOf(s.To)
	for m := t.Since; !m.After(last); m = m.AddDate(0, 1, 0) {
		r := Rolling{First: m, Month: byMonth[m]}
		for back := range 12 {
			r.Twelve += byMonth[m.AddDate(0, -back, 0)]
		}
		if s.Threshold > 0 && r.Twelve > s.Threshold && t.Passed.IsZero() {
			t.Passed = m
		}
		if m.After(last.AddDate(-1, 0, 0)) {
			t.Months = append(t.Months, r)
		}
	}
	return t
}
