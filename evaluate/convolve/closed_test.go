package convolve_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// bell is a normal amount.
func bell(mean, sd float64) stats.Amount {
	return stats.Amount{Low: mean - stats.Z90*sd, Mid: mean, High: mean + stats.Z90*sd}
}

// The quantiles of one normal job are the normal's: scores 1.2816, 0.8416 and 1.6449
// for 0.9, 0.8 and 0.95 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, to
// four decimals; the further ones from memory). The link does not matter to one job.
func TestOneNormalJob(t *testing.T) {
	for _, link := range []float64{0, 0.25, 0.6, convolve.MaxLink} {
		e, c := one(t, link, []priced{{chance: 1, spend: bell(1000, 100)}})
		d := convolved(t, e, c, 1, 0)
		relative(t, "mean", d.Mean, 1000, 1e-9)
		relative(t, "sd", d.SD, 100, 1e-4)
		for p, score := range map[float64]float64{0.1: -1.2815515655, 0.5: 0, 0.8: 0.8416212336, 0.9: 1.2815515655,
			0.95: 1.6448536270} {
			within(t, fmt.Sprintf("link %g, quantile %g", link, p), quantile(d, p), 1000+100*score, 0.5)
		}
	}
}

// Closed form: with k equal normal items of correlation r the sd of their sum is
// sqrt(1 + (k - 1) r) times the independent one. Leaving r out understates it by
// 25.46 % (k 5, r 0.2), 40.24 % (10, 0.2), 61.65 % (30, 0.2). The sum is normal.
func TestCorrelationWidensTheSum(t *testing.T) {
	for _, tt := range []struct {
		k     int
		r     float64
		under float64
	}{{5, 0.2, 0.2546}, {10, 0.2, 0.4024}, {30, 0.2, 0.6165}, {4, 0.75, 1 - 1/math.Sqrt(3.25)}, {7, 0.95,
		1 - 1/math.Sqrt(6.7)}} {
		sum := func(link float64) *convolve.Distribution {
			e, c := one(t, link, slices.Repeat([]priced{{chance: 1, spend: bell(1000, 10)}}, tt.k))
			return convolved(t, e, c, 1, 0)
		}
		alone, tied := sum(0), sum(tt.r)
		k := float64(tt.k)
		within(t, fmt.Sprintf("%d items at %v: understated", tt.k, tt.r), 1-alone.SD/tied.SD, tt.under, 5e-5)
		relative(t, "independent sd", alone.SD, 10*math.Sqrt(k), 1e-6)
		relative(t, "mean", tied.Mean, 1000*k, 1e-9)
		within(t, "P90", quantile(tied, 0.9), 1000*k+stats.Z90*tied.SD, 0.02*tied.SD)
		within(t, "P10", quantile(tied, 0.1), 1000*k-stats.Z90*tied.SD, 0.02*tied.SD)
	}
}

// US GAO Cost Estimating and Assessment Guide, GAO-20-195G (2020), Table 12: seven
// elements as triangles. Mean, sd, P80 and P90 of the sum computed with scipy 1.10.1;
// only an eighth of all outcomes stay within 77,092, what the likely values add up to.
func TestSumOfPublishedTriangles(t *testing.T) {
	var items []priced
	for _, x := range [][3]float64{
		{17955, 19645, 21785}, {8500, 10553, 13000}, {4000, 4306, 5100}, {4100, 4305, 4650}, {550, 600, 650}, {32300, 35547,
			52500}, {1950, 2136, 2600},
	} {
		items = append(items, priced{chance: 1, spend: stats.Amount{Low: x[0], Mid: x[1], High: x[2], Shape: stats.Triangle}})
	}
	for _, tt := range []struct{ link, sd, p80 float64 }{{0, 4599.606, 86446.37}, {0.2, 5062.9, 86841}} {
		e, c := one(t, tt.link, items)
		d := convolved(t, e, c, 1, 0)
		relative(t, "mean", d.Mean, 82244, 1e-5)
		relative(t, "sd", d.SD, tt.sd, 0.001)
		relative(t, "P80", quantile(d, 0.8), tt.p80, 0.001)
		if tt.link == 0 {
			relative(t, "P90", quantile(d, 0.9), 88909.99, 0.001)
			within(t, "P(sum <= 77,092)", below(d, 77092), 0.1258, 0.001)
		}
	}
}

