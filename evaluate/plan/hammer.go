package plan

import (
	"math"

	rival "wreckoner/evaluate/bid"
)

// A Hammer is the distribution of a lot's hammer price, and Rivals are what has to be beaten on
// it: both are package bid's, so that a chance to win is worked out in one place.
type (
	Hammer = rival.Hammer
	Rivals = rival.Rivals
)

// ThreePointHammer returns the hammer with these P10, P50 and P90, in pounds.
func ThreePointHammer(low, mid, high float64) (Hammer, error) {
	return rival.ThreePointHammer(low, mid, high)
}

// z90 is the standard normal quantile of 0.9.
const z90 = 1.2815515655446004

// below returns the chance that a standard normal number is below z.
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
