package listing

import (
	"slices"

	"wreckoner/damage"
)

// A mention is one part, area or event of a sentence with what is said of it.
type mention struct {
	*entry // nil for an area
	kind   kind
	// terms are the words behind it.
	terms terms
	// at are the positions said of it; one mention may be at several.
	at []location
	// plural is more than one of the part.
	plural bool
	// skin is an area of which only the panels are damaged.
	skin bool
	// every is all of them: "all four wheels". number is how many where a figure
	// says so, else 0.
	every  bool
	number int
	// index is the term of the clause that names it.
	index int
	cond  condition
	// detail is a mention that only says where others are, and has no mark.
	detail bool
}

func (m *mention) is(k kind) bool { return m.kind&k != 0 }

// plays reports whether the part or event has one of the roles.
func (m *mention) plays(r role) bool { return m.entry != nil && m.roles&r != 0 }

// generic is the generic place of a part, blank for a zone, an event or an area.
func (m *mention) generic() string { return m.sense().at.generic }

// fixed reports whether it is a part or event of one zone.
func (m *mention) fixed() bool { return m.entry != nil && m.generic() == "" }

// zone is the zone of a part that has only one, else the whole car.
func (m *mention) zone() damage.Zone {
	if !m.fixed() {
		return damage.Whole
	}
	return m.sense().at.zone
}

// sided reports whether the part is on one side or the other.
func (m *mention) sided() bool {
	return slices.Contains([]string{frontCorner, rearCorner, anySide, anyCorner, leg}, m.generic())
}

func (m *mention) sideSaid() bool {
	return slices.ContainsFunc(m.at, func(w location) bool { return w.side != 0 })
}

// atEnd reports whether an end is said of it, at that end where end is not 0.
func (m *mention) atEnd(end int) bool {
	return slices.ContainsFunc(m.at, func(w location) bool { return w.end != 0 && (end == 0 || w.end == end) })
}

func (m *mention) isBags() bool { return m.generic() == bags }

// restrains reports whether it is a bag, a belt or what fires them.
func (m *mention) restrains() bool { return m.entry != nil && m.sense().class == damage.Restraint }

// impliedEnd is the end of the car that the part is at.
func (m *mention) impliedEnd() int {
	switch {
	case m.entry == nil:
		return 0
	case m.generic() == frontCorner:
		return front
	case m.generic() == rearCorner:
		return rear
	case m.fixed():
		return sideEndOf(m.zone()).end
	}
	return 0
}

// A phrase is neighbouring position words read as one: "offside front".
type phrase struct {
	location
	from, to int // terms of the clause
}

// phrases finds the positions of the terms.
func phrases(ts terms) []phrase {
	var out []phrase
	for i, t := range ts {
		if !t.is(positional) {
			continue
		}
		w := t.sense().position
		if t.plural && w.flank && w.side == 0 {
			w.side = near | off
		}
		if n := len(out); n == 0 || !out[n-1].extend(ts, i, w) {
			out = append(out, phrase{w, i, i + 1})
		}
	}
	for i := range out {
		if from := out[i].from; from > 0 && ts[from-1].is(count) && out[i].flank {
			out[i].side = near | off
		}
	}
	return out
}

// extend adds position w, which is term i, to the phrase where it belongs to it.
func (p *phrase) extend(ts terms, i int, w location) bool {
	if w.along && !ts[:i].has(part) {
		p.location = p.with(w)
		return true
	}
	apart := ts[p.to:i].any(func(t term) bool { return !t.is(quiet|count) && !t.links("to") })
	if apart || !p.joins(w) {
		return false
	}
	p.location, p.to = p.with(w), i+1
	return true
}

// collect finds the mentions of clause i and the positions that belong to them.
func (p *statement) collect(i int) {
	c := p.clauses[i]
	left := c.nameParts(phrases(c.terms))
	left = slices.DeleteFunc(left, func(g phrase) bool {
		m := c.before(g)
		if m == nil || m.is(event) {
			return false
		}
		m.take(g, c.terms)
		return true
	})
	if len(c.mentions) == 0 && len(left) == 1 && (p.handBack(i, left[0]) || p.handOn(i, left[0])) {
		return
	}
	for _, g := range left {
		if g.says() {
			m := &mention{kind: area, at: []location{g.location}, terms: c.terms[g.from:g.to], index: g.from}
			c.mentions = append(c.mentions, m)
		}
	}
	c.span()
	slices.SortStableFunc(c.mentions, func(a, b *mention) int { return a.index - b.index })
}

