package conjugate_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate/build/conjugate"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

func fails(t testing.TB, err error, want string) {
	t.Helper()
	if err == nil || err.Error() != want {
		t.Errorf("got error %v, want %s", err, want)
	}
}

// Source: Hoff (2009), A First Course in Bayesian Statistical Methods, section
// 5.3: nine wing lengths of a midge (data from memory; their mean 1.804 and
// variance 0.0169 agree with public copies); figures recomputed. The predictive
// computed with scipy 1.10.1 (stats.t).
func TestHoffsMidges(t *testing.T) {
	prior := conjugate.Normal{Mean: 1.9, Kappa: 1, Variance: 0.01, Nu: 1}
	wings := []float64{1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08}
	b := prior.Update(wings...)
	near(t, "mean", b.Mean, 1.814, 0.0005)
	near(t, "variance", b.Variance, 0.015324, 5e-6)
	near(t, "kappa", b.Kappa, 10, 0)
	near(t, "nu", b.Nu, 10, 0)
	near(t, "P10 of the next", b.Predictive().Quantile(0.1), 1.63584638, 2e-5)
	near(t, "P90 of the next", b.Predictive().Quantile(0.9), 1.99215362, 2e-5)
	// From the printed summary alone.
	s := prior.UpdateSummary(9, 1.804, 8*0.0169)
	near(t, "mean from the summary", s.Mean, 1.814, 0.0005)
	near(t, "variance from the summary", s.Variance, 0.015324, 3e-5)
}

func TestUpdatesInAnyOrderAreTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-3, 3), 0, 12).Draw(t, "observations")
		cut := rapid.IntRange(0, len(y)).Draw(t, "cut")
		prior := conjugate.Normal{Mean: 0.2, Kappa: 2.5, Variance: 0.3, Nu: 4}
		once, twice := prior.Update(y...), prior.Update(y[cut:]...).Update(y[:cut]...)
		for _, d := range []float64{once.Mean - twice.Mean, once.Variance - twice.Variance, once.Kappa - twice.Kappa, once.Nu - twice.Nu} {
			if math.Abs(d) > 1e-12 {
				t.Fatalf("at once %+v, in two steps %+v", once, twice)
			}
		}
	})
}

// Decided: the prior predictive's P10 and P90 are those asked for, whatever the worth.
func TestThePriorPredictiveIsWhatWasSaid(t *testing.T) {
	for _, worth := range []float64{0.5, 1, 2, 8, 100, 1e7} {
		b, err := conjugate.NewNormal(-0.3, 0.7, worth)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "P10", b.Predictive().Quantile(0.1), -0.3, 1e-6)
		near(t, "P50", b.Predictive().Quantile(0.5), 0.2, 1e-6)
		near(t, "P90", b.Predictive().Quantile(0.9), 0.7, 1e-6)
	}
	_, err := conjugate.NewNormal(1, 1, 3)
	fails(t, err, "low 1 is not below high 1; spread them")
	_, err = conjugate.NewNormal(1, 2, 0)
	fails(t, err, "a worth of 0 observations teaches nothing; write a number above 0")
}

// Source: Gelman et al. (2013), Bayesian Data Analysis, section 2.4: 437 girls of
// 980 births with placenta previa, uniform prior: posterior mean 0.446, 95 %
// interval 0.415 to 0.477 (read; further digits recomputed with R and scipy).
func TestPlacentaPrevia(t *testing.T) {
	c, err := conjugate.NewChance(0.5, 2)
	if err != nil {
		t.Fatal(err)
	}
	if c, err = c.Update(437, 980); err != nil {
		t.Fatal(err)
	}
	near(t, "mean", c.Mean, 0.4460285, 5e-8)
	near(t, "low", c.Quantile(0.025), 0.4150655, 5e-8)
	near(t, "high", c.Quantile(0.975), 0.4771998, 5e-8)
	near(t, "sd", c.SD(), 0.016, 0.0005) // printed: 0.016
	near(t, "worth", c.Seen, 982, 0)
}

func TestChances(t *testing.T) {
	// Common practice, no source: 30 % on 20 builds, found in 4 of the next 5.
	c, err := conjugate.NewChance(0.3, 20)
	if err != nil {
		t.Fatal(err)
	}
	if c, err = c.Update(4, 5); err != nil {
		t.Fatal(err)
	}
	near(t, "mean", c.Mean, 0.4, 1e-12)
	// Nothing seen is worth one case, so that one look doesn't settle it.
	if c, err = conjugate.NewChance(0.3, 0); err != nil {
		t.Fatal(err)
	}
	if c, err = c.Update(1, 1); err != nil {
		t.Fatal(err)
	}
	near(t, "mean", c.Mean, 0.65, 1e-12)
	if c, err = conjugate.NewChance(1, 5); err != nil || c.Quantile(0.1) != 1 {
		t.Errorf("certain: got %+v, %v", c, err)
	}
	_, err = conjugate.NewChance(15, 3)
	fails(t, err, "chance 15 is not between 0 and 1")
	_, err = conjugate.NewChance(0.5, -1)
	fails(t, err, "-1 cases seen; write 0 or more")
	_, err = c.Update(3, 2)
	fails(t, err, "found in 3 of 2; count between none and all")
}
