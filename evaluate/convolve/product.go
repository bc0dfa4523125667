package convolve

import (
	"slices"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve/vector"
)

// frequencies are one chunk of the frequencies of a measure's window.
type frequencies struct {
	m       *measure
	rung, c int
}

// product sets out to the transform of all that is charged, with its waits, over the
// nodes. It reports whether that is below a limit all over, and is then left
// unfinished.
func (s *Sum) product(b frequencies, x *Extra, limit float64, out *vector.Double) (faded bool) {
	t := &s.trans
	s.forget()
	waits := func(c *cluster) bool { return len(x.Waits) > 0 && c.hangs != pair{} }
	all := s.e.ones
	// What is certain fades first: other factors are hardly above 1.
	for _, sure := range []bool{true, false} {
		s.gather(b, sure)
		for i := range s.clusters {
			if c := &s.clusters[i]; c.single() && !waits(c) {
				all = s.timesStates(b, c, sure, all)
			}
		}
		if b.c > 0 && vector.Within(all, limit) {
			return true
		}
	}
	for i := range s.clusters {
		if c := &s.clusters[i]; !c.single() && !waits(c) {
			all = s.clusterWithin(b, c, s.last, all, t.all)
		}
	}
	if len(x.Waits) == 0 {
		vector.Mean(out, s.central, all)
	} else {
		s.waiting(b, all, out)
	}
	return false
}

// gather finds the transforms of all charges that are certain, or of the others, all at once: they lie far apart in
// memory, and none need wait for another.
func (s *Sum) gather(b frequencies, sure bool) {
	if b.c%2 == 0 { // two chunks at a time, and they come in order
		s.lookUp(b, sure)
	}
	for i := range s.states {
		set := &s.states[i]
		if set.sure != sure {
			continue
		}
		for n := set.from; n < set.to; n++ {
			x := &s.mix[n]
			x.Packed = s.values(b, n)
			x.Prefetch()
		}
	}
}

// lookUp finds where the transforms are that are shared with other cars.
func (s *Sum) lookUp(b frequencies, sure bool) {
	for i := range s.states {
		set := &s.states[i]
		if set.sure != sure {
			continue
		}
		for n := set.from; n < set.to; n++ {
			if x := &s.charges[n]; !x.base && s.c[x.candidate].Quote == nil {
				x.known = s.e.spectrum(b.m, b.rung, x.number, b.c/2)
				vector.Prefetch(x.known)
			}
		}
	}
}

// forget drops the transforms of the last band.
func (s *Sum) forget() {
	for i := range s.blocks {
		s.blocks[i].within = pair{-1, -1}
	}
	for i := range s.clusters {
		s.clusters[i].within = pair{-1, -1}
	}
}

// timesStates returns all times the transforms of the states of a cluster of one variant: of
// those that are certain, or of the others.
func (s *Sum) timesStates(b frequencies, c *cluster, sure bool, all []vector.Single) []vector.Single {
	for n := s.blocks[c.first].from; n < s.blocks[c.last-1].to; n++ {
		if set := &s.states[n]; set.sure == sure {
			all = s.times(b, set, s.last, all, s.trans.all)
		}
	}
	return all
}

// waiting finishes a product: all is the product of what cannot change a lead time, and out is
// set to the transform of everything, each longest lead time with what is added for it.
//
// What is added for the lead times depends on what is charged. The transform of what is
// charged where all lead times are within some bounds, times the chance of that, is the
// product without the charges beyond them. Where the longest are at the bounds, it is
// that less what is within shorter ones.
func (s *Sum) waiting(b frequencies, all []vector.Single, out *vector.Double) {
	last := s.last
	for _, known := range s.trans.waits {
		if b.c < len(known) {
			vector.Prefetch(&known[b.c])
		}
	}
	sums := s.sumsWithin(b, all)
	*out = vector.Double{}
	at := func(i, j int) *vector.Double { return &sums[i*(last.hidden+1)+j] }
	for i := range last.seen + 1 {
		for j := range last.hidden + 1 {
			here := *at(i, j)
			if i > 0 {
				here.Add(-1, at(i-1, j))
			}
			if j > 0 {
				here.Add(-1, at(i, j-1))
			}
			if i > 0 && j > 0 {
				here.Add(1, at(i-1, j-1))
			}
			if wait, found := s.waitOf(b, pair{i, j}); found {
				here.Times(&wait)
				out.Add(1, &here)
			}
		}
	}
}

// waitOf returns the transform of what is added where the longest lead times are those of a pair,
// as the pairs of its group share out its chance; found is false where the group has none.
func (s *Sum) waitOf(b frequencies, longest pair) (wait vector.Double, found bool) {
	for n, p := range s.pairs {
		if p == longest {
			if known := s.trans.waits[n]; b.c < len(known) {
				known[b.c].AddTo(&wait, s.shares[n])
			}
			found = true
		}
	}
	return wait, found
}

