package stats_test

import (
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate/stats"
)

// A curve is the amount at each score, to the last bit, whatever the shape.
func TestCurveIsTheAmount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 500).Draw(t, "low")
		mid := low + rapid.Float64Range(0, 900).Draw(t, "mid")
		high := mid + rapid.Float64Range(0, 2000).Draw(t, "high")
		a, err := stats.New(low, mid, high, rapid.SampledFrom([]stats.Shape{stats.Skewed, stats.PERT,
			stats.Triangle}).Draw(t, "shape"))
		if err != nil {
			return // three points through which no such amount runs
		}
		z, at := rapid.Float64Range(-6, 6).Draw(t, "score"), a.Curve()
		if got, want := at(z), a.At(z); got != want {
			t.Errorf("%+v at %v: %v, want %v", a, z, got, want)
		}
	})
}
