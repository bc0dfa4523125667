package convolve_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
)

// mixed is normal amounts with their chances, and a chance of nothing.
type mixed []struct{ chance, mean, sd float64 }

func (m mixed) moments() (mean, sd float64) {
	square := 0.0
	for _, x := range m {
		mean += x.chance * x.mean
		square += x.chance * (x.mean*x.mean + x.sd*x.sd)
	}
	return mean, math.Sqrt(square - mean*mean)
}

func (m mixed) below(x float64) float64 {
	sum, rest := 0.0, 1.0
	for _, y := range m {
		sum += y.chance * distuv.Normal{Mu: y.mean, Sigma: y.sd}.CDF(x)
		rest -= y.chance
	}
	if x >= 0 {
		sum += rest
	}
	return sum
}

// Two jobs that may be there, of chance 0.4 and 0.3, each normal; with one of them comes 700. Closed
// form: a mixture of four normals. Something independent of 700 at a chance of 0.4, which has the same
// mean, would put a tenth of the mass 700 away from where it belongs.
func TestWhatOneJobBringsComesWithIt(t *testing.T) {
	e, c := one(t, 0, []priced{{chance: 0.4, spend: bell(1000, 100)}, {chance: 0.3, spend: bell(2000, 150)}})
	both := math.Hypot(100, 150)
	for _, x := range []struct {
		name string
		item damage.Item
		want mixed
	}{
		{"the first", c[0].Item, mixed{{0.4 * 0.7, 1700, 100}, {0.6 * 0.3, 2000, 150}, {0.12, 3700, both}}},
		{"the second", c[1].Item, mixed{{0.4 * 0.7, 1000, 100}, {0.6 * 0.3, 2700, 150}, {0.12, 3700, both}}},
	} {
		d := brought(t, e, c, x.want, func(i damage.Item) bool { return i == x.item })
		for _, p := range []float64{0.5, 0.6, 0.75, 0.85, 0.95} {
			within(t, fmt.Sprintf("%s: chance of at most quantile %g", x.name, p), x.want.below(quantile(d, p)), p, 0.004)
		}
	}
}

// With either job, or both, comes 700 once: the mean is that, though with each job alone it comes less
// often, and with both more. With 700 for each of them the mean would be 140 more.
func TestWhatSeveralJobsBringComesOnce(t *testing.T) {
	e, c := one(t, 0, []priced{{chance: 0.4, spend: bell(1000, 50)}, {chance: 0.5, spend: bell(1000, 50)}})
	want := mixed{{0.5, 1700, 50}, {0.2, 2700, math.Hypot(50, 50)}}
	d := brought(t, e, c, want, func(damage.Item) bool { return true })
	got, closed := 0.0, 0.0 // means
	for x := 0.0; x < 3700; x++ {
		got += 1 - below(d, x)
		closed += 1 - want.below(x)
	}
	relative(t, "mean", got, closed, 0.01)
	within(t, "chance of nothing", below(d, 400), 0.3, 0.005)
}

// brought convolves a case with 700 where match says that it comes; want has the moments.
func brought(t *testing.T, e *convolve.Engine, c []costs.Candidate, want mixed, match func(damage.Item) bool) *convolve.Distribution {
	t.Helper()
	sum, m := e.NewSum(), e.Measure(1, 0, nil)
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	mean, sd := want.moments()
	var d convolve.Distribution
	sum.With(m, convolve.Extra{
		Brought: []convolve.Brought{{Part: added(700), Match: match, Chance: 1}}, Mean: mean, SD: sd, Tail: true,
	}, &d)
	return &d
}

// Two jobs that may be there, both quoted: the sum is one of four amounts, with nothing between them.
func TestQuotedJobsAreFewAmounts(t *testing.T) {
	e, c := one(t, 0, []priced{{chance: 0.4, spend: bell(1000, 100)}, {chance: 0.3, spend: bell(2000, 150)}})
	c[0].Quote, c[1].Quote = &costs.Quote{Spend: 100, Hours: 1, HasHours: true}, &costs.Quote{Spend: 300}
	d := convolved(t, e, c, 1, 0)
	for p, want := range map[float64]float64{0.4: 0, 0.43: 100, 0.69: 100, 0.71: 300, 0.87: 300, 0.9: 400} {
		within(t, fmt.Sprintf("quantile %g", p), quantile(d, p), want, 1e-9)
	}
	if d = convolved(t, e, c, 1, 20); d.Atoms != nil {
		t.Errorf("hours that nobody quoted: %v", d.Atoms)
	}
}

// A job with a quote that is there for certain is no part of what is blurred: the sum without it, moved.
func TestQuotedJobMovesTheSum(t *testing.T) {
	e, c := one(t, 0.25, []priced{{chance: 1, spend: bell(1000, 100)}, {chance: 0.3, spend: bell(9000, 900)},
		{chance: 1, spend: bell(500, 50)}})
	without := convolved(t, e, c[:2], 1, 20)
	c[2].Quote = &costs.Quote{Spend: 580, Hours: 3, HasHours: true}
	with := convolved(t, e, c, 1, 20)
	relative(t, "base", with.Base, 640, 1e-12)
	relative(t, "mean", with.Mean, without.Mean+640, 1e-9)
	for _, p := range []float64{0.1, 0.5, 0.8, 0.95} {
		relative(t, fmt.Sprintf("quantile %g", p), quantile(with, p), quantile(without, p)+640, 0.002)
	}
	doubt := convolved(t, e, c[1:], 1, 20)
	relative(t, "chance of the quoted job alone", doubt.Zero, 0.7, 1e-3)
	relative(t, "as a rule", quantile(doubt, 0.6), 640, 1e-12)
	only := convolved(t, e, c[2:], 1, 20)
	relative(t, "alone", quantile(only, 0.1), 640, 1e-9)
}
