package prices

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func numbers(t *testing.T, text string) []float64 {
	t.Helper()
	var out []float64
	for _, word := range strings.Fields(text) {
		x, err := strconv.ParseFloat(word, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, x)
	}
	return out
}

func same(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

// regress fits y on a constant and columns with a flat prior.
func regress(t *testing.T, y []float64, weight []float64, columns ...[]float64) *conjugate {
	t.Helper()
	c, err := fitConjugate(len(y), len(columns)+1, func(i int, row []float64) {
		row[0] = 1
		for j := range columns {
			row[j+1] = columns[j][i]
		}
	}, y, weight, nil)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// NIST Statistical Reference Datasets, linear regression, Norris (lower level of difficulty): certified values.
func TestRegressionIsNISTsNorris(t *testing.T) {
	y := numbers(t, `0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3
		998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2`)
	x := numbers(t, `0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1
		995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5`)
	c := regress(t, y, nil, x)
	sd := c.scales()
	same(t, "intercept", c.mean[0], -0.262323073774029, 1e-10)
	same(t, "slope", c.mean[1], 1.00211681802045, 1e-10)
	same(t, "sd of the intercept", sd[0], 0.232818234301152, 1e-10)
	same(t, "sd of the slope", sd[1], 0.429796848199937e-3, 1e-10)
	same(t, "residual sd", math.Sqrt(c.s2()), 0.884796396144373, 1e-10)
}

// NIST Statistical Reference Datasets, linear regression, Longley (higher level of difficulty): certified values.
func TestRegressionIsNISTsLongley(t *testing.T) {
	all := numbers(t, `60323 83.0 234289 2356 1590 107608 1947  61122 88.5 259426 2325 1456 108632 1948
		60171 88.2 258054 3682 1616 109773 1949  61187 89.5 284599 3351 1650 110929 1950
		63221 96.2 328975 2099 3099 112075 1951  63639 98.1 346999 1932 3594 113270 1952
		64989 99.0 365385 1870 3547 115094 1953  63761 100.0 363112 3578 3350 116219 1954
		66019 101.2 397469 2904 3048 117388 1955  67857 104.6 419180 2822 2857 118734 1956
		68169 108.4 442769 2936 2798 120445 1957  66513 110.8 444546 4681 2637 121950 1958
		68655 112.6 482704 3813 2552 123366 1959  69564 114.2 502601 3931 2514 125368 1960
		69331 115.7 518173 4806 2572 127852 1961  70551 116.9 554894 4007 2827 130081 1962`)
	columns := make([][]float64, 7)
	for i, x := range all {
		columns[i%7] = append(columns[i%7], x)
	}
	c := regress(t, columns[0], nil, columns[1:]...)
	sd := c.scales()
	mean := numbers(t, "-3482258.63459582 15.0618722713733 -0.0358191792925910 -2.02022980381683 -1.03322686717359 "+
		"-0.0511041056535807 1829.15146461355")
	spread := numbers(t, "890420.383607373 84.9149257747669 0.0334910077722432 0.488399681651699 0.214274163161675 "+
		"0.226073200069370 455.478499142212")
	for i := range mean {
		same(t, "coefficient "+strconv.Itoa(i), c.mean[i], mean[i], 1e-9)
		same(t, "its sd", sd[i], spread[i], 1e-9)
	}
	same(t, "residual sd", math.Sqrt(c.s2()), 304.854073561965, 1e-9)
}

// Hoff (2009), A First Course in Bayesian Statistical Methods, section 5.3: wing lengths of nine midges. Recalled.
func TestRegressionIsHoffsMidges(t *testing.T) {
	y := numbers(t, "1.64 1.70 1.72 1.74 1.82 1.82 1.82 1.90 2.08")
	c, err := fitConjugate(len(y), 1, func(_ int, row []float64) { row[0] = 1 }, y, nil,
		&regressionPrior{mean: []float64{1.9}, sd: []float64{1}, a: 0.5, b: 0.5 * 0.01})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.mean[0]-1.814) > 5e-4 || math.Abs(c.s2()-0.015) > 5e-4 || c.df() != 10 {
		t.Errorf("mean %v, variance %v, %v df; the book has 1.814, 0.015, 10", c.mean[0], c.s2(), c.df())
	}
}

// Lange, Little and Taylor (1989), J. American Statistical Association 84, 881, table 1: stack loss, t with 4
// degrees of freedom. Recalled, and met by computing. The weights are those of METHOD.md 15.11 without a prior.
func TestRobustWeightsAreLangesStackLoss(t *testing.T) {
	y := numbers(t, "42 37 37 28 18 18 19 20 15 14 14 13 11 12 8 7 8 8 9 15 15")
	x := [][]float64{
		numbers(t, "80 80 75 62 62 62 62 62 58 58 58 58 58 58 50 50 50 50 50 56 70"),
		numbers(t, "27 27 25 24 22 23 24 24 23 18 18 17 18 19 18 18 19 19 20 20 20"),
		numbers(t, "89 88 90 87 87 87 93 93 87 80 89 88 82 93 89 86 72 79 80 82 91"),
	}
	w := make([]float64, len(y))
	for i := range w {
		w[i] = 1
	}
	var c *conjugate
	for range 2000 {
		c = regress(t, y, w, x...)
		off2, s2 := make([]float64, len(y)), 0.0
		for i := range y {
			m := c.mean[0]
			for j := range x {
				m += c.mean[j+1] * x[j][i]
			}
			off2[i] = (y[i] - m) * (y[i] - m)
			s2 += w[i] * off2[i] / float64(len(y))
		}
		for i := range w {
			w[i] = (errorDF + 1) / (errorDF + off2[i]/s2)
		}
	}
	for i, want := range []float64{-40.07, 0.86, 0.75, -0.12} {
		if math.Abs(c.mean[i]-want) > 0.005 {
			t.Errorf("coefficient %d: %.4f, want %.2f", i, c.mean[i], want)
		}
	}
}

// The 0.9 quantile of Student's t with 4 degrees of freedom in closed form: Shaw (2006), J. Computational Finance
// 9, 37.
func TestTailFactorIsTheClosedForm(t *testing.T) {
	alpha := 4 * 0.9 * 0.1
	q := math.Sqrt(4*math.Cos(math.Acos(math.Sqrt(alpha))/3)/math.Sqrt(alpha) - 4)
	same(t, "quantile over the normal's", tailFactor, q/z90, 1e-14)
	same(t, "the figure quoted", tailFactor, 1.1963672, 1e-7)
}

func TestScoresAreThePublishedOnes(t *testing.T) {
	// The value that the test of the R package scoringRules has for t with 5 degrees of freedom at -3.
	same(t, "t5 at -3", crpsT(-3, 0, 1, 5), 2.33875895, 1e-8)
	same(t, "t with many degrees of freedom is normal", crpsT(0.7, 0, 1, 1e6), crpsNormal(0.7, 0, 1), 1e-5)
	// The lognormal's closed form against the definition: the mean distance to equally likely points, less half theirs
	// (Gneiting and Raftery 2007, equation 21).
	const n = 20000
	sum, pairs := 0.0, 0.0
	for i := range n {
		q := math.Exp(0.3 + 0.4*distuv.UnitNormal.Quantile((float64(i)+0.5)/n))
		sum += math.Abs(q-1.1) / n
		pairs += (2*float64(i+1) - n - 1) * q / (n * n)
	}
	same(t, "lognormal", crpsLognormal(1.1, 0.3, 0.4), sum-pairs, 1e-7)
}

// A linear margin and a lognormal price: Black (1976), J. Financial Economics 3, 167; 200 steps are within a
// hundred-thousandth.
func TestExpectedGainIsBlacks(t *testing.T) {
	p := Price{Location: math.Log(4000), Scale: 0.3, DF: 1e7}
	got := p.ExpectedGain(func(h float64) float64 { return 6000 - h }, 6000, 1)
	d := (math.Log(6000) - p.Location) / p.Scale
	n := distuv.UnitNormal
	want := 6000*n.CDF(d) - math.Exp(p.Location+p.Scale*p.Scale/2)*n.CDF(d-p.Scale)
	same(t, "the closed form", want, 1899.31562, 1e-8)
	same(t, "gain", got, want, 1e-5)
}

// The mean of a standard normal below c is -phi(c)/Phi(c), and the largest of three is 0.8463 on average (Smith and
// Winkler 2006, Management Science 52, 311, have 0.85): what METHOD.md 15.28 says of winning.
func TestWhatWinningCosts(t *testing.T) {
	n := distuv.UnitNormal
	const steps = 200000
	for _, c := range []float64{-0.5, 0, 1} {
		sum, top := 0.0, 0.0
		for i := range steps {
			u := (float64(i) + 0.5) / steps
			sum += n.Quantile(u*n.CDF(c)) / steps
			top += n.Quantile(math.Cbrt(u)) / steps
		}
		same(t, "mean below a limit", sum, -n.Prob(c)/n.CDF(c), 1e-4)
		same(t, "largest of three", top, 3/(2*math.Sqrt(math.Pi)), 1e-4)
	}
}
