package convolve

import (
	"slices"

	"wreckoner/damage"
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

// atMost reports whether neither is beyond that of o.
func (p pair) atMost(o pair) bool { return p.seen <= o.seen && p.hidden <= o.hidden }

func (p pair) longer(o pair) pair { return pair{max(p.seen, o.seen), max(p.hidden, o.hidden)} }

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
	out = s.exactly(seen, hidden, out[:0])
	s.last = pair{len(seen) - 1, len(hidden) - 1}
	s.group(out)
	return out
}

// exactly appends to out, and to the pairs, those pairs of lead times that may be the longest,
// each with what is so then: what is so within a pair of bounds, less what is so within shorter
// ones. seen and hidden are the lead times in days, rising.
func (s *Sum) exactly(seen, hidden []float64, out []Lead) []Lead {
	s.below(len(seen), len(hidden))
	below := s.ladder.below
	s.pairs = s.pairs[:0]
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
			}
		}
	}
	return out
}

// below finds, for each pair of bounds to the lead times, what is so where nothing is charged that is beyond them. What
// bounds make of a cluster depends on the last lead times in it that are within them, and is worked out once for each;
// clusters that depend on one of the lead times only are taken together for each bound to that.
func (s *Sum) below(seen, hidden int) {
	l := &s.ladder
	l.bySeenOnly, l.byHiddenOnly = s.alwaysEach(l.bySeenOnly, seen), s.alwaysEach(l.byHiddenOnly, hidden)
	l.within, l.always = s.alwaysEach(l.within, seen*hidden), s.constant(1)
	for n := range s.clusters {
		c := &s.clusters[n]
		l.known, l.ofBlocks = l.known[:0], l.ofBlocks[:0]
		switch {
		case c.hangs == pair{}:
		case c.hangs.hidden == 0:
			for i := range l.bySeenOnly {
				s.addBelow(c, pair{i, 0}, &l.bySeenOnly[i])
			}
		case c.hangs.seen == 0:
			for j := range l.byHiddenOnly {
				s.addBelow(c, pair{0, j}, &l.byHiddenOnly[j])
			}
		default:
			for at := range l.within {
				s.addBelow(c, pair{at / hidden, at % hidden}, &l.within[at])
			}
		}
	}
	l.below = l.below[:0]
	for at := range l.within {
		g := &l.within[at]
		g.also(&l.bySeenOnly[at/hidden])
		g.also(&l.byHiddenOnly[at%hidden])
		l.below = append(l.below, s.event(g))
	}
}

// alwaysEach returns so many times what is so in any case, in the memory of out.
func (s *Sum) alwaysEach(out []given, n int) []given {
	out = out[:0]
	for range n {
		out = append(out, s.always())
	}
	return out
}

// addBelow adds to all what is so of a cluster within some bounds.
func (s *Sum) addBelow(c *cluster, bounds pair, all *given) {
	if bounds = s.longestLeads(c.first, c.last, bounds); bounds != c.hangs { // else nothing is beyond them
		all.also(s.clusterBelow(c, bounds))
	}
}

// clusterBelow returns what is so, at each node, of a cluster where nothing is charged beyond some bounds.
func (s *Sum) clusterBelow(c *cluster, bounds pair) *given {
	l := &s.ladder
	for i := range l.known {
		if l.known[i].bounds == bounds {
			return &l.known[i].given
		}
	}
	g := s.always()
	if c.single() {
		s.withoutSets(s.blocks[c.first].from, s.blocks[c.last-1].to, beyond(bounds), &g)
	} else {
		s.without(c, func(b int) given { return s.blockBelow(b, bounds) }, &g)
	}
	l.known = append(l.known, bounded{0, bounds, g})
	return &l.known[len(l.known)-1].given
}

// blockBelow is clusterBelow for one block.
func (s *Sum) blockBelow(block int, bounds pair) given {
	l := &s.ladder
	b := &s.blocks[block]
	if bounds = s.longestLeads(block, block+1, bounds); bounds == b.hangs { // nothing is beyond them
		return given{l.always, b.spend, b.hours, b.varHours}
	}
	for i := range l.ofBlocks {
		if x := &l.ofBlocks[i]; x.block == block && x.bounds == bounds {
			return x.given
		}
	}
	g := s.blockWithout(b, beyond(bounds))
	l.ofBlocks = append(l.ofBlocks, bounded{block, bounds, g})
	return g
}

// beyond returns whether a charge has a lead time beyond some bounds.
func beyond(bounds pair) func(*charge) bool {
	return func(x *charge) bool { return !x.lead.atMost(bounds) }
}

// bounded is what is so of a cluster, or a block of it, within some bounds.
type bounded struct {
	block  int
	bounds pair
	given
}

// rarest is the chance below which longest lead times are put together with the next ones
// where codes are uncertain, and many may be the longest.
const rarest = 0.02

