package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/stats"
)

// Source: computed with scipy 1.10.1: stats.norm, stats.chi2 and
// stats.combine_pvalues(method="fisher") on the same eight percentiles.
func TestUniformityAgainstScipy(t *testing.T) {
	u, err := stats.NewUniformity([]float64{0.31, 0.02, 0.44, 0.97, 0.58, 0.63, 0.86, 0.71})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", u.Mean, 0.1684595025780617, 1e-9)
	near(t, "ratio", u.Ratio, 1.160117713839136, 1e-9)
	near(t, "bias", u.Bias, 0.6337357100699632, 1e-9)
	near(t, "spread", u.Spread, 0.44763717483187304, 1e-9)
	near(t, "both", u.P, 0.6410954401373071, 1e-9)
	near(t, "Anderson-Darling", u.AndersonDarling, 0.44415929210046556, 1e-12)
}

// The null distribution is exact from one percentile up: P is itself uniform
// where forecasts are honest, within the noise of 20,000 draws.
func TestHonestForecastsAreRejectedAsOftenAsTheyShould(t *testing.T) {
	const draws = 20000
	for _, n := range []int{1, 2, 3, 5, 12, 40} {
		rng := rand.New(rand.NewPCG(1, uint64(n)))
		var p, omnibus [3]int
		levels := [3]float64{0.01, 0.05, 0.5}
		u := make([]float64, n)
		for range draws {
			for i := range u {
				u[i] = rng.Float64()
			}
			test, err := stats.NewUniformity(u)
			if err != nil {
				t.Fatal(err)
			}
			for k, level := range levels {
				if test.P <= level {
					p[k]++
				}
				if test.Omnibus <= level {
					omnibus[k]++
				}
			}
		}
		for k, level := range levels {
			noise := 4 * math.Sqrt(level*(1-level)/draws)
			near(t, "rejected", float64(p[k])/draws, level, noise)
			// Marsaglia and Marsaglia approximate, least well for two percentiles.
			near(t, "rejected by Anderson-Darling", float64(omnibus[k])/draws, level, noise+0.006)
		}
	}
}

// Source: the asymptotic percentage points of Anderson and Darling, case 0
// (Stephens 1974, Journal of the American Statistical Association 69, Table 1A,
// from memory): 1.933, 2.492 and 3.857 at 10, 5 and 1 %.
func TestAndersonDarlingPercentagePoints(t *testing.T) {
	for _, test := range []struct{ a, p float64 }{{1.933, 0.10}, {2.492, 0.05}, {3.857, 0.01}} {
		near(t, "P", 1-stats.AndersonDarlingCDF(1000000, test.a), test.p, 0.0003)
	}
	// Computed: 5,000,000 draws each of 2, 5 and 20 percentiles (numpy).
	for _, test := range []struct {
		n         int
		a, chance float64
		tolerance float64
	}{
		{2, 1.933, 0.89335, 0.002}, {2, 2.492, 0.94394, 0.002}, {2, 0.775, 0.52680, 0.005},
		{5, 1.933, 0.89764, 0.0005}, {5, 2.492, 0.94764, 0.0005}, {5, 0.775, 0.50805, 0.0005},
		{20, 1.933, 0.89939, 0.0005}, {20, 2.492, 0.94933, 0.0005}, {20, 0.775, 0.50195, 0.0005},
	} {
		near(t, "chance", stats.AndersonDarlingCDF(test.n, test.a), test.chance, test.tolerance)
	}
}

// The figures of the doc comment, and which way the test says it is wrong.
func TestDishonestForecastsAreFound(t *testing.T) {
	const draws, n = 4000, 12
	for _, test := range []struct {
		name                  string
		mean, sd              float64
		power                 float64
		biasFirst, tooNarrow  bool
		meanNegative, tooWide bool
	}{
		{name: "too narrow", sd: 1.6, power: 0.668, tooNarrow: true},
		{name: "too wide", sd: 0.55, power: 0.401, tooWide: true},
		{name: "too low", mean: 0.5, sd: 1, power: 0.318, biasFirst: true},
		{name: "too high", mean: -0.5, sd: 1, power: 0.318, biasFirst: true, meanNegative: true},
	} {
		rng := rand.New(rand.NewPCG(2, 3))
		found, bias, ratio, mean := 0, 0, 0.0, 0.0
		for range draws {
			u := make([]float64, n)
			for i := range u {
				u[i] = distuv.UnitNormal.CDF(test.mean + test.sd*rng.NormFloat64())
			}
			p, err := stats.NewUniformity(u)
			if err != nil {
				t.Fatal(err)
			}
			if p.P < 0.05 {
				found++
			}
			if p.Bias < p.Spread {
				bias++
			}
			ratio += p.Ratio / draws
			mean += p.Mean / draws
		}
		near(t, test.name+": power", float64(found)/draws, test.power, 0.03)
		if got := float64(bias)/draws > 0.5; got != test.biasFirst {
			t.Errorf("%s: bias is the smaller P in %d of %d", test.name, bias, draws)
		}
		if test.tooNarrow && ratio < 1.3 || test.tooWide && ratio > 0.7 {
			t.Errorf("%s: mean ratio %v", test.name, ratio)
		}
		if test.biasFirst && (mean < -0.3) != test.meanNegative {
			t.Errorf("%s: mean score %v", test.name, mean)
		}
	}
}

func TestUniformityAtTheEnds(t *testing.T) {
	u, err := stats.NewUniformity(nil)
	if err != nil || u.P != 1 || u.Omnibus != 1 {
		t.Errorf("of nothing: got %+v, %v", u, err)
	}
	// One percentile: P is twice the smaller tail, in closed form.
	for _, p := range []float64{0.004, 0.3, 0.9} {
		if u, err = stats.NewUniformity([]float64{p}); err != nil {
			t.Fatal(err)
		}
		near(t, "one percentile", u.P, 2*min(p, 1-p), 1e-12)
		near(t, "one percentile, Anderson-Darling", u.Omnibus, 2*min(p, 1-p), 1e-12)
	}
	// An outcome outside every world is rare, not impossible; equal percentiles
	// are too even to be true, and nothing is NaN.
	for _, us := range [][]float64{{0}, {1, 1}, {0, 1, 0, 1}, {0.5, 0.5, 0.5, 0.5}} {
		if u, err = stats.NewUniformity(us); err != nil {
			t.Fatal(err)
		}
		for _, x := range []float64{u.P, u.Bias, u.Spread, u.Mean, u.Ratio, u.AndersonDarling, u.Omnibus} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%v: got %+v", us, u)
			}
		}
	}
	_, err = stats.NewUniformity([]float64{0.5, math.NaN()})
	fails(t, err, "percentile 2 is NaN; percentiles lie between 0 and 1")
}
