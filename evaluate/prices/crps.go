package prices

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// crpsT is the continuous ranked probability score of a Student t forecast, METHOD.md 15.33: the smaller the better.
// Jordan, Krueger and Lerch (2019), J. Statistical Software 90(12), appendix A.
func crpsT(y, location, scale, df float64) float64 {
	t := distuv.StudentsT{Sigma: 1, Nu: df}
	z := (y - location) / scale
	beta := math.Exp(logBeta(0.5, df-0.5) - 2*logBeta(0.5, df/2))
	return scale * (z*(2*t.CDF(z)-1) + 2*t.Prob(z)*(df+z*z)/(df-1) - 2*math.Sqrt(df)/(df-1)*beta)
}

func logBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}

// crpsNormal is the same of a normal forecast: Gneiting and Raftery (2007), J. American Statistical Association 102,
// 359, equation 21.
func crpsNormal(y, mean, sd float64) float64 {
	n := distuv.UnitNormal
	z := (y - mean) / sd
	return sd * (z*(2*n.CDF(z)-1) + 2*n.Prob(z) - 1/math.Sqrt(math.Pi))
}

// crpsLognormal is the same of a lognormal forecast: Baran and Lerch (2015), Quarterly J. Royal Meteorological
// Society 141, 2289.
func crpsLognormal(y, mean, sd float64) float64 {
	n := distuv.UnitNormal
	w := (math.Log(y) - mean) / sd
	return y*(2*n.CDF(w)-1) - 2*math.Exp(mean+sd*sd/2)*(n.CDF(w-sd)+n.CDF(sd/math.Sqrt2)-1)
}
