package convolve

import (
	"errors"
	"slices"

	"wreckoner/damage/costs"
)

// ErrImpossible is the error for a car that by the rules for hidden damage cannot be as it was
// shown to be.
var ErrImpossible = errors.New("the rules for hidden damage know no such car")

// AddGiven is Add of a car of which something was shown: what is worked out then is
// conditional on that. Given the severity factor, spots are independent but for the doubts
// of their cluster: so the chances of what was shown, at each node, weigh the nodes anew
// (Bayes), and those of what is charged at a spot that was looked at are divided by the
// chance of what was shown there. It fails with ErrTangled or ErrImpossible.
//
// Candidates and Coded are not for such a car: they tell of it as it was before.
func (s *Sum) AddGiven(c costs.Case, shown []costs.Shown) error {
	s.shown = shown
	defer func() { s.shown = nil }()
	s.weights = slices.Clone(s.e.weights)
	if err := s.add(c); err != nil {
		return err
	}
	s.central = slices.Clone(s.weights[s.e.skip : len(s.weights)-s.e.skip])
	if !normalise(s.weights) || !normalise(s.central) {
		return ErrImpossible
	}
	s.total()
	return nil
}

// normalise makes weights add up to 1; it reports whether any are above 0.
func normalise(weights []float64) bool {
	total := 0.0
	for _, w := range weights {
		total += w
	}
	if !(total > 0) {
		return false
	}
	for k := range weights {
		weights[k] /= total
	}
	return true
}

// narrow makes the chances of a set conditional on what was shown at its spot, and multiplies
// the likelihood of its block, at each node, by the chance of that.
func (s *Sum) narrow(set *stateSet, b *block) {
	at := s.spots[set.spot].at
	i := slices.IndexFunc(s.shown, func(x costs.Shown) bool { return x.Spot == at })
	if i < 0 {
		return
	}
	sum := s.constant(0)
	if s.shown[i].Allows(0) {
		copy(sum, set.nothing)
	} else {
		clear(set.nothing)
	}
	for j := set.from; j < set.to; j++ {
		x := &s.charges[j]
		if !s.shown[i].Allows(s.c[x.candidate].Grade) {
			clear(x.chance)
			continue
		}
		for k, p := range x.chance {
			sum[k] += p
		}
	}
	if b.likelihood == nil {
		b.likelihood = s.constant(1)
	}
	for k, p := range sum {
		b.likelihood[k] *= p
		if p == 0 { // the variant cannot be, at this node
			continue
		}
		set.nothing[k] /= p
		for j := set.from; j < set.to; j++ {
			s.charges[j].chance[k] /= p
		}
	}
}

// weigh makes the variants of a cluster conditional on what was shown, and weighs the nodes
// by the chance of that.
func (s *Sum) weigh(c *cluster) {
	whole := s.constant(0)
	for n := c.from; n < c.to; n++ {
		v := &s.variants[n]
		for _, b := range s.refs[v.from:v.to] {
			if like := s.blocks[b].likelihood; like != nil {
				for k, p := range like {
					v.chance[k] *= p
				}
			}
		}
		for k, p := range v.chance {
			whole[k] += p
		}
	}
	for k, p := range whole {
		s.weights[k] *= p
		for n := c.from; n < c.to; n++ {
			if p > 0 {
				s.variants[n].chance[k] /= p
			}
		}
	}
}

// mean returns the expected value, over the severity factor, of something with these values at
// the factor's nodes.
func (s *Sum) mean(values []float64) float64 {
	sum := 0.0
	for k, w := range s.weights {
		sum += w * values[k]
	}
	return sum
}
