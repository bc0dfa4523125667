package conjugate

import (
	"fmt"
	"math"
)

// A Row is a three-point belief about a positive amount: one in ten comes in
// under Low, half under Mid, one in ten above High. In any unit.
type Row struct {
	Low, Mid, High float64
	// Worth is the number of observations that the belief is worth, above 0.
	Worth float64
	// Class is the number, from 0, of the class with which the row shares a
	// habitual error.
	Class int
}

// A row keeps its skew. Learning moves two numbers only, a shift and a spread:
//
//	mid' = mid exp(shift)   low' = mid' (low / mid)^spread   high' = mid' (high / mid)^spread
//
// so that shift 0 and spread 1 give the row back, and the ratio of its lower to
// its upper side, in logarithms, stays as the person who knows the job set it.
// An actual x is read as a departure on the log scale, ln(x / mid) less the
// shift, divided by the scale of its own side, ln(mid / low) / z90 below and
// ln(high / mid) / z90 above: a standard normal score where the row is right,
// exact at all three points. Shift and spread are the mean and the standard
// deviation of these scores, so with many observations the three points are
// those of the truth wherever its two sides are as unequal as the row's. (A lower
// side more than six times the upper is read as six times; low 0 stays 0.)
type scale struct {
	mid          float64
	below, above float64
	// even is the scale of both sides taken as one: their harmonic mean, at which
	// a shift moves the mean score of a row by shift / even.
	even float64
}

// check says what is wrong with a row. A fixed row is right.
func (r Row) check(classes int) error {
	for _, x := range []float64{r.Low, r.Mid, r.High} {
		if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
			return fmt.Errorf("%v is not an amount; write 0 or more", x)
		}
	}
	switch {
	case r.Low > r.Mid || r.Mid > r.High:
		return fmt.Errorf("low %v, mid %v, high %v: write the three in rising order", r.Low, r.Mid, r.High)
	case !(r.Worth > 0) || math.IsInf(r.Worth, 0):
		return fmt.Errorf("a worth of %v observations; write a number above 0", r.Worth)
	case r.Class < 0 || r.Class >= classes:
		return fmt.Errorf("class %d of %d", r.Class, classes)
	}
	return nil
}

// fixed reports whether the row can't be learned on the log scale: it has no
// spread on one side, or its middle is 0.
func (r Row) fixed() bool { return r.Low == r.Mid || r.Mid == r.High || r.Mid <= 0 }

// steepest is how many times the upper side the lower may be when actuals are
// read. A low near 0 is far off in logarithms, whatever was meant by it.
const steepest = 6

// scale returns the two sides of a row that is not fixed.
func (r Row) scale() scale {
	s := scale{mid: r.Mid, above: math.Log(r.High/r.Mid) / z90}
	s.below = steepest * s.above
	if r.Low > 0 {
		s.below = min(s.below, math.Log(r.Mid/r.Low)/z90)
	}
	s.even = 2 / (1/s.below + 1/s.above)
	return s
}

// departure returns how far the log of an actual lies from the row shifted, were
// both sides as wide as even.
func (s scale) departure(log, shift float64) float64 {
	if log < shift {
		return (log - shift) * s.even / s.below
	}
	return (log - shift) * s.even / s.above
}

// moved returns the row after learning a shift and a spread.
func (r Row) moved(shift, spread float64) Row {
	mid := r.Mid * math.Exp(shift)
	return Row{
		Low:   mid * math.Pow(r.Low/r.Mid, spread),
		Mid:   mid,
		High:  mid * math.Pow(r.High/r.Mid, spread),
		Worth: r.Worth,
		Class: r.Class,
	}
}
