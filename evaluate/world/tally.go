package world

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/book"
)

// A Tally is one car's damage summed over all worlds. Its memory serves the
// next car again: what it returns holds until the next Sum. The zero Tally is
// ready to use. It is not for concurrent use.
//
// What is uncertain happens in few worlds, and the worlds in which an item
// happens at some chance are the first of one list that is the same for every
// car (see Space.Trial). So only those worlds are visited.
type Tally struct {
	// Spend in pounds and Hours of all that is charged in each world, before
	// the segment's multipliers.
	Spend, Hours []float64
	// LeadSeen and LeadHidden are the longest lead times, in days, of what was
	// seen and of what was not, in each world: 0 where nothing is charged.
	LeadSeen, LeadHidden []float64

	cands   []outcome
	groups  []group
	charged []uint8
	miss    []float64
}

// outcome is what became of one candidate.
type outcome struct {
	certain bool
	worlds  []int32 // where it occurs; unused where certain
	charged int     // number of worlds where it is the one charged at its spot
	own     []int32 // memory for worlds that are no part of a shared list
}

// group is the candidates of one spot.
type group struct {
	spot     damage.Spot
	from, to int
	// seen is the grade that was seen, 0 for none; doubt says that suspected
	// grades may go above it. coded is then the highest coded grade in each world.
	seen  damage.Grade
	doubt bool
	coded []uint8
}

// Sum adds up the case over the space's worlds.
func (t *Tally) Sum(s *Space, c book.Case) {
	n := s.Points()
	t.Spend, t.Hours = zeros(t.Spend, n), zeros(t.Hours, n)
	t.LeadSeen, t.LeadHidden = zeros(t.LeadSeen, n), zeros(t.LeadHidden, n)
	t.cands = grow(t.cands, len(c))
	t.split(c)
	for i, x := range c {
		if t.cands[i].certain = x.Kind == book.Seen; x.Kind == book.Suspected {
			t.cands[i].worlds = s.Trial(x.Item).Above(1 - x.Chance)
		}
	}
	for g := range t.groups {
		if t.groups[g].doubt {
			t.codedGrades(&t.groups[g], c, n)
		}
	}
	for i, x := range c {
		if x.Kind == book.Hidden {
			t.trigger(i, s.Trial(x.Item), x.Triggers)
		}
	}
	lead := t.chargeCertain(s, c)
	raiseAll(t.LeadSeen, lead)
	for g := range t.groups {
		if g := &t.groups[g]; g.to-g.from > 1 || g.seen == 0 {
			t.charge(s, g, c, lead)
		}
	}
}

// split finds the groups of the case, which is in order of spots.
func (t *Tally) split(c book.Case) {
	groups := t.groups[:0]
	for from := 0; from < len(c); {
		to := from + 1
		for to < len(c) && c[to].Spot == c[from].Spot {
			to++
		}
		groups = grow(groups, len(groups)+1)
		g := &groups[len(groups)-1]
		g.spot, g.from, g.to, g.seen, g.doubt = c[from].Spot, from, to, 0, false
		for i := from; i < to; i++ {
			switch c[i].Kind {
			case book.Seen:
				g.seen = c[i].Grade
			case book.Suspected:
				g.doubt = true
			}
		}
		from = to
	}
	t.groups = groups
}

// codedGrades finds the highest coded grade that occurs at a spot.
func (t *Tally) codedGrades(g *group, c book.Case, n int) {
	g.coded = fill(g.coded, n, uint8(g.seen))
	for i := g.from; i < g.to; i++ { // grades ascend
		if c[i].Kind == book.Suspected {
			for _, w := range t.cands[i].worlds {
				g.coded[w] = uint8(c[i].Grade)
			}
		}
	}
}

// trigger lets hidden candidate i occur by the rules of its triggers.
func (t *Tally) trigger(i int, trial *Trial, triggers []book.Trigger) {
	// sure is the chance of a miss by the triggers that are the same in every
	// world, least the smallest that any world can have.
	sure, least, doubt := 1.0, 1.0, false
	for _, tr := range triggers {
		g := t.group(tr.Spot)
		if !g.doubt {
			sure *= 1 - tr.Chance[g.seen]
			continue
		}
		doubt = true
		least *= 1 - slices.Max(tr.Chance[:])
	}
	x := &t.cands[i]
	x.worlds = trial.Above(sure * least)
	if !doubt {
		return
	}
	t.miss = fill(t.miss, len(x.worlds), sure)
	for _, tr := range triggers {
		if g := t.group(tr.Spot); g.doubt {
			for k, w := range x.worlds {
				t.miss[k] *= 1 - tr.Chance[g.coded[w]]
			}
		}
	}
	x.own = x.own[:0]
	for k, w := range x.worlds {
		if trial.Shares[w] > t.miss[k] {
			x.own = append(x.own, w)
		}
	}
	x.worlds = x.own
}

func (t *Tally) group(s damage.Spot) *group {
	for g := range t.groups {
		if t.groups[g].spot == s {
			return &t.groups[g]
		}
	}
	panic("world: a trigger at a spot without candidates")
}

// chargeCertain adds what was seen, and returns the longest lead time of what
// nothing worse can take the place of.
func (t *Tally) chargeCertain(s *Space, c book.Case) (lead float64) {
	for g := range t.groups {
		g := &t.groups[g]
		for i := g.from; i < g.to; i++ {
			if !t.cands[i].certain {
				continue
			}
			job := s.Job(c[i].Item)
			add(t.Spend, job.Spend)
			add(t.Hours, job.Hours)
			t.cands[i].charged = len(t.Spend)
			if g.to-g.from == 1 {
				lead = max(lead, job.LeadDays)
			}
		}
	}
	return lead
}

