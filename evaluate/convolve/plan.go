package convolve

import (
	"errors"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve/vector"
)

// ErrTangled is the error for a car whose suspected damage, where it may bring hidden damage,
// may turn out in more than maxVariants ways that have to be worked out together.
var ErrTangled = errors.New("too many doubtful triggers hang together")

// maxVariants bounds the ways in which one cluster's triggers may turn out.
const maxVariants = 512

// A Sum is one car's damage. Its memory is used again for the next car: what it
// returns is valid until the next Add. It is not for concurrent use.
//
// Damage that was coded as suspected may bring hidden damage elsewhere. Spots that
// such doubts tie together are a cluster: given how the doubts turn out, which
// is one variant of the cluster, and given the severity factor, every spot of it
// is independent of every other. Spots that depend on the same doubts of a cluster are
// worked out together, once for each way in which those turn out: a block. A variant
// is then a list of blocks. Most clusters are one spot in one block.
type Sum struct {
	e *Engine
	c costs.Case

	spots    []spot
	clusters []cluster
	variants []variant
	refs     []int // the blocks of each variant
	turned   []turned
	blocks   []block
	states   []stateSet
	charges  []charge
	leads    []pair   // of each charge
	jobs     []*nodal // memory for those that are not as their row says
	ownJobs  int      // of this car
	coded    []codedGrade
	// grade is the highest coded grade at each doubt of the cluster being added, by the number
	// of its spot.
	grade   [damage.SpotCount]damage.Grade
	arena   arena
	chances map[float64][]float64

	// shown is what the car is conditional on, while it is added; weights are those of the
	// nodes then, central those of the nodes that have transforms.
	shown            []costs.Shown
	weights, central []float64

	totals
	tying tying
	trans transforms
	bringing
	// mix is the chance of each charge at the central nodes, and its transform where
	// that is known.
	mix    []vector.Part
	pairs  []pair    // groups of Leads
	shares []float64 // of each in its group
	last   pair      // the longest
	ladder ladder
	parts  []given
}

// tying is memory for the spots of a cluster.
type tying struct {
	members, doubts, spots, firstBlock []int
	of, masks                          []uint
}

// spot is the candidates of one place, from to to in the case.
type spot struct {
	at       damage.Spot
	from, to int
	seen     damage.Grade
	doubt    bool // suspected grades may go above seen
	triggers bool // and the chance of something hidden depends on them
	cluster  int
	// coded are the grades that may be the highest coded one, where doubt.
	codedFrom, codedTo int
}

// codedGrade is a grade that may be the highest coded one at a spot, with the chance at
// each node.
type codedGrade struct {
	grade  damage.Grade
	chance []float64
}

// cluster is variants from to to, made of blocks first to last. spend and hours are the
// means at each node, varHours the variances of hours.
type cluster struct {
	from, to     int
	first, last  int
	spend, hours []float64
	varHours     []float64
	hangs        pair // the last of each lead time that anything of it has
	known
}

// known is a transform that was worked out, within some bounds to the lead times; there is
// none within pair{-1, -1}.
type known struct {
	values, memory []vector.Single
	within         pair
}

// single reports whether there is one variant only.
func (c *cluster) single() bool { return c.to-c.from == 1 }

// variant is one way in which the doubts of a cluster turn out: its chance at
// each node, its blocks, from to to in refs, and the highest coded grades, likewise
// in turned.
type variant struct {
	chance               []float64
	from, to             int
	turnedFrom, turnedTo int
}

// turned is the highest coded grade at a spot.
type turned struct {
	spot  int
	grade damage.Grade
}

// block is the states of some spots, from to to. spend and hours are its means at each
// node, varHours the variances of hours, and chance that of all variants which have it.
type block struct {
	from, to     int
	chance       []float64
	spend, hours []float64
	varHours     []float64
	none         []float64 // at each node, the chance that nothing of a sort is charged; scratch memory
	likelihood   []float64 // at each node, of what was shown at its spots; nil: nothing
	hangs        pair
	known
}