// A row's moments are those of its amounts in closed form; spend and hours that are
// read at one score and are proportional are fully correlated.
func TestMomentsOfRows(t *testing.T) {
	for _, link := range []float64{0, 0.25, 0.9} {
		for _, a := range []stats.Amount{
			{Low: 180, Mid: 306, High: 520},                         // nearly lognormal
			{Low: 100, Mid: 300, High: 1500},                        // a long tail
			{Low: 100, Mid: 900, High: 1100},                        // the other way
			{Low: 5, Mid: 400, High: 900},                           // cut at zero
			{Low: 200, Mid: 300, High: 400},                         // normal
			{Low: 100, Mid: 300, High: 1100, Shape: stats.PERT},     //
			{Low: 100, Mid: 100, High: 500, Shape: stats.PERT},      //
			{Low: 0, Mid: 300, High: 400, Shape: stats.Triangle},    //
			{Low: 300, Mid: 300, High: 1000, Shape: stats.Triangle}, //
			stats.Fixed(250),
		} {
			e, c := one(t, link, []priced{{chance: 1, spend: a, hours: stats.Amount{Low: a.Low / 50, Mid: a.Mid / 50,
				High: a.High / 50, Shape: a.Shape}}})
			// Nodes end at 4.2: they miss some of what a tail rests on that is tied to the factor.
			mean, sd := 3e-4, 2e-3
			if link > 0.25 {
				mean, sd = 1e-3, 0.03
			}
			m := e.Job(&c[0])
			what := fmt.Sprintf("link %g, %+v: ", link, a)
			relative(t, what+"mean", m.Mean(1, 0), a.Mean(), mean)
			relative(t, what+"hours", m.Mean(0, 1), a.Mean()/50, mean)
			within(t, what+"sd", math.Sqrt(m.Var(1, 0)), a.SD(), sd*a.SD()+1e-4)
			within(t, what+"both", m.Var(1, 50), 4*m.Var(1, 0), 1e-9*m.Var(1, 0)+1e-6)
			within(t, what+"covariance", m.SpendHours, m.Var(1, 0)/50, 1e-9*m.Var(1, 0)+1e-6)
		}
	}
}

// What occurs with a chance is charged with that chance, whatever the links, and costs
// that share of its mean; its variance is that of a mixture: p sd^2 + p (1 - p) mean^2.
// The zeros are the car on which nothing is charged.
func TestAnItemOccursWithItsChance(t *testing.T) {
	a := stats.Amount{Low: 180, Mid: 306, High: 520}
	for _, link := range []float64{0, 0.25, 0.6, convolve.MaxLink} {
		for _, chance := range []float64{0.01, 0.05, 0.3, 0.5, 0.9, 0.99} {
			e, c := one(t, link, []priced{{chance: chance, spend: a}})
			sum, m := e.NewSum(), e.Measure(1, 0, nil)
			if err := sum.Add(c); err != nil {
				t.Fatal(err)
			}
			what := fmt.Sprintf("link %g, chance %g: ", link, chance)
			likely := sum.Candidates(nil)[0]
			within(t, what+"occurs", likely.Occurs, chance, 2e-4)
			within(t, what+"charged", likely.Charged, chance, 2e-4)
			var d convolve.Distribution
			sum.Distribution(m, 0, &d)
			within(t, what+"nothing", d.Zero, 1-chance, 3e-4)
			if link == 0 {
				relative(t, what+"mean", d.Mean, chance*a.Mean(), 1e-4)
				relative(t, what+"sd", d.SD, math.Sqrt(chance*a.SD()*a.SD()+chance*(1-chance)*a.Mean()*a.Mean()), 1e-4)
			}
		}
	}
}

func at(zone damage.Zone, class damage.Class, grade damage.Grade) damage.Item {
	return damage.Item{Spot: damage.Spot{Zone: zone, Class: class}, Grade: grade}
}

