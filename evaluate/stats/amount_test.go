package stats_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	montanaflynn "github.com/montanaflynn/stats"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/evaluate/stats"
)

func must(t testing.TB, low, mid, high float64, shape stats.Shape) stats.Amount {
	t.Helper()
	a, err := stats.New(low, mid, high, shape)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestThreePointsArePublishedDistributions(t *testing.T) {
	for _, tt := range []struct {
		source         string
		low, mid, high float64
		shape          stats.Shape
		mean, sd       float64
		quantiles      map[float64]float64
		tolerance      float64
	}{
		{
			source: "lognormal through P10 = 100 and P90 = 400, mid = sqrt(low high): mean and sd in closed form, P80 " +
				"computed with R 4.2.2",
			low: 100, mid: 200, high: 400,
			mean: 231.501227, sd: 134.951606,
			quantiles: map[float64]float64{0.1: 100, 0.5: 200, 0.8: 315.298988, 0.9: 400},
			tolerance: 1e-5,
		},
		{
			source: "PERT 5/8/14: mean 8.5 and exact beta variance 2.75 (not the rule of thumb's 2.25), quantiles computed " +
				"with scipy 1.10.1",
			low: 5, mid: 8, high: 14, shape: stats.PERT,
			mean: 8.5, sd: math.Sqrt(2.75),
			quantiles: map[float64]float64{0.1: 6.377249, 0.5: 8.382313, 0.9: 10.800110},
			tolerance: 1e-5,
		},
		{
			source: "triangle 200/350/900: textbook mean and sd, quantiles computed with scipy 1.10.1",
			low:    200, mid: 350, high: 900, shape: stats.Triangle,
			mean: 483.3333333, sd: 150.46225,
			quantiles: map[float64]float64{0.1: 302.4695, 0.5: 461.2518, 0.9: 703.7858},
			tolerance: 1e-4,
		},
		{
			source: "normal with mean 1000 and sd 100, in the middle of the g-distributions; quantile table values of the " +
				"normal",
			low: 1000 - 128.15515655446004, mid: 1000, high: 1000 + 128.15515655446004,
			mean: 1000, sd: 100,
			quantiles: map[float64]float64{0.975: 1195.9964, 0.95: 1164.4854, 0.8: 1084.1621},
			tolerance: 1e-3,
		},
	} {
		a := must(t, tt.low, tt.mid, tt.high, tt.shape)
		near(t, tt.source+": mean", a.Mean(), tt.mean, tt.tolerance)
		near(t, tt.source+": sd", a.SD(), tt.sd, tt.tolerance)
		for p, want := range tt.quantiles {
			near(t, tt.source+": quantile", a.Quantile(p), want, tt.tolerance)
		}
	}
}

// Tukey's g, closed form of the mean: A + B (exp(g g / 2) - 1) / g, for the
// variable A + B (exp(g z) - 1) / g, where nothing is cut at zero.
func TestTukeysMean(t *testing.T) {
	for _, x := range [][3]float64{{800, 1000, 1500}, {50500, 51000, 51200}, {900, 1000, 1101}} {
		a := must(t, x[0], x[1], x[2], stats.Skewed)
		g := math.Log((x[2]-x[1])/(x[1]-x[0])) / stats.Z90
		b := (x[1] - x[0]) * g / -math.Expm1(-g*stats.Z90)
		near(t, "mean", a.Mean(), x[1]+b*math.Expm1(g*g/2)/g, 0.02)
	}
}

// gonum's own triangle and beta are the reference for ours.
func TestAgainstGonum(t *testing.T) {
	triangle, pert := must(t, 200, 350, 900, stats.Triangle), must(t, 200, 350, 900, stats.PERT)
	wantT := distuv.NewTriangle(200, 900, 350, nil)
	wantB := distuv.Beta{Alpha: 1 + 4*150.0/700, Beta: 1 + 4*550.0/700}
	near(t, "triangle mean", triangle.Mean(), wantT.Mean(), 1e-9)
	near(t, "triangle sd", triangle.SD(), wantT.StdDev(), 1e-9)
	near(t, "pert mean", pert.Mean(), 200+700*wantB.Mean(), 1e-9)
	near(t, "pert sd", pert.SD(), 700*wantB.StdDev(), 1e-9)
	for p := 0.01; p < 1; p += 0.01 {
		near(t, "triangle quantile", triangle.Quantile(p), wantT.Quantile(p), 1e-6)
		near(t, "pert quantile", pert.Quantile(p), 200+700*wantB.Quantile(p), 1e-6)
	}
}

func TestMomentsAreTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 1000).Draw(t, "low")
		down := rapid.Float64Range(1, 1000).Draw(t, "down")
		ratio := rapid.Float64Range(1/stats.FaultRatio, stats.FaultRatio).Draw(t, "ratio")
		a, err := stats.New(low, low+down, low+down+down*ratio, stats.Skewed)
		if err != nil {
			t.Skip(err)
		}
		moment := func(k float64) float64 {
			f := func(z float64) float64 { return math.Pow(a.At(z), k) * distuv.UnitNormal.Prob(z) }
			sum := 0.0
			for z := -12.0; z < 24; z++ {
				sum += quad.Fixed(f, z, z+1, 40, nil, 0)
			}
			return sum
		}
		mean := moment(1)
		sd := math.Sqrt(moment(2) - mean*mean)
		if math.Abs(a.Mean()-mean) > 1e-3*mean || math.Abs(a.SD()-sd) > 5e-3*sd {
			t.Fatalf("%+v: mean %v sd %v, by integration %v %v", a, a.Mean(), a.SD(), mean, sd)
		}
	})
}

func TestPointsAreTheQuantiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 1e5).Draw(t, "low")
		mid := low + rapid.Float64Range(0.01, 1e5).Draw(t, "down")
		high := mid + rapid.Float64Range(0.01, 1e5).Draw(t, "up")
		a, err := stats.New(low, mid, high, stats.Skewed)
		if err != nil {
			t.Skip(err)
		}
		for _, x := range [][2]float64{{-stats.Z90, low}, {0, mid}, {stats.Z90, high}} {
			if got := a.At(x[0]); math.Abs(got-x[1]) > 1e-6*(1+x[1]) {
				t.Fatalf("%+v at %v: %v, want %v", a, x[0], got, x[1])
			}
		}
		z := rapid.Float64Range(-4, 4).Draw(t, "z")
		if a.At(z) > a.At(z+0.1) || a.At(z) < 0 {
			t.Fatalf("%+v falls at %v", a, z)
		}
	})
}

func TestBadPoints(t *testing.T) {
	for _, x := range [][3]float64{
		{-1, 2, 3}, {3, 2, 4}, {1, 5, 4}, {2, 2, 4}, {2, 4, 4}, {math.NaN(), 1, 2}, {1, 2, math.Inf(1)},
		{100, 110, 240}, {100, 240, 250},
	} {
		if a, err := stats.New(x[0], x[1], x[2], stats.Skewed); err == nil {
			t.Errorf("%v passes as %+v", x, a)
		}
	}
	for _, shape := range []stats.Shape{stats.PERT, stats.Triangle} {
		if _, err := stats.New(2, 2, 4, shape); err != nil {
			t.Errorf("%v with its mode at the minimum: %v", shape, err)
		}
	}
}

// R: quantile(c(15, 20, 35, 40, 50), c(.05, .3, .4, .5, 1)), type 7, computed
// with R 4.2.2; the same by numpy.percentile's default.
func TestQuantileIsType7(t *testing.T) {
	values := []float64{15, 20, 35, 40, 50}
	for p, want := range map[float64]float64{0: 15, 0.05: 16, 0.3: 23, 0.4: 29, 0.5: 35, 1: 50} {
		near(t, "quantile", stats.Sorted(values, p), want, 1e-12)
		if p > 0 {
			other, err := montanaflynn.Percentile(values, 100*p)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "stats.Percentile", other, want, 1e-12)
		}
	}
}

