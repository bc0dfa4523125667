package reforecast_test

import (
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
)

// truth is how one car turns out: what each spot really costs.
type truth struct {
	jobs  []reforecast.Job
	total float64
}

// truths draws cars from the frozen model itself, by worlds of another seed.
func truths(t testing.TB, workshop *shop.Shop, l *evaluate.Lot, n int) []truth {
	e, err := evaluate.New(workshop, evaluate.Options{Seed: 99, Points: n})
	if err != nil {
		t.Fatal(err)
	}
	p, err := e.Resolve(l)
	if err != nil {
		t.Fatal(err)
	}
	var totals simulate.Totals
	totals.Sum(e.Draws(), p.Case)
	out := make([]truth, n)
	spend, hours := make([]float64, n), make([]float64, n)
	for _, spot := range totals.Spots() {
		totals.Spot(e.Draws(), p.Case, spot, spend, hours)
		grades := make([]damage.Grade, n)
		for i, c := range p.Case {
			if c.Spot != spot {
				continue
			}
			worlds, certain := totals.Occurs(i)
			for w := range grades {
				if certain {
					grades[w] = c.Grade
				}
			}
			for _, w := range worlds {
				grades[w] = c.Grade
			}
		}
		for w := range out {
			j := reforecast.Job{Spot: spot, Done: true, Found: grades[w]}
			if grades[w] == 0 {
				j.Absent = 1
			} else {
				j.Spend, j.Hours, j.HasSpend, j.HasHours = p.Segment.Spend*spend[w], p.Segment.Hours*hours[w], true, true
			}
			out[w].jobs = append(out[w].jobs, j)
			out[w].total += j.Spend + workshop.LabourRate*j.Hours
		}
	}
	return out
}

// threshold is the score up to which an open job is known: one that is no dearer is
// done, of one that is dearer only that is known. So what is seen is a coarser view
// of the truth, picked without knowing the rest of it.
const threshold = -0.2

// opened returns the job as the ledger has it while it is open, or the job itself
// where it is done by then.
func opened(workshop *shop.Shop, l *evaluate.Lot, j reforecast.Job) reforecast.Job {
	if j.Found == 0 {
		return j
	}
	n, _ := workshop.Costs.RowOf(damage.Item{Spot: j.Spot, Grade: j.Found})
	i, _ := workshop.Segment(l.Segment)
	spend := workshop.Segments[i].Spend * workshop.Costs.Rows()[n].Spend.At(threshold)
	if spend >= j.Spend {
		return j
	}
	j.Done, j.Spend, j.Hours = false, spend, workshop.Segments[i].Hours*workshop.Costs.Rows()[n].Hours.At(threshold)
	if j.Found < damage.GradeCount {
		j.Absent = j.Found + 1
	}
	return j
}

// Cars drawn from the frozen model, revealed job by job in an order that has
// nothing to do with how they turn out, every third of them while it is still open:
// the forecast's 80 % interval holds the truth in 80 % of them at every stage, and
// narrows on average.
func TestSimulatedBuilds(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates hundreds of builds")
	}
	const builds, drawn, ended, points = 512, 512, 32, 512
	workshop := starter(t)
	l := lot(t, "nose s2 s3? c3 m1?60; front-near c2 m2?; cabin r2?30")
	f := forecaster(t, workshop, points, l)
	cars := truths(t, workshop, l, drawn)
	spots := len(cars[0].jobs)
	stages := []int{spots / 4, spots / 2, 3 * spots / 4, spots}
	type view struct{ forecast, truth, low, high float64 }
	views := make([][]view, builds)
	start, err := f.Forecast(reforecast.Progress{}, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	var wait sync.WaitGroup
	for worker := range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := worker; i < builds; i += runtime.GOMAXPROCS(0) {
				x := cars[i].total
				views[i] = []view{{start.Now.Repair.Mean, x, start.Now.Repair.P10, start.Now.Repair.P90}}
				order := rand.New(rand.NewPCG(7, uint64(i))).Perm(spots)
				for _, known := range stages {
					if known == spots && i >= ended {
						break // it is the sum of the ledger; a few will do
					}
					var p reforecast.Progress
					for n, k := range order[:known] {
						j := cars[i].jobs[k]
						if n%3 == 2 && known < spots {
							j = opened(workshop, l, j)
						}
						p.Jobs = append(p.Jobs, j)
					}
					r, err := f.Forecast(p, reforecast.Offers{})
					if err != nil {
						t.Error(err)
						return
					}
					views[i] = append(views[i], view{r.Now.Repair.Mean, x, r.Now.Repair.P10, r.Now.Repair.P90})
				}
			}
		})
	}
	wait.Wait()
	if t.Failed() {
		return
	}
	last := 0.0
	for s := range len(stages) {
		inside, below, width, off := 0.0, 0.0, 0.0, 0.0
		for i := range views {
			v := views[i][s]
			switch {
			case v.truth < v.low:
				below++
			case v.truth <= v.high:
				inside++
			}
			width += (v.high - v.low) / builds
			off += (v.truth - v.forecast) / builds
		}
		inside, below = inside/builds, below/builds
		t.Logf("stage %d: %.1f %% within P10 to P90, %.1f %% below, mean width %.0f, mean of truth less forecast %.0f", s,
			100*inside, 100*below, width, off)
		if s > 0 && !(width < last) {
			t.Errorf("stage %d: the interval is %.0f wide, after %.0f", s, width, last)
		}
		last = width
		if inside < 0.76 || inside > 0.84 {
			t.Errorf("stage %d: the 80 %% interval holds %.1f %%", s, 100*inside)
		}
	}
	for i := range ended {
		v := views[i][len(stages)]
		near(t, "all known: P10", v.low, v.truth, 1e-6)
		near(t, "all known: P90", v.high, v.truth, 1e-6)
	}
}
