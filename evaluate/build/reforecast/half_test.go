package reforecast_test

import (
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"wreckoner/evaluate/build/reforecast"
)

// A share of a job that is paid, and of its hours that are done; below 0: drawn anew for each job.
type progress struct {
	name         string
	paid, worked float64
}

// halfway is what the ledger has of a car when half of its spots have been looked at: of these, every other job is
// finished and the others have got so far.
func halfway(car *truth, r *rand.Rand, so progress) (p reforecast.Progress) {
	spots := r.Perm(len(car.jobs))
	for k, at := range spots[:len(spots)/2] {
		j := car.jobs[at]
		if j.Found > 0 && k%2 == 1 {
			paid, worked := so.paid, so.worked
			if paid < 0 {
				paid, worked = r.Float64(), r.Float64()
			}
			j.Done, j.Spend, j.Hours = false, paid*j.Spend, worked*j.Hours
			j.HasSpend, j.HasHours = j.Spend > 0, j.Hours > 0
		}
		p.Jobs = append(p.Jobs, j)
	}
	return p
}

// Cars drawn from the frozen model, with half of their jobs begun: the 80 % interval holds the repair in 76 to 84 of a
// hundred, whether the open jobs are half paid and half done, or anywhere between nothing and all.
func TestHalfPaidAndHalfDone(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates hundreds of builds")
	}
	const builds, points = 400, 256
	workshop := starter(t)
	l := lot(t, "nose s2 s3? c3 m1?60; front-near c2 m2?; cabin r2?30")
	f := forecaster(t, workshop, points, l)
	cars := truths(t, workshop, l, 512)
	for _, so := range []progress{{"half paid, half done", 0.5, 0.5}, {"anywhere", -1, -1}} {
		where := make([]int, builds) // -1 below, 0 inside, 1 above
		var wait sync.WaitGroup
		for worker := range runtime.GOMAXPROCS(0) {
			wait.Go(func() {
				for i := worker; i < builds; i += runtime.GOMAXPROCS(0) {
					r, err := f.Forecast(halfway(&cars[i], rand.New(rand.NewPCG(7, uint64(i))), so), reforecast.Offers{})
					if err != nil {
						t.Error(err)
						return
					}
					switch x := cars[i].total; {
					case x < r.Now.Repair.P10:
						where[i] = -1
					case x > r.Now.Repair.P90:
						where[i] = 1
					}
				}
			})
		}
		wait.Wait()
		inside, below := 0.0, 0.0
		for _, w := range where {
			switch w {
			case 0:
				inside++
			case -1:
				below++
			}
		}
		t.Logf("%s: %.1f %% inside, %.1f %% below", so.name, 100*inside/builds, 100*below/builds)
		if share := inside / builds; share < 0.76 || share > 0.84 {
			t.Errorf("%s: the 80 %% interval holds %.1f %%", so.name, 100*share)
		}
	}
}