// nameParts makes a mention of every part and event with the positions ahead of
// it, and returns the positions that none took.
func (c *clause) nameParts(all []phrase) []phrase {
	for at, t := range c.terms {
		if !t.is(things | event) {
			continue
		}
		m := &mention{kind: t.kind, entry: t.entry, terms: terms{t}, plural: t.plural, index: at}
		all = slices.DeleteFunc(all, func(g phrase) bool {
			if m.is(event) || g.to > at || !leadsTo(c.terms[g.to:at]) && !shared(c.terms[g.to:at]) {
				return false
			}
			m.take(g, c.terms)
			return true
		})
		m.readCounts(c.terms, at)
		c.mentions = append(c.mentions, m)
	}
	return all
}

// leadsTo reports whether a position followed by these terms belongs to the
// part after them: "offside dented door", but not "front damage to the door".
func leadsTo(between terms) bool {
	return !between.any(func(t term) bool {
		return t.known() && !t.is(quiet|severity|count|harm|hedge|sound|class) && !t.plays(of)
	})
}

// shared reports whether only more positions come between a position and its
// part: "nearside front, nearside rear doors".
func shared(between terms) bool {
	return !between.any(func(t term) bool { return !t.is(quiet | positional) })
}

// before returns the part that a position after it belongs to, or nil.
func (c *clause) before(g phrase) *mention {
	var last *mention
	for _, m := range c.mentions {
		if m.index < g.from && (last == nil || m.index > last.index) {
			last = m
		}
	}
	if last == nil {
		return nil
	}
	for _, t := range c.terms[last.index+1 : g.from] {
		if last.generic() == hitZone && t.plays(after) {
			// "chassis damage after a rear shunt"
			return nil
		}
		if t.known() && !t.is(quiet|severity|count|harm|hedge|positional) && !t.links("to") {
			return nil
		}
	}
	return last
}

// take adds a position to those of the mention.
func (m *mention) take(g phrase, ts terms) {
	m.terms = append(m.terms, ts[g.from:g.to]...)
	if n := len(m.at); n > 0 && m.at[n-1].joins(g.location) {
		m.at[n-1] = m.at[n-1].with(g.location)
	} else {
		m.at = append(m.at, g.location)
	}
	m.shareSides()
}

// shareSides completes "nearside front and rear wheels" and "front and rear
// nearside doors".
func (m *mention) shareSides() {
	for i := range m.at {
		for j := range m.at {
			if m.at[i].side == 0 && m.at[i].end != 0 && m.at[j].end != 0 && m.at[i].end != m.at[j].end {
				m.at[i].side = m.at[j].side
			}
		}
	}
}

// allCount is the number from which on a count is of all there are: four wheels.
const allCount = 4

// readCounts reads "both", "x 2", "all" beside the part: before it, or as a
// figure after it ("doors x 2", but not "doors, sill all scraped").
func (m *mention) readCounts(ts terms, at int) {
	read := func(t term) {
		if t.is(count) && t.sense().number > 1 {
			m.plural = true
			m.number = max(m.number, t.sense().number)
			m.every = m.number >= allCount
			m.terms = append(m.terms, t)
		}
	}
	for j := at - 1; j >= max(at-3, 0) && !ts[j].is(link|things|event); j-- {
		read(ts[j])
	}
	for j := at + 1; j <= min(at+2, len(ts)-1) && !ts[j].is(things|event); j++ {
		if m.restrains() || ts[j].plays(figure) {
			read(ts[j])
		}
	}
}

