package severity_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/evaluate/build/severity"
)

var phi = distuv.UnitNormal

func near(t interface {
	Helper()
	Errorf(string, ...any)
}, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

func must(t testing.TB, e severity.Evidence) *severity.Factor {
	t.Helper()
	f, err := severity.New(e)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Source: the conjugate normal model with known variance (Gelman et al. 2013,
// Bayesian Data Analysis, section 2.5): precision 1 + n rho / (1 - rho), mean
// sqrt(rho) sum(u) / (1 - rho) over it.
func TestScoresAloneAreTheClosedForm(t *testing.T) {
	for _, test := range []struct {
		link   float64
		scores []float64
	}{
		{0.25, []float64{1.3}},
		{0.25, []float64{-0.4, 2.2, 1.9}},
		{0.9, []float64{3.1, 2.9, 3.3, 3}},
		{0.01, []float64{5, 5, 5}},
		{0.25, make([]float64, 200)},
		{0.5, []float64{30, 31}}, // far outside any fixed grid
	} {
		f := must(t, severity.Evidence{Link: test.link, Scores: test.scores})
		sum := 0.0
		for _, u := range test.scores {
			sum += u
		}
		precision := 1 + float64(len(test.scores))*test.link/(1-test.link)
		mean := math.Sqrt(test.link) * sum / (1 - test.link) / precision
		sd := 1 / math.Sqrt(precision)
		near(t, "mean", f.Mean(), mean, 1e-9)
		near(t, "sd", f.SD(), sd, 1e-9)
		for _, p := range []float64{1e-4, 0.1, 0.5, 0.8, 0.9, 1 - 1e-4} {
			near(t, "quantile", f.Quantile(p), mean+sd*phi.Quantile(p), 1e-5*sd)
		}
		near(t, "density at the mean", f.Density(mean), 1/(sd*math.Sqrt(2*math.Pi)), 1e-5/sd)
	}
}

// Source: the definition, integrated by Gauss-Legendre rules of gonum's
// integrate/quad, which share nothing with the grid.
func TestProbitAgainstQuadrature(t *testing.T) {
	for name, e := range map[string]severity.Evidence{
		"found":     {HiddenLink: 0.25, Looks: []severity.Look{{0.15, true}}},
		"not found": {HiddenLink: 0.25, Looks: []severity.Look{{0.15, false}, {0.6, false}}},
		"everything": {Link: 0.25, Scores: []float64{1.1, -0.3, 2}, AtLeast: []float64{0.7},
			HiddenLink: 0.4, Looks: []severity.Look{{0.05, true}, {0.3, false}, {0.5, true}, {1, true}, {0, false}}},
		"rare thing": {HiddenLink: 0.9, Looks: []severity.Look{{1e-9, true}, {1e-6, true}}},
	} {
		likelihood := func(z float64) float64 {
			l := phi.Prob(z)
			for _, u := range e.Scores {
				l *= distuv.Normal{Mu: math.Sqrt(e.Link) * z, Sigma: math.Sqrt(1 - e.Link)}.Prob(u)
			}
			for _, u := range e.AtLeast {
				l *= 1 - phi.CDF((u-math.Sqrt(e.Link)*z)/math.Sqrt(1-e.Link))
			}
			for _, k := range e.Looks {
				// P(v > threshold), v normal given z.
				p := 1.0
				if k.Chance < 1 {
					threshold := phi.Quantile(1 - k.Chance)
					p = phi.CDF(-(threshold - math.Sqrt(e.HiddenLink)*z) / math.Sqrt(1-e.HiddenLink))
				}
				if !k.Found {
					p = 1 - p
				}
				l *= p
			}
			return l
		}
		moment := func(f func(z float64) float64, to float64) float64 {
			return quad.Fixed(func(z float64) float64 { return f(z) * likelihood(z) }, -12, to, 400, quad.Legendre{}, 1)
		}
		total := moment(func(float64) float64 { return 1 }, 12)
		mean := moment(func(z float64) float64 { return z }, 12) / total
		variance := moment(func(z float64) float64 { return (z - mean) * (z - mean) }, 12) / total
		f := must(t, e)
		near(t, name+": mean", f.Mean(), mean, 1e-8)
		near(t, name+": sd", f.SD(), math.Sqrt(variance), 1e-8)
		for _, p := range []float64{0.001, 0.1, 0.5, 0.9, 0.999} {
			below := moment(func(float64) float64 { return 1 }, f.Quantile(p)) / total
			near(t, name+": chance below the quantile", below, p, 1e-5)
		}
	}
}

// Source: one probit observation alone, E[Z | v > c] = sqrt(rho) phi(c) / (1 - Phi(c))
// by the tower rule and the mean of the truncated normal (Johnson, Kotz and
// Balakrishnan 1994, Continuous Univariate Distributions, section 13.10.1).
func TestOneOccurrenceIsTheMillsRatio(t *testing.T) {
	for _, chance := range []float64{0.02, 0.3, 0.9} {
		c := phi.Quantile(1 - chance)
		for _, rho := range []float64{0.1, 0.25, 0.8} {
			found := must(t, severity.Evidence{HiddenLink: rho, Looks: []severity.Look{{chance, true}}})
			clear := must(t, severity.Evidence{HiddenLink: rho, Looks: []severity.Look{{chance, false}}})
			near(t, "found", found.Mean(), math.Sqrt(rho)*phi.Prob(c)/chance, 1e-8)
			near(t, "not found", clear.Mean(), -math.Sqrt(rho)*phi.Prob(c)/(1-chance), 1e-8)
			// What is believed after looking is, on average, what was believed before.
			near(t, "average", chance*found.Mean()+(1-chance)*clear.Mean(), 0, 1e-8)
		}
	}
}

func TestNoEvidenceIsTheStandardNormalToTheLastBit(t *testing.T) {
	for _, e := range []severity.Evidence{
		{},
		{Link: 0.25, HiddenLink: 0.25},
		{Link: 0, Scores: []float64{2, 3}, Looks: []severity.Look{{0.5, true}}},
		{HiddenLink: 0.3, Looks: []severity.Look{{1, true}, {0, false}}},
	} {
		f := must(t, e)
		for p := 0.001; p < 1; p += 0.001 {
			if got, want := f.Quantile(p), phi.Quantile(p); got != want {
				t.Fatalf("quantile %v: got %v, want %v", p, got, want)
			}
		}
		if f.Mean() != 0 || f.SD() != 1 {
			t.Errorf("got %v, %v, want 0, 1", f.Mean(), f.SD())
		}
	}
}

func TestTheFactorBehaves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		score := rapid.Float64Range(-4, 4)
		e := severity.Evidence{
			Link:       rapid.Float64Range(0, 0.95).Draw(t, "link"),
			Scores:     rapid.SliceOfN(score, 0, 20).Draw(t, "scores"),
			AtLeast:    rapid.SliceOfN(score, 0, 5).Draw(t, "at least"),
			HiddenLink: rapid.Float64Range(0, 0.95).Draw(t, "hidden link"),
		}
		for range rapid.IntRange(0, 10).Draw(t, "looks") {
			e.Looks = append(e.Looks, severity.Look{rapid.Float64Range(0.01, 0.99).Draw(t, "chance"),
				rapid.Bool().Draw(t, "found")})
		}
		f, err := severity.New(e)
		if err != nil {
			t.Fatal(err)
		}
		// Evidence never leaves more doubt than there was: the density is at least
		// as concave as the standard normal (Brascamp and Lieb 1976).
		if !(f.SD() > 0 && f.SD() <= 1+1e-9) {
			t.Fatalf("sd %v", f.SD())
		}
		last, sum, n := math.Inf(-1), 0.0, 2000
		for i := range n {
			q := f.Quantile((float64(i) + 0.5) / float64(n))
			if !(q >= last) {
				t.Fatalf("quantiles fall from %v to %v", last, q)
			}
			last = q
			sum += q
		}
		if mean := sum / float64(n); math.Abs(mean-f.Mean()) > 2e-3*f.SD() {
			t.Fatalf("mean of quantiles %v, mean %v", mean, f.Mean())
		}
		// One more that is found, or that runs dear, raises the factor.
		more := e
		more.Looks = append(append([]severity.Look{}, e.Looks...), severity.Look{0.3, true})
		g, err := severity.New(more)
		if err != nil {
			t.Fatal(err)
		}
		if g.Mean() < f.Mean()-1e-9 {
			t.Fatalf("found one more, and the mean falls from %v to %v", f.Mean(), g.Mean())
		}
	})
}

