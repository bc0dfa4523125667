package evaluate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// nearby is how far from that of a normal a quantile is looked for first, in standard deviations.
const nearby = 0.3

// quantile returns what is not exceeded with probability p, where below is the chance of not exceeding something,
// mean and sd, above 0, its mean and standard deviation.
func quantile(p, mean, sd float64, below func(float64) float64) float64 {
	// It is seldom far from that of a normal.
	middle := mean + sd*distuv.UnitNormal.Quantile(p)
	low, high := middle-nearby*sd, middle+nearby*sd
	at := func(x float64) float64 { return below(x) - p }
	atLow, atHigh := at(low), at(high)
	for width := sd; atLow > 0 && !math.IsInf(low, 0); width *= 2 {
		high, atHigh = low, atLow
		low -= width
		atLow = at(low)
	}
	for width := sd; atHigh < 0 && !math.IsInf(high, 0); width *= 2 {
		low, atLow = high, atHigh
		high += width
		atHigh = at(high)
	}
	// The Illinois method (Dowell and Jarratt 1971), to a ten-thousandth of the
	// standard deviation.
	side := 0
	for range 60 {
		if high-low < 1e-5*sd || atLow == atHigh {
			break
		}
		x := low + (high-low)*atLow/(atLow-atHigh)
		y := at(x)
		if math.Abs(y) < 1e-6 {
			return x
		}
		if y < 0 {
			low, atLow = x, y
			if side == -1 {
				atHigh /= 2
			}
			side = -1
		} else {
			high, atHigh = x, y
			if side == 1 {
				atLow /= 2
			}
			side = 1
		}
	}
	return (low + high) / 2
}