// Two sure triggers combine as noisy-or: 1 - (1 - p)(1 - q). A trigger whose worse grade
// is there with chance 0.4, by hand: 0.4 x 0.6 + 0.6 x 0.3, and with another that brings
// 0.5 on its own 1 - 0.5 (0.6 x 0.7 + 0.4 x 0.4) = 0.71.
func TestHiddenChances(t *testing.T) {
	rows := []costs.Row{}
	for _, x := range []damage.Item{at(damage.Nose, damage.Structural, 2), at(damage.Nose, damage.Structural, 3),
		at(damage.Tail, damage.Cosmetic, 1), at(damage.Bay, damage.Mechanical, 1)} {
		rows = append(rows, costs.Row{Item: x, Spend: stats.Fixed(100), Hours: stats.Fixed(3), Builds: 1, Basis: "test"})
	}
	b, err := costs.New(rows, []costs.Rule{
		{When: rows[0].Item, Then: rows[3].Item, Chance: 0.3, Seen: 1, Why: "test"},
		{When: rows[1].Item, Then: rows[3].Item, Chance: 0.6, Seen: 1, Why: "test"},
		{When: rows[2].Item, Then: rows[3].Item, Chance: 0.5, Seen: 1, Why: "test"},
	})
	if err != nil {
		t.Fatal(err)
	}
	e, err := convolve.New(b, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	doubt := costs.Finding{Item: rows[1].Item, State: damage.Suspected, Chance: 0.4}
	for _, tt := range []struct {
		found []costs.Finding
		want  float64
	}{
		{[]costs.Finding{{Item: rows[0].Item, Chance: 1}, {Item: rows[2].Item, Chance: 1}}, 1 - 0.7*0.5},
		{[]costs.Finding{{Item: rows[0].Item, Chance: 1}, doubt}, 0.42},
		{[]costs.Finding{{Item: rows[0].Item, Chance: 1}, doubt, {Item: rows[2].Item, Chance: 1}}, 0.71},
		{[]costs.Finding{doubt}, 0.24},
	} {
		c, err := b.Case("", tt.found)
		if err != nil {
			t.Fatal(err)
		}
		sum := e.NewSum()
		if err := sum.Add(c); err != nil {
			t.Fatal(err)
		}
		n := slices.IndexFunc(c, func(x costs.Candidate) bool { return x.Kind == costs.Hidden })
		x := sum.Candidates(nil)[n]
		within(t, "hidden occurs", x.Occurs, tt.want, 1e-6)
		within(t, "hidden charged", x.Charged, tt.want, 1e-6)
	}
}

// Added independent amounts, by hand: a certain one moves every quantile by itself, one
// that comes with chance p mixes the distribution with itself moved.
func TestWithAddsIndependentAmounts(t *testing.T) {
	e, c := one(t, 0.25, []priced{{chance: 1, spend: bell(1000, 100)}, {chance: 1, spend: stats.Amount{Low: 200, Mid: 400,
		High: 900}}})
	sum, m := e.NewSum(), e.Measure(1, 0, nil)
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	var plain, with convolve.Distribution
	sum.Distribution(m, 0, &plain)
	part := added(300)
	sum.With(m, convolve.Extra{Terms: []convolve.Term{{Part: part, Chance: 1}}, Mean: plain.Mean + 300, SD: plain.SD},
		&with)
	for _, p := range []float64{0.1, 0.5, 0.8, 0.9, 0.95} {
		within(t, fmt.Sprintf("moved quantile %g", p), quantile(&with, p), quantile(&plain, p)+300, 0.02*plain.SD)
	}
	mean, sd := plain.Mean+0.4*300, math.Sqrt(plain.SD*plain.SD+0.4*0.6*300*300)
	sum.With(m, convolve.Extra{Terms: []convolve.Term{{Part: part, Chance: 0.4}}, Mean: mean, SD: sd}, &with)
	for _, p := range []float64{0.1, 0.5, 0.8, 0.9, 0.95} {
		x := quantile(&with, p)
		within(t, fmt.Sprintf("chance at mixed quantile %g", p), 0.4*below(&plain, x-300)+0.6*below(&plain, x), p, 0.003)
	}
}

// A part that is spread evenly, added to a small certain amount: its quantiles rise evenly.
// And one whose edges are the normal distribution's, at a tenth of a standard deviation, has
// that distribution's quantiles.
func TestAPartByItself(t *testing.T) {
	e, c := one(t, 0, []priced{{chance: 1, spend: stats.Fixed(10)}})
	sum, m := e.NewSum(), e.Measure(1, 0, nil)
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	var d convolve.Distribution
	even := added(200, 500, 800)
	even.Chances = []float64{0.5, 0.5}
	sum.With(m, convolve.Extra{Terms: []convolve.Term{{Part: even, Chance: 1}}, Mean: 510, SD: 600 / math.Sqrt(12)}, &d)
	for _, p := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
		within(t, fmt.Sprintf("even: quantile %g", p), quantile(&d, p), 210+600*p, 2)
	}
	normal := added(1000 - 6*80)
	for z := -6.0; z < 5.95; z += 0.1 {
		normal.Edges = append(normal.Edges, 1000+80*(z+0.1))
		normal.Chances = append(normal.Chances, distuv.UnitNormal.CDF(z+0.1)-distuv.UnitNormal.CDF(z))
	}
	sum.With(m, convolve.Extra{Terms: []convolve.Term{{Part: normal, Chance: 1}}, Mean: 1010, SD: 80, Tail: true}, &d)
	for _, p := range []float64{0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95} {
		within(t, fmt.Sprintf("normal: quantile %g", p), quantile(&d, p), 1010+80*distuv.UnitNormal.Quantile(p), 0.2)
	}
}

// added returns a part with these edges.
func added(edges ...float64) *convolve.Part {
	return &convolve.Part{Spread: &convolve.Spread{Edges: edges}, At: func(x float64) float64 { return x }}
}
