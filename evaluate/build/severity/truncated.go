package severity

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ScoreAbove returns the quantile p, in (0,1), of a score u = sqrt(link) z +
// sqrt(1 - link) e of which it is known that it is at least floor, given the
// factor z: feed it uniform numbers to draw what an open job will come to, of
// which so much is spent already. link is from 0 to below 1.
//
// The normal distribution truncated from below, by its upper tail, which keeps
// its digits however far out the floor lies (Robert 1995, Statistics and
// Computing 5, 121-125, for why the lower one does not).
func ScoreAbove(link, z, floor, p float64) float64 {
	mean, sd := math.Sqrt(link)*z, math.Sqrt(1-link)
	at := (floor - mean) / sd
	// The tail above at, of which the share 1 - p lies above the result.
	tail := distuv.UnitNormal.CDF(-at) * (1 - p)
	if tail < 1e-300 {
		// So far out the excess over the floor is exponential with rate at.
		return floor - sd*math.Log1p(-p)/at
	}
	return max(floor, mean-sd*distuv.UnitNormal.Quantile(tail))
}
