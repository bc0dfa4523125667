package convolve

import (
	"cmp"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// totals are a car's moments.
type totals struct {
	// spend and hours are the means at each node, varHours the variances of hours.
	spend, hours, varHours []float64
	moments                Moments
}

// Moments returns those of all that is charged.
func (s *Sum) Moments() Moments { return s.moments }

// total works out the means and variances of all that is charged. Given the severity factor,
// clusters are independent and their variances add up; to that comes the variance, over the
// nodes of the factor, of the means at each node (the law of total variance).
func (s *Sum) total() {
	s.totals = totals{spend: s.constant(0), hours: s.constant(0)}
	ss, sh, hh := s.constant(0), s.constant(0), s.constant(0)
	s.varHours = hh
	for i := range s.clusters {
		c := &s.clusters[i]
		c.varHours = s.arena.take()
		copy(c.varHours, hh)
		s.share(c)
		c.spend, c.hours = s.constant(0), s.constant(0)
		for b := c.first; b < c.last; b++ {
			s.blockMoments(&s.blocks[b], ss, sh, hh)
		}
		for n := c.from; n < c.to; n++ {
			v := &s.variants[n]
			for k, w := range v.chance {
				x, y := 0.0, 0.0
				for _, b := range s.refs[v.from:v.to] {
					x += s.blocks[b].spend[k]
					y += s.blocks[b].hours[k]
				}
				c.spend[k] += w * x
				c.hours[k] += w * y
				ss[k] += w * x * x
				sh[k] += w * x * y
				hh[k] += w * y * y
			}
		}
		for k := range s.spend {
			s.spend[k] += c.spend[k]
			s.hours[k] += c.hours[k]
			ss[k] -= c.spend[k] * c.spend[k]
			sh[k] -= c.spend[k] * c.hours[k]
			hh[k] -= c.hours[k] * c.hours[k]
			c.varHours[k] = hh[k] - c.varHours[k]
		}
	}
	m := &s.moments
	for k, w := range s.weights {
		m.Spend += w * s.spend[k]
		m.Hours += w * s.hours[k]
	}
	for k, w := range s.weights {
		x, y := s.spend[k]-m.Spend, s.hours[k]-m.Hours
		m.SpendSpend += w * (ss[k] + x*x)
		m.SpendHours += w * (sh[k] + x*y)
		m.HoursHours += w * (hh[k] + y*y)
	}
}

// share sets the chance, at each node, of each block of a cluster: the sum of the chances of
// the variants that have it.
func (s *Sum) share(c *cluster) {
	if c.single() {
		for b := c.first; b < c.last; b++ {
			s.blocks[b].chance = s.variants[c.from].chance
		}
		return
	}
	for b := c.first; b < c.last; b++ {
		s.blocks[b].chance = s.constant(0)
	}
	for n := c.from; n < c.to; n++ {
		v := &s.variants[n]
		for _, b := range s.refs[v.from:v.to] {
			for k, p := range v.chance {
				s.blocks[b].chance[k] += p
			}
		}
	}
}

// blockMoments works out a block's means, and adds its variances, times its chance, to
// ss, sh and hh.
func (s *Sum) blockMoments(b *block, ss, sh, hh []float64) {
	b.spend, b.hours, b.varHours = s.constant(0), s.constant(0), s.constant(0)
	for i := b.from; i < b.to; i++ {
		set := &s.states[i]
		set.spend, set.hours, set.hours2 = s.constant(0), s.constant(0), s.constant(0)
		for j := set.from; j < set.to; j++ {
			x := &s.charges[j]
			r := x.job
			for k, p := range x.chance {
				set.spend[k] += p * r.spend[k]
				set.hours[k] += p * r.hours[k]
				set.hours2[k] += p * r.hours2[k]
				p *= b.chance[k]
				ss[k] += p * r.spend2[k]
				sh[k] += p * r.both[k]
				hh[k] += p * r.hours2[k]
			}
		}
		for k, w := range b.chance {
			x, y := set.spend[k], set.hours[k]
			ss[k] -= w * x * x
			sh[k] -= w * x * y
			hh[k] -= w * y * y
			b.spend[k] += x
			b.hours[k] += y
			b.varHours[k] += set.varHours(k)
		}
	}
}

// An Event is something that may be so of a car.
type Event struct {
	// Chance is that of the event, in [0,1].
	Chance float64
	// Spend, in pounds, and Hours are the expected value of all that is charged times 1 where
	// the event happens and 0 where it does not, before a segment's multipliers; HoursHours likewise of
	// the square of the hours.
	Spend, Hours, HoursHours float64
}

// given is what is so, at each node, where something does not happen: the chance of that, and by how much the means of
// spend, in pounds, and hours, and the variance of hours, then differ from those in any case.
type given struct{ chance, spend, hours, varHours []float64 }

// always is what is so in any case.
func (s *Sum) always() given {
	return given{s.constant(1), s.constant(0), s.constant(0), s.constant(0)}
}

// also adds what is so of something else: chances multiply, means and variances add up.
func (g *given) also(o *given) {
	n := len(o.chance) // said to the compiler, so that it need not look at every number
	chance, spend, hours, varHours := g.chance[:n], g.spend[:n], g.hours[:n], g.varHours[:n]
	otherSpend, otherHours, otherVar := o.spend[:n], o.hours[:n], o.varHours[:n]
	for k, p := range o.chance {
		chance[k] *= p
		spend[k] += otherSpend[k]
		hours[k] += otherHours[k]
		varHours[k] += otherVar[k]
	}
}

// noneCharged returns the event that the car has no charge for which bad returns true.
func (s *Sum) noneCharged(bad func(*charge) bool) Event {
	g := s.always()
	for i := range s.clusters {
		if c := &s.clusters[i]; s.holdsAny(c, bad) {
			s.exclude(c, bad, &g)
		}
	}
	return s.event(&g)
}

// exclude adds to g what a cluster is where it charges nothing for which bad returns true.
func (s *Sum) exclude(c *cluster, bad func(*charge) bool, g *given) {
	if c.single() {
		s.withoutSets(s.blocks[c.first].from, s.blocks[c.last-1].to, bad, g)
	} else {
		s.without(c, func(b int) given { return s.blockWithout(&s.blocks[b], bad) }, g)
	}
}

// event returns what is so over the nodes.
func (s *Sum) event(g *given) (e Event) {
	for k, w := range s.weights {
		p := w * g.chance[k]
		e.Chance += p
		e.Spend += p * (s.totals.spend[k] + g.spend[k])
		hours := s.totals.hours[k] + g.hours[k]
		e.Hours += p * hours
		e.HoursHours += p * (s.varHours[k] + g.varHours[k] + hours*hours)
	}
	return e
}

// holdsAny reports whether a cluster may charge anything bad.
func (s *Sum) holdsAny(c *cluster, bad func(*charge) bool) bool {
	for i := s.blocks[c.first].from; i < s.blocks[c.last-1].to; i++ {
		if s.anyState(&s.states[i], bad) {
			return true
		}
	}
	return false
}

// anyState reports whether a set has a charge for which so returns true.
func (s *Sum) anyState(set *stateSet, so func(*charge) bool) bool {
	for j := set.from; j < set.to; j++ {
		if so(&s.charges[j]) {
			return true
		}
	}
	return false
}

// setWithout returns what a set of states is where it charges nothing for which bad returns true: the chance of that, and
// the means and the variance then; any is false where it has no such charge.
func (s *Sum) setWithout(set *stateSet, bad func(*charge) bool) (g given, any bool) {
	for j := set.from; j < set.to; j++ {
		q := &s.charges[j]
		if !bad(q) {
			continue
		}
		if !any { // until the end the means, and the mean square of hours, are times the chance
			any, g = true, given{s.constant(1), s.copyOf(set.spend), s.copyOf(set.hours), s.copyOf(set.hours2)}
		}
		for k, chance := range q.chance {
			g.chance[k] -= chance
			g.spend[k] -= chance * q.job.spend[k]
			g.hours[k] -= chance * q.job.hours[k]
			g.varHours[k] -= chance * q.job.hours2[k]
		}
	}
	for k, p := range g.chance {
		if p < 1e-12 {
			g.chance[k], g.spend[k], g.hours[k], g.varHours[k] = 0, 0, 0, 0
			continue
		}
		perChance := 1 / p
		g.spend[k] *= perChance
		g.hours[k] *= perChance
		g.varHours[k] = g.varHours[k]*perChance - g.hours[k]*g.hours[k]
	}
	return g, any
}

// withoutSets is without, where nothing is charged for which bad returns true, for sets of states, which are
// independent at each node.
func (s *Sum) withoutSets(from, to int, bad func(*charge) bool, g *given) {
	for i := from; i < to; i++ {
		set := &s.states[i]
		x, any := s.setWithout(set, bad)
		if !any {
			continue
		}
		for k, p := range x.chance {
			g.chance[k] *= p
			g.spend[k] += x.spend[k] - set.spend[k]
			g.hours[k] += x.hours[k] - set.hours[k]
			g.varHours[k] += x.varHours[k] - set.varHours(k)
		}
	}
}

// without adds to g what a cluster is where something does not happen, of which block says what is so of each of its
// blocks then: the chance of that is multiplied in, and to the means and the variance is added by how much they differ
// from those in any case.
func (s *Sum) without(c *cluster, block func(int) given, g *given) {
	parts := s.parts[:0]
	for b := c.first; b < c.last; b++ {
		parts = append(parts, block(b))
	}
	s.parts = parts
	all := s.constant(0)
	x, y, z := s.constant(0), s.constant(0), s.constant(0)
	for n := c.from; n < c.to; n++ {
		v := &s.variants[n]
		for k, p := range v.chance {
			spend, hours, varHours := 0.0, 0.0, 0.0
			for _, b := range s.refs[v.from:v.to] {
				part := &parts[b-c.first]
				p *= part.chance[k]
				spend += part.spend[k]
				hours += part.hours[k]
				varHours += part.varHours[k]
			}
			all[k] += p
			x[k] += p * spend
			y[k] += p * hours
			z[k] += p * (varHours + hours*hours)
		}
	}
	for k, p := range all {
		g.chance[k] *= p
		if p > 0 {
			h := y[k] / p
			g.spend[k] += x[k]/p - c.spend[k]
			g.hours[k] += h - c.hours[k]
			g.varHours[k] += z[k]/p - h*h - c.varHours[k]
		}
	}
}

// blockWithout returns what a block is where it charges nothing for which bad returns true: the chance of that, and the
// means and the variance then.
func (s *Sum) blockWithout(b *block, bad func(*charge) bool) given {
	g := given{s.constant(1), s.copyOf(b.spend), s.copyOf(b.hours), s.copyOf(b.varHours)}
	s.withoutSets(b.from, b.to, bad, &g)
	return g
}

// copyOf returns a copy of values at each node.
func (s *Sum) copyOf(x []float64) []float64 {
	out := s.arena.take()
	copy(out, x)
	return out
}

// Charged returns the event that at least one item for which match returns true is charged.
func (s *Sum) Charged(match func(damage.Item) bool) Event {
	s.mark(match)
	return s.certain().less(s.noneCharged(func(x *charge) bool { return x.marked }))
}

// ChargedChance returns the chance of Charged.
func (s *Sum) ChargedChance(match func(damage.Item) bool) float64 {
	s.mark(match)
	return 1 - s.chanceOfNone(func(x *charge) bool { return x.marked })
}

// mark marks the charges whose items match.
func (s *Sum) mark(match func(damage.Item) bool) {
	for i := range s.charges {
		x := &s.charges[i]
		x.marked = match(s.c[x.candidate].Item)
	}
}

// certain returns what happens in any case.
func (s *Sum) certain() Event {
	m := &s.moments
	return Event{1, m.Spend, m.Hours, m.HoursHours + m.Hours*m.Hours}
}

func (e Event) less(o Event) Event {
	return Event{e.Chance - o.Chance, e.Spend - o.Spend, e.Hours - o.Hours, e.HoursHours - o.HoursHours}
}

func (e Event) plus(o Event) Event {
	return Event{e.Chance + o.Chance, e.Spend + o.Spend, e.Hours + o.Hours, e.HoursHours + o.HoursHours}
}

// A CandidateChance is what is known of one candidate.
type CandidateChance struct {
	// Occurs is the chance that it is there, Charged that nothing worse is there
	// as well.
	Occurs, Charged float64
	// Spend and Hours are the means of all that is charged, times 1 where it is
	// there and 0 where not.
	Spend, Hours float64
}

// Candidates returns what is known of each candidate of the case.
func (s *Sum) Candidates(out []CandidateChance) []CandidateChance {
	out = slices.Grow(out[:0], len(s.c))[:len(s.c)]
	clear(out)
	for i := range s.clusters {
		c := &s.clusters[i]
		for b := c.first; b < c.last; b++ {
			s.likely(c, b, out)
		}
	}
	for i := range s.clusters {
		if c := &s.clusters[i]; !c.single() {
			for n := c.from; n < c.to; n++ {
				s.beneath(c, &s.variants[n], out)
			}
		}
	}
	return out
}

// beneath adds, for one variant of a cluster, the suspected grades below the highest coded one:
// they may be there, and are never charged.
func (s *Sum) beneath(c *cluster, v *variant, out []CandidateChance) {
	for _, t := range s.turned[v.turnedFrom:v.turnedTo] {
		x := &s.spots[t.spot]
		for i := x.from; i < x.to; i++ {
			if s.c[i].Kind != costs.Suspected || s.c[i].Grade >= t.grade {
				continue
			}
			occurs, o := s.occurs(s.c[i].Chance), &out[i]
			for k, w := range s.weights {
				w *= v.chance[k] * occurs[k]
				spend, hours := s.totals.spend[k]-c.spend[k], s.totals.hours[k]-c.hours[k]
				for _, b := range s.refs[v.from:v.to] {
					spend += s.blocks[b].spend[k]
					hours += s.blocks[b].hours[k]
				}
				o.Occurs += w
				o.Spend += w * spend
				o.Hours += w * hours
			}
		}
	}
}

// likely adds to out what one block of a cluster, numbered n, tells of its candidates.
func (s *Sum) likely(c *cluster, n int, out []CandidateChance) {
	b := &s.blocks[n]
	// The means of the cluster where it has the block, times its chance.
	spend, hours := s.constant(0), s.constant(0)
	for i := c.from; i < c.to; i++ {
		v := &s.variants[i]
		if refs := s.refs[v.from:v.to]; slices.Contains(refs, n) {
			for k, p := range v.chance {
				for _, o := range refs {
					spend[k] += p * s.blocks[o].spend[k]
					hours[k] += p * s.blocks[o].hours[k]
				}
			}
		}
	}
	for i := b.from; i < b.to; i++ {
		set := &s.states[i]
		worseX, worseY := s.constant(0), s.constant(0) // what worse there costs
		for j := set.from; j < set.to; j++ {
			x := &s.charges[j]
			o := &out[x.candidate]
			for k, w := range s.weights {
				here := b.chance[k]
				o.Charged += w * here * x.chance[k]
				w *= x.occurs[k]
				o.Occurs += w * here
				o.Spend += w * (spend[k] + here*(s.totals.spend[k]-c.spend[k]-set.spend[k]+worseX[k]+x.room[k]*x.job.spend[k]))
				o.Hours += w * (hours[k] + here*(s.totals.hours[k]-c.hours[k]-set.hours[k]+worseY[k]+x.room[k]*x.job.hours[k]))
				worseX[k] += x.chance[k] * x.job.spend[k]
				worseY[k] += x.chance[k] * x.job.hours[k]
			}
		}
	}
}

// A Place is what one spot costs on average.
type Place struct {
	damage.Spot
	// Spend in pounds and Hours, before a segment's multipliers.
	Spend, Hours float64
}

// Places returns the spots at which something may be charged, in printing order.
func (s *Sum) Places() []Place {
	out := make([]Place, len(s.spots))
	for i := range s.spots {
		out[i].Spot = s.spots[i].at
	}
	for i := range s.blocks {
		b := &s.blocks[i]
		for j := b.from; j < b.to; j++ {
			set := &s.states[j]
			for k, w := range s.weights {
				w *= b.chance[k]
				out[set.spot].Spend += w * set.spend[k]
				out[set.spot].Hours += w * set.hours[k]
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Place) int { return cmp.Compare(a.Index(), b.Index()) })
	return out
}

// Coded returns the chance that each grade is the highest coded one that occurs at
// a spot of the case; at index 0, that none does.
func (s *Sum) Coded(at damage.Spot) (chances [damage.GradeCount + 1]float64) {
	x := &s.spots[s.spot(at)]
	if !x.doubt {
		chances[x.seen] = 1
		return chances
	}
	for _, g := range s.coded[x.codedFrom:x.codedTo] {
		chances[g.grade] = s.mean(g.chance)
	}
	return chances
}

// chanceOfNone returns the chance that the car has no charge for which bad returns true.
func (s *Sum) chanceOfNone(bad func(*charge) bool) (chance float64) {
	room := s.constant(1)
	for i := range s.clusters {
		c := &s.clusters[i]
		if !s.holdsAny(c, bad) {
			continue
		}
		if c.single() {
			for b := c.first; b < c.last; b++ {
				s.timesNone(&s.blocks[b], bad, room)
			}
			continue
		}
		for b := c.first; b < c.last; b++ {
			s.blocks[b].none = s.constant(1)
			s.timesNone(&s.blocks[b], bad, s.blocks[b].none)
		}
		for k, p := range s.noneOf(c) {
			room[k] *= p
		}
	}
	return s.mean(room)
}

// timesNone multiplies room, at each node, by the chance that a block has no bad charge.
func (s *Sum) timesNone(b *block, bad func(*charge) bool, room []float64) {
	for i := b.from; i < b.to; i++ {
		set := &s.states[i]
		var rest []float64
		for q := set.from; q < set.to; q++ {
			x := &s.charges[q]
			if !bad(x) {
				continue
			}
			if rest == nil {
				rest = s.constant(1)
			}
			for k, p := range x.chance {
				rest[k] -= p
			}
		}
		for k, p := range rest {
			room[k] *= max(0, p)
		}
	}
}
