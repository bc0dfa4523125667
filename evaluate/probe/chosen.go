package probe

import (
	"cmp"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
)

// A ChosenSet is what inspections are worth together.
type ChosenSet struct {
	// Inspections by falling gain of each alone.
	Inspections []InspectionWorth
	// Price is what they cost in all, in pounds; Trip of it the trip to the sale, which is
	// paid once.
	Price, Trip float64
	// Worth is that of having made them all, before what they cost, in pounds.
	Worth float64
}

// Gain is the worth less the price.
func (c *ChosenSet) Gain() float64 { return c.Worth - c.Price }

// choose finds the inspections to pay for together, where a trip to the sale has a price:
// one by one, each time that which adds most, as long as it adds anything. What two of
// them show is not added up: together they are an inspection that finds a thing where
// either does. Inspections that need the trip are also tried as one, since it may be worth
// making for several and for none alone.
func (p *Probe) choose(s *largerRun, prices []money.Pence, whole func(money.Pence) float64) {
	visit := s.e.Shop().Visit
	trips := slices.ContainsFunc(p.Inspections, func(l InspectionWorth) bool { return l.Visit })
	if visit == 0 || !trips {
		return
	}
	var left, sent []InspectionWorth
	for _, l := range p.Inspections {
		if l.Worth > l.Price {
			if left = append(left, l); l.Visit {
				sent = append(sent, l)
			}
		}
	}
	try := func(all []InspectionWorth) *ChosenSet {
		return newChosenSet(all, visit, p.together(s, all, prices, whole))
	}
	var best *ChosenSet
	if len(sent) > 1 {
		if c := try(sent); c.better(best) {
			best = c
		}
	}
	best = addBest(best, left, try)
	if best != nil {
		slices.SortStableFunc(best.Inspections, func(a, b InspectionWorth) int { return cmp.Compare(b.Gain(), a.Gain()) })
	}
	p.Chosen = best
}

// newChosenSet returns a set of inspections that together are worth worth pounds; visit is the
// price of the trip, in pounds, where one of them needs it.
func newChosenSet(all []InspectionWorth, visit, worth float64) *ChosenSet {
	c := &ChosenSet{Inspections: slices.Clone(all), Worth: worth}
	for _, l := range all {
		if c.Price += l.Price; l.Visit {
			c.Trip = visit
		}
	}
	c.Price += c.Trip
	return c
}

// better reports whether a set gains something, and more than another by half a penny; the
// other may be nil.
func (c *ChosenSet) better(than *ChosenSet) bool {
	return c.Gain() > 0 && (than == nil || c.Gain() > than.Gain()+0.005)
}

// addBest starts with no inspection and adds, as long as the set gets better than best, which
// may be nil, the one of those left that adds most. It returns the best set; try works one out.
func addBest(best *ChosenSet, left []InspectionWorth, try func([]InspectionWorth) *ChosenSet) *ChosenSet {
	var chosen []InspectionWorth
	for len(left) > 0 {
		at, next := -1, best
		for i, l := range left {
			if c := try(append(slices.Clone(chosen), l)); c.better(next) {
				at, next = i, c
			}
		}
		if at < 0 {
			break
		}
		best, chosen = next, next.Inspections
		left = slices.Delete(left, at, at+1)
	}
	return best
}

// together is what inspections are worth together, in pounds.
func (p *Probe) together(s *largerRun, all []InspectionWorth, prices []money.Pence,
	whole func(money.Pence) float64) float64 {
	if len(all) == 1 {
		return all[0].Worth
	}
	finds := func(item damage.Item) float64 {
		missed := 1.0
		for _, l := range all {
			if l.Shows(item) {
				missed *= 1 - l.Finds
			}
		}
		return 1 - missed
	}
	var places []int
	for _, u := range p.Unknowns { // those that count most first
		i := slices.IndexFunc(s.p.Case, func(c costs.Candidate) bool { return c.Item == u.Item })
		if n := s.totals.Count(i); n > 0 && n < len(s.margin) && finds(u.Item) > 0 {
			places = append(places, i)
		}
	}
	places = places[:min(len(places), maxItems)]
	return s.setWorth(s.shown(places, finds), len(places), prices, whole)
}