func TestSelectorIsTheSort(t *testing.T) {
	var sel stats.Selector
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(
			rapid.Float64Range(-1e6, 1e6),
			rapid.Just(0.0),
			rapid.Custom(func(t *rapid.T) float64 { return math.Exp(rapid.Float64Range(-20, 30).Draw(t, "log")) }),
		), 1, 3000).Draw(t, "values")
		sorted := slices.Sorted(slices.Values(values))
		ps := []float64{0, 0.1, 0.1, 0.5, 0.8, 0.9, 0.95, 1}
		out := make([]float64, len(ps))
		sel.Quantiles(values, ps, out)
		for i, p := range ps {
			if want := stats.Sorted(sorted, p); out[i] != want {
				t.Fatalf("quantile %v is %v, want %v", p, out[i], want)
			}
		}
		k := rapid.IntRange(0, len(values)-1).Draw(t, "k")
		if got := sel.Rank(values, k); got != sorted[k] {
			t.Fatalf("rank %d is %v, want %v", k, got, sorted[k])
		}
		again := make([]float64, len(ps))
		got, want := sel.QuantilesAndWorst(values, ps, again, 0.1), shortfall(sorted, 0.1)
		if !slices.Equal(again, out) {
			t.Fatalf("quantiles %v and %v", again, out)
		}
		if math.Abs(got-want) > 1e-9*(1+math.Abs(want)+math.Abs(sorted[len(sorted)-1])) {
			t.Fatalf("worst tenth %v, want %v", got, want)
		}
	})
}

// shortfall is the definition: the mean of the worst share of sorted values, a value that
// the share cuts counting in part (Acerbi and Tasche 2002, Journal of Banking & Finance
// 26, equation 3.2).
func shortfall(values []float64, share float64) float64 {
	n := share * float64(len(values))
	sum := 0.0
	for i, x := range values {
		sum += x * max(0, min(1, n-float64(i)))
	}
	return sum / n
}

// The worst tenth of a standard normal is at -phi(z) / 0.1 on average, z its tenth
// (closed form).
func TestShortfallOfTheNormal(t *testing.T) {
	values := make([]float64, 100000)
	for i := range values {
		values[i] = distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(len(values)))
	}
	var sel stats.Selector
	var q [1]float64
	got := sel.QuantilesAndWorst(values, []float64{0.5}, q[:], 0.1)
	near(t, "shortfall", got, -distuv.UnitNormal.Prob(stats.Z90)/0.1, 1e-4)
}

func BenchmarkSelector(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	values := make([]float64, 4096)
	for i := range values {
		values[i] = 2000 * math.Exp(0.5*r.NormFloat64())
	}
	var sel stats.Selector
	ps, out := []float64{0.1, 0.5, 0.8, 0.9, 0.95}, make([]float64, 5)
	for b.Loop() {
		sel.Quantiles(values, ps, out)
	}
}

func TestScoreIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(500, 1e4).Draw(t, "low")
		mid := low + rapid.Float64Range(10, 500).Draw(t, "down")
		high := mid + (mid-low)*rapid.Float64Range(0.2, 5).Draw(t, "ratio")
		a, err := stats.New(low, mid, high, stats.Shape(rapid.IntRange(0, 2).Draw(t, "shape")))
		if err != nil {
			t.Skip(err)
		}
		z := rapid.Float64Range(-2, 2).Draw(t, "z")
		if x := a.At(z); x > 0 {
			if got := a.Score(x); math.Abs(got-z) > 1e-5 {
				t.Fatalf("%+v at %v is %v, whose score is %v", a, z, x, got)
			}
		}
	})
	if a := must(t, 800, 1000, 1500, stats.Skewed); !math.IsInf(a.Score(0), -1) {
		t.Errorf("below what the amount can be: %v", a.Score(0))
	}
	if a := must(t, 500, 1000, 1200, stats.Skewed); !math.IsInf(a.Score(5000), 1) {
		t.Errorf("above what the amount can be: %v", a.Score(5000))
	}
}
