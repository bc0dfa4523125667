package year_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wreckoner/evaluate/year"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// B. Efron and C. Morris (1975), "Data analysis using Stein's estimator and its
// generalizations", J. Am. Stat. Assoc. 70: eighteen batting averages after 45 turns at bat.
// The averages are 18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8 and 7
// hits of 45. With s^2 = m (1 - m) / 45 for all, 0.212 of each departure is kept, and the
// first, 0.400, becomes 0.294. The hits and both results are from memory.
func TestEfronAndMorris(t *testing.T) {
	hits := []float64{18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7}
	m := 0.0
	for _, h := range hits {
		m += h / 45 / float64(len(hits))
	}
	var groups []year.Mean
	for _, h := range hits {
		groups = append(groups, year.Mean{Y: h / 45, Variance: m * (1 - m) / 45})
	}
	pooled, mu, _, ok := year.Pool(groups)
	if !ok {
		t.Fatal("not pooled")
	}
	near(t, "mean", mu, 0.265, 0.0005)
	near(t, "kept", pooled[0].Kept, 0.212, 0.0005)
	near(t, "first", pooled[0].Mean, 0.294, 0.0005)
	// James and Stein about the mean, in closed form: 1 - (k - 3) s^2 / sum (y - m)^2.
	sum := 0.0
	for _, h := range hits {
		sum += (h/45 - m) * (h/45 - m)
	}
	near(t, "closed form", pooled[0].Kept, 1-15*m*(1-m)/45/sum, 1e-9)
	if !(pooled[0].Above > 0.5 && pooled[17].Above < 0.5) {
		t.Error("the first is not likely above, or the last not below")
	}
}

// Where groups differ by less than chance, t^2 is 0 and (k - 3)/(k - 1) of each departure
// goes; where they differ by far more, all is kept; three groups are not pooled.
func TestPoolAtTheEnds(t *testing.T) {
	alike := []year.Mean{{30, 100}, {31, 80}, {29, 120}, {30.5, 90}, {30, 300}}
	pooled, _, t2, _ := year.Pool(alike)
	near(t, "t^2", t2, 0, 0)
	near(t, "kept", pooled[2].Kept, 0.5, 1e-12)
	apart := []year.Mean{{0, 1e-6}, {50, 1e-6}, {100, 1e-6}, {20, 1e-6}}
	pooled, _, _, _ = year.Pool(apart)
	near(t, "kept apart", pooled[0].Kept, 1, 1e-6)
	near(t, "chance apart", pooled[2].Above, 1, 0.01) // the common mean itself is known to 21 only
	if _, _, _, ok := year.Pool(alike[:3]); ok {
		t.Error("three groups are pooled")
	}
}

// Workshops drawn from the model itself: pooled means are nearer to the truth than the
// groups' own, and of chances between 0.7 and 0.9 about 0.8 come true.
func TestPoolingOfSimulatedWorkshops(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 20))
	own, pooledMiss, said, true_, high := 0.0, 0.0, 0.0, 0.0, 0.0
	for range 3000 {
		k := 4 + r.IntN(6)
		groups, truth := make([]year.Mean, k), make([]float64, k)
		for i := range groups {
			s := 2 + 12*r.Float64()
			truth[i] = 35 + 6*r.NormFloat64()
			groups[i] = year.Mean{Y: truth[i] + s*r.NormFloat64(), Variance: s * s}
		}
		pooled, _, _, _ := year.Pool(groups)
		for i, p := range pooled {
			own += (groups[i].Y - truth[i]) * (groups[i].Y - truth[i])
			pooledMiss += (p.Mean - truth[i]) * (p.Mean - truth[i])
			if p.Above > 0.7 && p.Above < 0.9 {
				said += p.Above
				high++
				if truth[i] > 35 {
					true_++
				}
			}
		}
	}
	t.Logf(
		"squared miss %.0f of the groups' own; said %.3f, came true %.3f",
		100*pooledMiss/own,
		said/high,
		true_/high,
	)
	if !(pooledMiss < 0.8*own) {
		t.Errorf("pooled means miss by %.2f of what the groups' own do", pooledMiss/own)
	}
	near(t, "chances of 0.7 to 0.9", true_/high, said/high, 0.03)
}
