package stats

// The continuous ranked probability score (CRPS) of a forecast distribution F
// against an outcome y is the integral over x of (F(x) - [x >= y])^2. It has the
// unit of y, is never negative, is smaller for a better forecast, and for a
// forecast without spread is the absolute error. Formulas: Gneiting and Raftery
// (2007), Journal of the American Statistical Association 102, 359-378.

// CRPSSorted returns the score, at an outcome, of a forecast given as a sample in
// ascending order, each value with equal weight, or as that many quantiles at the levels
// (i + 1/2) / n, i from 0: the two are the same distribution. An empty sample gives NaN.
//
// Equation 21 with the double sum taken over the sorted sample.
func CRPSSorted(sorted []float64, outcome float64) float64 {
	n := float64(len(sorted))
	sum := 0.0
	for i, x := range sorted {
		sum += Pinball((float64(i)+0.5)/n, x, outcome)
	}
	return 2 * sum / n
}
