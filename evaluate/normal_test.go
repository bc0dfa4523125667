package evaluate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The table against gonum's normal.
func TestNormalBelow(t *testing.T) {
	for z := -9.0; z <= 9; z += 0.00371 {
		if got, want := normalBelow(z), distuv.UnitNormal.CDF(z); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%v: %v, want %v", z, got, want)
		}
	}
}
