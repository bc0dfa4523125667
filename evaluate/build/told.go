package build

import (
	"time"

	"wreckoner/evaluate/prices"
)

// Winning is what finished builds, bought with evidence, tell of promised margins.
type Winning struct {
	prices.Told
}

// EnoughBuilds is from how many builds on A, B and r tell anything.
const EnoughBuilds = 20

// WinningOf fits METHOD.md 15.26 to those of the builds that were bought with evidence, by the
// settings of the last; nil where there are none.
func WinningOf(outcomes []*Outcome) (*Winning, error) {
	w := &Winning{}
	var rows []prices.Build
	var last *Frozen
	for _, o := range outcomes {
		e := o.Frozen.Evidence
		if e == nil {
			continue
		}
		last = o.Frozen
		b := prices.Build{Name: o.Build.Name, Predicted: e.Plain, MarginSD: e.MarginSD, RepairSD: e.RepairSD, U: e.U,
			Realised: o.MarginActual.Pounds(), Value: prices.Some(e.Value.Pounds())}
		if e.Tau > 0 {
			b.Tau = prices.Some(e.Tau)
		}
		rows = append(rows, b)
	}
	if last == nil {
		return nil, nil
	}
	m, err := prices.Fit(nil, nil, rows, last.workshop.PriceSettings(time.Time{}))
	if err != nil {
		return nil, err
	}
	w.Told = m.Told()
	return w, nil
}