// charge lets the highest grade that occurs at a spot take the place of the one
// seen there, in the worlds where one does. lead is the shortest that LeadSeen
// can be.
func (t *Tally) charge(s *Space, g *group, c book.Case, lead float64) {
	seen := Job{Spend: s.nothing(), Hours: s.nothing()}
	seenAt := -1
	uncertain := 0
	for i := g.from; i < g.to; i++ {
		if t.cands[i].certain {
			seen, seenAt = s.Job(c[i].Item), i
		} else {
			uncertain++
		}
	}
	several := uncertain > 1
	if several || seen.LeadDays > lead {
		t.charged = fill(t.charged, len(t.Spend), uint8(g.seen))
		for i := g.from; i < g.to; i++ { // grades ascend
			for _, w := range t.cands[i].worldsUncertain() {
				t.charged[w] = uint8(c[i].Grade)
			}
		}
	}
	for i := g.from; i < g.to; i++ {
		x := &t.cands[i]
		if x.certain {
			continue
		}
		job, grade := s.Job(c[i].Item), uint8(c[i].Grade)
		x.charged = 0
		for _, w := range x.worlds {
			if several && t.charged[w] != grade {
				continue
			}
			t.Spend[w] += job.Spend[w] - seen.Spend[w]
			t.Hours[w] += job.Hours[w] - seen.Hours[w]
			if t.LeadHidden[w] < job.LeadDays {
				t.LeadHidden[w] = job.LeadDays
			}
			x.charged++
		}
		if seenAt >= 0 {
			t.cands[seenAt].charged -= x.charged
		}
	}
	if seen.LeadDays > lead {
		for w, grade := range t.charged {
			if grade == uint8(g.seen) && t.LeadSeen[w] < seen.LeadDays {
				t.LeadSeen[w] = seen.LeadDays
			}
		}
	}
}

func (x *outcome) worldsUncertain() []int32 {
	if x.certain {
		return nil
	}
	return x.worlds
}

func add(to, from []float64) {
	to = to[:len(from)]
	for i, x := range from {
		to[i] += x
	}
}

func raiseAll(to []float64, least float64) {
	for i, x := range to {
		if x < least {
			to[i] = least
		}
	}
}

// Occurs returns the worlds in which candidate i occurs, in no order; certain
// says that it does in all of them, and the list is then nil.
func (t *Tally) Occurs(i int) (worlds []int32, certain bool) {
	return t.cands[i].worldsUncertain(), t.cands[i].certain
}

// Count returns in how many worlds candidate i occurs.
func (t *Tally) Count(i int) int {
	if t.cands[i].certain {
		return len(t.Spend)
	}
	return len(t.cands[i].worlds)
}

// Charged returns the share of worlds in which candidate i is the one charged
// at its spot.
func (t *Tally) Charged(i int) float64 {
	return float64(t.cands[i].charged) / float64(len(t.Spend))
}

// Spots returns the spots at which something may be charged, in printing order.
func (t *Tally) Spots() []damage.Spot {
	spots := make([]damage.Spot, len(t.groups))
	for g := range t.groups {
		spots[g] = t.groups[g].spot
	}
	return spots
}

// Spot writes what one spot costs in each world to spend and hours, before the
// segment's multipliers. c is the case that was summed.
func (t *Tally) Spot(s *Space, c book.Case, spot damage.Spot, spend, hours []float64) {
	g := t.group(spot)
	clear(spend)
	clear(hours)
	for i := g.from; i < g.to; i++ { // a higher grade writes over a lower one
		job := s.Job(c[i].Item)
		if t.cands[i].certain {
			copy(spend, job.Spend)
			copy(hours, job.Hours)
			continue
		}
		for _, w := range t.cands[i].worlds {
			spend[w], hours[w] = job.Spend[w], job.Hours[w]
		}
	}
}

// CodedShares returns the share of worlds in which each grade is the highest
// coded one that occurs at a spot; at index 0, that none does.
func (t *Tally) CodedShares(spot damage.Spot) (shares [damage.GradeCount + 1]float64) {
	g := t.group(spot)
	if !g.doubt {
		shares[g.seen] = 1
		return shares
	}
	var counts [256]int
	for _, grade := range g.coded {
		counts[grade]++
	}
	for i := range shares {
		shares[i] = float64(counts[i]) / float64(len(g.coded))
	}
	return shares
}

// ChargedAt finds in which worlds something that match accepts is charged, and
// adds them to where; always says that it is so in every world, and where is
// then left as it is. What matches a grade must match the higher ones of its
// spot.
func (t *Tally) ChargedAt(c book.Case, match func(damage.Item) bool, where []bool) (always bool) {
	for i, x := range c {
		if !match(x.Item) {
			continue
		}
		if t.cands[i].certain {
			return true
		}
		for _, w := range t.cands[i].worlds {
			where[w] = true
		}
	}
	return false
}

func zeros(s []float64, n int) []float64 {
	s = grow(s, n)
	clear(s)
	return s
}

func fill[T any](s []T, n int, x T) []T {
	s = grow(s, n)
	for i := range s {
		s[i] = x
	}
	return s
}

// grow returns s with length n, keeping what its memory holds.
func grow[T any](s []T, n int) []T {
	if n <= cap(s) {
		return s[:n]
	}
	return append(s[:cap(s)], make([]T, n-cap(s))...)
}
