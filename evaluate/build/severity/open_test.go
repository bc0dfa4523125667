package severity_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/evaluate/build/severity"
)

// Source: the definition, integrated over the factor and the habit by Gauss-Legendre rules of
// gonum's integrate/quad; over Jeffreys' prior with habit = sin(a)^2, a even from 0 to pi/2.
func TestOpenScoresAgainstQuadrature(t *testing.T) {
	for name, e := range map[string]severity.Evidence{
		"one": {Link: 0.25, Open: []severity.Open{{Floor: 0.4, Odds: 3}}},
		"a share that is known, and one that may be worse": {Link: 0.4, Scores: []float64{1.2}, Open: []severity.Open{
			{Floor: -1, Odds: 2, Share: 0.25}, {Floor: 2, Odds: 4, WorseChance: 0.3, WorseFloor: -1.5}}},
		"many": {Link: 0.25, HiddenLink: 0.25, Looks: []severity.Look{{0.2, true}}, Open: []severity.Open{
			{Floor: -2, Odds: 3}, {Floor: -1.5, Odds: 2}, {Floor: -2.5, Odds: 5}, {Floor: 0.1, Odds: 1.4}}},
		"no link": {Open: []severity.Open{{Floor: 0.3, Odds: 2}, {Floor: -0.5, Odds: 3}}},
	} {
		alone := severity.Evidence{Link: e.Link, Scores: e.Scores, HiddenLink: e.HiddenLink, Looks: e.Looks}
		prior := must(t, alone)
		likelihood := func(z, habit float64) float64 {
			l := prior.Density(z)
			given := distuv.Normal{Mu: math.Sqrt(e.Link) * z, Sigma: math.Sqrt(1 - e.Link)}
			for _, o := range e.Open {
				w := habit
				if o.Share > 0 {
					w = o.Share
				}
				l *= (1-o.WorseChance)*(w*o.Odds*given.Prob(o.Floor)+(1-w)*above(given, o.Floor)) +
					o.WorseChance*above(given, o.WorseFloor)
			}
			return l
		}
		moment := func(f func(z, habit float64) float64, low, high float64) float64 {
			return quad.Fixed(func(z float64) float64 {
				return quad.Fixed(func(a float64) float64 {
					w := math.Pow(math.Sin(a), 2)
					return f(z, w) * likelihood(z, w)
				}, 0, math.Pi/2, 24, quad.Legendre{}, 1)
			}, low, high, 300, quad.Legendre{}, 1)
		}
		total := moment(func(z, w float64) float64 { return 1 }, -8, 8)
		f := must(t, e)
		near(t, name+": mean", f.Mean(), moment(func(z, w float64) float64 { return z }, -8, 8)/total, 1e-5)
		for _, p := range []float64{0.1, 0.5, 0.9} {
			q := f.Quantile(p)
			near(t, name+": chance below the quantile", moment(func(z, w float64) float64 { return 1 }, -8, q)/total, p, 1e-4)
			sum, of := 0.0, 0.0
			for _, a := range legendre(24) {
				w := math.Pow(math.Sin(a.at), 2)
				sum += a.weight * w * likelihood(q, w)
				of += a.weight * likelihood(q, w)
			}
			near(t, name+": habit", f.HabitAt(q), sum/of, 2e-3)
			mean := 0.0
			for i := range 4000 {
				mean += f.Habit(q, (float64(i)+0.5)/4000) / 4000
			}
			near(t, name+": mean of drawn habits", mean, f.HabitAt(q), 1e-3)
		}
	}
}

type node struct{ at, weight float64 }

// legendre returns the rule from 0 to pi/2.
func legendre(n int) []node {
	x, w := make([]float64, n), make([]float64, n)
	quad.Legendre{}.FixedLocations(x, w, 0, math.Pi/2)
	out := make([]node, n)
	for i := range out {
		out[i] = node{x[i], w[i]}
	}
	return out
}

// A score that is open is its floor as often as it should be, above that it is the truncated
// normal, and it rises with its rank.
func TestScoreOpen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		link, z := rapid.Float64Range(0, 0.9).Draw(t, "link"), rapid.Float64Range(-3, 3).Draw(t, "z")
		floor, odds := rapid.Float64Range(-3, 3.5).Draw(t, "floor"), rapid.Float64Range(0, 20).Draw(t, "odds")
		habit := rapid.Float64Range(0.01, 0.99).Draw(t, "habit")
		given := distuv.Normal{Mu: math.Sqrt(link) * z, Sigma: math.Sqrt(1 - link)}
		just, more := habit*odds*given.Prob(floor), (1-habit)*above(given, floor)
		all := just / (just + more)
		near(t, "chance of the floor", severity.AllShare(link, z, floor, odds, habit), all, 1e-9)
		last := floor
		for p := 0.005; p < 1; p += 0.01 {
			u := severity.ScoreOpen(link, z, floor, odds, habit, p)
			if u < last {
				t.Fatalf("%v after %v", u, last)
			}
			if last = u; u > floor {
				near(t, "chance above", (1-all)*above(given, u)/above(given, floor), 1-p, 1e-6)
			}
		}
	})
}

func TestBadOpenScores(t *testing.T) {
	for _, test := range []struct {
		o    severity.Open
		want string
	}{
		{severity.Open{Floor: 40}, "open score 1: floors are 40 and 0; scores lie between -38 and 38"},
		{severity.Open{Odds: -1}, "open score 1: odds are -1; they are at least 0"},
		{severity.Open{Share: 1.5}, "open score 1: share is 1.5; shares lie between 0 and 1"},
		{severity.Open{WorseChance: 2}, "open score 1: chance of worse is 2; chances lie between 0 and 1"},
	} {
		if _, err := severity.New(severity.Evidence{Open: []severity.Open{test.o}}); err == nil || err.Error() != test.want {
			t.Errorf("got %v, want %s", err, test.want)
		}
	}
}

// above is the chance of lying above x, with its digits however far out.
func above(n distuv.Normal, x float64) float64 { return phi.CDF((n.Mu - x) / n.Sigma) }
