package simulate

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// Totals add up one car's damage in each world. The memory is used again for the
// next car: what they return is valid until the next Sum. The zero Totals are
// ready to use. They are not for concurrent use.
//
// What is uncertain happens in few worlds, and the worlds in which an item
// happens at some chance are the first of one list that is the same for every
// car (see Draws.Occurrence). So only those worlds are visited.
type Totals struct {
	// Sums has what is charged in each world.
	Sums []Sum

	cands   []outcome
	groups  []group
	charged []uint8
	miss    []float64
}

// A Sum is all that is charged in one world.
type Sum struct {
	// Spend in pounds and Hours, before the segment's multipliers.
	Spend, Hours float64
	// LeadSeen and LeadHidden are the longest lead times, in days, of what was
	// seen and of what was not: 0 where nothing is charged.
	LeadSeen, LeadHidden float64
}

// outcome is what became of one candidate.
type outcome struct {
	certain bool
	worlds  []int32 // where it occurs; unused where certain
	charged int     // number of worlds where it is the one charged at its spot
	// places are those of the worlds in the item's list, nil where they are the
	// first of it; own and ownPlaces are memory for what is no part of a list.
	places         []int32
	own, ownPlaces []int32
	// other says that the worlds are not those of the item's list.
	other bool
}

// group is the candidates of one spot.
type group struct {
	spot     damage.Spot
	from, to int
	// seen is the grade that was seen, 0 for none; sure is the one that is there at least:
	// the same, or one less where a seen mark may be misread. doubt says that suspected
	// grades may go above it. coded is then the highest coded grade in each world.
	seen  damage.Grade
	sure  int // number of the candidate, -1 for none
	doubt bool
	coded []uint8
}

// Sum adds up the case over the worlds.
func (t *Totals) Sum(s *Draws, c costs.Case) {
	n := s.Points()
	t.Sums = grow(t.Sums, n)
	clear(t.Sums)
	t.cands = grow(t.cands, len(c))
	t.split(c)
	for i, x := range c {
		if t.cands[i].certain = x.Certain(); x.Kind == costs.Suspected {
			t.cands[i].worlds, t.cands[i].places, t.cands[i].other = s.Occurrence(x.Item).Above(1-x.Chance), nil, false
		}
	}
	for g := range t.groups {
		if t.groups[g].doubt {
			t.codedGrades(&t.groups[g], c, n)
		}
	}
	for i, x := range c {
		if x.Kind == costs.Hidden {
			t.trigger(i, s.Occurrence(x.Item), x.Triggers)
		}
	}
	for g := range t.groups {
		t.misread(s, &t.groups[g], c)
	}
	lead := t.chargeCertain(s, c)
	if lead > 0 {
		for w := range t.Sums {
			t.Sums[w].LeadSeen = lead
		}
	}
	for g := range t.groups {
		if g := &t.groups[g]; g.to-g.from > 1 || g.sure < 0 {
			t.charge(s, g, c, lead)
		}
	}
}

// split finds the groups of the case, which is in order of spots.
func (t *Totals) split(c costs.Case) {
	groups := t.groups[:0]
	for from := 0; from < len(c); {
		to := from + 1
		for to < len(c) && c[to].Spot == c[from].Spot {
			to++
		}
		groups = grow(groups, len(groups)+1)
		g := &groups[len(groups)-1]
		g.spot, g.from, g.to, g.seen, g.doubt, g.sure = c[from].Spot, from, to, 0, false, -1
		for i := from; i < to; i++ {
			if c[i].Certain() {
				g.sure = i
			}
			switch c[i].Kind {
			case costs.Seen:
				g.seen = c[i].Grade
			case costs.Suspected:
				g.doubt = true
			}
		}
		from = to
	}
	t.groups = groups
}

// codedGrades finds the highest coded grade that occurs at a spot.
func (t *Totals) codedGrades(g *group, c costs.Case, n int) {
	g.coded = fill(g.coded, n, uint8(g.seen))
	for i := g.from; i < g.to; i++ { // grades ascend
		if c[i].Kind == costs.Suspected {
			for _, w := range t.cands[i].worlds {
				g.coded[w] = uint8(c[i].Grade)
			}
		}
	}
}

