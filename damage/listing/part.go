package listing

import (
	"slices"

	"wreckoner/damage"
)

// A reference is mention j of a sentence, to be turned into findings.
type reference struct {
	*mention
	r      *reader
	p      *statement
	j      int
	clue   *clue
	nearby sideEnd
}

// mention turns one part or area into findings.
func (r *reader) mention(p *statement, j int, m *mention) {
	c := &clue{terms: append(slices.Clone(m.terms), m.cond.terms...)}
	r.clues = append(r.clues, c)
	referenceRules.apply(reference{m, r, p, j, c, r.nearby(p, j)})
}

// referenceRules say how a part or an area becomes findings.
var referenceRules = rules[reference]{
	{"seats not seen", func(x reference) bool {
		general := x.is(area) || x.is(fitting) && x.fixed() && x.zone() != damage.Bay
		return x.cond.unseen && general
	}, note("nobody looked at it")},
	{"leather seats", func(x reference) bool {
		return x.is(fitting) && !x.cond.said && !x.listed() && !x.p.category()
	}, note("named, but no damage is said of it")},
	{"rear damage", func(x reference) bool { return x.is(area) }, reference.findArea},
	{"chassis bent", func(x reference) bool { return x.generic() == hitZone }, reference.findShell},
	{"lamp and wiring", func(x reference) bool { return x.generic() == besideLast }, reference.findBeside},
	{"all glass broken", func(x reference) bool {
		return x.plays(window) && len(x.at) == 0 && x.every
	}, func(x reference) {
		x.find(candidate{zone: damage.Tail})
		x.find(candidate{zone: damage.Cabin})
		x.findPart()
	}},
	{"tailgate and glass", func(x reference) bool {
		return x.plays(window) && len(x.at) == 0 && x.afterAnd() && x.p.mentions[x.j-1].zone() == damage.Tail
	}, func(x reference) { x.find(candidate{zone: damage.Tail}) }},
	{"wing dented", always[reference], reference.findPart},
}

func note(text string) func(reference) { return func(x reference) { x.clue.note = text } }

// find adds what the part's rows say of a zone.
func (x reference) find(at candidate) { x.r.addSenses(x.clue, x.mention, at, x.senses) }

// findPart places a part by its position or the words nearby.
func (x reference) findPart() {
	at := x.at
	if len(at) == 0 {
		at = []location{{all: x.every}}
	}
	if x.is(fitting) && x.generic() == anyCorner && x.nearby.side == 0 {
		// Which wheel is not told by the bumper that is spoken of.
		x.nearby.end = 0
	}
	for _, w := range at {
		for _, z := range x.sense().at.zones(x.rearWing(w), x.nearby, x.plural && !x.sameSide()) {
			x.find(x.r.shift(x.mention, x.oneOf(z)))
		}
	}
	x.clue.shareOut()
}

// sameSide reports whether doors of one side are meant and which is not said: "wing,
// 2 doors, sill".
func (x reference) sameSide() bool {
	alone := func(m *mention) bool {
		return m.is(things) && m.sided() && m.generic() != anyCorner && !m.plural && len(m.at) == 0
	}
	return x.number == 2 && x.generic() == anySide && x.nearby.side == 0 && slices.ContainsFunc(x.p.mentions, alone)
}

// oneOf gives a wheel of two or three of which no place is said the chance that it
// is the one: "2 wheels bent".
func (x reference) oneOf(at candidate) candidate {
	some := x.number > 1 && !x.every && x.generic() == anyCorner
	if some && len(x.at) == 0 && x.nearby == (sideEnd{}) && at.guess == 0 {
		at.guess = x.number * 100 / allCount
	}
	return at
}

// shareOut takes several panels that are in several zones as one in each.
func (c *clue) shareOut() {
	for i := range c.findings {
		if c.findings[i].mark.Zone != c.findings[0].mark.Zone {
			for j := range c.findings {
				c.findings[j].count = min(c.findings[j].count, 1)
			}
			return
		}
	}
}

// findArea places damage to a whole end, side or corner.
func (x reference) findArea() {
	c := x.p.clauseOf(x.mention)
	wheel := c != nil && x.cond.level == 0 && c.terms.plays(kerb)
	for _, w := range x.at {
		for _, z := range w.zones(x.nearby) {
			if wheel && w.side != 0 && w.end != 0 {
				x.clue.suspectWheel(z)
				continue
			}
			x.r.addArea(x.clue, x.mention, z, w.all || x.skin || x.cond.hot())
		}
	}
	if len(x.clue.findings) == 0 {
		x.clue.note = "no zone is said"
	}
}

// kerbPercent is the chance that a wheel that hit a kerb bent its suspension.
const kerbPercent = 60

// suspectWheel suspects the suspension of a corner.
func (c *clue) suspectWheel(at candidate) {
	f := newFinding(at.zone, damage.Mechanical, 2)
	f.suspect(kerbPercent, at.guess, condition{})
	c.findings = append(c.findings, f)
	c.note = "a wheel hit a kerb"
}

// findShell places "structural damage" and its like: where it is said, else
// later, where the car was hit.
func (x reference) findShell() {
	at := x.at
	if len(at) == 0 {
		// The position of an area in the same sentence, if it has one.
		for _, o := range x.p.mentions {
			if o.is(area) && !o.cond.sound && !x.cond.sound {
				at = o.at
			}
		}
	}
	if len(at) == 0 {
		x.clue.hit = x.mention
		return
	}
	for _, w := range at {
		for _, z := range w.zones(x.nearby) {
			x.find(z)
		}
	}
}

