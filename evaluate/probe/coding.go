package probe

import (
	"wreckoner/evaluate"
	"wreckoner/evaluate/simulate"
)

// codingFactors are what the chances of a misread code are multiplied by: nothing, as
// where somebody has seen the car stripped, and twice.
var codingFactors = [2]float64{0, 2}

// coding adds what the margin is where seen marks are more or less certain, one way at a
// time. lot is judged at the price; move is what its margin is put upon.
func (p *Probe) coding(e *evaluate.Evaluator, lot *evaluate.Lot, move float64) error {
	at := func(up, down float64) (float64, error) {
		resolved, err := e.Recoded(lot, up, down)
		if err != nil {
			return 0, err
		}
		var t simulate.Totals
		t.Sum(e.Draws(), resolved.Case)
		return e.Worlds(resolved, &t, evaluate.Overrides{}).MeanMargin()(p.Price) + move, nil
	}
	for _, x := range []struct {
		name     string
		up, down bool
	}{{"a mark is a grade more", true, false}, {"a mark is a grade less", false, true}} {
		in := Input{Name: x.name, Low: codingFactors[0], High: codingFactors[1], Unit: "times its chance"}
		for i, into := range []*float64{&in.MarginAtLow, &in.MarginAtHigh} {
			up, down := 1.0, 1.0
			if x.up {
				up = codingFactors[i]
			}
			if x.down {
				down = codingFactors[i]
			}
			var err error
			if *into, err = at(up, down); err != nil {
				return err
			}
		}
		if in.Swing() > 0 {
			p.Inputs = append(p.Inputs, in)
		}
	}
	return nil
}
