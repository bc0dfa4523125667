package evaluate_test

import (
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// On paper: 0.75 x 6,415.15 + 0.25 x 5,710.15 is left before the outlay, and the outlay costs
// 1.003375 times itself; 170.00 comes on top of the hammer price. See TestStopsOnPaper.
func TestMeanMarginOnPaper(t *testing.T) {
	for _, points := range []int{0, 1024} {
		e, err := evaluate.New(paper(t), evaluate.Options{Points: points})
		if err != nil {
			t.Fatal(err)
		}
		s, err := e.Assess(lot(t, "nose c3"))
		if err != nil {
			t.Fatal(err)
		}
		for _, hammer := range []money.Pence{2500, 300000, 602500} {
			outlay := s.Outlay(hammer)
			near(t, "outlay", outlay.Pounds(), hammer.Pounds()+170)
			near(t, "mean margin", s.MeanMargin(hammer), s.Along([]money.Pence{hammer})[0].Mean)
			near(t, "mean margin on paper", s.MeanMargin(hammer), 0.75*6415.15+0.25*5710.15-1.003375*outlay.Pounds())
		}
	}
}
