package convolve_test

import (
	"math"
	"testing"

	"wreckoner/evaluate/amount"
	"wreckoner/evaluate/convolve"
)

// A share's shift may take the sum far below zero. It once came round to the top of the
// window, where undamping made it four hundred times as much. The mean of a mixture is
// arithmetic.
func TestANegativeShiftDoesNotComeRound(t *testing.T) {
	spend, err := amount.New(80, 100, 125, amount.Skewed)
	if err != nil {
		t.Fatal(err)
	}
	e, c := one(t, 0, []priced{{chance: 1, spend: spend}})
	m := e.Measure(1, 0)
	sum := e.NewSum()
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	base := sum.Moments()
	nothing := &convolve.Part{Amounts: []float64{0}, Chances: []float64{1}}
	const chance, shift = 0.2, -900
	var d convolve.Distribution
	sum.With(m, convolve.Extra{
		Terms: []convolve.Term{{{Part: nothing, Chance: chance, Shift: shift}, {Part: nothing, Chance: 1 - chance}}},
		Mean:  base.Spend + chance*shift, SD: math.Sqrt(base.SpendSpend + chance*(1-chance)*shift*shift),
	}, &d)
	whole, mean, below := 0.0, 0.0, 0.0
	for i, p := range d.Cells {
		whole += p
		mean += p * d.At(i)
		if d.At(i) < -400 {
			below += p
		}
	}
	if math.Abs(whole-1) > 1e-3 || math.Abs(mean/whole-d.Mean) > 2 || math.Abs(below-chance) > 1e-3 {
		t.Errorf("masses add up to %v, with mean %v and %v below -400; want 1, %v and %v", whole, mean, below, d.Mean, chance)
	}
}
