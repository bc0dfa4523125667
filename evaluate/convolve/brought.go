package convolve

import (
	"cmp"
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
	first    []int // of each charge: the number of its first add; -1: none; empty: nothing is brought
	adds     []add
	chance   [][]float64     // of each set of states that may bring the part at hand, at each node; nil: it cannot
	clusters []bringer       // that may
	spots    []bringer       // of one cluster that may
	same     []byte          // memory for one transform at every node
	single   []vector.Single // a charge's transform
	value    [1]vector.Part
}

// add is a part that comes with a charge, with its chance at each central node; next is the number
// of the same charge's next one, -1 after the last.
type add struct {
	part         *Part
	chance, rest []float64
	next         int
	memory       []byte
}

// bringer is a cluster or a spot, by its number, with the chance that it brings a part.
type bringer struct {
	number int
	chance float64
}

// likeliest puts the likeliest first.
func likeliest(all []bringer) {
	slices.SortStableFunc(all, func(a, b bringer) int {
		return cmp.Or(cmp.Compare(b.chance, a.chance), cmp.Compare(a.number, b.number))
	})
}

// bring finds which charges come with what is brought.
//
// A part that one spot alone can bring is then exact. Where several can, the likeliest
// comes first, and each other one has it with the chance, at each node and as the doubts turn out
// there, that none before has brought it: the mean is right, and the mean given that a spot
// does or does not bring it nearly so.
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
		free := s.constant(1) // that no cluster so far has brought it
		for _, c := range t.clusters {
			cluster := &s.clusters[c.number]
			s.comeWith(cluster, p, free)
			none := s.notBrought(cluster, -1, len(t.spots))
			for k := range none {
				none[k] *= free[k]
			}
			free = none
		}
	}
}

// bringers finds where something may be charged for which match returns true: which sets of states,
// with the chance at each node, and which clusters.
func (s *Sum) bringers(match func(damage.Item) bool) {
	s.mark(match)
	t := &s.bringing
	t.chance, t.clusters = slices.Grow(t.chance[:0], len(s.states))[:len(s.states)], t.clusters[:0]
	for i := range s.clusters {
		c := &s.clusters[i]
		whole := 0.0
		for b := c.first; b < c.last; b++ {
			block := &s.blocks[b]
			for n := block.from; n < block.to; n++ {
				t.chance[n] = nil
				for q := s.states[n].from; q < s.states[n].to; q++ {
					x := &s.charges[q]
					if !x.marked {
						continue
					}
					if t.chance[n] == nil {
						t.chance[n] = s.constant(0)
					}
					for k, p := range x.chance {
						t.chance[n][k] += p
						whole += s.weights[k] * block.chance[k] * p
					}
				}
			}
		}
		if whole > 0 {
			t.clusters = append(t.clusters, bringer{i, whole})
		}
	}
	likeliest(t.clusters)
}

// comeWith adds a part to the charges of a cluster that bring it. free is the chance at each
// node that nothing outside the cluster has brought it. The cluster's spots are left
// in order, the likeliest first.
func (s *Sum) comeWith(c *cluster, p *Brought, free []float64) {
	t := &s.bringing
	t.spots = t.spots[:0]
	for b := c.first; b < c.last; b++ {
		block := &s.blocks[b]
		for n := block.from; n < block.to; n++ {
			if t.chance[n] == nil {
				continue
			}
			at := slices.IndexFunc(t.spots, func(x bringer) bool { return x.number == s.states[n].spot })
			if at < 0 {
				at = len(t.spots)
				t.spots = append(t.spots, bringer{number: s.states[n].spot})
			}
			for k, x := range t.chance[n] {
				t.spots[at].chance += s.weights[k] * block.chance[k] * x
			}
		}
	}
	likeliest(t.spots)
	for rank, x := range t.spots {
		for b := c.first; b < c.last; b++ {
			for n := s.blocks[b].from; n < s.blocks[b].to; n++ {
				if set := &s.states[n]; set.spot == x.number && t.chance[n] != nil {
					s.addTo(set, p, s.notBrought(c, b, rank), free)
				}
			}
		}
	}
}

// notBrought returns the chance at each node that none of the first so many of the cluster's spots brings
// the part, where the cluster has a block; -1: whatever it has.
func (s *Sum) notBrought(c *cluster, block, first int) []float64 {
	t := &s.bringing
	none := s.constant(1)
	if first == 0 {
		return none
	}
	clear(none)
	whole := s.constant(0)
	for n := c.from; n < c.to; n++ {
		v := &s.variants[n]
		refs := s.refs[v.from:v.to]
		if block >= 0 && !slices.Contains(refs, block) {
			continue
		}
		rest := s.arena.take()
		copy(rest, v.chance)
		for _, b := range refs {
			for i := s.blocks[b].from; i < s.blocks[b].to; i++ {
				if t.chance[i] == nil || !slices.ContainsFunc(t.spots[:first], func(x bringer) bool {
					return x.number == s.states[i].spot
				}) {
					continue
				}
				for k, p := range t.chance[i] {
					rest[k] *= max(0, 1-p)
				}
			}
		}
		for k, p := range v.chance {
			none[k] += rest[k]
			whole[k] += p
		}
	}
	for k, p := range whole {
		if p > 0 {
			none[k] = min(1, none[k]/p)
		}
	}
	return none
}

// addTo adds a part to the charges of a set that bring it, with its own chance times those that it has not
// been brought yet.
func (s *Sum) addTo(set *stateSet, p *Brought, here, free []float64) {
	t := &s.bringing
	chance, rest := s.arena.take(), s.arena.take()
	for k := range chance {
		chance[k] = p.Chance * here[k] * free[k]
		rest[k] = 1 - chance[k]
	}
	for q := set.from; q < set.to; q++ {
		if !s.charges[q].marked {
			continue
		}
		a := add{part: p.Part, chance: chance[s.e.skip:], rest: rest[s.e.skip:], next: t.first[q]}
		if n := len(t.adds); n < cap(t.adds) {
			a.memory = t.adds[:n+1][n].memory
		}
		t.first[q] = len(t.adds)
		t.adds = append(t.adds, a)
	}
}

// withBrought returns the transform of a charge and of what it brings, at each node, from that of the charge: what is
// brought never makes it larger.
func (s *Sum) withBrought(b frequencies, n int, values vector.Packed) vector.Packed {
	t := &s.bringing
	if len(t.first) == 0 || t.first[n] < 0 || values.Scale == 0 {
		return values
	}
	if len(t.single) != len(s.e.central) {
		t.single = s.e.memory()
	}
	t.value[0] = vector.Part{Chance: s.e.sure, Packed: values}
	vector.Mix(t.single, s.e.ones, s.e.never, t.value[:])
	for i := t.first[n]; i >= 0; i = t.adds[i].next {
		a := &t.adds[i]
		t.value[0] = vector.Part{Chance: a.chance, Packed: s.e.same(t.same, a.part.single(b))}
		t.same = t.value[0].Bytes
		vector.Mix(t.single, t.single, a.rest, t.value[:])
	}
	first := &t.adds[t.first[n]]
	packed := vector.Pack(first.memory, t.single, values.Most(), false)
	first.memory = packed.Bytes
	return packed
}
