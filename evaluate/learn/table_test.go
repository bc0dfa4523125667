package learn_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/learn"
)

// The table of wrong worlds is printed by
//
//	go test ./evaluate/learn -run WrongWorlds -shops 24 -v -timeout 1h
var (
	shopCount = flag.Int("shops", 0, "simulated workshops a world, for the table of wrong worlds")
	onlyWorld = flag.String("worlds", "", "names of worlds, with commas between; all where blank")
	policies  = flag.String("policies", "averaged", "what to write: averaged, plain, named, shrunk, with commas between")
	priorAll  = flag.Float64("together", 0, "for choosing: prior weight of everything shared at once")
	firstSeed = flag.Uint64("seed", 500, "seed of the first workshop")
)

var policyNames = map[string]learn.Policy{"averaged": learn.Averaged, "plain": learn.Plain, "named": learn.NamedOnly, "shrunk": learn.Shrunk, "drifted": learn.Drifted, "evened": learn.Evened, "mixed": learn.Mixed}

var sizes = []int{12, 30, 60}

const simulatedYears = 3.0

// A cell is what one workshop reached after some builds under one policy.
type cell struct {
	score
	class float64 // truth over learned mid of the structural rows, less 1
	named []string
}

func classError(truth, s *shop) float64 {
	sum, n := 0.0, 0.0
	for i, r := range s.row {
		if r.Item.Class.Letter() == "s" {
			sum, n = sum+math.Log(truth.spend[i][1]/s.spend[i][1]), n+1
		}
	}
	return math.Exp(sum/n) - 1
}

// A trial is what a world came to: the score before anything is learned, by workshop, and cells by policy and size.
type trial struct {
	before []score
	cells  map[string]map[int][]cell
}

// runWorld simulates workshops. Those of one seed have the same cars and the same luck in every world; in the world
// "departs" each has its own truth.
func runWorld(t *testing.T, book *shop, lots []*lot, a *arena, world int, shops int, ps []string) *trial {
	now := simulatedYears + 0.25
	today := priced.Add(time.Duration(now*365.25*24) * time.Hour)
	out := &trial{cells: map[string]map[int][]cell{}}
	var which []learn.Policy
	for _, p := range ps {
		out.cells[p] = map[int][]cell{}
		which = append(which, policyNames[p])
	}
	var truth *shop
	var actual [][]float64
	for k := range shops {
		seed := *firstSeed + uint64(k)
		if truth == nil || truths[world].name == "departs" {
			truth = book.copy()
			truths[world].make(truth, seed)
			actual = a.repairs(truth, now)
			out.before = append(out.before, a.score(book, actual, now))
		}
		builds := drawBuilds(t, truth, lots, sizes[len(sizes)-1], simulatedYears, rand.New(rand.NewPCG(seed, 3)))
		for _, n := range sizes {
			var some []learn.Build
			for _, i := range twelfths(len(builds), n) {
				some = append(some, builds[i])
			}
			ls, err := learn.Policies(book.table(), some, book.settings(today), which...)
			if err != nil {
				t.Fatal(err)
			}
			for i, l := range ls {
				s := book.learned(l)
				c := cell{score: a.score(s, actual, now), class: classError(truth, s)}
				for _, v := range l.Named() {
					c.named = append(c.named, v.Cause.String())
				}
				out.cells[ps[i]][n] = append(out.cells[ps[i]][n], c)
			}
		}
	}
	return out
}

func meanSE(x []float64) (m, se float64) {
	for _, v := range x {
		m += v / float64(len(x))
	}
	for _, v := range x {
		se += (v - m) * (v - m)
	}
	return m, math.Sqrt(se / max(1, float64(len(x)-1)) / float64(len(x)))
}

func column[T any](c []T, f func(T) float64) (x []float64) {
	for _, v := range c {
		x = append(x, f(v))
	}
	return x
}

func TestWrongWorlds(t *testing.T) {
	if *shopCount == 0 {
		t.Skip("set -shops to print the table")
	}
	if *priorAll > 0 {
		learn.SetTogether(*priorAll)
	}
	book := starter(t)
	all := lots(t, book)
	a := newArena(all, 1500)
	ps := strings.Split(*policies, ",")
	var honest *trial
	for i, w := range truths {
		if *onlyWorld != "" && w.name != "honest" && !strings.Contains(","+*onlyWorld+",", ","+w.name+",") {
			continue
		}
		r := runWorld(t, book, all, a, i, *shopCount, ps)
		if honest == nil {
			honest = r
		}
		of := func(f func(score) float64) float64 {
			m, _ := meanSE(column(r.before, f))
			return m
		}
		fmt.Printf("%s: before %+.1f %%, cover %.1f, lot %.1f %%, interval score %.3f\n", w.name, 100*of(func(s score) float64 { return s.bias }),
			100*of(func(s score) float64 { return s.cover }), 100*of(func(s score) float64 { return s.lot }), of(func(s score) float64 { return s.interval }))
		for _, p := range ps {
			for _, n := range sizes {
				printCells(w.cause, p, n, r.cells[p][n], honest.cells[p][n])
			}
		}
	}
}

// printCells prints one line: bias as it stands and less the honest workshop's on the same builds, with standard errors.
func printCells(cause, policy string, n int, c, honest []cell) {
	bias := func(x cell) float64 { return 100 * x.bias }
	raw, rawSE := meanSE(column(c, bias))
	left := column(c, bias)
	for i := range left {
		left[i] -= bias(honest[i])
	}
	pair, pairSE := meanSE(left)
	cover, coverSE := meanSE(column(c, func(x cell) float64 { return 100 * x.cover }))
	lot, lotSE := meanSE(column(c, func(x cell) float64 { return 100 * x.lot }))
	is, _ := meanSE(column(c, func(x cell) float64 { return x.interval }))
	class, classSE := meanSE(column(c, func(x cell) float64 { return 100 * x.class }))
	right, wrong, none := 0, 0, 0
	others := map[string]int{}
	for _, x := range c {
		if len(x.named) == 0 {
			none++
		}
		bad := false
		for _, name := range x.named {
			if name == cause {
				right++
			} else {
				bad = true
				others[name]++
			}
		}
		if bad {
			wrong++
		}
	}
	fmt.Printf("  %-8s %2d: bias %+5.1f (%.1f) paired %+5.1f (%.1f) cover %.1f (%.1f) lot %4.1f (%.1f) IS %.3f s %+5.1f (%.1f) | right %d none %d false %d %v\n",
		policy, n, raw, rawSE, pair, pairSE, cover, coverSE, lot, lotSE, is, class, classSE, right, none, wrong, others)
}