// group shares out chances to pairs, and puts lead times that are seldom the longest
// together with the next: what is added for them then is a mixture, by their chances, independent of
// everything else. Without uncertain codes there are few, and each is a group of its own.
func (s *Sum) group(leads []Lead) {
	s.shares = s.shares[:0]
	if !slices.ContainsFunc(s.c, func(c costs.Candidate) bool { return c.Kind == costs.Misread }) {
		for range leads {
			s.shares = append(s.shares, 1)
		}
		return
	}
	l := &s.ladder
	l.bySeen, l.byHidden = grouped(l.bySeen, l.seen), grouped(l.byHidden, l.hidden)
	for n, p := range s.pairs {
		l.bySeen[p.seen].chance += leads[n].Chance
		l.byHidden[p.hidden].chance += leads[n].Chance
	}
	s.last = pair{together(l.bySeen), together(l.byHidden)}
	of := func(p pair) pair { return pair{l.bySeen[p.seen].group, l.byHidden[p.hidden].group} }
	for n := range s.pairs {
		s.pairs[n] = of(s.pairs[n])
	}
	for n, p := range s.pairs {
		whole := 0.0
		for k, o := range s.pairs {
			if o == p {
				whole += leads[k].Chance
			}
		}
		s.shares = append(s.shares, leads[n].Chance/whole)
	}
	s.number(func(x *charge) pair { return of(x.lead) })
}

// step is one of the lead times that may be the longest, in days: its chance, and the number of its
// group.
type step struct {
	lead, chance float64
	group        int
}

// grouped makes room for the steps of lead times.
func grouped(steps []step, leads []float64) []step {
	steps = steps[:0]
	for _, lead := range leads {
		steps = append(steps, step{lead: lead})
	}
	return steps
}

// together numbers the groups, and returns the last.
func together(steps []step) int {
	chance, mean, square := 0.0, 0.0, 0.0
	for _, x := range steps {
		chance += x.chance
		mean += x.chance * x.lead
		square += x.chance * x.lead * x.lead
	}
	most := alike * (square - mean*mean/chance)
	group := 0
	chance, mean, square = 0, 0, 0
	for i, x := range steps {
		p, m, q := chance+x.chance, mean+x.chance*x.lead, square+x.chance*x.lead*x.lead
		if chance >= rarest && q-m*m/p > most {
			group++
			p, m, q = x.chance, x.chance*x.lead, x.chance*x.lead*x.lead
		}
		chance, mean, square = p, m, q
		steps[i].group = group
	}
	return group
}

// alike is the share of the variance of a longest lead time that may lie within one group.
const alike = 0.03

// ladder is memory for lead times and their chances, and what is so within each pair of
// bounds.
type ladder struct {
	seen, hidden []float64
	within       []given // by bounds to both
	bySeenOnly   []given // by the bound to one
	byHiddenOnly []given
	known        []bounded // of one cluster
	ofBlocks     []bounded // in it
	always       []float64 // a chance of 1
	below        []Event

	bySeen, byHidden []step
}

// number sets the pair of each charge by lead, and that of each set, block and cluster to the
// latest, by either lead time, of the charges in it.
func (s *Sum) number(lead func(*charge) pair) {
	for i := range s.charges {
		s.charges[i].lead = lead(&s.charges[i])
		s.leads[i] = s.charges[i].lead
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
					set.hangs = set.hangs.longer(s.charges[q].lead)
				}
				b.hangs = b.hangs.longer(set.hangs)
			}
			c.hangs = c.hangs.longer(b.hangs)
		}
	}
}

// longestLeads returns the last of each lead time within the bounds that anything in some blocks
// has: bounds between that and the next make no difference to them.
func (s *Sum) longestLeads(from, to int, bounds pair) (last pair) {
	for n := from; n < to; n++ {
		for i := s.blocks[n].from; i < s.blocks[n].to; i++ {
			set := &s.states[i]
			for _, x := range s.leads[set.from:set.to] {
				if x.atMost(bounds) {
					last = last.longer(x)
				}
			}
		}
	}
	return last
}

// LeadsWithout appends to out, for each of the pairs that Leads last returned, the chance that it is
// the longest and that nothing is charged for which match returns true. Pairs of one group
// share it as they share what is added for them.
func (s *Sum) LeadsWithout(match func(damage.Item) bool, out []float64) []float64 {
	s.mark(match)
	last := s.last
	below := make([]float64, 0, 16)
	for i := range last.seen + 1 {
		for j := range last.hidden + 1 {
			bounds := pair{i, j}
			below = append(below, s.chanceOfNone(func(x *charge) bool {
				return x.marked || !x.lead.atMost(bounds)
			}))
		}
	}
	at := func(i, j int) float64 {
		if i < 0 || j < 0 {
			return 0
		}
		return below[i*(last.hidden+1)+j]
	}
	for n, p := range s.pairs {
		here := at(p.seen, p.hidden) - at(p.seen-1, p.hidden) - at(p.seen, p.hidden-1) + at(p.seen-1, p.hidden-1)
		out = append(out, s.shares[n]*here)
	}
	return out
}
