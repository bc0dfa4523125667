package deal

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// Stopping is what there is to know of a car that is stripped and then not finished: it
// is sold on as it stands, or broken for parts (METHOD.md chapter 10).
type Stopping struct {
	// SellOn is the share of a hammer price that it brings as it stands; nil: it is never
	// sold so. Parts is what it brings broken, in pounds, net of the work of breaking;
	// nil where nobody says.
	SellOn, Parts *stats.Amount
	// Usual is what such a car goes for, above which SellOn does not rise with the hammer
	// price; 0 where nobody says.
	Usual money.Pence
	// Days from the sale until it is stripped, and own Hours that stripping takes.
	Days, Hours float64
	// Error is how far off the costs are judged at the strip, on the log scale.
	Error float64

	sellOn, parts float64 // means
}

func stoppingOf(s *shop.Settings, collect float64, usual money.Pence) Stopping {
	x := Stopping{SellOn: s.SellOn, Usual: usual, Days: collect + s.StripDays, Hours: s.StripHours, Error: s.StripError}
	if x.SellOn != nil {
		x.sellOn = x.SellOn.Mean()
	}
	return x
}

// WithParts sets what the car brings broken, in pounds; nil: nobody says.
func (d *Deal) WithParts(parts *stats.Amount) {
	if d.Stop.Parts = parts; parts != nil {
		d.Stop.parts = parts.Mean()
	}
}

// MayStop reports whether the car need not be finished.
func (d *Deal) MayStop() bool { return d.Stop.SellOn != nil || d.Stop.Parts != nil }

// Brings returns what the car brings unfinished: of the two ways the one with the larger
// mean, as an amount and what it is multiplied by, and their mean product in pounds.
// It is only for cars that need not be finished.
func (p *Price) Brings() (amount *stats.Amount, times, mean float64) {
	x := &p.Stop
	if x.SellOn != nil {
		at := p.Hammer
		if x.Usual > 0 {
			at = min(at, x.Usual)
		}
		amount, times = x.SellOn, at.Pounds()
		mean = x.sellOn * times
	}
	if x.Parts != nil && (amount == nil || x.parts > mean) {
		return x.Parts, 1, x.parts
	}
	return amount, times, mean
}

// Stopped returns what is left of a car that is not finished and brings so much, in
// pounds: METHOD.md 10.2. It rises with what it brings.
func (p *Price) Stopped(brings float64) float64 {
	return p.Margin(p.Kept*brings-p.Stop.Hours*p.Labour-p.Stop.Days*p.Terms.Day, p.Stop.Days, brings)
}

// BringsAt is Stopped the other way round: what a car must bring that so much is left of
// it, in pounds.
func (p *Price) BringsAt(left float64) float64 {
	x := (left - p.Stopped(0)) / p.Kept
	if p.Scheme > 0 && x > p.Bought {
		x = p.Bought + (x-p.Bought)*p.Kept/(p.Kept-p.Scheme)
	}
	return x
}

// A Choice is when a car is not finished: where the costs, as the strip shows them, are
// above Limit. METHOD.md 10.3.
type Choice struct {
	// Most are the costs, in pounds, above which stopping pays: c*.
	Most float64
	// Limit is y*, in pounds, and Error the error with which the strip shows the costs;
	// 0: it shows them as they are.
	Limit, Error float64
}

// Choose returns the choice where the costs have this mean and standard deviation and
// finishing or stopping leaves so much on average, in pounds.
func Choose(costs, sd, finished, stopped, stripError float64) Choice {
	c := Choice{Most: costs + finished - stopped, Error: stripError}
	if c.Limit = c.Most; c.Most <= 0 || costs <= 0 || sd <= 1e-9*costs || stripError <= 0 {
		c.Error = 0
		return c
	}
	s2 := math.Log1p(sd * sd / (costs * costs))
	mu, r := math.Log(costs)-s2/2, s2/(s2+stripError*stripError)
	c.Limit = math.Exp(mu + (math.Log(c.Most)-s2*(1-r)/2-mu)/r)
	return c
}

// Chance returns the chance that a car whose true costs are these is not finished.
func (c *Choice) Chance(costs float64) float64 {
	switch {
	case c.Most <= 0:
		return 1
	case costs <= 0 || math.IsInf(c.Limit, 1):
		return 0
	case c.Error == 0:
		if costs > c.Limit {
			return 1
		}
		return 0
	case c.Limit == 0:
		return 1
	}
	return distuv.UnitNormal.CDF(math.Log(costs/c.Limit) / c.Error)
}

// Shown reports whether a car is not finished where the strip shows these costs.
func (c *Choice) Shown(costs float64) bool { return c.Most <= 0 || costs > c.Limit }

// Shown returns what the strip shows of the costs: z is a standard normal score. Costs
// of nothing are shown as they are.
func (s *Stopping) Shown(costs, z float64) float64 { return costs * math.Exp(s.Error*z) }