// stateSet is what may be charged at a spot in a variant: charges from to to, one at
// least, worst first, and the chance at each node that nothing is. spend and hours are the
// means at each node, hours2 the mean squares of hours.
type stateSet struct {
	spot         int
	from, to     int
	nothing      []float64
	sure         bool // its one charge is certain
	spend, hours []float64
	hours2       []float64
	hangs        pair
}

// varHours returns the variance of hours at a node.
func (x *stateSet) varHours(k int) float64 { return x.hours2[k] - x.hours[k]*x.hours[k] }

// charge is one grade that may be the one charged.
type charge struct {
	candidate int
	row       *rowKnown
	job       *nodal // the row's moments on this car
	number    int    // of the row
	// chance of its being charged at each node; room that nothing worse is there;
	// occurs that it is there at all.
	chance, room, occurs []float64
	lead                 pair
	marked               bool      // scratch memory
	base                 bool      // counted in Distribution.Base
	known                *spectrum // of the row, for the frequencies at hand
}

// arena hands out vectors of one length, again and again.
type arena struct {
	vectors [][]float64
	used    int
	size    int
}

func (a *arena) reset() { a.used = 0 }

func (a *arena) take() []float64 {
	if a.used == len(a.vectors) { // many at once, so that they lie side by side
		const many = 64
		room := make([]float64, many*a.size)
		for i := range many {
			a.vectors = append(a.vectors, room[i*a.size:(i+1)*a.size:(i+1)*a.size])
		}
	}
	a.used++
	return a.vectors[a.used-1]
}

// NewSum returns a sum to use for one car after the other.
func (e *Engine) NewSum() *Sum {
	return &Sum{e: e, arena: arena{size: len(e.nodes)}, chances: map[float64][]float64{}}
}

// Add takes up a car. It fails with ErrTangled.
func (s *Sum) Add(c costs.Case) error {
	s.weights, s.central = s.e.weights, s.e.central
	if err := s.add(c); err != nil {
		return err
	}
	s.total()
	return nil
}

func (s *Sum) add(c costs.Case) error {
	s.c = c
	s.arena.reset()
	s.spots, s.clusters, s.variants, s.refs, s.turned, s.blocks, s.states, s.charges, s.coded =
		s.spots[:0], s.clusters[:0], s.variants[:0], s.refs[:0], s.turned[:0], s.blocks[:0], s.states[:0], s.charges[:0],
		s.coded[:0]
	s.leads, s.ownJobs = s.leads[:0], 0
	s.mix, s.pairs, s.last = s.mix[:0], s.pairs[:0], pair{}
	s.findSpots()
	s.tie()
	for n := range s.spots {
		if s.spots[n].cluster != n { // a cluster is known by its first spot
			continue
		}
		if err := s.cluster(n); err != nil {
			return err
		}
	}
	return nil
}

// findSpots splits the case, which is in order of spots.
func (s *Sum) findSpots() {
	c := s.c
	for from := 0; from < len(c); {
		x := spot{at: c[from].Spot, from: from, to: from, cluster: len(s.spots)}
		for ; x.to < len(c) && c[x.to].Spot == x.at; x.to++ {
			switch c[x.to].Kind {
			case costs.Seen:
				x.seen = c[x.to].Grade
			case costs.Suspected:
				x.doubt = true
			}
		}
		if x.doubt {
			s.codedGrades(&x)
		}
		s.spots = append(s.spots, x)
		from = x.to
	}
}

// codedGrades finds how likely each coded grade is the highest one at a spot.
func (s *Sum) codedGrades(x *spot) {
	x.codedFrom = len(s.coded)
	room := s.constant(1)
	for i := x.to - 1; i >= x.from; i-- { // worst first
		if s.c[i].Kind != costs.Suspected {
			continue
		}
		here, rest, occurs := s.arena.take(), s.arena.take(), s.occurs(s.c[i].Chance)
		for k, p := range occurs {
			here[k], rest[k] = room[k]*p, room[k]*(1-p)
		}
		s.coded = append(s.coded, codedGrade{s.c[i].Grade, here})
		room = rest
	}
	s.coded = append(s.coded, codedGrade{x.seen, room})
	x.codedTo = len(s.coded)
}

