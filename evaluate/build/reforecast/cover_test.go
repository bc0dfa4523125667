package reforecast_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/build/reforecast"
)

// coverBuilds is how many cars TestCoverByStage simulates, a power of two from 64: 2048 for a table to report.
var coverBuilds = flag.Int("cover-builds", 128, "cars that the cover by stage is simulated with")

// A stage is how far a build has come: the first looked share of the car's jobs, in random order, has been looked at,
// and of those that were there every open'th is not finished, the rest are.
type stage struct {
	name   string
	looked float64
	open   int // 0: all are finished; -1: all but the last
	// paid and worked are shares of the total of an open job; anywhere: drawn anew for each.
	paid, worked float64
	// worse says that no row rules out that something worse is there.
	worse bool
}

const (
	allDone = 0
	butOne  = -1

	anywhere = -1
)

var stages = []stage{
	{"nothing paid", 0, allDone, 0, 0, false},
	{"half looked at, nothing paid", 0.5, 1, 0, 0, false},
	{"half looked at, all done", 0.5, allDone, 0, 0, false},
	{"half looked at: half done, half half paid, half worked", 0.5, 2, 0.5, 0.5, false},
	{"the same, worse not ruled out", 0.5, 2, 0.5, 0.5, true},
	{"half looked at: half done, half paid and worked anywhere", 0.5, 2, anywhere, anywhere, true},
	{"half looked at: half done, half all bought", 0.5, 2, 1, 0, false},
	{"the same, worse not ruled out", 0.5, 2, 1, 0, true},
	{"half looked at: half done, half all bought, all worked", 0.5, 2, 1, 1, false},
	{"half looked at: all half paid, half worked", 0.5, 1, 0.5, 0.5, false},
	{"half looked at: all all bought", 0.5, 1, 1, 0, false},
	{"all looked at: all half paid, half worked", 1, 1, 0.5, 0.5, false},
	{"all looked at: all all bought", 1, 1, 1, 0, false},
	{"all but one done, that not begun", 1, butOne, 0, 0, false},
	{"all but one done, that half paid, half worked", 1, butOne, 0.5, 0.5, false},
	{"all but one done, that all bought", 1, butOne, 1, 0, false},
}

// of is what the ledger has of a car at the stage.
func (s stage) of(car *truth, r *rand.Rand) (p reforecast.Progress) {
	spots := r.Perm(len(car.jobs))
	spots = spots[:int(s.looked*float64(len(spots)))]
	last := 0
	for k, at := range spots {
		if car.jobs[at].Found > 0 {
			last = k
		}
	}
	for k, at := range spots {
		j := car.jobs[at]
		open := s.open > 0 && k%s.open == s.open-1 || s.open == butOne && k == last
		if j.Found > 0 && open {
			paid, worked := s.paid, s.worked
			if paid == anywhere {
				paid, worked = r.Float64(), r.Float64()
			}
			j.Done, j.Spend, j.Hours = false, paid*j.Spend, worked*j.Hours
			j.HasSpend, j.HasHours = j.Spend > 0, j.Hours > 0
			if !s.worse && j.Found < damage.GradeCount {
				j.Absent = j.Found + 1
			}
		}
		p.Jobs = append(p.Jobs, j)
	}
	return p
}

// covered is how the repair of simulated cars lay to the forecast's likely range.
type covered struct{ inside, below, off, width float64 }

// cover forecasts each car at a stage, whose jobs are in an order of its own, the same at every stage.
func cover(t *testing.T, f *reforecast.Forecaster, cars []truth, s stage) covered {
	each := make([]covered, len(cars))
	var wait sync.WaitGroup
	for worker := range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := worker; i < len(cars); i += runtime.GOMAXPROCS(0) {
				r, err := f.Forecast(s.of(&cars[i], rand.New(rand.NewPCG(7, uint64(i)))), reforecast.Offers{})
				if err != nil {
					t.Error(err)
					return
				}
				x, repair := cars[i].total, r.Now.Repair
				switch {
				case x < repair.P10-0.01: // as where the point that the range begins with is the truth
					each[i].below = 1
				case x <= repair.P90+0.01:
					each[i].inside = 1
				}
				each[i].off, each[i].width = x-repair.Mean, repair.P90-repair.P10
			}
		})
	}
	wait.Wait()
	var sum covered
	n := float64(len(cars))
	for _, c := range each {
		sum.inside += c.inside / n
		sum.below += c.below / n
		sum.off += c.off / n
		sum.width += c.width / n
	}
	return sum
}

// Cars drawn from the frozen model, as far as every stage of a build: the 80 % interval holds the repair of 76 to 84 in
// a hundred, give or take two standard errors of so many cars. Where all is bought, the truth is a point that the
// forecast gives a chance to itself, and a range that begins with it holds more.
func TestCoverByStage(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates thousands of builds")
	}
	workshop := starter(t)
	l := lot(t, "nose s2 s3? c3 m1?60; front-near c2 m2?; cabin r2?30")
	f := forecaster(t, workshop, 256, l)
	cars := truths(t, workshop, l, *coverBuilds)
	for _, s := range stages {
		c := cover(t, f, cars, s)
		se := math.Sqrt(c.inside * (1 - c.inside) / float64(len(cars)))
		t.Logf("%-56s %4.1f %% inside (%.1f), %4.1f %% below, mean of truth less forecast %5.0f, width %5.0f", s.name,
			100*c.inside, 100*se, 100*c.below, c.off, c.width)
		if c.inside < 0.76-2*se || c.inside > 0.84+2*se && s.paid < 1 {
			t.Errorf("%s: the 80 %% interval holds %.1f %%", s.name, 100*c.inside)
		}
	}
}
