package stats

import (
	"fmt"
	"math"

	"github.com/montanaflynn/stats"
	"gonum.org/v1/gonum/stat/distuv"
)

// An Interval runs from Low to High.
type Interval struct{ Low, High float64 }

// A LogRatio is the habitual error of estimates: the mean of ln(actual/estimate).
// 0.26 means that things come out 30 % over, exp(0.26) = 1.30.
type LogRatio struct {
	// N is the number of pairs used.
	N int
	// Mean and SD (of a sample) are those of the logarithms; Mean is 0 where N
	// is 0, SD is 0 where N is below 2.
	Mean, SD float64
	// Interval bounds the long-run mean; nil where N is below 2.
	Interval *Interval
	// Left are the indices of pairs left out, because an actual or an estimate is
	// zero, negative or not a number and so has no logarithm.
	Left []int
}

// Factor returns exp(Mean): what estimates would have to be multiplied by.
func (r LogRatio) Factor() float64 { return math.Exp(r.Mean) }

// P returns how likely a mean at least so far from 0 is where the long-run mean is 0: Student's t test, two-sided. It
// is
// 1 where N is below 2, and 0 where all ratios are equal and none is 1.
func (r LogRatio) P() float64 {
	switch {
	case r.N < 2 || r.Mean == 0:
		return 1
	case r.SD == 0:
		return 0
	}
	n := float64(r.N)
	return 2 * distuv.StudentsT{Sigma: 1, Nu: n - 1}.CDF(-math.Abs(r.Mean)/(r.SD/math.Sqrt(n)))
}

// NewLogRatio returns the mean log ratio of actuals to estimates with its
// Student t interval at a confidence between 0 and 1. It fails where the two are
// not equally many.
//
// Student (1908), Biometrika 6, 1-25. Ratios of cost are taken as lognormal.
func NewLogRatio(actuals, estimates []float64, confidence float64) (LogRatio, error) {
	var r LogRatio
	if err := pairs(actuals, estimates); err != nil {
		return r, err
	}
	if err := within(confidence); err != nil {
		return r, err
	}
	var logs []float64
	for i, actual := range actuals {
		log := math.Log(actual / estimates[i])
		if !(actual > 0 && estimates[i] > 0) || math.IsInf(log, 0) || math.IsNaN(log) {
			r.Left = append(r.Left, i)
			continue
		}
		logs = append(logs, log)
	}
	r.N = len(logs)
	if r.N == 0 {
		return r, nil
	}
	var err error
	if r.Mean, err = stats.Mean(logs); err != nil || r.N < 2 {
		return r, err
	}
	if r.SD, err = stats.StandardDeviationSample(logs); err != nil {
		return r, err
	}
	n := float64(r.N)
	half := distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile((1+confidence)/2) * r.SD / math.Sqrt(n)
	r.Interval = &Interval{r.Mean - half, r.Mean + half}
	return r, nil
}

func pairs(actuals, estimates []float64) error {
	if len(actuals) != len(estimates) {
		return fmt.Errorf("%d actuals against %d estimates; give one estimate for each actual", len(actuals), len(estimates))
	}
	return nil
}