func (s *Sum) constant(x float64) []float64 {
	v := s.arena.take()
	for k := range v {
		v[k] = x
	}
	return v
}

// mostChances bounds how many chances are remembered.
const mostChances = 4096

// occurs returns the chance at each node of what has this chance overall. It is
// shared.
func (s *Sum) occurs(chance float64) []float64 {
	if v, ok := s.chances[chance]; ok {
		return v
	}
	if len(s.chances) >= mostChances {
		clear(s.chances)
	}
	v := make([]float64, len(s.e.nodes))
	s.e.occurs(chance, v)
	s.chances[chance] = v
	return v
}

func (s *Sum) spot(at damage.Spot) int {
	for n := range s.spots {
		if s.spots[n].at == at {
			return n
		}
	}
	panic("convolve: a trigger at a spot without candidates")
}

// tie joins the spots that a doubtful trigger ties together.
func (s *Sum) tie() {
	root := func(n int) int {
		for s.spots[n].cluster != n {
			n = s.spots[n].cluster
		}
		return n
	}
	for n := range s.spots {
		for i := s.spots[n].from; i < s.spots[n].to; i++ {
			for _, t := range s.c[i].Triggers {
				at := s.spot(t.Spot)
				if !varies(&t, s.grades(at)) {
					continue
				}
				s.spots[at].triggers = true
				a, b := root(n), root(at)
				s.spots[max(a, b)].cluster = min(a, b)
			}
		}
	}
	for n := range s.spots {
		s.spots[n].cluster = root(n)
	}
}

// grades are those that may be the highest coded one at a doubtful spot.
func (s *Sum) grades(spot int) []codedGrade {
	return s.coded[s.spots[spot].codedFrom:s.spots[spot].codedTo]
}

// varies reports whether the coded grades of a trigger's spot make a difference.
func varies(t *costs.Trigger, grades []codedGrade) bool {
	for _, g := range grades {
		if t.Chance[g.grade] != t.Chance[grades[0].grade] {
			return true
		}
	}
	return false
}

// cluster adds the blocks and variants of the cluster whose first spot is n. It fails with
// ErrTangled where there would be more than maxVariants.
func (s *Sum) cluster(n int) error {
	c := cluster{from: len(s.variants), first: len(s.blocks)}
	if n := len(s.clusters); n < cap(s.clusters) {
		c.known = s.clusters[:n+1][n].known
	}
	members, doubts, ways := s.membersOf(n)
	if ways > maxVariants {
		return ErrTangled
	}
	firstBlock, masks := s.blocksOf(members, doubts)
	for way := range ways {
		s.addVariant(way, doubts, masks, firstBlock)
	}
	c.to, c.last = len(s.variants), len(s.blocks)
	if len(s.shown) > 0 {
		s.weigh(&c)
	}
	s.clusters = append(s.clusters, c)
	return nil
}

// membersOf returns the spots of the cluster whose first spot is n; those of them, the doubts,
// whose highest coded grade is uncertain and changes a chance somewhere; and in how many ways
// these may turn out. Beyond maxVariants it stops counting.
func (s *Sum) membersOf(n int) (members, doubts []int, ways int) {
	ways, members, doubts = 1, s.tying.members[:0], s.tying.doubts[:0]
	defer func() { s.tying.members, s.tying.doubts = members, doubts }()
	for i := n; i < len(s.spots); i++ {
		x := &s.spots[i]
		if x.cluster != n {
			continue
		}
		members = append(members, i)
		if x.triggers {
			doubts = append(doubts, i)
			if ways *= x.codedTo - x.codedFrom; ways > maxVariants {
				return members, doubts, ways
			}
		}
	}
	return members, doubts, ways
}

