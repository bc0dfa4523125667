package stats_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/evaluate/stats"
)

// middles returns the quantiles of a distribution at the middles of n equal steps.
func middles(quantile func(float64) float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = quantile((float64(i) + 0.5) / float64(n))
	}
	return out
}

// Source: test values of the R package scoringRules (read), formulas of Gneiting
// and Raftery (2007), Journal of the American Statistical Association 102. The normal
// and the lognormal are given by 65,536 quantiles, good to four digits.
func TestPublishedScores(t *testing.T) {
	normal := middles(distuv.UnitNormal.Quantile, 1<<16)
	near(t, "normal at -3", stats.CRPSSorted(normal, -3), 2.43657473, 2e-5)
	near(t, "normal at 0", stats.CRPSSorted(normal, 0), 0.233694977, 2e-5)
	near(t, "lognormal at 3", stats.CRPSSorted(middles(distuv.LogNormal{Mu: 0.1, Sigma: 0.9}.Quantile, 1<<16), 3),
		1.13552645, 2e-4)
	near(t, "sample", stats.CRPSSorted([]float64{1200, 1500, 1650, 1800, 2100, 2600}, 1900), 143.055556, 5e-7)
	near(t, "pinball above", stats.Pinball(0.1, 0, 1), 0.1, 0)
	near(t, "pinball below", stats.Pinball(0.1, 0, -1), 0.9, 0)
}

// The double sum of equation 21, n^2 steps, is the sorted one.
func TestSampleIsTheDoubleSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1e4, 1e4), 1, 40).Draw(t, "sample")
		slices.Sort(x)
		y := rapid.Float64Range(-2e4, 2e4).Draw(t, "outcome")
		n := float64(len(x))
		want := 0.0
		for _, a := range x {
			want += math.Abs(a-y) / n
			for _, b := range x {
				want -= math.Abs(a-b) / (2 * n * n)
			}
		}
		if got := stats.CRPSSorted(x, y); math.Abs(got-want) > 1e-8 {
			t.Fatalf("got %v, want %v", got, want)
		}
		if got := stats.CRPSSorted(x[:1], y); math.Abs(got-math.Abs(x[0]-y)) > 1e-8 {
			t.Fatalf("one value: got %v, want its absolute error", got)
		}
	})
	if !math.IsNaN(stats.CRPSSorted(nil, 1)) {
		t.Error("no forecast has a score")
	}
}

// A proper score is least, on average, for the truth (Gneiting and Raftery 2007): for a
// normal it is then 1/sqrt(pi).
func TestTheTruthScoresBest(t *testing.T) {
	mean := func(mu, sd float64) float64 {
		forecast := middles(distuv.Normal{Mu: mu, Sigma: sd}.Quantile, 2048)
		return quad.Fixed(func(p float64) float64 {
			return stats.CRPSSorted(forecast, distuv.UnitNormal.Quantile(p))
		}, 0, 1, 400, nil, 1)
	}
	truth := mean(0, 1)
	near(t, "expected score of the truth", truth, 1/math.Sqrt(math.Pi), 1e-3)
	for _, f := range [][2]float64{{0.3, 1}, {-0.3, 1}, {0, 0.7}, {0, 1.4}} {
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
	fails(t, err, "1 low, 0 median and 0 high ends; give one of each")
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
