package evidence

import (
	"math"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
)

// MarginSpread is how far true margins differ from lot to lot, a share of the value, by the past
// lots with a damage code, a value and a hammer price: METHOD.md 15.30. It is false where fewer than
// thirty of them can be judged. e judges by the evidence, as coded.
func (f *Files) MarginSpread(e *evaluate.Evaluator) (spread float64, enough bool) {
	var rows []prices.SpreadRow
	for i := range f.Results {
		p := &f.Results[i]
		if !p.Coded || p.Value <= 0 || p.Hammer <= 0 {
			continue
		}
		s, err := e.Assess(p.AsLot())
		if err != nil {
			continue // named where the evidence was fitted
		}
		at := s.Along([]money.Pence{money.FromPounds(p.Hammer)})[0]
		row := prices.SpreadRow{Margin: at.Mean, Value: p.Value}
		if a := s.Appraisal(); a != nil {
			row.Tau = a.Tau
		}
		rows = append(rows, row)
	}
	spread, enough = prices.MarginSpread(rows)
	return math.Round(1e4*spread) / 1e4, enough
}
