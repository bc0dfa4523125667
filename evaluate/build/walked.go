package build

import (
	"wreckoner/damage"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
)

// A WalkRecord is the way from the hammer price to the mean margin that was
// expected.
type WalkRecord struct {
	Total money.Pence  `json:"total_pence"`
	Steps []StepRecord `json:"steps"`
}

// A StepRecord is one line of it. Money out is negative. The amounts of all steps
// add up to the total.
type StepRecord struct {
	Name   string      `json:"name"`
	Part   deal.Part   `json:"part"`
	Amount money.Pence `json:"amount_pence"`
	How    string      `json:"how"`
	// Zone and Class are those of a repair step.
	Zone  string `json:"zone,omitempty"`
	Class string `json:"class,omitempty"`
}

// Spot returns the place that a repair step is of.
func (s StepRecord) Spot() damage.Spot { return spotOf(s.Zone, s.Class) }

// named returns the amount of the line of that name, 0 where there is none.
func (w *WalkRecord) named(name string) money.Pence {
	for _, s := range w.Steps {
		if s.Name == name {
			return s.Amount
		}
	}
	return 0
}

func keepWalk(w *deal.Workings) WalkRecord {
	k := WalkRecord{Total: w.Total}
	for _, s := range w.Steps {
		if s.Subtotal {
			continue
		}
		r := StepRecord{Name: s.Name, Part: s.Part, Amount: s.Amount, How: s.How}
		if s.Spot != nil {
			r.Zone, r.Class = s.Spot.Zone.String(), s.Spot.Class.Letter()
		}
		k.Steps = append(k.Steps, r)
	}
	return k
}
