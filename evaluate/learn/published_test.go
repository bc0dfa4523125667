package learn

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// TestChanceOfGirls: 437 girls in 980 births with placenta praevia under a uniform prior have a posterior mean of
// 0.446 and a standard deviation of 0.016 (Gelman et al., Bayesian Data Analysis, 3rd edition, section 2.4; the
// posterior is Beta(438, 544)). Both halves of the mixture here are worth far less than the data.
func TestChanceOfGirls(t *testing.T) {
	c := Chance{Set: 0.5}
	b := c.learnWorth(tally{437, 980, 1}, [2]float64{2, 2})
	near(t, "mean", c.Mean, 438.0/982, 1e-12)
	near(t, "mean as printed", c.Mean, 0.446, 5e-4)
	near(t, "sd as printed", c.SD, 0.016, 5e-4)
	if b > 0 != (math.Abs(c.Mean-0.5) > 0.05) {
		t.Errorf("evidence %v against a chance of a half", b)
	}
}

// TestMixtureAgainstWholeSum compares the mixture of two betas with a sum over a fine grid of chances.
func TestMixtureAgainstWholeSum(t *testing.T) {
	c := Chance{Set: 0.1}
	c.learn(tally{7, 20, 1})
	var total, first, second float64
	const n = 200000
	for i := range n {
		p := (float64(i) + 0.5) / n
		prior := 0.0
		for _, k := range []float64{100, 5} {
			a, b := k*0.1, k*0.9
			lg := func(x float64) float64 { l, _ := math.Lgamma(x); return l }
			prior += 0.5 * math.Exp((a-1)*math.Log(p)+(b-1)*math.Log1p(-p)+lg(a+b)-lg(a)-lg(b))
		}
		w := prior * math.Exp(7*math.Log(p)+13*math.Log1p(-p))
		total, first, second = total+w, first+w*p, second+w*p*p
	}
	near(t, "mean", c.Mean, first/total, 1e-6)
	near(t, "sd", c.SD, math.Sqrt(second/total-first*first/total/total), 1e-6)
}

// one is a model of one column on plain data: every spread and car as given, a flat or a normal prior.
func one(spread []float64, cars []int, prior float64) *costs {
	c := &costs{prior: []float64{prior, 1e-12, 1e-12, 1e-12, 1e-12, 1e-12, 1e-12, 1e-12}, cars: cars[len(cars)-1] + 1}
	for i := range spread {
		c.jobs = append(c.jobs, cost{car: cars[i], column: colRow, curve: &curve{spread: spread[i]}})
	}
	c.mean, c.vari = make([]float64, c.cars), make([]float64, c.cars)
	for i := range c.vari {
		c.vari[i] = 1
	}
	return c
}

func (c *costs) only(r []float64, link, kappa float64) (beta, sd, evidence float64) {
	s := c.equations(r, link, kappa).solve(c.prior, []int{0})
	return s.beta[0], math.Sqrt(s.covariance(len(c.prior)).At(0, 0)), s.evidence
}

func count0(n, each int) (cars []int) {
	for i := range n * each {
		cars = append(cars, i/each)
	}
	return cars
}

// TestTenStudents: prior N(180, 40^2), ten students of mean 150 and standard deviation 20: posterior N(150.7, 6.2^2)
// (Gelman et al., Bayesian Data Analysis, exercise 2.8; from memory).
func TestTenStudents(t *testing.T) {
	y := slices.Repeat([]float64{-30}, 10)
	mean, sd, _ := one(slices.Repeat([]float64{20}, 10), count0(10, 1), 1600).only(y, 0, 1)
	near(t, "mean", 180+mean, 150.7, 0.05)
	near(t, "sd", sd, 6.2, 0.05)
}

// TestEightSchools: the pooled effect is 7.7 with a standard error of 4.1 (Rubin 1981, Journal of Educational
// Statistics 6; data and figures from memory).
func TestEightSchools(t *testing.T) {
	y := []float64{28, 8, -3, 7, -1, 1, 18, 12}
	mean, sd, _ := one([]float64{15, 10, 16, 11, 9, 11, 10, 18}, count0(8, 1), 1e12).only(y, 0, 1)
	near(t, "mean", mean, 7.7, 0.05)
	near(t, "sd", sd, 4.1, 0.05)
}

var dyestuff = []float64{1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495, 1595, 1550, 1605, 1510, 1560,
	1445, 1440, 1595, 1465, 1545, 1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445}