// Source: the truncated normal of gonum's own distribution function.
func TestScoreAbove(t *testing.T) {
	for _, test := range []struct{ link, z, floor float64 }{{0.25, 0, 1}, {0.25, -2, 2.5}, {0, 0, -9}, {0.6, 1, 0.3}} {
		mean, sd := math.Sqrt(test.link)*test.z, math.Sqrt(1-test.link)
		tail := phi.CDF(-(test.floor - mean) / sd)
		for _, p := range []float64{0.001, 0.1, 0.5, 0.99} {
			u := severity.ScoreAbove(test.link, test.z, test.floor, p)
			near(t, "chance above", phi.CDF(-(u-mean)/sd)/tail, 1-p, 1e-9)
			if u < test.floor {
				t.Errorf("%v is below the floor %v", u, test.floor)
			}
		}
	}
	// Where no double holds the tail: the median excess is about ln 2 / 45.
	near(t, "far out", severity.ScoreAbove(0, 0, 45, 0.5)-45, math.Ln2/45, 1e-4)
}

func TestBadEvidence(t *testing.T) {
	for _, test := range []struct {
		e    severity.Evidence
		want string
	}{
		{severity.Evidence{Link: 1}, "link 1 is not from 0 to below 1"},
		{severity.Evidence{HiddenLink: math.NaN()}, "link NaN is not from 0 to below 1"},
		{severity.Evidence{Scores: []float64{math.Inf(1)}}, "score 1 is +Inf; scores lie between -38 and 38"},
		{severity.Evidence{Looks: []severity.Look{{1.5, true}}}, "chance 1 is 1.5; chances lie between 0 and 1"},
		{severity.Evidence{Looks: []severity.Look{{0, true}}},
			"chance 1 is 0, and yet it was found; give it a chance above 0"},
		{severity.Evidence{Looks: []severity.Look{{1, false}}},
			"chance 1 is 1, and yet it was not found; give it a chance below 1"},
	} {
		if _, err := severity.New(test.e); err == nil || err.Error() != test.want {
			t.Errorf("got %v, want %s", err, test.want)
		}
	}
}

func BenchmarkNew(b *testing.B) {
	e := severity.Evidence{Link: 0.25, Scores: []float64{1, 2, 0.5, -1}, HiddenLink: 0.25,
		Looks: []severity.Look{{0.2, true}, {0.3, false}, {0.1, false}, {0.4, true}}}
	for b.Loop() {
		if _, err := severity.New(e); err != nil {
			b.Fatal(err)
		}
	}
}