// blocksOf adds the blocks of a cluster. Spots that the same doubts make a difference to, as a
// mask of the doubts, share blocks: one for each way in which these turn out, in a row. It
// returns the masks, and the number of the first block of each.
func (s *Sum) blocksOf(members, doubts []int) ([]int, []uint) {
	t := &s.tying
	of, masks, firstBlock, spots := t.of[:0], t.masks[:0], t.firstBlock[:0], t.spots
	for m, i := range members {
		of = append(of, s.hangsOn(i, doubts))
		if !slices.Contains(masks, of[m]) {
			masks = append(masks, of[m])
		}
	}
	for _, mask := range masks {
		firstBlock = append(firstBlock, len(s.blocks))
		spots = spots[:0]
		for m, i := range members {
			if of[m] == mask {
				spots = append(spots, i)
			}
		}
		for way := range s.ways(doubts, mask) {
			s.addBlock(spots, doubts, mask, way)
		}
	}
	t.of, t.masks, t.firstBlock, t.spots = of, masks, firstBlock, spots
	return firstBlock, masks
}

// addBlock adds the block of some spots where the doubts of the mask turn out in one way.
func (s *Sum) addBlock(spots, doubts []int, mask uint, way int) {
	s.turnOut(doubts, mask, way, &s.grade)
	b := block{from: len(s.states)}
	if n := len(s.blocks); n < cap(s.blocks) {
		b.known = s.blocks[:n+1][n].known
	}
	for _, i := range spots {
		set := s.charged(i, &s.grade)
		s.narrow(&set, &b)
		if set.to > set.from {
			s.states = append(s.states, set)
		}
	}
	b.to = len(s.states)
	s.blocks = append(s.blocks, b)
}

// addVariant adds the variant in which all doubts of a cluster turn out in one way: its chance
// at each node, and for each mask the block in which the doubts of that turn out so.
func (s *Sum) addVariant(way int, doubts []int, masks []uint, firstBlock []int) {
	v := variant{chance: s.constant(1), from: len(s.refs), turnedFrom: len(s.turned)}
	digits := s.turnOut(doubts, ^uint(0), way, &s.grade)
	for d, i := range doubts {
		for k, p := range s.coded[s.spots[i].codedFrom+digits[d]].chance {
			v.chance[k] *= p
		}
		s.turned = append(s.turned, turned{i, s.grade[i]})
	}
	v.turnedTo = len(s.turned)
	for g, mask := range masks {
		number, scale := 0, 1
		for d, i := range doubts {
			if mask>>d&1 == 1 {
				number += scale * digits[d]
				scale *= s.spots[i].codedTo - s.spots[i].codedFrom
			}
		}
		s.refs = append(s.refs, firstBlock[g]+number)
	}
	v.to = len(s.refs)
	s.variants = append(s.variants, v)
}

// hangsOn returns which of the doubts make a difference at a spot.
func (s *Sum) hangsOn(spot int, doubts []int) (mask uint) {
	for d, i := range doubts {
		if i == spot {
			mask |= 1 << d
		}
	}
	for i := s.spots[spot].from; i < s.spots[spot].to; i++ {
		for t := range s.c[i].Triggers {
			at := s.spot(s.c[i].Triggers[t].Spot)
			if d := slices.Index(doubts, at); d >= 0 && varies(&s.c[i].Triggers[t], s.grades(at)) {
				mask |= 1 << d
			}
		}
	}
	return mask
}

// ways returns in how many ways the doubts of a mask may turn out.
func (s *Sum) ways(doubts []int, mask uint) int {
	n := 1
	for d, i := range doubts {
		if mask>>d&1 == 1 {
			n *= s.spots[i].codedTo - s.spots[i].codedFrom
		}
	}
	return n
}

// turnOut sets the highest coded grades in one way, and returns its number for each
// doubt of the mask.
func (s *Sum) turnOut(doubts []int, mask uint, way int, coded *[damage.SpotCount]damage.Grade) (digits [16]int) {
	for d, i := range doubts {
		if mask>>d&1 == 0 {
			continue
		}
		x := &s.spots[i]
		n := x.codedTo - x.codedFrom
		digits[d] = way % n
		coded[i] = s.coded[x.codedFrom+way%n].grade
		way /= n
	}
	return digits
}