// TestDyestuff: yields of six batches of five (Davies and Goldsmith 1972). The lme4 package for R prints for its
// data set Dyestuff a restricted likelihood criterion of 319.6543, an intercept of 1527.5, and variances 1764 and
// 2451 (Bates et al. 2015, Journal of Statistical Software 67; looked up; the data are from memory, and would not
// give these figures if wrong).
func TestDyestuff(t *testing.T) {
	c := one(slices.Repeat([]float64{1}, 30), count0(6, 5), 1e12)
	total := 1764.05 + 2451.25
	mean, _, ev := c.only(dyestuff, 1764.05/total, math.Sqrt(total))
	near(t, "mean", mean, 1527.5, 0.01)
	criterion := func(ev float64) float64 { return -2*ev - math.Log(1e12) + 29*math.Log(2*math.Pi) }
	near(t, "criterion", criterion(ev), 319.6543, 2e-3)
	// The link at which the evidence is largest is theirs.
	best, at := math.Inf(-1), 0.0
	for _, x := range grid(0.3, 0.55, 250) {
		if _, _, e := c.only(dyestuff, x, math.Sqrt(2451.25/(1-x))); e > best {
			best, at = e, x
		}
	}
	near(t, "link", at, 1764.05/total, 0.002)
}

// TestNodes: chance given severity, averaged over severity, is the chance itself (Vasicek 1987), and the fourth
// moment of a standard normal is 3.
func TestNodes(t *testing.T) {
	var logs [nodeCount]float64
	conditional(0.12, 0.25, true, &logs)
	sum, fourth := 0.0, 0.0
	for k, w := range weights {
		sum += w * math.Exp(logs[k])
		fourth += w * math.Pow(nodes[k], 4)
	}
	near(t, "chance", sum, 0.12, 1e-4)
	near(t, "fourth moment", fourth, 3, 1e-9)
	// Closed form: log Phi(-40) from Mills' ratio, Abramowitz and Stegun (1964) 26.2.12 with two more terms.
	x := 40.0
	want := -0.5*x*x - math.Log(x) - 0.5*math.Log(2*math.Pi) + math.Log(1-1/x/x+3/math.Pow(x, 4)-15/math.Pow(x, 6))
	near(t, "log of a small chance", logNormalCDF(-40), want, 1e-6)
	near(t, "where the two ways meet", logNormalCDF(-30.0001), logNormalCDF(-29.9999)-0.0002*30.03, 1e-4)
}

// drawCosts draws a small model: jobs of a few cars, two rows, and their responses.
func drawCosts(r *rapid.T) (c *costs, y []float64) {
	draw := func(what string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(r, what) }
	c = &costs{prior: []float64{.04, .0225, .0225, .0225, .0225, .0225, .0016, .03, .05}, cars: 1}
	for i := range rapid.IntRange(1, 12).Draw(r, "jobs") {
		if i > 0 && rapid.Bool().Draw(r, "next") {
			c.cars++
		}
		c.jobs = append(c.jobs, cost{car: c.cars - 1, class: rapid.IntRange(0, 4).Draw(r, "class"),
			column: rapid.IntRange(7, 8).Draw(r, "row"), drift: draw("drift", 0, 3),
			curve: &curve{spread: draw("spread", .2, .7)}})
		y = append(y, draw("y", -2, 2))
	}
	for range c.cars {
		c.mean, c.vari = append(c.mean, draw("m", -1, 1)), append(c.vari, draw("v", .3, 1))
	}
	return c, y
}

// whole returns the mean and the covariance of the responses, beta integrated out, and the covariance with beta.
func (c *costs) whole(link, kappa float64) (offset []float64, w *mat.SymDense, cross *mat.Dense) {
	n, p := len(c.jobs), len(c.prior)
	x := mat.NewDense(n, p, nil)
	for i := range c.jobs {
		cols, values := c.jobs[i].columns()
		for k, col := range cols {
			x.Set(i, col, values[k])
		}
	}
	cross = mat.NewDense(n, p, nil)
	cross.Mul(x, mat.NewDiagDense(p, c.prior))
	var full mat.Dense
	full.Mul(cross, x.T())
	w = mat.NewSymDense(n, nil)
	for i := range n {
		a := &c.jobs[i]
		offset = append(offset, kappa*a.spread*math.Sqrt(link)*c.mean[a.car])
		for j := i; j < n; j++ {
			b := &c.jobs[j]
			v := full.At(i, j)
			if a.car == b.car {
				v += kappa * kappa * a.spread * b.spread * link * c.vari[a.car]
			}
			if i == j {
				v += kappa * kappa * a.spread * a.spread * (1 - link)
			}
			w.SetSym(i, j, v)
		}
	}
	return offset, w, cross
}

