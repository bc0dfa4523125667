package reforecast_test

import (
	"fmt"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/reforecast"
)

// An open job whose parts are all paid never needs more than before the last part was
// bought, and one that was worked on not more hours, however long the tails of its row
// are and whatever had been worked or paid before, whether or not a worse grade may still come
// out at the same place.
func TestBuyingTheLastPartNeverRaisesWhatIsToCome(t *testing.T) {
	workshop := starter(t)
	l := lot(t, "nose s2 s3? c3 m1; front-near c2 c3?60 m2; cabin c2; tail c3 m2 e2; roof s4")
	f := forecaster(t, workshop, 256, l)
	shares, paidSoFar := []float64{0, 0.2, 0.9}, []float64{0.1, 0.4, 0.7, 1, 1.3, 1.8, 2.5, 4}
	if testing.Short() {
		shares, paidSoFar = shares[1:2], []float64{0.4, 1}
	}
	for _, c := range f.Case() {
		if c.Kind != costs.Seen {
			continue
		}
		row := workshop.Costs.Rows()[c.Row]
		toCome := func(spend, hours float64) (money, time float64) {
			r, err := f.Forecast(reforecast.Progress{Jobs: []reforecast.Job{{
				Spot: c.Spot, Spend: spend * row.Spend.Mid, HasSpend: true, Hours: hours * row.Hours.Mid, HasHours: true,
			}}}, reforecast.Offers{})
			if err != nil {
				t.Fatal(err)
			}
			for _, line := range r.Jobs {
				if line.Spot == c.Spot {
					return line.ToCome.Mean, r.HoursToCome.Mean
				}
			}
			t.Fatalf("no line for %s", c.Spot)
			return 0, 0
		}
		for _, share := range shares {
			lastSpend, lastHours := -1.0, -1.0
			for _, paid := range paidSoFar {
				// The other jobs' forecast may learn from it; this job's must not rise.
				money, _ := toCome(paid, share)
				if lastSpend >= 0 && money > lastSpend*1.0005+0.5 {
					t.Errorf("%s: %.1f of its spend paid, %.1f of its hours done: %.2f to come, %.2f before", c.Item, paid, share,
						money, lastSpend)
				}
				lastSpend = money
				worked, _ := toCome(share, paid)
				if lastHours >= 0 && worked > lastHours*1.0005+0.5 {
					t.Errorf("%s: %.1f of its hours done, %.1f of its spend paid: %.2f to come, %.2f before", c.Item, paid, share,
						worked, lastHours)
				}
				lastHours = worked
			}
		}
	}
}

// Buying a dear part takes its price off what is to come, and says nothing of the work
// that is left.
func TestOpenJobByItsOwnEvidence(t *testing.T) {
	r := func(spend, hours float64) float64 {
		workshop := starter(t)
		f := forecaster(t, workshop, 1024, lot(t, "nose c3"))
		out, err := f.Forecast(reforecast.Progress{Jobs: []reforecast.Job{{
			Spot: at(damage.Nose, damage.Cosmetic), Spend: spend, HasSpend: spend > 0, Hours: hours, HasHours: hours > 0,
		}}}, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range out.Jobs {
			if line.Spot == at(damage.Nose, damage.Cosmetic) {
				return line.ToCome.Mean
			}
		}
		t.Fatal(fmt.Errorf("no line"))
		return 0
	}
	before, after := r(100, 3), r(900, 3)
	if after >= before {
		t.Errorf("%.2f to come after a dear part, %.2f before", after, before)
	}
}
