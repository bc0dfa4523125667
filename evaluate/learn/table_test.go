package learn_test

import (
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"wreckoner/evaluate/learn"
)

// The table of wrong worlds is printed by
//
//	go test ./evaluate/learn -run WrongWorlds -shops 24 -v -timeout 1h
var (
	shopCount  = flag.Int("shops", 0, "simulated workshops a world, for the table of wrong worlds")
	onlyWorld  = flag.String("worlds", "", "names of worlds, with commas between; all where blank")
	policies   = flag.String("policies", "averaged", "what to write: averaged, plain, named, shrunk, with commas between")
	pointCount = flag.Int("points", 400, "points on which a lot is predicted")
	firstSeed  = flag.Uint64("seed", 500, "seed of the first workshop")
)

var policyNames = map[string]learn.Policy{
	"averaged": learn.Averaged, "plain": learn.Plain, "named": learn.NamedOnly, "shrunk": learn.Shrunk,
}

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

func TestWrongWorlds(t *testing.T) {
	if *shopCount == 0 {
		t.Skip("set -shops to print the table")
	}
	book := starter(t)
	all := lots(t, book)
	a := newArena(book, all, *pointCount)
	ps := strings.Split(*policies, ",")
	out := tabwriter.NewWriter(os.Stdout, 0, 0, 1, ' ', 0)
	fmt.Fprintln(out, "world\twritten\tbuilds\tbias %\tless honest\tcover %\tlot's error %\tless before\tinterval score"+
		"\ts rows %")
	confusion := &strings.Builder{}
	fmt.Fprint(confusion, "named at "+fmt.Sprint(sizes)+" builds\tcause\tnone")
	for c := range learn.CauseCount {
		fmt.Fprint(confusion, "\t", learn.Cause(c))
	}
	fmt.Fprintln(confusion, "\tany false")
	var honest *trial
	for i, w := range truths {
		if *onlyWorld != "" && w.name != "honest" && !strings.Contains(","+*onlyWorld+",", ","+w.name+",") {
			continue
		}
		r := runWorld(t, book, all, a, i, *shopCount, ps)
		if honest == nil {
			honest = r
		}
		printBefore(out, w.name, r.before)
		for _, p := range ps {
			for _, n := range sizes {
				printCells(out, w.name, p, n, r.cells[p][n], honest.cells[p][n], r.before)
			}
		}
		printNamed(confusion, w.name, w.cause, r.cells[ps[0]])
		if err := out.Flush(); err != nil {
			t.Fatal(err)
		}
	}
	fmt.Fprintln(out)
	fmt.Fprint(out, confusion.String())
	if err := out.Flush(); err != nil {
		t.Fatal(err)
	}
}

// TestNearTableIsNotMadeWorse: where every row and rule is off by its own standard error, learning from builds
// takes a lot's mean no further from the truth on average, and the interval score no higher than the little that 8
// workshops can tell.
func TestNearTableIsNotMadeWorse(t *testing.T) {
	if testing.Short() {
		t.Skip("eight workshops")
	}
	book := starter(t)
	all := lots(t, book)
	world := slices.IndexFunc(truths, func(w truth) bool { return w.name == "departs" })
	r := runWorld(t, book, all, newArena(book, all, 400), world, 8, []string{"averaged"})
	average := func(s []score, f func(score) float64) (m float64) {
		for _, x := range s {
			m += f(x) / float64(len(s))
		}
		return m
	}
	lot, is := func(s score) float64 { return s.lot }, func(s score) float64 { return s.interval }
	for _, n := range sizes {
		var after []score
		for _, c := range r.cells["averaged"][n] {
			after = append(after, c.score)
		}
		t.Logf("%d builds: a lot's mean is out by %.1f %% (before %.1f), interval score %.3f (before %.3f)",
			n, 100*average(after, lot), 100*average(r.before, lot), average(after, is), average(r.before, is))
		if average(after, lot) > average(r.before, lot)+0.01 || average(after, is) > average(r.before, is)*1.01 {
			t.Errorf("%d builds make a table that is nearly right worse", n)
		}
	}
}

// figure prints a mean and its standard error.
func figure(x []float64) string {
	m, se := meanSE(x)
	return fmt.Sprintf("%.1f (%.1f)", m, se)
}

func percent[T any](all []T, f func(T) float64) (x []float64) {
	for _, v := range all {
		x = append(x, 100*f(v))
	}
	return x
}

func printBefore(out io.Writer, world string, s []score) {
	is := 0.0
	for _, x := range s {
		is += x.interval / float64(len(s))
	}
	bias := percent(s, func(x score) float64 { return x.bias })
	fmt.Fprintf(out, "%s\tbefore\t0\t%s\t\t%s\t%s\t\t%.3f\n", world, figure(bias),
		figure(percent(s, func(x score) float64 { return x.cover })),
		figure(percent(s, func(x score) float64 { return x.lot })), is)
}

// printCells prints one line: bias as it stands and less the honest workshop's on the same builds, with standard
// errors.
func printCells(out io.Writer, world, policy string, n int, c, honest []cell, before []score) {
	gain := make([]float64, len(c))
	for i := range c {
		gain[i] = 100 * (c[i].lot - before[min(i, len(before)-1)].lot)
	}
	bias := percent(c, func(x cell) float64 { return x.bias })
	left := percent(honest, func(x cell) float64 { return x.bias })
	is := 0.0
	for i := range left {
		left[i] = bias[i] - left[i]
		is += c[i].interval / float64(len(c))
	}
	fmt.Fprintf(out, "%s\t%s\t%d\t%s\t%s\t%s\t%s\t%s\t%.3f\t%s\n", world, policy, n, figure(bias), figure(left),
		figure(percent(c, func(x cell) float64 { return x.cover })),
		figure(percent(c, func(x cell) float64 { return x.lot })), figure(gain), is,
		figure(percent(c, func(x cell) float64 { return x.class })))
}

// printNamed prints how many workshops were told of each cause, by size.
func printNamed(out io.Writer, world, cause string, cells map[int][]cell) {
	count := func(f func(cell) bool) string {
		var all []string
		for _, n := range sizes {
			k := 0
			for _, c := range cells[n] {
				if f(c) {
					k++
				}
			}
			all = append(all, fmt.Sprint(k))
		}
		return strings.Join(all, "/")
	}
	fmt.Fprintf(out, "%s\t%s\t%s", world, cause, count(func(c cell) bool { return len(c.named) == 0 }))
	for k := range learn.CauseCount {
		fmt.Fprint(out, "\t", count(func(c cell) bool { return slices.Contains(c.named, learn.Cause(k).String()) }))
	}
	fmt.Fprintln(out, "\t"+count(func(c cell) bool {
		return slices.ContainsFunc(c.named, func(n string) bool { return n != cause })
	}))
}
