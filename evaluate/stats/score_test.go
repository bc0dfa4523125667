package stats_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/evaluate/stats"
)

// Source: test values of the R package scoringRules (read), formulas of Gneiting
// and Raftery (2007), Journal of the American Statistical Association 102.
func TestPublishedScores(t *testing.T) {
	near(t, "normal at -3", stats.CRPSNormal(0, 1, -3), 2.43657473, 5e-9)
	near(t, "normal at 0", stats.CRPSNormal(0, 1, 0), 0.233694977, 5e-10)
	near(t, "lognormal at 3", stats.CRPSLogNormal(0.1, 0.9, 3), 1.13552645, 5e-9)
	near(t, "sample", stats.CRPS([]float64{1800, 1200, 1650, 2600, 1500, 2100}, 1900), 143.055556, 5e-7)
	near(t, "pinball above", stats.Pinball(0.1, 0, 1), 0.1, 0)
	near(t, "pinball below", stats.Pinball(0.1, 0, -1), 0.9, 0)
	near(t, "interval, inside", stats.IntervalScore(0.8, -1, 1, 1), 2, 1e-12)
	near(t, "interval, above", stats.IntervalScore(0.8, -1, 1, 2), 12, 1e-12)
	near(t, "interval, below", stats.IntervalScore(0.8, -1, 1, -2), 12, 1e-12)
}

// The definition, the integral of (F(x) - [x >= y])^2, by Gauss-Legendre rules.
func TestClosedFormsAreTheDefinition(t *testing.T) {
	integral := func(cdf func(float64) float64, y, low, high float64) float64 {
		below := quad.Fixed(func(x float64) float64 { return cdf(x) * cdf(x) }, low, y, 400, nil, 1)
		above := quad.Fixed(func(x float64) float64 { return (1 - cdf(x)) * (1 - cdf(x)) }, y, high, 400, nil, 1)
		return below + above
	}
	for _, y := range []float64{-2, 0.5, 1, 3.7} {
		n := distuv.Normal{Mu: 1, Sigma: 2}
		near(t, "normal", stats.CRPSNormal(1, 2, y), integral(n.CDF, y, -30, 30), 1e-8)
		l := distuv.LogNormal{Mu: 0.3, Sigma: 0.5}
		cdf := func(x float64) float64 {
			if x <= 0 {
				return 0
			}
			return l.CDF(x)
		}
		low := min(0, y)
		near(t, "lognormal", stats.CRPSLogNormal(0.3, 0.5, y), integral(cdf, y, low, 60), 1e-6)
	}
	near(t, "normal without spread", stats.CRPSNormal(3, 0, 5), 2, 0)
	near(t, "lognormal without spread", stats.CRPSLogNormal(0, 0, 5), 4, 0)
}

// The double sum of equation 21, n^2 steps, is the sorted one.
func TestSampleIsTheDoubleSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1e4, 1e4), 1, 40).Draw(t, "sample")
		y := rapid.Float64Range(-2e4, 2e4).Draw(t, "outcome")
		n := float64(len(x))
		want := 0.0
		for _, a := range x {
			want += math.Abs(a-y) / n
			for _, b := range x {
				want -= math.Abs(a-b) / (2 * n * n)
			}
		}
		if got := stats.CRPS(x, y); math.Abs(got-want) > 1e-8 {
			t.Fatalf("got %v, want %v", got, want)
		}
		if got := stats.CRPS(x[:1], y); math.Abs(got-stats.CRPSPoint(x[0], y)) > 1e-8 {
			t.Fatalf("one value: got %v, want its absolute error", got)
		}
	})
}

// Quantiles of a normal forecast give the normal's score.
func TestQuantilesApproachTheClosedForm(t *testing.T) {
	var levels, quantiles, middle []float64
	for i := range 99 {
		p := float64(i+1) / 100
		levels, quantiles = append(levels, p), append(quantiles, distuv.UnitNormal.Quantile(p))
	}
	for i := range 4096 {
		middle = append(middle, distuv.UnitNormal.Quantile((float64(i)+0.5)/4096))
	}
	for _, y := range []float64{-3, -1, 0, 0.3, 2.5} {
		want := stats.CRPSNormal(0, 1, y)
		near(t, "99 quantiles", stats.CRPSQuantiles(levels, quantiles, y), want, 0.01)
		near(t, "4096 in the middle of their steps", stats.CRPSSorted(middle, y), want, 1e-4)
	}
	// At the middles of equal steps the two are the same sum.
	var at []float64
	for i := range 4096 {
		at = append(at, (float64(i)+0.5)/4096)
	}
	near(t, "levels in the middle", stats.CRPSQuantiles(at, middle, 0.7), stats.CRPSSorted(middle, 0.7), 1e-12)
	if !math.IsNaN(stats.CRPS(nil, 1)) || !math.IsNaN(stats.CRPSQuantiles(nil, nil, 1)) {
		t.Error("no forecast has a score")
	}
}

// A proper score is least, on average, for the truth (Gneiting and Raftery 2007).
func TestTheTruthScoresBest(t *testing.T) {
	mean := func(mu, sd float64) float64 {
		return quad.Fixed(func(p float64) float64 {
			return stats.CRPSNormal(mu, sd, distuv.UnitNormal.Quantile(p))
		}, 0, 1, 2000, nil, 1)
	}
	truth := mean(0, 1)
	near(t, "expected score of the truth", truth, 1/math.Sqrt(math.Pi), 1e-4)
	for _, f := range [][2]float64{{0.3, 1}, {-0.3, 1}, {0, 0.7}, {0, 1.4}, {0, 0}} {
		if got := mean(f[0], f[1]); got <= truth {
			t.Errorf("forecast %v scores %v, the truth %v", f, got, truth)
		}
	}
}

func TestSharpness(t *testing.T) {
	width, n, err := stats.Sharpness([]float64{600, 1500, 0}, []float64{1000, 2000, 0}, []float64{1800, 2300, 10})
	if err != nil || n != 2 {
		t.Fatalf("%d intervals, %v", n, err)
	}
	near(t, "sharpness", width, (1.2+0.4)/2, 1e-12)
	_, _, err = stats.Sharpness([]float64{1}, nil, nil)
	fails(t, err, "1 low, 0 median and 0 high ends; give one of each per interval")
}

func TestSkill(t *testing.T) {
	skill, known := stats.Skill(75, 100)
	if !known {
		t.Error("unknown skill")
	}
	near(t, "skill", skill, 0.25, 1e-12)
	if _, known = stats.Skill(1, 0); known {
		t.Error("skill against a perfect rival is known")
	}
}
