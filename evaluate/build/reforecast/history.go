package reforecast

import (
	"slices"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
)

// A Moment is what was believed of a build on one day.
type Moment struct {
	// Day is zero for the freeze.
	Day time.Time
	// Repair at completion and the margin, in pounds.
	Repair evaluate.Spread
	Margin evaluate.Margin
}

// History returns what was believed at the freeze and on the days on which the
// ledger has rows of jobs or overheads, at most that many moments: the first and the
// last day are always among them. Rows without a date count from the start.
func (f *Forecaster) History(b *build.Build, most int) ([]Moment, error) {
	out := []Moment{{Repair: f.start.Repair, Margin: f.start.Margin}}
	var days []time.Time
	for _, e := range b.Entries {
		if (e.Kind == build.ZoneEntry || e.Kind == build.OverheadEntry || e.Kind == build.SaleEntry) && !e.Date.IsZero() {
			days = append(days, e.Date)
		}
	}
	slices.SortFunc(days, time.Time.Compare)
	days = slices.CompactFunc(days, time.Time.Equal)
	for _, i := range spread(len(days), most-1) {
		progress, _ := Read(b.Until(days[i]), f.shop.LabourRate, days[i])
		now, err := f.Forecast(progress, Offers{})
		if err != nil {
			return nil, err
		}
		out = append(out, Moment{days[i], now.Now.Repair, now.Now.Margin})
	}
	return out, nil
}

// spread picks at most k of n places, evenly, the first and the last among them.
func spread(n, k int) []int {
	var out []int
	for i := range min(n, k) {
		at := i
		if n > k {
			at = n - 1
			if k > 1 {
				at = i * (n - 1) / (k - 1)
			}
		}
		out = append(out, at)
	}
	return out
}
