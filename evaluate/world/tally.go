package world

import (
	"wreckoner/damage"
	"wreckoner/damage/book"
)

// A Tally is one car's damage summed over all worlds. Its memory serves the
// next car again: what it returns holds until the next Sum. The zero Tally is
// ready to use. It is not for concurrent use.
type Tally struct {
	// Spend in pounds and Hours of all that is charged in each world, before
	// the segment's multipliers.
	Spend, Hours []float64
	// LeadSeen and LeadHidden are the longest lead times, in days, of what was
	// seen and of what was not, in each world: 0 where nothing is charged.
	LeadSeen, LeadHidden []float64

	cands  []trial
	groups []group
	miss   []float64
}

// trial is what became of one candidate.
type trial struct {
	occurs  []bool // unused where certain
	certain bool
	count   int // worlds where it occurs
	charged int // worlds where it is the one charged at its spot
}

// group is the candidates of one spot.
type group struct {
	spot     damage.Spot
	from, to int
	// coded and charged are the highest coded grade that occurs and the highest
	// grade of all, in each world; 0 is nothing. Unused where certain.
	coded, charged []uint8
	codedSure      damage.Grade
	sure           bool // charged is codedSure everywhere
	codedCertain   bool // coded is codedSure everywhere
}

// Sum adds up the case over the space's worlds.
func (t *Tally) Sum(s *Space, c book.Case) {
	n := s.Points()
	t.Spend, t.Hours = zeros(t.Spend, n), zeros(t.Hours, n)
	t.LeadSeen, t.LeadHidden = zeros(t.LeadSeen, n), zeros(t.LeadHidden, n)
	t.cands = grow(t.cands, len(c))
	t.split(c)
	for i, x := range c {
		t.cands[i].certain = x.Kind == book.Seen
		if x.Kind == book.Suspected {
			t.occur(i, s.Trial(x.Item), 1-x.Chance)
		}
	}
	for g := range t.groups {
		t.codedGrades(&t.groups[g], c, n)
	}
	for i, x := range c {
		if x.Kind == book.Hidden {
			t.trigger(i, s.Trial(x.Item), x.Triggers)
		}
	}
	for g := range t.groups {
		t.charge(s, &t.groups[g], c, n)
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
		g.spot, g.from, g.to = c[from].Spot, from, to
		from = to
	}
	t.groups = groups
}

// occur lets candidate i occur where its trial exceeds one number.
func (t *Tally) occur(i int, trial []float64, miss float64) {
	x := &t.cands[i]
	x.occurs = grow(x.occurs, len(trial))
	occurs := x.occurs[:len(trial)]
	count := 0
	for w, u := range trial {
		hit := u > miss
		occurs[w] = hit
		if hit {
			count++
		}
	}
	x.count = count
}

// codedGrades finds the highest coded grade that occurs at a spot.
func (t *Tally) codedGrades(g *group, c book.Case, n int) {
	g.codedSure, g.codedCertain = 0, true
	for i := g.from; i < g.to; i++ {
		switch c[i].Kind {
		case book.Seen:
			g.codedSure = c[i].Grade
		case book.Suspected:
			g.codedCertain = false
		}
	}
	if g.codedCertain {
		return
	}
	g.coded = fill(g.coded, n, uint8(g.codedSure))
	for i := g.from; i < g.to; i++ { // grades ascend
		if c[i].Kind == book.Suspected {
			raise(g.coded, t.cands[i].occurs, uint8(c[i].Grade))
		}
	}
}

func raise(grades []uint8, where []bool, grade uint8) {
	grades = grades[:len(where)]
	for w, yes := range where {
		if yes {
			grades[w] = grade
		}
	}
}

// trigger lets hidden candidate i occur by the rules of its triggers.
func (t *Tally) trigger(i int, trial []float64, triggers []book.Trigger) {
	sure, varies := 1.0, false
	for _, tr := range triggers {
		g := t.group(tr.Spot)
		if g.codedCertain {
			sure *= 1 - tr.Chance[g.codedSure]
			continue
		}
		if !varies {
			t.miss = fill(t.miss, len(trial), 1)
			varies = true
		}
		var keep [256]float64 // indexed by a byte, so that no bound is checked
		for grade, p := range tr.Chance {
			keep[grade] = 1 - p
		}
		miss := t.miss[:len(g.coded)]
		for w, grade := range g.coded {
			miss[w] *= keep[grade]
		}
	}
	if !varies {
		t.occur(i, trial, sure)
		return
	}
	x := &t.cands[i]
	x.occurs = grow(x.occurs, len(trial))
	x.count = 0
	for w, u := range trial {
		hit := u > sure*t.miss[w]
		x.occurs[w] = hit
		if hit {
			x.count++
		}
	}
}

