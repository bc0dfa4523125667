package learn

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"wreckoner/damage"
)

// Where the builds say nothing of them, the shared columns differ from 0 with their prior chances, each whatever the
// others do; where one hypothesis is e^20 times as likely as the others, it is all that counts.
func TestAveragedWeightsAreTheirPriors(t *testing.T) {
	f := &fit{hypotheses: make([]hypothesis, everything+1)}
	w := averagedWeights(f)
	prior := [shared]float64{0.3, 0.25, 0.25, 0.25, 0.25, 0.25, 0.5} // level, five classes, drift
	for k, want := range prior {
		got, pair := 0.0, 0.0
		for mask, x := range w {
			if mask>>k&1 == 1 {
				got += x
				if k > 0 && mask&1 == 1 {
					pair += x
				}
			}
		}
		if math.Abs(got-want) > 1e-12 || k > 0 && math.Abs(pair-0.3*want) > 1e-12 {
			t.Errorf("column %d differs with chance %v, with the level %v; prior %v", k, got, pair, want)
		}
	}
	f.hypotheses[1<<colDrift].evidence = 20
	if w = averagedWeights(f); w[1<<colDrift] < 0.999 {
		t.Errorf("the one likely hypothesis weighs %v", w[1<<colDrift])
	}
	if cols := columnsOf(1<<colDrift | 1); len(cols) != 2 || cols[0] != colLevel || cols[1] != colDrift {
		t.Errorf("columns %v", cols)
	}
}

// The doubt about a row's shift is that within each hypothesis and that between them (the law of total variance,
// METHOD.md 16.22): here a level of 0.3 of variance 0.01 weighs as much as a class at -0.1 of variance 0.04.
func TestDoubtBetweenHypothesesCounts(t *testing.T) {
	of := func(col int, mean, variance float64) hypothesis {
		h := hypothesis{beta: make([]float64, colRow), v: mat.NewSymDense(colRow, nil)}
		h.beta[col] = mean
		h.v.SetSym(col, col, variance)
		return h
	}
	class := damage.Mechanical
	w := &writer{hyps: []hypothesis{of(colLevel, 0.3, 0.01), of(colClass+int(class), -0.1, 0.04)},
		weights: []float64{0.5, 0.5}, column: []int{0}}
	mean, variance := w.shift(0, class)
	near(t, "mean", mean, 0.1, 1e-12)
	near(t, "variance", variance, (0.01+0.04)/2+0.2*0.2, 1e-12)
	mean, variance = w.shift(0, damage.Cosmetic) // has the level only
	near(t, "mean of another class", mean, 0.15, 1e-12)
	near(t, "variance of another class", variance, 0.01/2+0.15*0.15, 1e-12)
}

// How much wider jobs scatter is written by the weight of a wider scatter and of runaways together: a few jobs that ran
// away widen it too (METHOD.md 16.22).
func TestRunawaysWidenTheScatter(t *testing.T) {
	v := make([]Verdict, CauseCount)
	v[Scatter].Weight, v[Runaway].Weight = 0.25, 0.5
	near(t, "share of log kappa that is written", averaged.keeps(v).scatter, 0.75, 1e-15)
}

// A job that may have run away is judged given the other job of its build (METHOD.md 16.20). Against the conditional
// normal of two that share a severity of mean m and variance v: covariance s1 s2 rho v, mean s sqrt(rho) m.
func TestRunawaysAgainstConditionalNormal(t *testing.T) {
	const rho, m, v = 0.4, 0.5, 0.8
	s, r := [2]float64{0.5, 0.3}, []float64{1.6, 0.1}
	c := &costs{prior: make([]float64, colRow+1), cars: 1, mean: []float64{m}, vari: []float64{v}}
	for _, spread := range s {
		c.jobs = append(c.jobs, cost{column: colRow, curve: &curve{spread: spread}})
	}
	f := &fit{costs: c, beta: make([]float64, colRow+1), link: Figure{Mean: rho}}
	var ratio [2]float64
	normal := func(x, variance float64) float64 { return math.Exp(-x*x/2/variance) / math.Sqrt(variance) }
	for i := range ratio {
		k := 1 - i
		variance := func(i int) float64 { return s[i] * s[i] * (1 - rho + rho*v) }
		cross := s[0] * s[1] * rho * v
		x := r[i] - s[i]*math.Sqrt(rho)*m - cross/variance(k)*(r[k]-s[k]*math.Sqrt(rho)*m)
		given := variance(i) - cross*cross/variance(k)
		ratio[i] = normal(x-math.Log(3.5), given+0.4*0.4) / normal(x, given)
	}
	var sum, total float64
	for _, tau := range []float64{.003, .006, .01, .02, .03, .05, .08, .12, .18} {
		w := math.Exp(-math.Pow(math.Log(tau/0.03), 2) / 2)
		sum += w * (1 - tau + tau*ratio[0]) * (1 - tau + tau*ratio[1])
		total += w
	}
	near(t, "log Bayes factor", f.tails(r), math.Log(sum/total), 1e-12)
}

