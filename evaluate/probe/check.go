package probe

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// checkPrices is how many hammer prices stand for the spread about the guide in a quick
// worth.
const checkPrices = 16

// A Check is something to look at before bidding, as the pages of a whole sale name it.
type Check struct {
	evaluate.Doubt
	// Own says that the list's own code suspects it.
	Own bool
	// Worth is about what it is worth to know before bidding, in pounds: see Checks.
	Worth float64
}

// Checks returns what may or may not be there on a lot, in the order of Run's unknowns,
// by a worth that is quick enough for every lot of a sale. Every suspected mark of the
// code is among them.
//
// Run simulates the lot with an item and without it. Here the average margin m and the
// price to stop at are moved instead: with chance p of an item that makes the car d
// dearer, it is there with margin m - (1-p) d and not there with m + p d, and the stop
// moves to the price at which as much is left as at the stop today. Both answers average
// to m, as they must. What the item does to the chance of a loss, apart from moving it,
// is left out: so the order is that of Run where worths are not close, and the figure is
// not shown.
func Checks(s *evaluate.Assessment, e *evaluate.Evaluator, r *evaluate.Result) []Check {
	own := ownMarks(r.Lot)
	var out []Check
	for _, d := range s.Doubts() {
		_, mine := own[d.Item]
		out = append(out, Check{Doubt: d, Own: mine})
	}
	for _, c := range s.Case() {
		// A suspected mark that is never there, or always, at the workshop's own chance.
		if _, mine := own[c.Item]; mine && !slices.ContainsFunc(out, func(x Check) bool { return x.Item == c.Item }) {
			cost := s.OwnCost(c)
			doubt := evaluate.Doubt{Candidate: c, Chance: c.Chance, MeanCost: cost, OwnCost: cost}
			out = append(out, Check{Doubt: doubt, Own: true})
		}
	}
	if q := newQuick(s, e, r); q != nil {
		for i := range out {
			out[i].Worth = q.worth(out[i].Chance, out[i].MeanCost)
		}
	}
	slices.SortStableFunc(out, func(a, b Check) int { return a.standing().compare(b.standing()) })
	return out
}

func (c *Check) standing() standing { return standing{c.Own, c.Worth, c.Weight(), c.Index()} }

// quick is a lot's margin along the prices that it may go for.
type quick struct {
	prices  []float64 // pounds
	margins []float64 // average, at each
	stop    float64   // where bidding stops, below 0 where no price is low enough
	top     float64   // the car's value, above which nobody bids
	slope   float64   // what the margin falls by for each pound of price
}

func newQuick(s *evaluate.Assessment, e *evaluate.Evaluator, r *evaluate.Result) *quick {
	shop := e.Shop()
	price := priceLooked(r, shop.BidStep)
	q := &quick{top: r.Value.Pounds(), stop: r.HighestBid.Pounds(), slope: 1}
	for _, p := range pricesAbout(r, price, shop, checkPrices) {
		q.prices = append(q.prices, p.Pounds())
		q.margins = append(q.margins, s.MeanMargin(p))
	}
	low := s.MeanMargin(shop.BidStep)
	if r.HighestBid > shop.BidStep {
		q.slope = max(0.5, (low-s.MeanMargin(r.HighestBid))/(q.stop-shop.BidStep.Pounds()))
	}
	if r.HighestBid == 0 {
		// Where it would stop if bids below nothing could be made.
		wanted := max(shop.TargetMargin, shop.TargetReturn*(s.Outlay(shop.BidStep).Pounds()+r.Repair.Mean))
		q.stop = min(0, (low-wanted)/q.slope)
	}
	return q
}

// priceLooked is the price that a lot is looked at: its guide, or where there is none the
// price to stop at, or the lowest bid.
func priceLooked(r *evaluate.Result, step money.Pence) money.Pence {
	switch {
	case r.At > 0:
		return r.At
	case r.HighestBid > 0:
		return r.HighestBid
	}
	return step
}

// worth is that of knowing of something with chance p that makes the car d dearer.
func (q *quick) worth(p, d float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	there, not := -(1-p)*d, p*d
	total := 0.0
	for i, price := range q.prices {
		if price > q.top {
			continue
		}
		m := q.margins[i]
		if price <= q.stop+there/q.slope {
			total += p * (m + there)
		}
		if price <= q.stop+not/q.slope {
			total += (1 - p) * (m + not)
		}
		if price <= q.stop {
			total -= m
		}
	}
	return total / float64(len(q.prices))
}

// Items are those of checks, the first most at the most.
func Items(checks []Check, most int) []damage.Item {
	var out []damage.Item
	for _, c := range checks[:min(most, len(checks))] {
		out = append(out, c.Item)
	}
	return out
}
