package stats_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"wreckoner/evaluate/stats"
)

// tasks reads the estimated and actual effort of testdata, in hours.
func tasks(t *testing.T) (actuals, estimates []float64) {
	t.Helper()
	f, err := os.Open("testdata/jorgensen2004_49tasks.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, record := range records[1:] {
		estimate, err := strconv.ParseFloat(record[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		actual, err := strconv.ParseFloat(record[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		estimates, actuals = append(estimates, estimate), append(actuals, actual)
	}
	return actuals, estimates
}

// Source: Jorgensen (2004), Empirical Software Engineering 9: 49 tasks, mean
// estimate 89 h and actual 117 h, mean magnitude of relative error 27 %, mean
// relative error 10 % (read). More digits recomputed from the data with R; the
// log ratio computed with scipy 1.10.1 (stats.t.interval, stats.sem).
func TestPublishedEstimatesAgainstActuals(t *testing.T) {
	actuals, estimates := tasks(t)
	mean, magnitude, n, err := stats.RelativeError(actuals, estimates)
	if err != nil || n != 49 {
		t.Fatalf("%d tasks, %v", n, err)
	}
	near(t, "mean relative error", mean, 0.10, 0.005)
	near(t, "mean relative error", mean, 0.101683, 5e-7)
	near(t, "mean magnitude of relative error", magnitude, 0.27, 0.005)
	near(t, "mean magnitude of relative error", magnitude, 0.271731, 5e-7)

	r, err := stats.NewLogRatio(actuals, estimates, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean log ratio", r.Mean, 0.1870271318401635, 1e-12)
	near(t, "its standard deviation", r.SD, 0.42102789357599213, 1e-12)
	near(t, "low", r.Interval.Low, 0.06609380105151694, 1e-9)
	near(t, "high", r.Interval.High, 0.30796046262881005, 1e-9)
	near(t, "factor", r.Factor(), math.Exp(0.1870271318401635), 1e-12)

	// The tasks were published in ascending order of actual over estimate, so the
	// last ratio serves here as it never could in life; a rival must not be let
	// loose on sorted data. What holds of any order: the absolute error of the
	// estimates themselves is the CRPS of the rival without spread.
	sum, total := 0.0, 0.0
	for i := range actuals {
		sum += stats.CRPSPoint(estimates[i], actuals[i])
		total += actuals[i]
	}
	near(t, "mean actual", total/49, 117.1735, 5e-5)
	if sum/49 < 117.1735-88.7143 {
		t.Errorf("mean absolute error %v is below the absolute mean error", sum/49)
	}
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