// log kappa by the density of each job's log cost itself: y = kappa q(U), U standard normal, so that y has the density
// phi(u) / (kappa q'(u)) at u = q^-1(y / kappa). Rows with one side longer than the other have a q' that is not the
// same everywhere (METHOD.md 16.14). A stopped car says that its cost was above a bound: Phi(-bound / (kappa spread)).
func TestScatterAgainstTheDensityOfCosts(t *testing.T) {
	row := Row{Spend: mustAmount(100, 400, 800), Hours: mustAmount(6, 15, 26)}
	q := newCurve(&row, curveKey{spend: 1, hours: 1, rate: 30})
	y := []float64{-1.1, -0.9, -0.35, 0.2, 0.55, 0.7}
	c := &costs{prior: make([]float64, colRow+1), cars: len(y)}
	for i := range c.prior {
		c.prior[i] = 1e-14 // nothing is off but the scatter
	}
	for i := range y {
		c.jobs = append(c.jobs, cost{car: i, column: colRow, raw: y[i], curve: q})
		c.mean, c.vari = append(c.mean, 0), append(c.vari, 1)
	}
	bound := limit{above: 0.7, spread: 0.3, x: []float64{1, 1, 0, 0, 0, 0, 0}}
	c.limits = append(c.limits, bound)
	f := &fit{costs: c, beta: make([]float64, colRow+1)}
	f.learnScatter([]int{0, 1, 2, 3, 4, 5, 6, 7})
	var sum, first float64
	for i := range 17 {
		g := -0.4 + 0.05*float64(i)
		w := 0.8/0.03*math.Exp(-g*g/2/0.03/0.03) + 0.2/0.3*math.Exp(-g*g/2/0.3/0.3)
		w *= math.Erfc(bound.above / bound.spread / math.Exp(g) / math.Sqrt2)
		for _, x := range y {
			u := q.score(x / math.Exp(g))
			w *= math.Exp(-u*u/2-g) / q.slope(u)
		}
		sum, first = sum+w, first+w*g
	}
	near(t, "log kappa", f.scatter.Mean, first/sum, 1e-6)
	if math.Abs(first/sum) < 0.01 {
		t.Errorf("log kappa is %v; the costs are to speak for another", first/sum)
	}
}

// A mark that came out one grade worse is put down to the coding by its chance there, coded_from in it, over that of
// coding and hidden damage together (METHOD.md 16.4): here 0.2 / (1 - 0.8 x 0.7).
func TestWorseMarksAreSharedWithHiddenDamage(t *testing.T) {
	u, d := count([]watched{{up: true, worse: true, hidden: 0.3, factor: 2}, {up: true, down: true, factor: 0.5}}, 0.1)
	near(t, "worse", u.hits, 0.2/(1-0.8*0.7), 1e-12)
	near(t, "marks that could be worse", u.marks, 2.5, 1e-12)
	near(t, "marks that could be better", d.marks, 0.5, 1e-12)
	near(t, "better", d.hits, 0, 0)
}

// Of a stopped car the drift counts by the repair's share of the cost and the car's age (METHOD.md 16.18).
func TestLimitOfAnOldCar(t *testing.T) {
	l := newLimit(&Limit{Above: 9000, Mean: 4000, SD: 1600, Shares: [damage.ClassCount]float64{0.3, 0, 0.2}}, 2.5, 0.03)
	near(t, "level", l.x[colLevel], 0.5, 1e-12)
	near(t, "first class", l.x[colClass], 0.3, 1e-12)
	near(t, "drift", l.x[colDrift], 0.5*2.5, 1e-12)
}

// A class without a prior weight would never be named as a cause.
func TestEveryCauseHasAPriorWeight(t *testing.T) {
	for c, weight := range causePrior {
		if weight <= 0 {
			t.Errorf("cause %v: %v", Cause(c), weight)
		}
	}
}
