package stats

import (
	"fmt"
	"math"

	"github.com/montanaflynn/stats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Regression is the straight line of made on promised, by least squares: made = Intercept + Slope x promised.
type Regression struct {
	// N is the number of pairs.
	N                int
	Intercept, Slope float64
	// SlopeSD is the standard error of the slope, Residual the standard deviation about the line, with N - 2 degrees
	// of freedom.
	SlopeSD, Residual float64
	// SlopeInterval bounds the slope (Student's t). It is nil, and all but N is 0, where N is below 3 or every promise
	// is the same, so that no line can be told.
	SlopeInterval *Interval
}

// NewRegression fits made on promised, with an interval of the slope at a confidence between 0 and 1. It fails
// where the two are not equally many, or hold what is not a number.
//
// Realised on forecast: Mincer and Zarnowitz (1969), "The evaluation of economic forecasts"; a slope of 1 and an
// intercept of 0 are those of a promise that is kept on average, however much is promised.
func NewRegression(promised, made []float64, confidence float64) (Regression, error) {
	r := Regression{N: len(promised)}
	if err := pairs(made, promised); err != nil {
		return r, err
	}
	if err := within(confidence); err != nil {
		return r, err
	}
	for _, x := range [][]float64{promised, made} {
		for _, v := range x {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return r, fmt.Errorf("%v is not an amount that a line can be put through", v)
			}
		}
	}
	if r.N < 3 {
		return r, nil
	}
	mean := stat.Mean(promised, nil)
	spread := 0.0
	for _, x := range promised {
		spread += (x - mean) * (x - mean)
	}
	if spread <= 1e-18*mean*mean*float64(r.N) {
		return r, nil
	}
	r.Intercept, r.Slope = stat.LinearRegression(promised, made, nil, false)
	rest := 0.0
	for i, x := range promised {
		off := made[i] - r.Intercept - r.Slope*x
		rest += off * off
	}
	free := float64(r.N - 2)
	r.Residual = math.Sqrt(rest / free)
	r.SlopeSD = r.Residual / math.Sqrt(spread)
	half := distuv.StudentsT{Sigma: 1, Nu: free}.Quantile((1+confidence)/2) * r.SlopeSD
	r.SlopeInterval = &Interval{r.Slope - half, r.Slope + half}
	return r, nil
}

// An Average is a mean and where the long-run mean lies.
type Average struct {
	N    int
	Mean float64
	// Interval is Student's t interval; nil where N is below 2.
	Interval *Interval
}

// NewAverage returns the mean of values, in their unit, with its interval at a confidence between 0 and 1. Of no values
// it is all 0.
func NewAverage(values []float64, confidence float64) (Average, error) {
	a := Average{N: len(values)}
	if err := within(confidence); err != nil || a.N == 0 {
		return a, err
	}
	var err error
	if a.Mean, err = stats.Mean(values); err != nil || a.N < 2 {
		return a, err
	}
	sd, err := stats.StandardDeviationSample(values)
	if err != nil {
		return a, err
	}
	n := float64(a.N)
	half := distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile((1+confidence)/2) * sd / math.Sqrt(n)
	a.Interval = &Interval{a.Mean - half, a.Mean + half}
	return a, nil
}

func within(confidence float64) error {
	if !(confidence > 0 && confidence < 1) {
		return fmt.Errorf("confidence %v is not between 0 and 1; write 0.95 for 95%%", confidence)
	}
	return nil
}
