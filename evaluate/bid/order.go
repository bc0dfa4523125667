package bid

import (
	"cmp"
	"fmt"
	"slices"
)

// An Order is what lots are ranked by, best first.
type Order string

// The orders: mean margin, mean margin over money put in, least chance of a loss, mean
// margin for each day in the bay, mean margin and wages for each own hour, and what bidding
// up to the stop is worth.
const (
	ByMargin Order = "margin"
	ByReturn Order = "return"
	ByLoss   Order = "loss"
	ByBayDay Order = "bay-day"
	ByHour   Order = "hour"
	ByGain   Order = "gain"
)

// ParseOrder reads the name of an order.
func ParseOrder(name string) (Order, error) {
	switch o := Order(name); o {
	case ByMargin, ByReturn, ByLoss, ByBayDay, ByHour, ByGain:
		return o, nil
	}
	return "", fmt.Errorf("%q is not an order; write margin, return, loss, bay-day, hour or gain", name)
}

// Merits are what lots are ordered by.
type Merits struct {
	Status Status
	// Verdict of a ranked lot.
	Verdict Verdict
	// Number is the lot's, by which ties are broken.
	Number string
	// Mean margin and BayDay, the mean margin for each day in the bay, in pounds;
	// Hour, mean margin and wages for each own hour, in pounds; Return, the mean margin
	// over money put in; Loss, the chance of a loss. For ranked lots.
	Mean, Return, Loss, BayDay, Hour float64
	// Gain is what bidding up to the stop is worth, in pounds, where the chance to win is known.
	Gain float64
	// Stop is the price to stop at as a share of the value, for unpriced lots.
	Stop float64
}

// blocks are what is listed together, in this order, after the ranked lots. These come in
// tiers: what to go after, what to take if cheap, the long shots, and what not to bid on.
var (
	tiers  = []Verdict{GoAfter, IfCheap, LongShot, DontBid}
	blocks = []Status{Unpriced, Uncoded, Excluded}
)

// A Key is what a lot's place in a list depends on: ranked lots come by the order, and
// where that is by margin or gain by the verdict first, so that what to do first is at the
// top; unpriced ones by the price to stop at over the value, then the uncoded and the
// excluded by lot number. Ties are broken by the lot number, so that the order of the
// list changes nothing.
type Key struct {
	// Merit is what the order goes by, more being better, and Mean the mean margin.
	Merit, Mean float64
	// Block is the place of the lot's verdict, where it is ranked, or of its status.
	Block int8
	// Number is the lot's.
	Number string
}

// KeyOf returns the key in that order.
func KeyOf(m Merits, by Order) Key {
	k := Key{Number: m.Number, Mean: m.Mean, Block: blockOf(m, by)}
	switch {
	case m.Status == Unpriced:
		k.Merit = m.Stop
	case m.Status != Ranked:
	case by == ByReturn:
		k.Merit = m.Return
	case by == ByLoss:
		k.Merit = -m.Loss
	case by == ByBayDay:
		k.Merit = m.BayDay
	case by == ByGain:
		k.Merit = m.Gain
	case by == ByHour:
		k.Merit = m.Hour
	default:
		k.Merit = m.Mean
	}
	return k
}

// blockOf is the place of a lot among the tiers and blocks.
func blockOf(m Merits, by Order) int8 {
	switch {
	case m.Status != Ranked:
		return int8(len(tiers) + slices.Index(blocks, m.Status))
	case by == ByMargin || by == ByGain || by == "":
		return int8(max(0, slices.Index(tiers, m.Verdict)))
	}
	return 0
}

// Ranked reports whether the lot has a rank.
func (k *Key) Ranked() bool { return int(k.Block) < len(tiers) }

// Compare returns less than 0 where k comes before other, above 0 where after it.
func (k *Key) Compare(other *Key) int {
	return cmp.Or(
		cmp.Compare(k.Block, other.Block),
		cmp.Compare(other.Merit, k.Merit),
		cmp.Compare(other.Mean, k.Mean),
		cmp.Compare(k.Number, other.Number),
	)
}

// Sort puts lots in order, best first, by their keys.
func Sort[T any](lots []T, key func(T) Key) {
	type keyed struct {
		key Key
		lot T
	}
	all := make([]keyed, len(lots))
	for i, l := range lots {
		all[i] = keyed{key(l), l}
	}
	slices.SortStableFunc(all, func(a, b keyed) int { return a.key.Compare(&b.key) })
	for i := range all {
		lots[i] = all[i].lot
	}
}