// handBack gives a position that is a clause of its own to the part before it:
// "rear door, n/s", "door nearside front and nearside rear".
func (p *statement) handBack(i int, g phrase) bool {
	c := p.clauses[i]
	if c.cond.said || i == 0 || c.sep != '+' && c.sep != ',' {
		return false
	}
	last := p.clauses[i-1]
	n := len(last.mentions)
	if n == 0 || last.mentions[n-1].is(area) {
		return false
	}
	m, positioned := last.mentions[n-1], last.terms.end().is(positional)
	switch {
	case (positioned || c.sep == ',') && m.lacksSide(g):
		m.take(g, c.terms)
		return true
	case positioned && m.repeatsAt(g):
		m.at = append(m.at, g.location)
		m.shareSides()
		m.terms = append(m.terms, c.terms[g.from:g.to]...)
		return true
	}
	return false
}

// lacksSide reports whether the position is the side that the part has not got yet.
func (m *mention) lacksSide(g phrase) bool {
	n := len(m.at)
	return g.side != 0 && !m.sideSaid() && m.sided() && (n == 0 || m.at[n-1].joins(g.location))
}

// repeatsAt reports whether the position is a further one of the part.
func (m *mention) repeatsAt(g phrase) bool {
	n := len(m.at)
	return n > 0 && (m.at[n-1].pairs(g.location) || m.isBags())
}

// handOn gives a position that is a clause of its own to the part after it:
// "front and rear bumper".
func (p *statement) handOn(i int, g phrase) bool {
	c := p.clauses[i]
	if c.cond.said || i+1 >= len(p.clauses) {
		return false
	}
	next := p.clauses[i+1]
	at := next.terms.first(things)
	if next.sep != '+' && next.sep != 'o' || at < 0 {
		return false
	}
	gs := phrases(next.terms)
	paired := len(gs) > 0 && gs[0].to <= at && leadsTo(next.terms[gs[0].to:at])
	ofBags := next.terms[at].sense().class == damage.Restraint && (paired || at == 0)
	if !ofBags && !(paired && g.pairs(gs[0].location)) {
		return false
	}
	// The position goes in front of the next clause's terms, apart.
	next.terms = append(slices.Clone(c.terms[g.from:g.to]), next.terms...)
	next.cond = conditionOf(next.terms)
	return true
}

// stations are the places along a car, from the nose to the tail.
const (
	nowhere = iota
	atNose
	atFrontCorner
	atSide
	atRearCorner
	atTail
)

// stations says how far along the car parts of a generic place are, where that
// end is said of them or implied, 0 for any.
var stations = []struct {
	generic string
	end     int
	at      int
}{
	{"", front, atNose},
	{"", rear, atTail},
	{anyEnd, rear, atTail},
	{anyEnd, 0, atNose},
	{frontCorner, 0, atFrontCorner},
	{anySide, 0, atSide},
	{rearCorner, 0, atRearCorner},
	{anyCorner, front, atFrontCorner},
	{anyCorner, rear, atRearCorner},
}

// between are the areas at the stations between the ends.
var between = map[int]location{
	atFrontCorner: {end: front, corner: true},
	atSide:        {flank: true},
	atRearCorner:  {end: rear, corner: true},
}

func (m *mention) station() int {
	if m.is(area | event) {
		return nowhere
	}
	end := 0
	if m.fixed() {
		end = m.impliedEnd()
	} else if len(m.at) > 0 {
		end = m.at[0].end
	}
	for _, s := range stations {
		if s.generic == m.generic() && (s.end == 0 || s.end == end) {
			return s.at
		}
	}
	return nowhere
}

// span adds the panels between two parts: "scraped from the front wing to the
// rear quarter" is the doors too.
func (c *clause) span() {
	for i, m := range c.mentions {
		if i == 0 || m.index == 0 {
			continue
		}
		first := c.mentions[i-1]
		a, b := first.station(), m.station()
		if a == nowhere || b == nowhere || !c.runs(first.index, m.index) {
			continue
		}
		for at := min(a, b) + 1; at < max(a, b); at++ {
			c.mentions = append(c.mentions, &mention{
				kind: area, at: []location{between[at]}, skin: true, index: m.index,
				terms: terms{c.terms[first.index], c.terms[m.index]},
			})
		}
	}
}

// runs reports whether the terms between two parts read "from the one to the
// other".
func (c *clause) runs(first, last int) bool {
	return c.terms[:first].plays(from|through) && c.terms[first:last].plays(to|through)
}
