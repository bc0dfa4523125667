package build

import (
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// A Promise is one prediction of the margin that freeze keeps, held against what was made: over all builds, those that
// were given up after the strip too, since what was promised allows for giving up.
type Promise struct {
	// Builds is how many were held against it.
	Builds int
	// Promised and Made are sums.
	Promised, Made money.Pence
	// Behind is the number of builds that made less than was promised, Lost of those that made a loss.
	Behind, Lost int
	// Off is what was made less what was promised, a car, in pounds.
	Off stats.Average
	// Line is made on promised: a slope of 1 says that what is promised of a better car is made, a slope of 0 that it
	// tells nothing (METHOD.md 17.14).
	Line stats.Regression
}

// Margins are what was promised and what was made.
type Margins struct {
	// AsCoded is the mean margin at the price paid, the code and the value taken as they stand.
	AsCoded Promise
	// Corrected is that mean corrected for the best of many and for the top-bidder allowance, over the builds that were
	// bought with evidence; nil where there are none.
	Corrected *Promise
}

// margins sums up what builds promised and made. Both predictions are those that freeze kept; what was made is the
// deal's, as in the walk.
func margins(outcomes []*Outcome) (m Margins, err error) {
	if m.AsCoded, err = promise(outcomes, func(o *Outcome) money.Pence { return o.MarginExpected }); err != nil {
		return m, err
	}
	var with []*Outcome
	for _, o := range outcomes {
		if o.Frozen.Evidence != nil {
			with = append(with, o)
		}
	}
	if len(with) == 0 {
		return m, nil
	}
	c, err := promise(with, func(o *Outcome) money.Pence { return money.FromPounds(o.Frozen.Evidence.Corrected) })
	m.Corrected = &c
	return m, err
}

func promise(outcomes []*Outcome, of func(*Outcome) money.Pence) (p Promise, err error) {
	var promised, made, off []float64
	for _, o := range outcomes {
		expected := of(o)
		p.Builds++
		p.Promised += expected
		p.Made += o.MarginActual
		if o.MarginActual < expected {
			p.Behind++
		}
		if o.MarginActual < 0 {
			p.Lost++
		}
		promised, made = append(promised, expected.Pounds()), append(made, o.MarginActual.Pounds())
		off = append(off, (o.MarginActual - expected).Pounds())
	}
	if p.Off, err = stats.NewAverage(off, confidence); err != nil {
		return p, err
	}
	p.Line, err = stats.NewRegression(promised, made, confidence)
	return p, err
}