// charged lists what may be charged at a spot, the highest grade that occurs being
// the one, where the spots that trigger have these highest coded grades.
func (s *Sum) charged(n int, coded *[damage.SpotCount]damage.Grade) stateSet {
	x := &s.spots[n]
	set := stateSet{spot: n, from: len(s.charges)}
	room := s.constant(1)
	for i := x.to - 1; i >= x.from; i-- { // worst first
		c := &s.c[i]
		var occurs []float64
		switch {
		case c.Kind == costs.Seen, c.Kind == costs.Misread:
			occurs = s.constant(c.Chance)
		case c.Kind == costs.Suspected && x.triggers && coded[n] == c.Grade:
			occurs = s.constant(1)
		case c.Kind == costs.Suspected && x.triggers: // not there, or something worse is
			continue
		case c.Kind == costs.Suspected:
			occurs = s.occurs(c.Chance)
		default:
			chance := s.chance(c.Triggers, coded)
			if chance == 0 && c.Step == 0 {
				continue
			}
			if occurs = s.occurs(chance); c.Step > 0 {
				occurs = s.either(occurs, c.Step)
			}
		}
		here, rest := s.arena.take(), s.arena.take()
		for k, p := range occurs {
			here[k], rest[k] = room[k]*p, room[k]*(1-p)
		}
		s.charges = append(s.charges, s.charge(i, here, room, occurs))
		s.mix = append(s.mix, vector.Part{Chance: here[s.e.skip:]})
		s.leads = append(s.leads, pair{})
		room = rest
	}
	set.to, set.nothing = len(s.charges), room
	set.sure = x.to-x.from == 1 && x.seen > 0
	return set
}

// either returns, at each node, the chance that at least one of two things happens which are
// independent given the factor: one with the chances occurs, one with the chance step.
func (s *Sum) either(occurs []float64, step float64) []float64 {
	out := s.arena.take()
	for k, p := range occurs {
		out[k] = 1 - (1-p)*(1-step)
	}
	return out
}

// charge returns that of a candidate.
func (s *Sum) charge(i int, chance, room, occurs []float64) charge {
	c := &s.c[i]
	row := s.e.row(c.Row)
	return charge{candidate: i, row: row, job: s.job(c, row), number: c.Row, chance: chance, room: room, occurs: occurs}
}

// job returns the moments of a candidate's job at each node.
func (s *Sum) job(c *costs.Candidate, row *rowKnown) *nodal {
	if c.AsRow() {
		return &row.nodal
	}
	if s.ownJobs == len(s.jobs) {
		s.jobs = append(s.jobs, new(nodal))
	}
	j := s.jobs[s.ownJobs]
	s.ownJobs++
	*j = nodal{s.arena.take(), row.hours, s.arena.take(), s.arena.take(), row.hours2}
	if q := c.Quote; q != nil {
		if q.HasHours {
			j.hours, j.hours2 = s.constant(q.Hours), s.constant(q.Hours*q.Hours)
		}
		for k := range j.spend {
			j.spend[k], j.spend2[k], j.both[k] = q.Spend, q.Spend*q.Spend, q.Spend*j.hours[k]
		}
		return j
	}
	scale := c.Times()
	for k := range j.spend {
		j.spend[k], j.spend2[k], j.both[k] = scale*row.spend[k], scale*scale*row.spend2[k], scale*row.both[k]
	}
	return j
}

// chance is that of a hidden candidate: noisy-or of the rules that apply.
func (s *Sum) chance(triggers []costs.Trigger, coded *[damage.SpotCount]damage.Grade) float64 {
	miss := 1.0
	for i := range triggers {
		t := &triggers[i]
		at := s.spot(t.Spot)
		grade := s.spots[at].seen
		if grades := s.grades(at); len(grades) > 0 {
			if grade = grades[0].grade; varies(t, grades) {
				grade = coded[at]
			}
		}
		miss *= 1 - t.Chance[grade]
	}
	return 1 - miss
}