// sumsWithin returns, by bounds to the lead time of seen damage and then of hidden damage, the
// mean transform over the nodes of what is charged within them.
func (s *Sum) sumsWithin(b frequencies, all []vector.Single) []vector.Double {
	t, last := &s.trans, s.last
	with := func(in, memory []vector.Single, bounds pair, hangs func(pair) bool) []vector.Single {
		for i := range s.clusters {
			if c := &s.clusters[i]; c.hangs != (pair{}) && hangs(c.hangs) {
				in = s.clusterWithin(b, c, bounds, in, memory)
			}
		}
		return in
	}
	for len(t.hidden) <= last.hidden {
		t.hidden = append(t.hidden, known{memory: s.e.memory()})
	}
	for j := range last.hidden + 1 {
		h := &t.hidden[j]
		h.values = with(s.e.ones, h.memory, pair{last.seen, j}, func(p pair) bool { return p.seen == 0 })
	}
	sums := t.sums[:0]
	for i := range last.seen + 1 {
		seen := with(all, t.seen, pair{i, last.hidden}, func(p pair) bool { return p.hidden == 0 })
		for j := range last.hidden + 1 {
			vector.Mul(t.pair, seen, t.hidden[j].values)
			both := with(t.pair, t.pair, pair{i, j}, func(p pair) bool { return p.seen > 0 && p.hidden > 0 })
			var sum vector.Double
			vector.Mean(&sum, s.central, both)
			sums = append(sums, sum)
		}
	}
	t.sums = sums
	return sums
}

// memory returns a Single for each central node.
func (e *Engine) memory() []vector.Single { return make([]vector.Single, len(e.central)) }

// clusterWithin returns in times the transform of a cluster where nothing is charged whose
// lead times are beyond the bounds. It may use out, which may be in.
func (s *Sum) clusterWithin(b frequencies, c *cluster, bounds pair, in, out []vector.Single) []vector.Single {
	if c.single() {
		for n := s.blocks[c.first].from; n < s.blocks[c.last-1].to; n++ {
			in = s.times(b, &s.states[n], bounds, in, out)
		}
		return in
	}
	if bounds = s.longestLeads(c.first, c.last, bounds); bounds != c.within {
		c.begin(bounds, s.e)
		clear(c.values)
		for n := c.first; n < c.last; n++ {
			s.blockWithin(b, n, bounds)
		}
		for n := c.from; n < c.to; n++ {
			s.variant(b, n, c.values)
		}
	}
	vector.Mul(out, in, c.values)
	return out
}

// begin makes room for values within some bounds.
func (k *known) begin(bounds pair, e *Engine) {
	if len(k.memory) != len(e.central) {
		k.memory = e.memory()
	}
	k.values, k.within = k.memory, bounds
}

// blockWithin works out the transform of a block, unless it is known.
func (s *Sum) blockWithin(b frequencies, n int, bounds pair) {
	x := &s.blocks[n]
	if bounds = s.longestLeads(n, n+1, bounds); bounds == x.within {
		return
	}
	x.begin(bounds, s.e)
	at := s.e.ones
	for i := x.from; i < x.to; i++ {
		at = s.times(b, &s.states[i], bounds, at, x.memory)
	}
	x.values = at
}

// variant adds the transform of a variant, times its chance, to out.
func (s *Sum) variant(b frequencies, n int, out []vector.Single) {
	v := &s.variants[n]
	refs := s.refs[v.from:v.to]
	way, memory := s.blocks[refs[0]].values, s.trans.way
	for _, x := range refs[1:] {
		vector.Mul(memory, way, s.blocks[x].values)
		way = memory
	}
	vector.Add(out, v.chance[s.e.skip:], way)
}

// times sets out, which may be in, to in times the transform of what may be charged at a
// spot, within the bounds, and returns it.
func (s *Sum) times(b frequencies, set *stateSet, bounds pair, in, out []vector.Single) []vector.Single {
	all := set.hangs.atMost(bounds)
	for n := set.from; n < set.to; n++ {
		all = all && s.mix[n].Scale > 0
	}
	parts := s.mix[set.from:set.to]
	if !all { // what is beyond the bounds, and what has died away, adds nothing
		parts = s.trans.parts[:0]
		for n := set.from; n < set.to; n++ {
			if s.leads[n].atMost(bounds) && s.mix[n].Scale > 0 {
				parts = append(parts, s.mix[n])
			}
		}
		s.trans.parts = parts
	}
	vector.Mix(out, in, set.nothing[s.e.skip:], parts)
	return out
}

// values returns the transform of a charge, and of what it brings, at each node.
func (s *Sum) values(b frequencies, n int) vector.Packed {
	x := &s.charges[n]
	if x.base {
		return s.withBrought(b, n, s.e.always)
	}
	if q := s.c[x.candidate].Quote; q != nil {
		return s.withBrought(b, n, s.quoted(b, q, x.number))
	}
	return s.withBrought(b, n, s.e.chunk(x.known, b.c))
}

// quoted returns the transform of a job whose spend somebody quoted, and its hours too or
// not, at each node. It is this car's own, and not remembered.
func (s *Sum) quoted(b frequencies, q *costs.Quote, row int) vector.Packed {
	if !q.HasHours {
		fixed := b.m.spend * q.Spend
		return s.e.transformOf(0, b.m.hours, fixed, b.rung, row, b.c, 1).values
	}
	var wave vector.Double
	amount := (b.m.spend*q.Spend + b.m.hours*q.Hours) / windowOf(b.rung)
	fixed(amount, b.c, &wave)
	return s.e.same(nil, wave.Single())
}

// same returns x packed at each node, in the memory of room if there is enough.
func (e *Engine) same(room []byte, x vector.Single) vector.Packed {
	one := []vector.Single{x}
	p := vector.Pack(slices.Grow(room[:0], len(e.always.Bytes)), one, vector.Largest(one), false)
	p.Bytes = p.Bytes[:len(e.always.Bytes)]
	for from := len(p.Bytes) / len(e.central); from < len(p.Bytes); from *= 2 {
		copy(p.Bytes[from:], p.Bytes[:from])
	}
	return p
}
