package evaluate

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate/prices"
)

// Whatever points a market gives a marker, they make an amount; and those of an ordinary marker stay
// as they are.
func TestAnyPointsMakeAMarkerShare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-0.5, 0.6).Draw(t, "low")
		mid := low + rapid.Float64Range(1e-6, 0.15).Draw(t, "down")
		high := mid + rapid.Float64Range(1e-6, 0.15).Draw(t, "up")
		if _, err := markerShare(prices.Points{low, mid, high}); err != nil {
			t.Fatal(err)
		}
	})
	a, err := markerShare(prices.Points{0.14, 0.20, 0.28})
	if err != nil || math.Abs(a.Low-0.14)+math.Abs(a.Mid-0.20)+math.Abs(a.High-0.28) > 1e-12 {
		t.Errorf("%+v, %v", a, err)
	}
}
