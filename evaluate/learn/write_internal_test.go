package learn

import (
	"math"
	"testing"
)

// Where the builds say nothing of them, the shared columns differ from 0 with their prior chances, each whatever the
// others do; where one hypothesis is e^20 times as likely as the others, it is all that counts.
func TestAveragedWeightsAreTheirPriors(t *testing.T) {
	f := &fit{hypotheses: make([]hypothesis, everything+1)}
	w := averagedWeights(f)
	prior := [shared]float64{0.3, 0.25, 0.25, 0.25, 0.25, 0.25, 0.5} // level, five classes, drift
	for k, want := range prior {
		got, pair := 0.0, 0.0
		for mask, x := range w {
			if mask>>k&1 == 1 {
				got += x
				if k > 0 && mask&1 == 1 {
					pair += x
				}
			}
		}
		if math.Abs(got-want) > 1e-12 || k > 0 && math.Abs(pair-0.3*want) > 1e-12 {
			t.Errorf("column %d differs with chance %v, with the level %v; prior %v", k, got, pair, want)
		}
	}
	f.hypotheses[1<<colDrift].evidence = 20
	if w = averagedWeights(f); w[1<<colDrift] < 0.999 {
		t.Errorf("the one likely hypothesis weighs %v", w[1<<colDrift])
	}
	if cols := columnsOf(1<<colDrift | 1); len(cols) != 2 || cols[0] != colLevel || cols[1] != colDrift {
		t.Errorf("columns %v", cols)
	}
}
