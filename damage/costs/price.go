package costs

import "slices"

// A Quote is what somebody offers one job of one car for: it takes the place of the row's
// amounts, for certain. Both are in the row's units: before a segment's multipliers.
type Quote struct {
	// Spend is in pounds.
	Spend float64
	// Hours is the shop's own work, where HasHours; else the row's stands.
	Hours    float64
	HasHours bool
}

// Times returns what the row's spend is multiplied by on this car.
func (c *Candidate) Times() float64 {
	if c.Scale == 0 {
		return 1
	}
	return c.Scale
}

// AsRow reports whether the row's own amounts are charged.
func (c *Candidate) AsRow() bool { return c.Quote == nil && c.Times() == 1 }

// Certain reports whether the candidate is there in every world.
func (c *Candidate) Certain() bool { return (c.Kind == Seen || c.Kind == Misread) && c.Chance >= 1 }

// At returns spend and hours of the candidate where its row has these.
func (c *Candidate) At(spend, hours float64) (float64, float64) {
	q := c.Quote
	switch {
	case q == nil:
		return c.Times() * spend, hours
	case q.HasHours:
		return q.Spend, q.Hours
	}
	return q.Spend, hours
}

// Seen reports whether one of the candidates is what the code has as a certainty.
func (c Case) Seen() bool {
	return slices.ContainsFunc(c, func(x Candidate) bool { return x.Kind == Seen })
}

// Steps returns, of the candidates of one spot, how likely the mark that was seen is one
// grade less, and one grade more; 0 where nothing was seen there.
func (c Case) Steps() (down, up float64) {
	for i := range c {
		x := &c[i]
		switch {
		case x.Kind == Seen:
			down = 1 - x.Chance
		case x.Kind == Misread && x.Chance < 1:
			up = x.Chance
		case x.Kind == Hidden && x.Step > 0:
			up = x.Step
		}
	}
	return down, up
}
