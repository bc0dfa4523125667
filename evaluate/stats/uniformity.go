package stats

import (
	"math"
	"slices"

	"github.com/montanaflynn/stats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Finest is the smallest percentile told from 0, and its complement the largest
// told from 1: half a world of 4,096. Percentiles beyond are moved to it, so that
// an outcome outside every simulated world counts as rare and not as impossible.
const Finest = 1.0 / 8192

// Uniformity says whether the percentiles at which outcomes fell in their own
// forecasts look uniform, as they do where forecasts are honest. P values are
// chances of something at least as odd if the forecasts are honest; small is bad.
type Uniformity struct {
	// N is the number of percentiles. With 0 every P is 1.
	N int
	// P is the headline: Bias and Spread together.
	P float64
	// Bias tests whether outcomes fall too high or too low on the whole.
	// Mean, of the normal scores, says which: above 0, higher than forecast.
	Bias, Mean float64
	// Spread tests whether the forecasts are too narrow or too wide. Ratio says
	// which: the standard deviation of the normal scores, above 1 where the
	// forecasts were too narrow. With N below 2 Spread is 1 and Ratio 0.
	Spread, Ratio float64
	// AndersonDarling is the statistic of that name and Omnibus its P value:
	// against any other shape, at the price of less power against these two.
	AndersonDarling, Omnibus float64
}

// NewUniformity tests percentiles, each between 0 and 1; it fails on any other.
// It serves from one percentile up, since no null distribution is asymptotic.
//
// The percentiles u of honest forecasts (Dawid 1984, Journal of the Royal
// Statistical Society A 147, 278-292) become standard normal scores z
// (Berkowitz 2001, Journal of Business and Economic Statistics 19, 465-474).
// Then sqrt(n) mean(z) is standard normal and the sum of squares about the mean
// is chi-squared with n - 1 degrees of freedom, exactly and independently of
// each other for every n, so that Fisher's (1932) -2 (ln p1 + ln p2) is
// chi-squared with 4. Both parts are two-sided.
//
// Chosen by measured power at 5 % with 12 percentiles (20,000 draws each) over
// Anderson-Darling, Neyman's smooth test of order 2 and Kolmogorov: forecasts
// too narrow by 1.6 are found in 67 % against 45, 50 and 17 %; too wide by 1.8
// in 40 % against 2, 41 and 6 %; off by half a standard deviation in 32 %
// against 39, 32 and 32 %.
func NewUniformity(percentiles []float64) (Uniformity, error) {
	if err := checkPercentiles(percentiles); err != nil {
		return Uniformity{}, err
	}
	t := Uniformity{N: len(percentiles), P: 1, Bias: 1, Spread: 1, Omnibus: 1}
	if t.N == 0 {
		return t, nil
	}
	n := float64(t.N)
	u := make([]float64, t.N)
	scores := make([]float64, t.N)
	for i, p := range percentiles {
		u[i] = min(max(p, Finest), 1-Finest)
		scores[i] = distuv.UnitNormal.Quantile(u[i])
	}
	var err error
	if t.Mean, err = stats.Mean(scores); err != nil {
		return t, err
	}
	t.Bias = math.Erfc(math.Abs(t.Mean) * math.Sqrt(n/2))
	t.P = t.Bias
	if t.N > 1 {
		if t.Ratio, err = stats.StandardDeviationSample(scores); err != nil {
			return t, err
		}
		chi := distuv.ChiSquared{K: n - 1}
		squares := t.Ratio * t.Ratio * (n - 1)
		t.Spread = min(1, 2*min(chi.CDF(squares), chi.Survival(squares)))
		t.P = fisher(t.Bias, t.Spread)
	}
	t.AndersonDarling = andersonDarling(u)
	t.Omnibus = 1 - andersonDarlingCDF(t.N, t.AndersonDarling)
	return t, nil
}

// fisher combines two independent P values: the survival function of chi-squared
// with 4 degrees of freedom at -2 ln(p q), which is p q (1 - ln(p q)).
func fisher(p, q float64) float64 {
	if p*q == 0 {
		return 0
	}
	return p * q * (1 - math.Log(p*q))
}

// andersonDarling returns the statistic A^2 of percentiles strictly between 0
// and 1 against the uniform. Anderson and Darling (1954), Journal of the
// American Statistical Association 49, 765-769.
func andersonDarling(u []float64) float64 {
	u = slices.Clone(u)
	slices.Sort(u)
	n := len(u)
	sum := 0.0
	for i := range u {
		sum += float64(2*i+1) * (math.Log(u[i]) + math.Log1p(-u[n-1-i]))
	}
	return -float64(n) - sum/float64(n)
}

// andersonDarlingCDF returns the chance that the statistic of n uniform
// percentiles is at most a. n = 1 is in closed form. Otherwise it is the
// approximation of Marsaglia and Marsaglia (2004), Journal of Statistical
// Software 9(2): the limit for many percentiles and a correction for few. By
// simulation it is within 0.005 for two percentiles, within 0.002 where it matters,
// above 0.9, and within 0.0005 from five up.
func andersonDarlingCDF(n int, a float64) float64 {
	if a <= 0 {
		return 0
	}
	if n == 1 {
		// A^2 = -1 - ln(u (1 - u)).
		return math.Sqrt(max(0, 1-4*math.Exp(-1-a)))
	}
	var x float64
	if a < 2 {
		x = math.Exp(-1.2337141/a) / math.Sqrt(a) *
			polynomial(a, 2.00012, 0.247105, -0.0649821, 0.0347962, -0.0116720, 0.00168691)
	} else {
		x = math.Exp(-math.Exp(polynomial(a, 1.0776, -2.30695, 0.43424, -0.082433, 0.008056, -0.0003146)))
	}
	return min(1, max(0, x+fewer(float64(n), x)))
}

// fewer is what n percentiles add to the limiting chance x.
func fewer(n, x float64) float64 {
	edge := 0.01265 + 0.1757/n
	switch {
	case x < edge:
		t := x / edge
		return math.Sqrt(t) * (1 - t) * (49*t - 102) * (0.0037/(n*n) + 0.00078/n + 0.00006) / n
	case x < 0.8:
		t := (x - edge) / (0.8 - edge)
		return polynomial(t, -0.00022633, 6.54034, -14.6538, 14.458, -8.259, 1.91864) * (0.04213 + 0.01365/n) / n
	}
	return polynomial(x, -130.2137, 745.2337, -1705.091, 1950.646, -1116.360, 255.7844) / n
}

// polynomial returns the sum of c[i] x^i.
func polynomial(x float64, c ...float64) float64 {
	sum := 0.0
	for _, k := range slices.Backward(c) {
		sum = sum*x + k
	}
	return sum
}
