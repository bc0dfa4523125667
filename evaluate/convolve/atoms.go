package convolve

import (
	"cmp"
	"slices"
)

// An Atom is one of a few amounts that may be, with its chance.
type Atom struct{ Amount, Chance float64 }

// mostAtoms bounds how many amounts are told apart.
const mostAtoms = 512

// atom is an amount with its chance at each node.
type atom struct {
	amount float64
	chance []float64
}

// atoms returns the amounts that a car may come to by a measure, rising, where each job that may be there
// has a quote that says all that the measure counts; else nil. Blurred, they would run into each other.
func (s *Sum) atoms(m *measure) []Atom {
	if !s.anyQuoted() {
		return nil
	}
	all := []atom{{0, s.constant(1)}}
	for i := range s.clusters {
		c := &s.clusters[i]
		if !c.single() {
			return nil
		}
		for n := s.blocks[c.first].from; n < s.blocks[c.last-1].to; n++ {
			if all = s.withSet(m, &s.states[n], all); all == nil || len(all) > mostAtoms {
				return nil
			}
		}
	}
	out := make([]Atom, len(all))
	for i, x := range all {
		out[i] = Atom{x.amount, s.mean(x.chance)}
	}
	slices.SortStableFunc(out, func(a, b Atom) int { return cmp.Compare(a.Amount, b.Amount) })
	return out
}

// withSet returns the atoms of a sum and of what may be charged at one more spot; nil where that is not
// certain.
func (s *Sum) withSet(m *measure, set *stateSet, all []atom) (out []atom) {
	for _, x := range all {
		out = append(out, atom{x.amount, s.both(x.chance, set.nothing)})
	}
	for j := set.from; j < set.to; j++ {
		q := s.c[s.charges[j].candidate].Quote
		if q == nil || !q.HasHours && m.hours > 0 {
			return nil
		}
		for _, x := range all {
			out = append(out, atom{x.amount + m.spend*q.Spend + m.hours*q.Hours, s.both(x.chance, s.charges[j].chance)})
		}
	}
	return out
}

// both returns the product, at each node, of two chances.
func (s *Sum) both(a, b []float64) []float64 {
	out := s.arena.take()
	for k := range out {
		out[k] = a[k] * b[k]
	}
	return out
}

// atQuantiles writes the smallest amounts that are not exceeded with the probabilities ps, ascending, to out.
func atQuantiles(atoms []Atom, ps, out []float64) {
	sum, i := atoms[0].Chance, 0
	for n, p := range ps {
		for i < len(atoms)-1 && sum < p-1e-9 {
			i++
			sum += atoms[i].Chance
		}
		out[n] = atoms[i].Amount
	}
}
