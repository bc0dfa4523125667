package stats_test

import (
	"math"
	"testing"

	"wreckoner/evaluate/stats"
)

// Norris, of the Statistical Reference Datasets of the National Institute of Standards and Technology: calibration of
// ozone monitors, 36 observations, level of difficulty lower; the certified values are those of its file Norris.dat.
// Data and values are from memory; that they agree to eleven digits says that both are right.
func TestRegressionAgainstNorris(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
		448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9,
		668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
		447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2,
		669.1, 448.9, 0.5}
	r, err := stats.NewRegression(x, y, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "intercept", r.Intercept, -0.262323073774029, 1e-9)
	near(t, "slope", r.Slope, 1.00211681802045, 1e-12)
	near(t, "standard error of the slope", r.SlopeSD, 0.429796848199937e-3, 1e-13)
	near(t, "residual standard deviation", r.Residual, 0.884796396144373, 1e-10)
	// Student's t of 34 degrees of freedom, 0.975: 2.0322 (tables).
	near(t, "half of the interval", (r.SlopeInterval.High-r.SlopeInterval.Low)/2, 2.0322*0.429796848199937e-3, 3e-8)
}

func TestRegressionOfTooLittle(t *testing.T) {
	for _, x := range [][]float64{nil, {1}, {1, 2}, {700, 700, 700}} {
		r, err := stats.NewRegression(x, make([]float64, len(x)), 0.95)
		if err != nil || r.SlopeInterval != nil || r.N != len(x) || r.Slope != 0 {
			t.Errorf("of %v: %+v, %v", x, r, err)
		}
	}
	_, err := stats.NewRegression([]float64{1, 2, math.NaN()}, make([]float64, 3), 0.95)
	fails(t, err, "NaN is not an amount that a line can be put through")
	_, err = stats.NewRegression(nil, nil, 1)
	fails(t, err, "confidence 1 is not between 0 and 1; write 0.95 for 95%")
}

// Student's own example: hours of sleep gained with L less those with D, ten patients: mean 1.58, sample standard
// deviation 1.2299 (Student 1908, Biometrika 6, with the divisor n - 1); t of 9 degrees of freedom 2.262.
func TestAverageAgainstStudent(t *testing.T) {
	a, err := stats.NewAverage([]float64{1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", a.Mean, 1.58, 1e-12)
	near(t, "low", a.Interval.Low, 1.58-2.2622*1.2299/math.Sqrt(10), 1e-3)
	near(t, "high", a.Interval.High, 1.58+2.2622*1.2299/math.Sqrt(10), 1e-3)
	if a, err = stats.NewAverage([]float64{7}, 0.95); err != nil || a.Mean != 7 || a.Interval != nil {
		t.Errorf("of one: %+v, %v", a, err)
	}
	if a, err = stats.NewAverage(nil, 0.95); err != nil || a != (stats.Average{}) {
		t.Errorf("of none: %+v, %v", a, err)
	}
}
