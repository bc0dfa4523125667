package stats_test

import (
	"math"
	"testing"

	"wreckoner/evaluate/stats"
)

// Ten invented jobs, in hours; mean, standard deviation and interval computed with scipy
// (stats.t.interval, stats.sem).
func TestLogRatioAgainstScipy(t *testing.T) {
	actuals := []float64{118, 96, 240, 75, 310, 52, 181, 130, 66, 205}
	estimates := []float64{100, 110, 190, 60, 250, 55, 150, 120, 50, 160}
	r, err := stats.NewLogRatio(actuals, estimates, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean log ratio", r.Mean, 0.14385349249605772, 1e-12)
	near(t, "its standard deviation", r.SD, 0.13863525884008807, 1e-12)
	near(t, "low", r.Interval.Low, 0.04467980267627834, 1e-9)
	near(t, "high", r.Interval.High, 0.2430271823158371, 1e-9)
	near(t, "factor", r.Factor(), math.Exp(0.14385349249605772), 1e-12)
}

func TestLogRatioLeavesOutWhatHasNoLogarithm(t *testing.T) {
	r, err := stats.NewLogRatio([]float64{200, 0, -5, 100, 50}, []float64{100, 10, 10, 0, math.NaN()}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", r.Mean, math.Ln2, 1e-15)
	if r.N != 1 || r.Interval != nil || len(r.Left) != 4 {
		t.Errorf("got %+v, want one pair, no interval and four left out", r)
	}
	if r, err = stats.NewLogRatio(nil, nil, 0.95); err != nil || r.N != 0 || r.Factor() != 1 {
		t.Errorf("of nothing: got %+v, %v", r, err)
	}
	_, err = stats.NewLogRatio([]float64{1}, nil, 0.95)
	fails(t, err, "1 actuals against 0 estimates; give one estimate for each actual")
}

// A t of 2.776 with 4 degrees of freedom has 5 % in both tails (Student's table).
func TestLogRatioP(t *testing.T) {
	var actuals, ones []float64
	for _, log := range []float64{-1, -0.5, 0, 0.5, 1} { // sd 0.790569, standard error 0.353553
		actuals, ones = append(actuals, math.Exp(log+2.776445*0.3535534)), append(ones, 1)
	}
	r, err := stats.NewLogRatio(actuals, ones, 0.95)
	if err != nil || math.Abs(r.P()-0.05) > 1e-5 || math.Abs(r.Interval.Low) > 1e-5 {
		t.Errorf("P %v, interval %+v, %v", r.P(), r.Interval, err)
	}
}
