package stats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// The continuous ranked probability score (CRPS) of a forecast distribution F
// against an outcome y is the integral over x of (F(x) - [x >= y])^2. It has the
// unit of y, is never negative, is smaller for a better forecast, and for a
// forecast without spread is the absolute error. Formulas: Gneiting and Raftery
// (2007), Journal of the American Statistical Association 102, 359-378.

// CRPS returns the score of a forecast given as a sample, in any order, at an
// outcome. Each value has equal weight. It takes n log n steps; an empty sample
// gives NaN.
//
// Equation 21 with the double sum taken over the sorted sample.
func CRPS(sample []float64, outcome float64) float64 {
	if slices.IsSorted(sample) {
		return CRPSSorted(sample, outcome)
	}
	sorted := slices.Clone(sample)
	slices.Sort(sorted)
	return CRPSSorted(sorted, outcome)
}

// CRPSSorted is CRPS of a sample in ascending order, or of as many quantiles at
// the levels (i + 1/2) / n, i from 0: the two are the same distribution. An
// empty sample gives NaN.
func CRPSSorted(sorted []float64, outcome float64) float64 {
	n := float64(len(sorted))
	sum := 0.0
	for i, x := range sorted {
		sum += Pinball((float64(i)+0.5)/n, x, outcome)
	}
	return 2 * sum / n
}

// CRPSQuantiles returns the score of a forecast given as quantiles at ascending
// levels between 0 and 1, ends included, at an outcome: twice the integral of the
// pinball loss over the levels, each standing for the levels nearest to it. 99
// quantiles at every percent are within a hundredth of a standard deviation of
// the exact score for outcomes within three; nothing is known of the tails beyond them. No
// quantiles give NaN. levels and quantiles must be equally many.
//
// Gneiting and Ranjan (2011), Journal of Business and Economic Statistics 29,
// 411-422.
func CRPSQuantiles(levels, quantiles []float64, outcome float64) float64 {
	if len(levels) == 0 {
		return math.NaN()
	}
	sum, from := 0.0, 0.0
	for i, level := range levels {
		to := 1.0
		if i+1 < len(levels) {
			to = (level + levels[i+1]) / 2
		}
		sum += (to - from) * Pinball(level, quantiles[i], outcome)
		from = to
	}
	return 2 * sum
}

// CRPSNormal returns the score of a normal forecast with a mean and a standard
// deviation of at least 0 at an outcome. Equation 5 of Gneiting, Raftery,
// Westveld and Goldman (2005), Monthly Weather Review 133, 1098-1118.
func CRPSNormal(mean, sd, outcome float64) float64 {
	if sd == 0 {
		return math.Abs(outcome - mean)
	}
	z := (outcome - mean) / sd
	return sd * (z*(2*distuv.UnitNormal.CDF(z)-1) + 2*distuv.UnitNormal.Prob(z) - 1/math.Sqrt(math.Pi))
}

// CRPSLogNormal returns the score of a lognormal forecast, whose logarithm has
// the mean mu and the standard deviation sigma of at least 0, at an outcome; the
// outcome may be zero or negative. Baran and Lerch (2015), Quarterly Journal of
// the Royal Meteorological Society 141, 2289-2299.
func CRPSLogNormal(mu, sigma, outcome float64) float64 {
	if sigma == 0 {
		return math.Abs(outcome - math.Exp(mu))
	}
	cdf := distuv.UnitNormal.CDF
	z := math.Inf(-1)
	if outcome > 0 {
		z = (math.Log(outcome) - mu) / sigma
	}
	mean := math.Exp(mu + sigma*sigma/2)
	return outcome*(2*cdf(z)-1) - 2*mean*(cdf(z-sigma)+cdf(sigma/math.Sqrt2)-1)
}
