package build

import (
	"math"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
)

func past(code string, mean, actual float64, classes ...ClassOutcome) *Outcome {
	f := &Frozen{Kept: LotRecord{Damage: code}}
	f.Predicted.Repair.Mean = mean
	return &Outcome{Frozen: f, Build: &Build{}, Actual: money.FromPounds(actual), Classes: classes}
}

// The rough guesses by hand. Three builds came to 1, e and 1/e times their means: the next one's median is its own
// mean, and its spread that of the three and of three builds of the usual spread. Cosmetic damage that cost 900, 1,000
// and 1,100 costs 1,000 on average, with a variance of 10,000 (1 + 1/3).
func TestRivals(t *testing.T) {
	cosmetic := func(x float64) ClassOutcome {
		return ClassOutcome{Class: damage.Cosmetic, Actual: money.FromPounds(x)}
	}
	before := []*Outcome{past("nose c2", 1000, 1000, cosmetic(900)), past("nose c2", 1000, 1000*math.E, cosmetic(1000)),
		past("nose c2", 1000, 1000/math.E, cosmetic(1100))}
	now := past("tail c2", 2000, 0)
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tolerance) {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	q := lastRatio(now, before)
	near("median", math.Sqrt(q[99]*q[100]), 2000, 1)
	spread := math.Log(q[168]/q[31]) / 2 // levels 0.8425 and 0.1575: 1.00494 standard deviations
	near("spread", spread, 1.00494*math.Sqrt((3*0.35*0.35+2*1)/5*(1+1.0/3)), 0.01)
	q = classMeans(now, before)
	m, sd := moments(q)
	near("mean by class", m, 1000, 2)
	near("spread by class", sd, math.Sqrt(10000*(1+1.0/3)), 3)
	if lastRatio(now, before[:2]) != nil || classMeans(past("none", 0, 0), before) != nil {
		t.Error("a guess from too little")
	}
}
