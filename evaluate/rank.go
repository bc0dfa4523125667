package evaluate

import "wreckoner/evaluate/bid"

// KeyOf returns the key by which a result is listed in that order, for those who keep
// no results.
func KeyOf(r *Result, by bid.Order) bid.Key {
	m := bid.Merits{Status: r.Status, Verdict: r.Verdict(), Number: r.Lot.Number, Mean: r.Margin.Mean,
		Loss: r.Margin.LossChance, Gain: r.Gain}
	switch r.Status {
	case bid.Ranked:
		m.Return, m.BayDay, m.Hour = r.Return(), r.BayDay(), r.AnHour
	case bid.Unpriced:
		m.Stop = float64(r.HighestBid) / float64(r.Value)
	}
	return bid.KeyOf(m, by)
}

// Rank sorts results, best first, by their keys, and numbers the ranked ones.
func Rank(results []*Result, by bid.Order) {
	bid.Sort(results, func(r *Result) bid.Key { return KeyOf(r, by) })
	rank := 0
	for _, r := range results {
		if r.Rank = 0; r.Status == bid.Ranked {
			rank++
			r.Rank = rank
		}
	}
}
