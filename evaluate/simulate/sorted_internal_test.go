package simulate

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Worlds come by falling share, those of equal shares by their numbers, and each once.
func TestWorldsByFallingShare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Few and close shares, so that some are equal and some nearly so.
		shares := rapid.SliceOfN(rapid.SampledFrom([]float64{0.25, 0.5, 0.5 + 1e-12, 0.75, 0.9, 0.9 - 1e-9}), 1, 40).Draw(t,
			"shares")
		order, falling := sorted(shares)
		for i, w := range order {
			if falling[i] != shares[w] {
				t.Fatalf("place %d: share %v, world %d has %v", i, falling[i], w, shares[w])
			}
			if i > 0 && (falling[i] > falling[i-1] || falling[i] == falling[i-1] && w <= order[i-1]) {
				t.Fatalf("%v comes after %v", order, falling)
			}
		}
		slices.Sort(order)
		for i, w := range order {
			if int(w) != i {
				t.Fatalf("the worlds are %v", order)
			}
		}
	})
}