func (t *Tally) group(s damage.Spot) *group {
	for g := range t.groups {
		if t.groups[g].spot == s {
			return &t.groups[g]
		}
	}
	panic("world: a trigger at a spot without candidates")
}

// charge adds the highest grade that occurs at a spot in each world.
func (t *Tally) charge(s *Space, g *group, c book.Case, n int) {
	g.sure = g.to-g.from == 1 && c[g.from].Kind == book.Seen
	if g.sure {
		job := s.Job(c[g.from].Item)
		t.cands[g.from].count, t.cands[g.from].charged = n, n
		add(t.Spend, job.Spend)
		add(t.Hours, job.Hours)
		raiseAll(t.LeadSeen, job.LeadDays)
		return
	}
	g.charged = fill(g.charged, n, uint8(g.codedSure))
	var spend, hours [8][]float64
	var seen, hidden [8]float64
	spend[0], hours[0] = s.nothing(), s.nothing()
	for i := g.from; i < g.to; i++ {
		grade := c[i].Grade
		job := s.Job(c[i].Item)
		spend[grade], hours[grade] = job.Spend, job.Hours
		if c[i].Kind == book.Seen {
			seen[grade] = job.LeadDays
			t.cands[i].count = n
			continue
		}
		hidden[grade] = job.LeadDays
		raise(g.charged, t.cands[i].occurs, uint8(grade))
	}
	var counts [8]int
	charged := g.charged[:n]
	sum, time, early, late := t.Spend[:n], t.Hours[:n], t.LeadSeen[:n], t.LeadHidden[:n]
	for w, grade := range charged {
		grade &= 7
		sum[w] += spend[grade][w]
		time[w] += hours[grade][w]
		early[w] = max(early[w], seen[grade])
		late[w] = max(late[w], hidden[grade])
		counts[grade]++
	}
	for i := g.from; i < g.to; i++ {
		t.cands[i].charged = counts[c[i].Grade]
	}
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

// Occurs returns in which worlds candidate i occurs, nil for all of them.
func (t *Tally) Occurs(i int) []bool {
	if t.cands[i].certain {
		return nil
	}
	return t.cands[i].occurs
}

// Count returns in how many worlds candidate i occurs.
func (t *Tally) Count(i int) int { return t.cands[i].count }

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
	if g.sure {
		job := s.Job(c[g.from].Item)
		copy(spend, job.Spend)
		copy(hours, job.Hours)
		return
	}
	var jobs [damage.GradeCount + 1]Job
	jobs[0] = Job{Spend: s.nothing(), Hours: s.nothing()}
	for i := g.from; i < g.to; i++ {
		jobs[c[i].Grade] = s.Job(c[i].Item)
	}
	for w, grade := range g.charged {
		spend[w], hours[w] = jobs[grade].Spend[w], jobs[grade].Hours[w]
	}
}

// CodedShares returns the share of worlds in which each grade is the highest
// coded one that occurs at a spot; at index 0, that none does.
func (t *Tally) CodedShares(spot damage.Spot) (shares [damage.GradeCount + 1]float64) {
	g := t.group(spot)
	if g.codedCertain {
		shares[g.codedSure] = 1
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

// ChargedAt returns in which worlds something that match accepts is charged. It
// is added to where; always says that it is so in every world, and where is
// then left as it is.
func (t *Tally) ChargedAt(c book.Case, match func(damage.Item) bool, where []bool) (always bool) {
	for g := range t.groups {
		g := &t.groups[g]
		var hit [256]bool
		none, all := true, true
		for i := g.from; i < g.to; i++ {
			if match(c[i].Item) {
				hit[c[i].Grade] = true
				none = false
			} else {
				all = false
			}
		}
		switch {
		case none:
			continue
		case g.sure:
			return true
		case all && c[g.from].Kind == book.Seen:
			return true
		}
		for w, grade := range g.charged[:len(where)] {
			if hit[grade] {
				where[w] = true
			}
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
