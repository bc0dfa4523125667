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

// blocks are what stands together in a ranking, in this order.
var blocks = []Status{Ranked, Unpriced, Uncoded, Excluded}

// A Key is what of a result decides its place in a ranking (METHOD.md 12.5), for those who keep
// no results: ranked lots come by the order, unpriced ones by highest bid over
// value, then the uncoded and the excluded by lot number. Ties are broken by the
// lot number, so that the order of the list changes nothing.
type Key struct {
	// Merit is what the order goes by, more being better, and Mean the mean margin.
	Merit, Mean float64
	// Block is the place of the lot's status.
	Block int8
	// Number is the lot's, with its site and day (Lot.Key).
	Number string
}

// KeyOf returns the key of a result in that order.
func KeyOf(r *Result, by Order) Key {
	k := Key{Number: r.Lot.Key(), Mean: r.Margin.Mean, Block: int8(slices.Index(blocks, r.Status))}
	switch {
	case r.Status == Unpriced:
		k.Merit = float64(r.HighestBid) / float64(r.Lot.Value)
	case r.Status != Ranked:
	case by == ByReturn:
		k.Merit = r.Return()
	case by == ByLoss:
		k.Merit = -r.Margin.LossChance
	case by == ByBayDay:
		k.Merit = r.BayDay()
	default:
		k.Merit = r.Margin.Mean
	}
	return k
}

// Ranked reports whether the lot has a rank.
func (k *Key) Ranked() bool { return blocks[k.Block] == Ranked }

// Compare returns less than 0 where k stands before other, above 0 where after it.
func (k *Key) Compare(other *Key) int {
	return cmp.Or(
		cmp.Compare(k.Block, other.Block),
		cmp.Compare(other.Merit, k.Merit),
		cmp.Compare(other.Mean, k.Mean),
		cmp.Compare(k.Number, other.Number),
	)
}

// Rank sorts results, best first, by their keys, and numbers the ranked ones.
func Rank(results []*Result, by Order) {
	type keyed struct {
		key    Key
		result *Result
	}
	all := make([]keyed, len(results))
	for i, r := range results {
		all[i] = keyed{KeyOf(r, by), r}
	}
	slices.SortStableFunc(all, func(a, b keyed) int { return a.key.Compare(&b.key) })
	rank := 0
	for i := range all {
		r := all[i].result
		if r.Rank = 0; r.Status == Ranked {
			rank++
			r.Rank = rank
		}
		results[i] = r
	}
}