// findBeside places wiring in the zone of the part named last before it.
func (x reference) findBeside() {
	zone := x.besideZone()
	if x.r.burning && zone == damage.Nose {
		zone = damage.Bay
	}
	x.find(candidate{zone: zone})
}

// wired are the zones that have wiring of their own.
var wired = []damage.Zone{damage.Nose, damage.Tail, damage.Bay, damage.Cabin}

func (x reference) besideZone() damage.Zone {
	for _, w := range x.at {
		if at := ends(w.end); len(at) == 1 {
			return at[0].zone
		}
	}
	order := slices.Concat(x.p.mentions[:x.j], x.p.mentions[x.j+1:])
	slices.Reverse(order[:x.j])
	for _, m := range order {
		if m.fixed() && slices.Contains(wired, m.zone()) {
			return m.zone()
		}
	}
	return damage.Bay
}

// shift moves a part to where the whole text puts it: a leg to the end that was
// hit as a whole, a module that was under water to the whole car.
func (r *reader) shift(m *mention, at candidate) candidate {
	end := sideEndOf(at.zone).end
	class := m.sense().class
	switch {
	case m.generic() == leg && !m.atEnd(0) && r.whole[end] && at.guess == 0:
		return ends(end)[0]
	case r.flooded && m.generic() == anyCorner && class == damage.Mechanical && len(m.at) == 0,
		r.flooded && at.zone == damage.Cabin && class == damage.Electrical:
		return candidate{zone: damage.Whole}
	}
	return at
}

// category reports whether the sentence is a line of a listing's own headings
// for what is wrong: "mechanical - engine".
func (p *statement) category() bool {
	first := p.clauses[0].terms
	return len(first) == 1 && first[0].is(things) && first[0].plays(heading) &&
		!slices.ContainsFunc(p.clauses, func(c *clause) bool { return c.cond.said || !c.names() })
}

// afterAnd reports whether the mention is the first after an "and", and not the
// first of its sentence.
func (x reference) afterAnd() bool {
	c := x.p.clauseOf(x.mention)
	return x.j > 0 && c != nil && c.sep == '+' && c.mentions[0] == x.mention
}

// listed reports whether a fitting is one of a corner's parts and its corner is
// said, which nobody does of equipment: "o/s/r wheel".
func (m *mention) listed() bool {
	if len(m.at) == 0 || m.at[0].side == 0 {
		return false
	}
	return m.generic() == frontCorner || m.generic() == anyCorner && m.at[0].end != 0
}

// rearWing reads "rear door and wing", "rear lamp, wing beside it" and the wing
// of a car that was hit from behind alone as a rear wing.
func (x reference) rearWing(w location) location {
	if w.end != 0 || x.generic() != frontCorner || x.sense().class != damage.Cosmetic {
		return w
	}
	if x.r.behind || x.j > 0 && (x.besideRear() || x.afterRearDoor()) {
		w.end = rear
	}
	return w
}

// besideRear reports whether the part is said to be next to one at the rear.
func (x reference) besideRear() bool {
	c, last := x.p.clauseOf(x.mention), x.p.mentions[x.j-1]
	return c != nil && c.terms.plays(beside) && (last.impliedEnd() == rear || last.atEnd(rear))
}

// afterRearDoor reports whether the part is joined by an "and" to a rear door.
func (x reference) afterRearDoor() bool {
	last := x.p.mentions[x.j-1]
	if last.generic() != anySide || len(last.at) != 1 || last.at[0].end != rear {
		return false
	}
	i := slices.Index(x.p.clauses, x.p.clauseOf(x.mention))
	return i > 0 && x.p.clauses[i].sep == '+' && slices.Contains(x.p.clauses[i-1].mentions, last)
}

// placeHits places what belongs where the car was hit.
func (r *reader) placeHits() {
	hits := r.hits()
	for _, c := range r.clues {
		m := c.hit
		if m == nil {
			continue
		}
		switch {
		case m.cond.sound:
			for _, z := range hits {
				c.ruleOut(m, candidate{zone: z}, m.sense(), false)
			}
			if len(hits) == 0 {
				c.note = "no damage is said that it could belong to"
			}
		case len(hits) > 0:
			r.addSenses(c, m, candidate{zone: hits[0]}, m.senses)
			c.note = "placed where the car was hit worst"
		default:
			r.addSenses(c, m, candidate{zone: damage.Nose, guess: guessPercent}, m.senses)
			r.addSenses(c, m, candidate{zone: damage.Tail, guess: tailPercent}, m.senses)
			c.note = "no zone is said"
		}
	}
}

// tailPercent is the chance that structural damage is at the rear where nothing
// says where the car was hit; guessPercent that it is in front.
const tailPercent = 30

// hits are the zones of sheet metal that were hit, the worst first, of equals
// the one that is spoken of first.
func (r *reader) hits() []damage.Zone {
	worst := map[damage.Zone]damage.Grade{}
	var zones []damage.Zone
	for _, c := range r.clues {
		for _, f := range c.findings {
			m := f.mark
			inner := m.Class == damage.Restraint || m.Class == damage.Electrical
			if m.State == damage.Absent || !f.said || !m.Zone.Impact() || inner {
				continue
			}
			if worst[m.Zone] == 0 {
				zones = append(zones, m.Zone)
			}
			worst[m.Zone] = max(worst[m.Zone], m.Grade)
		}
	}
	slices.SortStableFunc(zones, func(a, b damage.Zone) int { return int(worst[b]) - int(worst[a]) })
	return zones
}
