package convolve

import (
	"math"
	"slices"

	"wreckoner/damage/costs"
)

// A Lead is a pair of longest lead times, in days: of what was seen, and of what
// was not, 0 where nothing is charged.
type Lead struct {
	Seen, Hidden float64
	Event
}

// pair numbers a pair of lead times, or of bounds to them, by their places among those
// that may be.
type pair struct{ seen, hidden int }

// within reports whether neither is beyond that of o.
func (p pair) within(o pair) bool { return p.seen <= o.seen && p.hidden <= o.hidden }

func (p pair) most(o pair) pair { return pair{max(p.seen, o.seen), max(p.hidden, o.hidden)} }

// Leads returns the pairs that may be, with their chances. Those of hidden damage
// that do not matter beside the shortest of seen damage come as 0.
func (s *Sum) Leads(matters func(seen, hidden float64) bool, out []Lead) []Lead {
	sure := 0.0
	for i := range s.spots {
		if x := &s.spots[i]; x.to-x.from == 1 && x.seen > 0 {
			sure = max(sure, s.e.row(s.c[x.from].Row).lead)
		}
	}
	lead := func(x *charge) (seen, hidden float64) {
		switch {
		case s.c[x.candidate].Kind == costs.Seen:
			return max(sure, x.row.lead), 0
		case matters(sure, x.row.lead):
			return sure, x.row.lead
		}
		return sure, 0
	}
	l := &s.ladder
	seen, hidden := append(l.seen[:0], sure), append(l.hidden[:0], 0)
	for i := range s.charges {
		a, b := lead(&s.charges[i])
		seen, hidden = append(seen, a), append(hidden, b)
	}
	slices.Sort(seen)
	slices.Sort(hidden)
	l.seen, l.hidden = slices.Compact(seen), slices.Compact(hidden)
	seen, hidden = l.seen, l.hidden
	s.number(func(x *charge) (p pair) {
		a, b := lead(x)
		p.seen, _ = slices.BinarySearch(seen, a)
		p.hidden, _ = slices.BinarySearch(hidden, b)
		return p
	})

	l.below = l.below[:0]
	for i := range seen {
		for j := range hidden {
			l.below = append(l.below, s.none(func(x *charge) bool { return !x.lead.within(pair{i, j}) }))
		}
	}
	below := l.below
	out, s.pairs = out[:0], s.pairs[:0]
	l.seenChance, l.hiddenChance = zeros(l.seenChance, len(seen)), zeros(l.hiddenChance, len(hidden))
	for i, a := range seen {
		for j, b := range hidden {
			e := below[i*len(hidden)+j]
			if i > 0 {
				e = e.less(below[(i-1)*len(hidden)+j])
			}
			if j > 0 {
				e = e.less(below[i*len(hidden)+j-1])
			}
			if i > 0 && j > 0 {
				e = e.plus(below[(i-1)*len(hidden)+j-1])
			}
			if e.Chance > 1e-9 {
				out, s.pairs = append(out, Lead{a, b, e}), append(s.pairs, pair{i, j})
				l.seenChance[i] += e.Chance
				l.hiddenChance[j] += e.Chance
			}
		}
	}
	s.join(groups(seen, l.seenChance, s.e.joined), groups(hidden, l.hiddenChance, s.e.joined), out)
	return out
}

// ladder is memory for lead times and their chances, and what is so within each pair of
// bounds.
type ladder struct {
	seen, hidden, seenChance, hiddenChance []float64
	below                                  []Event
}

// zeros returns n zeros, with the memory of v.
func zeros(v []float64, n int) []float64 {
	v = slices.Grow(v[:0], n)[:n]
	clear(v)
	return v
}

// join numbers lead times by their groups.
func (s *Sum) join(seen, hidden []int, leads []Lead) {
	group := func(p pair) pair { return pair{seen[p.seen], hidden[p.hidden]} }
	s.number(func(x *charge) pair { return group(x.lead) })
	s.last = pair{seen[len(seen)-1], hidden[len(hidden)-1]}
	s.shares = s.shares[:0]
	for n := range s.pairs {
		s.pairs[n] = group(s.pairs[n])
	}
	for n, p := range s.pairs {
		total := 0.0
		for m, q := range s.pairs {
			if q == p {
				total += leads[m].Chance
			}
		}
		s.shares = append(s.shares, leads[n].Chance/total)
	}
}

// joined is how much of the variance of lead times may lie within their groups.
const joined = 0.02

// groups returns the number of the group that each of some lead times, ascending, falls
// into. Neighbours are joined as long as no more than that share of the variance lies
// within groups, those first that add the least (Ward 1963, Journal of the American
// Statistical Association 58; from memory).
func groups(days, chances []float64, joined float64) []int {
	type group struct{ chance, mean float64 }
	var all []group
	of := make([]int, len(days))
	total, mean, square := 0.0, 0.0, 0.0
	for i, d := range days {
		all, of[i] = append(all, group{chances[i], d}), i
		total += chances[i]
		mean += chances[i] * d
		square += chances[i] * d * d
	}
	room := joined * (square - mean*mean/total)
	for len(all) > 1 {
		best, least := 0, math.Inf(1)
		for i := range len(all) - 1 {
			a, b := all[i], all[i+1]
			cost := 0.0
			if a.chance+b.chance > 0 {
				cost = a.chance * b.chance / (a.chance + b.chance) * (a.mean - b.mean) * (a.mean - b.mean)
			}
			if cost < least {
				best, least = i, cost
			}
		}
		if room -= least; room < 0 {
			break
		}
		a, b := &all[best], all[best+1]
		if p := a.chance + b.chance; p > 0 {
			*a = group{p, (a.chance*a.mean + b.chance*b.mean) / p}
		}
		all = slices.Delete(all, best+1, best+2)
		for i := range of {
			if of[i] > best {
				of[i]--
			}
		}
	}
	return of
}

// number gives each charge its pair, and what holds charges the last of each of theirs.
func (s *Sum) number(lead func(*charge) pair) {
	for i := range s.charges {
		s.charges[i].lead = lead(&s.charges[i])
	}
	for i := range s.clusters {
		c := &s.clusters[i]
		c.hangs = pair{}
		for n := c.first; n < c.last; n++ {
			b := &s.blocks[n]
			b.hangs = pair{}
			for j := b.from; j < b.to; j++ {
				set := &s.states[j]
				set.hangs = pair{}
				for q := set.from; q < set.to; q++ {
					set.hangs = set.hangs.most(s.charges[q].lead)
				}
				b.hangs = b.hangs.most(set.hangs)
			}
			c.hangs = c.hangs.most(b.hangs)
		}
	}
}

// met returns the last of each lead time within the bounds that anything in some blocks
// has: bounds between that and the next make no difference to them.
func (s *Sum) met(from, to int, bounds pair) (last pair) {
	for n := from; n < to; n++ {
		for i := s.blocks[n].from; i < s.blocks[n].to; i++ {
			set := &s.states[i]
			for j := set.from; j < set.to; j++ {
				if x := s.charges[j].lead; x.within(bounds) {
					last = last.most(x)
				}
			}
		}
	}
	return last
}
