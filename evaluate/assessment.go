package evaluate

import (
	"cmp"
	"math"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// An Assessment is one coded lot with every figure to be had: curves, workings, zones and what is
// unknown. It is not for concurrent use.
type Assessment struct {
	e      *Evaluator
	p      *ResolvedLot
	b      scratch
	worlds *Worlds   // nil where k is there
	k      *analytic // nil where worlds were drawn
}

// Assess returns the assessment of a coded lot. It fails as Evaluate does.
func (e *Evaluator) Assess(lot *Lot) (*Assessment, error) {
	p, err := e.Resolve(lot)
	if err != nil {
		return nil, err
	}
	return e.AssessResolved(p)
}

// AssessResolved returns the assessment of a resolved lot.
func (e *Evaluator) AssessResolved(p *ResolvedLot) (*Assessment, error) {
	s := &Assessment{e: e, p: p}
	if exact, err := e.convolved(s.p, &s.b); err != nil {
		return nil, err
	} else if exact {
		s.k = &s.b.analytic
		s.k.likely = s.k.sum.Candidates(s.k.likely)
		return s, nil
	}
	s.b.totals.Sum(e.draws, s.p.Case)
	s.worlds = e.worlds(s.p, &s.b, Overrides{})
	return s, nil
}

// Workings returns the sums from a hammer price to the margin, line by line.
func (s *Assessment) Workings(hammer money.Pence) *deal.Workings {
	if s.k != nil {
		return s.e.workings(s.p, s.k.means(), hammer)
	}
	return s.e.workings(s.p, s.e.meansOf(s.p, &s.b, s.worlds), hammer)
}

// A Quantile is an amount, in pounds, with the share of worlds at or under it.
type Quantile struct{ Share, Amount float64 }

// RepairCurve returns the quantiles of the repair cost at n + 1 even shares from
// 0 to 1, n at least 1.
func (s *Assessment) RepairCurve(n int) []Quantile {
	out := make([]Quantile, n+1)
	if s.k != nil {
		return s.k.repairCurve(out)
	}
	sorted := slices.Clone(s.worlds.Repair)
	slices.Sort(sorted)
	for i := range out {
		share := float64(i) / float64(n)
		out[i] = Quantile{share, stats.Sorted(sorted, share)}
	}
	return out
}

// Repair returns the distribution of the repair cost, without a confidence interval.
func (s *Assessment) Repair() Repair {
	if s.k != nil {
		r := s.k.repairs()
		r.CILow, r.CIHigh = 0, 0
		return r
	}
	return s.worlds.RepairSummary()
}

// HighestBid is that of the lot.
func (s *Assessment) HighestBid() (money.Pence, bid.Limit) { return s.stop(s.e.limits) }

// Cash returns what leaves the bank before the sale at a hammer price, in pounds.
func (s *Assessment) Cash(hammer money.Pence) float64 {
	if s.k != nil {
		return s.k.cash(hammer)
	}
	return s.worlds.Cash(&s.b.sel, hammer)
}

// A MarginAt is the margin at one hammer price.
type MarginAt struct {
	Hammer money.Pence
	Margin
}

// Along returns the margin at each of the hammer prices.
func (s *Assessment) Along(hammers []money.Pence) []MarginAt {
	out := make([]MarginAt, len(hammers))
	for i, h := range hammers {
		if s.k != nil {
			out[i] = MarginAt{h, s.k.margin(h)}
			continue
		}
		out[i] = MarginAt{h, s.worlds.marginOf(&s.b.sel, h, &s.b.margin)}
	}
	return out
}

// LossStop returns the largest multiple of the bid step, up to the car's value,
// such that at it and at every lower multiple the chance of a loss is at most
// chance, 0 to 1. Zero: the lowest bid passes it.
func (s *Assessment) LossStop(chance float64) money.Pence {
	stop, _ := s.stop(bid.Limits{Loss: chance, Margin: math.Inf(-1), Return: math.Inf(-1)})
	return stop
}

// BreakEven returns the largest multiple of the bid step, up to the car's value,
// such that at it and at every lower multiple the mean margin is not below zero.
// Zero: it is at the lowest bid.
func (s *Assessment) BreakEven() money.Pence {
	stop, _ := s.stop(bid.Limits{Loss: 1})
	return stop
}

// stop is the price to stop at by other limits than the shop's.
func (s *Assessment) stop(limits bid.Limits) (money.Pence, bid.Limit) {
	if s.k != nil {
		return s.k.highestBid(limits)
	}
	return s.worlds.stop(&s.b.sel, limits)
}

// A Doubt is an item that may or may not be there.
type Doubt struct {
	costs.Candidate
	// Chance of occurring at all; MeanCost is the average repair of the whole car with
	// it less that without it, in pounds.
	Chance, MeanCost float64
	// OwnCost is what its own job costs in this car on average, in pounds.
	OwnCost float64
}

// Rest is how much dearer the rest of the car is, on average, where the item is there:
// a harder hit, and the damage that it brings. It is below zero where the item takes the
// place of a lesser job.
func (d Doubt) Rest() float64 { return d.MeanCost - d.OwnCost }

// Weight is the standard deviation of the repair cost that not knowing the item
// makes, in pounds: what is nearly certain or costs little counts little.
func (d Doubt) Weight() float64 { return math.Sqrt(d.Chance*(1-d.Chance)) * math.Abs(d.MeanCost) }

// Case returns everything that may be wrong with the car.
func (s *Assessment) Case() costs.Case { return s.p.Case }

// OwnCost is what the job of a candidate costs in this car on average, in pounds.
func (s *Assessment) OwnCost(c costs.Candidate) float64 { return s.e.OwnCost(s.p, c) }

// OwnCost is what the job of a candidate costs in a car on average, in pounds: its row of
// the cost table, at the car type's multipliers and the workshop's labour rate.
func (e *Evaluator) OwnCost(p *ResolvedLot, c costs.Candidate) float64 {
	row := e.shop.Costs.Rows()[c.Row]
	spend, hours := c.At(row.Spend.Mean(), row.Hours.Mean())
	return p.Segment.Spend*spend + e.shop.LabourRate*p.Segment.Hours*hours
}

// Chance is that of candidate i of the case occurring at all, 0 to 1.
func (s *Assessment) Chance(i int) float64 {
	chance, _, _ := s.doubt(i)
	return chance
}

// MeanMargin is the average margin at a hammer price, in pounds.
func (s *Assessment) MeanMargin(hammer money.Pence) float64 {
	if s.k != nil {
		t := s.k.at(hammer)
		t.stop()
		return t.mean
	}
	s.b.margin = s.worlds.Margin(hammer, s.b.margin)
	return stats.Mean(s.b.margin)
}

// Outlay is what it costs to have the car in the yard at a hammer price, with fees,
// their VAT and transport.
func (s *Assessment) Outlay(hammer money.Pence) money.Pence {
	return money.FromPounds(s.p.Deal.At(hammer).Outlay)
}

// Doubts returns the suspected and hidden items that occur in some worlds and not
// in others, those that weigh most first.
func (s *Assessment) Doubts() []Doubt {
	var out []Doubt
	for i, c := range s.p.Case {
		if c.Kind == costs.Seen {
			continue
		}
		if chance, cost, ok := s.doubt(i); ok {
			out = append(out, Doubt{c, chance, cost, s.OwnCost(c)})
		}
	}
	slices.SortStableFunc(out, func(a, b Doubt) int {
		return cmp.Or(cmp.Compare(b.Weight(), a.Weight()), cmp.Compare(a.Index(), b.Index()))
	})
	return out
}

// doubt returns the chance and the mean cost of a candidate; ok is false where it always
// or never occurs.
func (s *Assessment) doubt(i int) (chance, cost float64, ok bool) {
	if s.k != nil {
		return s.k.doubt(i)
	}
	worlds, _ := s.b.totals.Occurs(i)
	k, n := float64(len(worlds)), float64(len(s.worlds.Repair))
	if k == 0 || k == n {
		return k / n, 0, false
	}
	with, total := 0.0, stats.Mean(s.worlds.Repair)*n
	for _, w := range worlds {
		with += s.worlds.Repair[w]
	}
	return k / n, with/k - (total-with)/(n-k), true
}

// A ZoneCost is where the repair money goes.
type ZoneCost struct {
	Zone damage.Zone
	// Classes are the mean repair cost of each class, in pounds.
	Classes [damage.ClassCount]float64
}

// Total is the mean repair cost of the zone, in pounds.
func (z ZoneCost) Total() float64 {
	sum := 0.0
	for _, x := range z.Classes {
		sum += x
	}
	return sum
}

// Zones returns the mean repair cost of each zone in which something may be
// charged, the dearest first. They add up to the mean repair cost.
func (s *Assessment) Zones() []ZoneCost {
	var out []ZoneCost
	for _, at := range s.places() {
		if n := len(out); n == 0 || out[n-1].Zone != at.Zone {
			out = append(out, ZoneCost{Zone: at.Zone})
		}
		out[len(out)-1].Classes[at.Class] = s.p.Deal.Repair(s.p.Segment.Spend*at.Spend, s.p.Segment.Hours*at.Hours)
	}
	out = slices.DeleteFunc(out, func(z ZoneCost) bool { return z.Total() == 0 })
	slices.SortStableFunc(out, func(a, b ZoneCost) int {
		return cmp.Or(cmp.Compare(b.Total(), a.Total()), cmp.Compare(a.Zone, b.Zone))
	})
	return out
}

// places are what the spots cost on average.
func (s *Assessment) places() []convolve.Place {
	if s.k != nil {
		return s.k.sum.Places()
	}
	return s.e.placesOf(s.p, &s.b)
}
