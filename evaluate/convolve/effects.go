package convolve

import (
	"slices"

	"wreckoner/damage/costs"
)

// An Effect is an amount that is added once where anything is charged that Match
// accepts.
type Effect struct {
	Match  func(*costs.Candidate) bool
	Amount float64
}

// Effects is what each charge brings with it on average, beside what is brought where
// nothing is charged at its spot or, if something always is, by the least of that; and
// what each variant of a cluster does. These are the
// main effects, the best sum of functions of what is independent (Hoeffding 1948;
// Efron and Stein 1981).
type Effects struct {
	// Mean and Var are those of the sum of them; Spend and Hours its covariances with
	// what is charged.
	Mean, Var, Spend, Hours float64
	charges, variants       []float64
}

// Effects works out the main effects of some amounts. It keeps out's memory.
func (s *Sum) Effects(effects []Effect, out *Effects) {
	out.charges = slices.Grow(out.charges[:0], len(s.charges))[:len(s.charges)]
	out.variants = slices.Grow(out.variants[:0], len(s.variants))[:len(s.variants)]
	clear(out.charges)
	clear(out.variants)
	for i := range effects {
		s.effect(&effects[i], out)
	}
	for i := range s.clusters {
		c := &s.clusters[i]
		least := slices.Min(out.variants[c.from:c.to])
		for n := c.from; n < c.to; n++ {
			out.variants[n] -= least
		}
	}
	s.effectMoments(out)
}

func (s *Sum) effect(x *Effect, out *Effects) {
	match := func(c *charge) bool { return x.Match(&s.c[c.candidate]) }
	// The chance at each node that nothing of it is charged: anywhere, in each cluster
	// that may bring it, and in its blocks and sets.
	s.bringers = s.bringers[:0]
	anywhere := s.constant(1)
	for i := range s.clusters {
		c := &s.clusters[i]
		if !s.touches(c, match) {
			continue
		}
		for b := c.first; b < c.last; b++ {
			y := &s.blocks[b]
			y.none = s.constant(1)
			for j := y.from; j < y.to; j++ {
				set := &s.states[j]
				if set.none = nil; !s.may(set, match) {
					continue
				}
				set.none = s.constant(1)
				for q := set.from; q < set.to; q++ {
					if match(&s.charges[q]) {
						for k, p := range s.charges[q].chance {
							set.none[k] -= p
						}
					}
				}
				for k := range set.none {
					set.none[k] = max(set.none[k], 1e-12)
					y.none[k] *= set.none[k]
				}
			}
		}
		all := s.noneOf(c)
		for k, p := range all {
			anywhere[k] *= p
		}
		s.bringers = append(s.bringers, bringer{i, all})
	}
	for _, y := range s.bringers {
		outside := s.arena.take()
		for k, p := range y.chance {
			outside[k] = anywhere[k] / max(p, 1e-12)
		}
		s.clusterEffect(&s.clusters[y.cluster], match, outside, x.Amount, out)
	}
}

// bringer is a cluster that may bring an effect, with the chance at each node that it
// does not.
type bringer struct {
	cluster int
	chance  []float64
}

// clusterEffect adds to out what the charges and variants of a cluster bring; outside is
// the chance at each node that nothing outside brings it.
func (s *Sum) clusterEffect(c *cluster, match func(*charge) bool, outside []float64, amount float64, out *Effects) {
	inside := make([]float64, c.last-c.first) // mean of what each block's charges bring
	for n := c.first; n < c.last; n++ {
		b := &s.blocks[n]
		others := s.constant(0) // chance of nothing in the other blocks beside it
		if c.single() {
			copy(others, outside)
		} else {
			for i := c.from; i < c.to; i++ {
				v := &s.variants[i]
				refs := s.refs[v.from:v.to]
				if !slices.Contains(refs, n) {
					continue
				}
				for k, p := range v.chance {
					for _, o := range refs {
						if o != n {
							p *= s.blocks[o].none[k]
						}
					}
					others[k] += p
				}
			}
			for k := range others {
				others[k] *= outside[k] / max(b.chance[k], 1e-12)
			}
		}
		if c.single() { // several blocks of one variant
			for k := range others {
				for o := c.first; o < c.last; o++ {
					if o != n {
						others[k] *= s.blocks[o].none[k]
					}
				}
			}
		}
		for k, p := range b.none {
			others[k] *= p
		}
		for j := b.from; j < b.to; j++ {
			set, elsewhere := &s.states[j], others
			if set.none != nil {
				elsewhere = s.arena.take()
				for k, p := range set.none {
					elsewhere[k] = others[k] / p
				}
			}
			inside[n-c.first] += s.mainEffect(set, b.chance, match, elsewhere, amount, out.charges)
		}
	}
	if c.single() {
		return
	}
	for i := c.from; i < c.to; i++ {
		v := &s.variants[i]
		refs := s.refs[v.from:v.to]
		sum, weight := 0.0, 0.0
		for k, w := range s.e.weights {
			none := outside[k]
			for _, b := range refs {
				none *= s.blocks[b].none[k]
			}
			w *= v.chance[k]
			weight += w
			sum += w * (1 - none)
		}
		if weight < 1e-12 {
			continue
		}
		out.variants[i] += amount * sum / weight
		for _, b := range refs {
			out.variants[i] -= inside[b-c.first]
		}
	}
}

