package reforecast_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/stats"
)

// Whatever else the ledger has, paying more for an open job, or working more on it, never raises what that job is still
// to cost. (What the other jobs are still to cost may rise, as one job that runs dear speaks for the others.)
func TestPayingMoreNeverRaisesTheRestOfAJob(t *testing.T) {
	if testing.Short() {
		t.Skip("makes hundreds of forecasts")
	}
	workshop := starter(t)
	f := forecaster(t, workshop, 128, lot(t, "nose s2 s3? c3 m1?60; front-near c2 m2?; cabin r2?70; tail c3 m2"))
	var spots []damage.Spot
	for _, c := range f.Case() {
		if len(spots) == 0 || spots[len(spots)-1] != c.Spot {
			spots = append(spots, c.Spot)
		}
	}
	r := rand.New(rand.NewPCG(1, 2))
	shares := []float64{0, 0.1, 0.5, 0.8, 1, 1.2, 2, 4}
	for range 24 {
		var jobs []reforecast.Job
		for _, spot := range spots {
			here := f.Case().AtSpot(spot)
			c := here[r.IntN(len(here))]
			row := workshop.Costs.Rows()[c.Row]
			if r.IntN(2) == 0 && row.Spend.Mid > 0 && row.Hours.Mid > 0 {
				jobs = append(jobs, reforecast.Job{Spot: spot, Found: c.Grade, Done: r.IntN(2) == 0, HasSpend: true,
					HasHours: true, Spend: shares[r.IntN(len(shares))] * row.Spend.Mid,
					Hours: shares[r.IntN(len(shares))] * row.Hours.Mid})
			}
		}
		neverRaised(t, f, jobs, &jobs[r.IntN(len(jobs))], r.IntN(2) == 0)
	}
}

