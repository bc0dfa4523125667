package evaluate

import (
	"cmp"
	"fmt"
	"slices"
)

// An Order is what lots are ranked by, best first.
type Order string

// The orders: mean margin, mean margin over money put in, least chance of a
// loss, mean margin for each day in the bay.
const (
	ByMargin Order = "margin"
	ByReturn Order = "return"
	ByLoss   Order = "loss"
	ByBayDay Order = "bay-day"
)

// ParseOrder reads the name of an order.
func ParseOrder(name string) (Order, error) {
	switch o := Order(name); o {
	case ByMargin, ByReturn, ByLoss, ByBayDay:
		return o, nil
	}
	return "", fmt.Errorf("%q is not an order; write margin, return, loss or bay-day", name)
}

// Rank sorts results, best first, and numbers the ranked ones: ranked lots by
// the order, unpriced ones by highest bid over value, then the uncoded and the
// excluded by lot number. Ties are broken by the lot number, so that the order
// of the list changes nothing.
func Rank(results []*Result, by Order) {
	block := func(r *Result) int {
		return slices.Index([]Status{Ranked, Unpriced, Uncoded, Excluded}, r.Status)
	}
	merit := func(r *Result) float64 {
		switch {
		case r.Status == Unpriced:
			return float64(r.HighestBid) / float64(r.Lot.Value)
		case r.Status != Ranked:
			return 0
		case by == ByReturn:
			return r.Return()
		case by == ByLoss:
			return -r.Margin.LossChance
		case by == ByBayDay:
			return r.BayDay()
		}
		return r.Margin.Mean
	}
	slices.SortStableFunc(results, func(a, b *Result) int {
		return cmp.Or(
			cmp.Compare(block(a), block(b)),
			cmp.Compare(merit(b), merit(a)),
			cmp.Compare(b.Margin.Mean, a.Margin.Mean),
			cmp.Compare(a.Lot.Number, b.Lot.Number),
		)
	})
	rank := 0
	for _, r := range results {
		if r.Rank = 0; r.Status == Ranked {
			rank++
			r.Rank = rank
		}
	}
}