// mainEffect adds to out what the charges of a set bring, and returns its mean where the
// set is the one; chance is that of the set at each node, elsewhere that nothing
// elsewhere brings it.
func (s *Sum) mainEffect(set *stateSet, chance []float64, match func(*charge) bool, elsewhere []float64, amount float64, out []float64) (mean float64) {
	brought := func(here []float64, sure bool) (share, weight float64) {
		sum := 0.0
		for k, w := range s.e.weights {
			w *= chance[k] * here[k]
			weight += w
			sum += w * (1 - elsewhere[k])
		}
		switch {
		case weight < 1e-12:
			return 0, 0
		case sure:
			return 1, weight
		}
		return sum / weight, weight
	}
	all := s.e.mean(chance)
	least, weight := brought(set.nothing, false)
	if weight == 0 && set.to > set.from {
		last := &s.charges[set.to-1]
		least, _ = brought(last.chance, match(last))
	}
	for j := set.from; j < set.to; j++ {
		x := &s.charges[j]
		here, weight := brought(x.chance, match(x))
		if weight == 0 {
			continue
		}
		out[j] += amount * (here - least)
		mean += weight / max(all, 1e-12) * amount * (here - least)
	}
	return mean
}

// effectMoments works out the moments of effects, as total does those of what is
// charged.
func (s *Sum) effectMoments(out *Effects) {
	mean, square, spend, hours := s.constant(0), s.constant(0), s.constant(0), s.constant(0)
	for i := range s.clusters {
		c := &s.clusters[i]
		parts := s.parts[:0]
		for b := c.first; b < c.last; b++ {
			y := &s.blocks[b]
			x := s.constant(0)
			for j := y.from; j < y.to; j++ {
				set := &s.states[j]
				moved := false
				for q := set.from; q < set.to && !moved; q++ {
					moved = out.charges[q] != 0
				}
				if !moved {
					continue
				}
				m := s.constant(0)
				for q := set.from; q < set.to; q++ {
					e, row := out.charges[q], s.charges[q].row
					for k, p := range s.charges[q].chance {
						m[k] += p * e
						p *= y.chance[k] * e
						square[k] += p * e
						spend[k] += p * row.spend[k]
						hours[k] += p * row.hours[k]
					}
				}
				for k, e := range m {
					x[k] += e
					e *= y.chance[k]
					square[k] -= e * m[k]
					spend[k] -= e * set.spend[k]
					hours[k] -= e * set.hours[k]
				}
			}
			parts = append(parts, [3][]float64{x})
		}
		s.parts = parts
		all := s.constant(0) // mean of the cluster's effects
		for n := c.from; n < c.to; n++ {
			v := &s.variants[n]
			for k, p := range v.chance {
				x, sp, hr := out.variants[n], 0.0, 0.0
				for _, b := range s.refs[v.from:v.to] {
					x += parts[b-c.first][0][k]
					sp += s.blocks[b].spend[k]
					hr += s.blocks[b].hours[k]
				}
				all[k] += p * x
				square[k] += p * x * x
				spend[k] += p * x * sp
				hours[k] += p * x * hr
			}
		}
		for k, x := range all {
			mean[k] += x
			square[k] -= x * x
			spend[k] -= x * c.spend[k]
			hours[k] -= x * c.hours[k]
		}
	}
	out.Mean, out.Var, out.Spend, out.Hours = s.e.mean(mean), 0, 0, 0
	for k, w := range s.e.weights {
		d := mean[k] - out.Mean
		out.Var += w * (square[k] + d*d)
		out.Spend += w * (spend[k] + d*(s.totals.spend[k]-s.moments.Spend))
		out.Hours += w * (hours[k] + d*(s.totals.hours[k]-s.moments.Hours))
	}
}