// TestAgainstWholeMatrix compares evidence and mean, summed build by build, with the whole matrix, for which gonum's
// multivariate normal is used.
func TestAgainstWholeMatrix(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c, y := drawCosts(r)
		link := rapid.Float64Range(0, 0.9).Draw(r, "link")
		kappa := rapid.Float64Range(0.7, 1.4).Draw(r, "kappa")
		got := c.equations(y, link, kappa).solve(c.prior, []int{0, 1, 2, 3, 4, 5, 6, 7, 8})
		offset, w, cross := c.whole(link, kappa)
		d, ok := distmv.NewNormal(offset, w, nil)
		if !ok {
			r.Fatal("the whole matrix is not positive definite")
		}
		want := d.LogProb(y) + float64(len(y))/2*math.Log(2*math.Pi)
		if math.Abs(got.evidence-want) > 1e-8 {
			r.Fatalf("evidence %v, whole matrix %v", got.evidence, want)
		}
		var chol mat.Cholesky
		chol.Factorize(w)
		rest := mat.NewVecDense(len(y), nil)
		for i := range y {
			rest.SetVec(i, y[i]-offset[i])
		}
		var x, beta mat.VecDense
		if err := chol.SolveVecTo(&x, rest); err != nil {
			r.Fatal(err)
		}
		beta.MulVec(cross.T(), &x)
		for i, b := range got.beta {
			if math.Abs(b-beta.AtVec(i)) > 1e-8 {
				r.Fatalf("beta %d is %v, whole matrix %v", i, b, beta.AtVec(i))
			}
		}
	})
}

// TestHolm: of the chances below the third and the seventh may be stated at 5 % (the example of the R package
// HDLSSkST 2.1.0 for Holm's step-down procedure; looked up).
func TestHolm(t *testing.T) {
	var all []Habit
	for _, p := range []float64{0.50, 0.01, 0.001, 0.69, 0.02, 0.05, 0.0025} {
		all = append(all, Habit{P: p})
	}
	holm(all)
	for i, h := range all {
		if h.Fact != (i == 2 || i == 6) {
			t.Errorf("chance %v: fact %v", h.P, h.Fact)
		}
	}
}

// TestLimitIsTruncatedNormal: one stopped car whose cost is a level and a scatter of its own tells of the level what a
// censored normal does (Tobin 1958): the mode solves (m - b0) / v = hazard. Closed form by bisection.
func TestLimitIsTruncatedNormal(t *testing.T) {
	l := newLimit(&Limit{Above: 9000, Mean: 4000, SD: 1600, Shares: [5]float64{1}}, 0, 0)
	l.x[colClass] = 0
	c := &costs{prior: []float64{levelSD * levelSD, 1, 1, 1, 1, 1, 1}, limits: []limit{l}}
	beta := make([]float64, colRow)
	for range 50 {
		s := c.equations(nil, 0.25, 1)
		s.limit(c.limits, beta, 1)
		beta = s.solve(c.prior, []int{colLevel}).beta
	}
	low, high := -1.0, 2.0
	for range 60 {
		m := (low + high) / 2
		z := (m - l.above) / l.spread
		hazard := math.Exp(-0.5*z*z-0.5*math.Log(2*math.Pi)-logNormalCDF(z)) / l.spread
		if hazard > m/(levelSD*levelSD) {
			low = m
		} else {
			high = m
		}
	}
	near(t, "mode", beta[colLevel], low, 1e-6)
	if low < 0.02 {
		t.Errorf("a car at 9,000 where 4,000 was expected moves the level by %v only", low)
	}
}

// TestCurveInverse: the score of a log cost is the score it came from.
func TestCurveInverse(t *testing.T) {
	r := Row{Spend: mustAmount(220, 400, 780), Hours: mustAmount(9, 15, 26)}
	c := newCurve(&r, curveKey{spend: 0.8, hours: 1.1, rate: 30})
	near(t, "mid", c.mid, 0.8*400+1.1*30*15, 1e-9)
	near(t, "high", math.Exp(c.at(z90))*c.mid, 0.8*780+1.1*30*26, 0.5)
	for _, u := range grid(-5, 7, 97) {
		near(t, "score", c.score(c.at(u)), u, 1e-9)
	}
}