// trigger lets hidden candidate i occur by the rules of its triggers.
func (t *Totals) trigger(i int, trial *Occurrence, triggers []costs.Trigger) {
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
	x.worlds, x.places, x.other = trial.Above(sure*least), nil, false
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
	x.own, x.ownPlaces = x.own[:0], x.ownPlaces[:0]
	for k, w := range x.worlds {
		if trial.Shares[w] > t.miss[k] {
			x.own, x.ownPlaces = append(x.own, w), append(x.ownPlaces, int32(k))
		}
	}
	x.worlds, x.places = x.own, x.ownPlaces
}

// misread lets the grades beside the one that was seen occur. One share decides for a spot:
// the greatest that it is a grade more, the least that it is a grade less.
func (t *Totals) misread(s *Draws, g *group, c costs.Case) {
	_, up := c[g.from:g.to].Steps()
	for i := g.from; i < g.to; i++ {
		x, o := &c[i], &t.cands[i]
		switch {
		case o.certain:
		case x.Kind == costs.Seen:
			o.worlds, o.other = s.Misread(g.spot).Above((1-up)*(1-x.Chance)), true
		case x.Kind == costs.Misread:
			o.worlds, o.other = s.Misread(g.spot).Above(1-up), true
		case x.Kind == costs.Hidden && x.Step > 0:
			t.charged = fill(t.charged, len(t.Sums), 0)
			also := append([]int32(nil), o.worlds...)
			for _, w := range o.worlds {
				t.charged[w] = 1
			}
			for _, w := range s.Misread(g.spot).Above(1 - up) {
				if t.charged[w] == 0 {
					also = append(also, w)
				}
			}
			o.worlds, o.other = also, true
		}
	}
}

func (t *Totals) group(s damage.Spot) *group {
	for g := range t.groups {
		if t.groups[g].spot == s {
			return &t.groups[g]
		}
	}
	panic("world: a trigger at a spot without candidates")
}

// chargeCertain adds what was seen, and returns the longest lead time of what
// nothing worse can take the place of.
func (t *Totals) chargeCertain(s *Draws, c costs.Case) (lead float64) {
	for g := range t.groups {
		g := &t.groups[g]
		for i := g.from; i < g.to; i++ {
			if !t.cands[i].certain {
				continue
			}
			job := s.Of(&c[i])
			hours := job.Hours[:len(t.Sums)]
			for w, x := range job.Spend[:len(t.Sums)] {
				t.Sums[w].Spend += x
				t.Sums[w].Hours += hours[w]
			}
			t.cands[i].charged = len(t.Sums)
			if g.to-g.from == 1 { // and so seen
				lead = max(lead, job.LeadDays)
			}
		}
	}
	return lead
}

// charge lets the highest grade that occurs at a spot take the place of the one that is
// there at least, in the worlds where one does. lead is the shortest that LeadSeen can be.
func (t *Totals) charge(s *Draws, g *group, c costs.Case, lead float64) {
	seenAt, several := t.uncertain(g, c)
	seenLead, lesserLead := 0.0, 0.0
	if seenAt >= 0 {
		seenLead = s.Job(c[seenAt].Item).LeadDays
	}
	if g.sure >= 0 && g.sure != seenAt {
		lesserLead = s.Job(c[g.sure].Item).LeadDays
	}
	if several || seenLead > lead || lesserLead > 0 {
		t.highest(g, c)
	}
	below := t.below(s, g, c)
	for i := g.from; i < g.to; i++ {
		x := &t.cands[i]
		if x.certain {
			continue
		}
		days := s.Job(c[i].Item).LeadDays
		if i == seenAt {
			days = 0 // ordered when the car was bought
		}
		t.instead(x, t.stepper(s, &c[i], x, &below), several, uint8(c[i].Grade), days)
		if g.sure >= 0 {
			t.cands[g.sure].charged -= x.charged
		}
	}
	if seenLead > lead || lesserLead > 0 {
		t.wait(uint8(g.seen), seenLead, uint8(below.grade), lesserLead)
	}
}

// uncertain returns the place of the seen candidate of a spot, -1 for none, and whether several
// candidates there are uncertain.
func (t *Totals) uncertain(g *group, c costs.Case) (seenAt int, several bool) {
	n := 0
	seenAt = -1
	for i := g.from; i < g.to; i++ {
		if c[i].Kind == costs.Seen {
			seenAt = i
		}
		if !t.cands[i].certain {
			n++
		}
	}
	return seenAt, n > 1
}

