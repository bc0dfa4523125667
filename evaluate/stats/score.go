package stats

import (
	"fmt"
)

// Pinball returns the loss of a quantile forecast at a level between 0 and 1 when
// the outcome is known: level times what the outcome is above it, 1 - level times
// what it is below. Half the absolute error at the median. In the unit of the
// outcome; its mean is least for the true quantile.
//
// Koenker and Bassett (1978), Econometrica 46, 33-50.
func Pinball(level, quantile, outcome float64) float64 {
	if outcome >= quantile {
		return level * (outcome - quantile)
	}
	return (1 - level) * (quantile - outcome)
}

// Sharpness returns the mean width of intervals relative to their medians: 1.2
// where an estimate of 1,000 runs from 600 to 1,800. It says nothing of whether
// they are right; of two that cover equally well the narrower is the better.
// Medians of zero or below are left out; n is how many were used, and with none
// the width is 0. It fails where the three are not equally many.
func Sharpness(low, median, high []float64) (width float64, n int, err error) {
	if len(low) != len(median) || len(high) != len(median) {
		return 0, 0, fmt.Errorf("%d low, %d median and %d high ends; give one of each", len(low), len(median), len(high))
	}
	for i, m := range median {
		if m > 0 {
			width += (high[i] - low[i]) / m
			n++
		}
	}
	if n > 0 {
		width /= float64(n)
	}
	return width, n, nil
}

// Skill returns how much smaller a mean score is than a rival's, as a share of
// the rival's: 1 is perfect, 0 no better, below 0 worse. known is false where the
// rival's score is 0.
func Skill(score, rival float64) (skill float64, known bool) {
	if rival == 0 {
		return 0, false
	}
	return 1 - score/rival, true
}