// neverRaised lets one of the jobs cost ever more, in hours or in money.
func neverRaised(t *testing.T, f *reforecast.Forecaster, jobs []reforecast.Job, j *reforecast.Job, worked bool) {
	row := f.Shop().Costs.Rows()[rowOf(f, damage.Item{Spot: j.Spot, Grade: j.Found})]
	j.Done = false
	last := math.Inf(1)
	for _, share := range []float64{0, 0.4, 0.8, 1, 1.25, 1.6, 2.5, 5} {
		if worked {
			j.Hours = share * row.Hours.Mid
		} else {
			j.Spend = share * row.Spend.Mid
		}
		r, err := f.Forecast(reforecast.Progress{Jobs: jobs}, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		toCome := toComeAt(r, j.Spot)
		if toCome > last*1.002+0.5 {
			t.Errorf("%s, hours %v: %.2f of its row, and %.2f to come, %.2f before: %+v", j.Spot, worked, share, toCome, last,
				jobs)
		}
		last = toCome
	}
}

func rowOf(f *reforecast.Forecaster, i damage.Item) int {
	n, _ := f.Shop().Costs.RowOf(i)
	return n
}

// toComeAt returns what the job at a spot is still to cost on average.
func toComeAt(r *reforecast.Forecast, spot damage.Spot) float64 {
	for _, line := range r.Jobs {
		if line.Spot == spot {
			return line.ToCome.Mean
		}
	}
	return 0
}

// An open job that is paid what such jobs cost is likelier to be all paid than one of which half of that is paid; if
// six jobs are, nearly for sure: this car's jobs are bought whole.
func TestOpenJobsTellTheHabit(t *testing.T) {
	workshop := starter(t)
	f := forecaster(t, workshop, 512, lot(t, "nose s2 c3; front-near c2 m2; cabin c2; tail c3 m2 e2"))
	paid := func(share float64, jobs int) (all float64) {
		var p reforecast.Progress
		for _, c := range f.Case() {
			spent := workshop.Costs.Rows()[c.Row].Spend.Mid
			if c.Grade == lotGrade(f, c.Spot) && len(p.Jobs) < jobs && spent > 0 {
				p.Jobs = append(p.Jobs, reforecast.Job{Spot: c.Spot, Found: c.Grade, Absent: c.Grade + 1, HasSpend: true,
					Spend: share * spent})
			}
		}
		if len(p.Jobs) < jobs {
			t.Fatalf("%d jobs", len(p.Jobs))
		}
		r, err := f.Forecast(p, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range r.Jobs {
			if line.Spot == p.Jobs[0].Spot {
				return line.Paid
			}
		}
		return 0
	}
	one, six := paid(1, 1), paid(1, 6)
	half, sixHalf := paid(0.5, 1), paid(0.5, 6)
	if !(max(half, sixHalf) < one-0.3 && one < six-0.1 && six > 0.85) {
		t.Errorf("chance that the first job is all paid: %.3f and %.3f, with six so %.3f and %.3f", half, one, sixHalf, six)
	}
}

// lotGrade returns the grade seen at a spot, 0 for none.
func lotGrade(f *reforecast.Forecaster, spot damage.Spot) damage.Grade {
	for _, m := range f.Lot().Code.Marks() {
		if m.Spot == spot && m.State == damage.Seen {
			return m.Grade
		}
	}
	return 0
}

// An open job that has cost far more than usual makes the others dearer, and the notices say so; one paid about what it
// should cost may well be all paid for, and they say that. Neither is said of jobs that are hardly begun.
func TestNoticesOfOpenJobs(t *testing.T) {
	workshop := starter(t)
	f := forecaster(t, workshop, 512, lot(t, "nose s2 c3; front-near c2; tail c3"))
	nose := at(damage.Nose, damage.Cosmetic)
	row := workshop.Costs.Rows()[rowOf(f, damage.Item{Spot: nose, Grade: 3})]
	const together, all = "jobs on one car tend to run dear together", "may well be all paid for: nose c ("
	rest := map[float64]float64{}
	for _, tt := range []struct {
		share         float64
		together, all bool
	}{{0.2, false, false}, {1, false, true}, {3, true, true}} {
		r, err := f.Forecast(reforecast.Progress{Jobs: []reforecast.Job{{Spot: nose, Found: 3, HasSpend: true,
			Spend: tt.share * row.Spend.Mid, HasHours: true, Hours: 0.1 * row.Hours.Mid}}}, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		said := strings.Join(r.Notices, "\n")
		if strings.Contains(said, together) != tt.together || strings.Contains(said, all) != tt.all {
			t.Errorf("%.1f of its spend paid: %s", tt.share, said)
		}
		rest[tt.share] = toComeAt(r, at(damage.Tail, damage.Cosmetic))
	}
	if !(rest[3] > 1.05*rest[1] && rest[1] < 1.1*rest[0.2]) {
		t.Errorf("the tail is still to cost %v", rest)
	}
}

// Worked on paper, as the open job of TestOneFactorNormalEndToEnd, by its hours: the work of a begun job is over with a
// chance of 1/4, against odds of ln(1 / 0.3) times the density of the log of its hours.
func TestOpenHoursOnPaper(t *testing.T) {
	const rho, c = 0.36, 10 / stats.Z90
	workshop := paperShop(t, []costs.Row{{Item: item(damage.Nose, damage.Cosmetic, 2), Spend: stats.Fixed(100),
		Hours: skewed(t, 40, 50, 60)}}, nil)
	workshop.SeverityLink = rho
	f := forecaster(t, workshop, 1<<14, lot(t, "nose c2"))
	r, err := f.Forecast(reforecast.Progress{Jobs: []reforecast.Job{{Spot: at(damage.Nose, damage.Cosmetic), HasHours: true,
		Hours: 50 + c}}}, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	mills := math.Exp(-0.5) / math.Sqrt(2*math.Pi) / (math.Erfc(1/math.Sqrt2) / 2)
	ratio := 0.25 / 0.75 * math.Log(1/0.3) * (50 + c) / c * mills
	all := ratio / (1 + ratio)
	near(t, "factor", r.Severity.Mean, math.Sqrt(rho)*(all+(1-all)*mills), 1e-7)
	near(t, "hours to come", r.HoursToCome.Mean, (1-all)*c*(mills-1), 0.01)
}