// highest finds the highest grade that occurs at a spot in each world.
func (t *Totals) highest(g *group, c costs.Case) {
	sure := damage.Grade(0)
	if g.sure >= 0 {
		sure = c[g.sure].Grade
	}
	t.charged = fill(t.charged, len(t.Sums), uint8(sure))
	for i := g.from; i < g.to; i++ { // grades ascend
		for _, w := range t.cands[i].worldsUncertain() {
			t.charged[w] = uint8(c[i].Grade)
		}
	}
}

// instead lets one candidate take the place of what is there at least, in the worlds where
// it occurs and, of several, is the worst. days is how long it is waited for after the strip.
func (t *Totals) instead(x *outcome, steps stepper, several bool, grade uint8, days float64) {
	x.charged = 0
	for k, w := range x.worlds {
		if several && t.charged[w] != grade {
			continue
		}
		if x.places != nil && !x.other {
			k = int(x.places[k])
		}
		sum, step := &t.Sums[w], steps.at(k, w)
		sum.Spend += step.spend
		sum.Hours += step.hours
		sum.LeadHidden = max(sum.LeadHidden, days)
		x.charged++
	}
}

// wait raises lead times where what was seen is charged, and where the grade below it is:
// that is ordered after the strip.
func (t *Totals) wait(seen uint8, seenLead float64, lesser uint8, lesserLead float64) {
	for w, grade := range t.charged {
		sum := &t.Sums[w]
		if grade == seen {
			sum.LeadSeen = max(sum.LeadSeen, seenLead)
		}
		if grade == lesser {
			sum.LeadHidden = max(sum.LeadHidden, lesserLead)
		}
	}
}

// base is the job of what is there at least, and its grade; own says that it is not what
// its row says.
type base struct {
	Job
	grade damage.Grade
	own   bool
}

func (t *Totals) below(s *Draws, g *group, c costs.Case) base {
	if g.sure < 0 {
		return base{}
	}
	return base{s.Of(&c[g.sure]), c[g.sure].Grade, !c[g.sure].AsRow()}
}

func (t *Totals) stepper(s *Draws, c *costs.Candidate, x *outcome, below *base) stepper {
	if x.other || below.own || !c.AsRow() {
		return stepper{job: s.Of(c), below: below.Job}
	}
	return stepper{known: s.steps(c.Item, below.grade)}
}

// stepper says what a world costs more where an item takes the place of what is there at
// least: as the draws know it, or by the jobs.
type stepper struct {
	known      []step
	job, below Job
}

// at returns that of the k-th world of the item's list, number w.
func (x *stepper) at(k int, w int32) step {
	if x.known != nil {
		return x.known[k]
	}
	s := step{x.job.Spend[w], x.job.Hours[w]}
	if x.below.Spend != nil {
		s.spend -= x.below.Spend[w]
		s.hours -= x.below.Hours[w]
	}
	return s
}

func (x *outcome) worldsUncertain() []int32 {
	if x.certain {
		return nil
	}
	return x.worlds
}

// Occurs returns the worlds in which candidate i occurs, in no order; certain
// says that it does in all of them, and the list is then nil.
func (t *Totals) Occurs(i int) (worlds []int32, certain bool) {
	return t.cands[i].worldsUncertain(), t.cands[i].certain
}

// Count returns in how many worlds candidate i occurs.
func (t *Totals) Count(i int) int {
	if t.cands[i].certain {
		return len(t.Sums)
	}
	return len(t.cands[i].worlds)
}

// Charged returns the share of worlds in which candidate i is the one charged
// at its spot.
func (t *Totals) Charged(i int) float64 {
	return float64(t.cands[i].charged) / float64(len(t.Sums))
}

// Spots returns the spots at which something may be charged, in printing order.
func (t *Totals) Spots() []damage.Spot {
	spots := make([]damage.Spot, len(t.groups))
	for g := range t.groups {
		spots[g] = t.groups[g].spot
	}
	return spots
}

// Spot writes what one spot costs in each world to spend and hours, before the
// segment's multipliers. c is the case that was summed.
func (t *Totals) Spot(s *Draws, c costs.Case, spot damage.Spot, spend, hours []float64) {
	g := t.group(spot)
	clear(spend)
	clear(hours)
	for i := g.from; i < g.to; i++ { // a higher grade writes over a lower one
		job := s.Of(&c[i])
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
func (t *Totals) CodedShares(spot damage.Spot) (shares [damage.GradeCount + 1]float64) {
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
func (t *Totals) ChargedAt(c costs.Case, match func(damage.Item) bool, where []bool) (always bool) {
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
