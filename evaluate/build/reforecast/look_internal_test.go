package reforecast

import (
	"math"
	"testing"
)

// One thing that is there in one car of four, which a look shows in four of five where it is: the answers by hand.
func TestShowing(t *testing.T) {
	got := showing([]float64{100, 300, 500, -900}, []uint8{0, 0, 0, 1}, 1, 0.8)
	for i, want := range []shown{{0.75 + 0.05, 225 - 45}, {0.2, -180}} {
		if math.Abs(got[i].share-want.share) > 1e-12 || math.Abs(got[i].sum-want.sum) > 1e-9 {
			t.Errorf("answer %d: %+v, want %+v", i, got[i], want)
		}
	}
}
