package convolve

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/evaluate/convolve/vector"
)

// A Brought is a part that damage brings: it is added once, with a chance, where at least one
// item is charged for which Match returns true.
type Brought struct {
	*Part
	Match  func(damage.Item) bool
	Chance float64 // in [0,1]
}

// bringing is memory for what damage brings to one sum.
type bringing struct {
	first []int // of each charge: the number of its first add; -1: none; empty: nothing is brought
	adds  []add
	spots []bringer
	same  []vector.Single // one transform at every node
	value [1]vector.Part
}

// add is a part that comes with a charge, with its chance at each central node; next is the number
// of the same charge's next one, -1 after the last.
type add struct {
	part         *Part
	chance, rest []float64
	next         int
	memory       []vector.Single
}

// bringer is a spot that may bring a part, with the chance of that at each node and over all.
type bringer struct {
	spot  int
	at    []float64
	whole float64
}

// bring finds which charges come with what is brought.
//
// A part that one spot alone can bring is then exact. Where several can, the likeliest
// comes first, and each other one has it with the chance, at each node, that none before
// has brought it: the mean at each node is right, and the mean given that a spot does or
// does not bring it nearly so.
func (s *Sum) bring(parts []Brought) {
	t := &s.bringing
	t.first, t.adds = t.first[:0], t.adds[:0]
	if len(parts) == 0 {
		return
	}
	for range s.charges {
		t.first = append(t.first, -1)
	}
	for i := range parts {
		p := &parts[i]
		s.bringers(p.Match)
		free := s.constant(1) // that no spot so far has brought it
		for _, x := range t.spots {
			chance, rest := s.arena.take(), s.arena.take()
			for k, q := range free {
				chance[k] = p.Chance * q
				rest[k] = 1 - chance[k]
			}
			s.comeWith(x.spot, p, chance[s.e.skip:], rest[s.e.skip:])
			later := s.arena.take()
			for k, q := range x.at {
				later[k] = free[k] * (1 - q)
			}
			free = later
		}
	}
}

// bringers lists the spots at which something may be charged for which match returns true, the
// likeliest first.
func (s *Sum) bringers(match func(damage.Item) bool) {
	t := &s.bringing
	t.spots = t.spots[:0]
	for b := range s.blocks {
		block := &s.blocks[b]
		for i := block.from; i < block.to; i++ {
			set := &s.states[i]
			var at []float64
			for q := set.from; q < set.to; q++ {
				x := &s.charges[q]
				if !match(s.c[x.candidate].Item) {
					continue
				}
				if at == nil {
					at = s.broughtAt(set.spot)
				}
				for k, p := range x.chance {
					at[k] += block.chance[k] * p
				}
			}
		}
	}
	for i := range t.spots {
		t.spots[i].whole = s.e.mean(t.spots[i].at)
	}
	slices.SortStableFunc(t.spots, func(a, b bringer) int {
		switch {
		case a.whole > b.whole:
			return -1
		case a.whole < b.whole:
			return 1
		}
		return a.spot - b.spot
	})
}

// broughtAt returns the chances of a spot among the bringers, which it joins.
func (s *Sum) broughtAt(spot int) []float64 {
	t := &s.bringing
	for i := range t.spots {
		if t.spots[i].spot == spot {
			return t.spots[i].at
		}
	}
	at := s.constant(0)
	t.spots = append(t.spots, bringer{spot: spot, at: at})
	return at
}

// comeWith adds a part, with its chance at each central node, to the charges at a spot that bring it.
func (s *Sum) comeWith(spot int, p *Brought, chance, rest []float64) {
	t := &s.bringing
	for i := range s.states {
		set := &s.states[i]
		if set.spot != spot {
			continue
		}
		for q := set.from; q < set.to; q++ {
			if !p.Match(s.c[s.charges[q].candidate].Item) {
				continue
			}
			a := add{part: p.Part, chance: chance, rest: rest, next: t.first[q]}
			if n := len(t.adds); n < cap(t.adds) {
				a.memory = t.adds[:n+1][n].memory
			}
			t.first[q] = len(t.adds)
			t.adds = append(t.adds, a)
		}
	}
}

// withBrought returns the transform of a charge and of what it brings, at each node.
func (s *Sum) withBrought(b band, n int, values []vector.Single) []vector.Single {
	t := &s.bringing
	if len(t.first) == 0 {
		return values
	}
	for i := t.first[n]; i >= 0; i = t.adds[i].next {
		a := &t.adds[i]
		if len(a.memory) != len(s.e.central) {
			a.memory = s.e.memory()
		}
		if len(t.same) != len(s.e.central) {
			t.same = s.e.memory()
		}
		x := a.part.single(b)
		for k := range t.same {
			t.same[k] = x
		}
		t.value[0] = vector.Part{Chance: a.chance, Value: t.same}
		vector.Mix(a.memory, values, a.rest, t.value[:])
		values = a.memory
	}
	return values
}
