package listing

import (
	"slices"
	"strings"

	"wreckoner/damage"
)

// A group is neighbouring position words read as one: "offside front".
type group struct {
	where    where
	from, to int // terms of the chunk
}

// quiet reports whether the term may stand between any two words that belong
// together.
func quiet(t term) bool { return t.is(filler) || t.is(depth) }

func groups(terms []term) []group {
	var out []group
	for i, t := range terms {
		if !t.is(position) {
			continue
		}
		w := t.first().position
		if t.plural && w.flank && w.side == 0 {
			w.side = near | off
		}
		if n := len(out); n > 0 {
			last := &out[n-1]
			apart := slices.ContainsFunc(terms[last.to:i], func(t term) bool {
				return !quiet(t) && !(t.is(link) && t.first().link == "to") && !t.is(count)
			})
			if w.along && !slices.ContainsFunc(terms[:i], func(t term) bool { return t.is(part) }) {
				last.where = last.where.with(w)
				continue
			}
			if !apart && last.where.joins(w) {
				last.where, last.to = last.where.with(w), i+1
				continue
			}
		}
		out = append(out, group{w, i, i + 1})
	}
	for g := range out {
		from := out[g].from
		if from > 0 && terms[from-1].is(count) && out[g].where.flank {
			out[g].where.side = near | off
		}
	}
	return out
}

// collect finds the mentions of chunk i and the positions that belong to them.
func (p *parsed) collect(i int) {
	c := p.chunks[i]
	gs := groups(c.terms)
	used := make([]bool, len(gs))
	for at, t := range c.terms {
		if !t.is(part, fitting, event) {
			continue
		}
		m := &mention{kind: t.kind, entry: t.entry, terms: []term{t}, plural: t.plural, index: at}
		for g, grp := range gs {
			if t.kind != event && !used[g] && grp.to <= at && (leadsTo(c.terms[grp.to:at]) || shared(c.terms[grp.to:at])) {
				m.take(grp, c.terms)
				used[g] = true
			}
		}
		m.counted(c.terms, at)
		c.mentions = append(c.mentions, m)
	}
	for g, grp := range gs {
		if used[g] {
			continue
		}
		if m := before(c, grp); m != nil && m.kind != event {
			m.take(grp, c.terms)
			used[g] = true
		}
	}
	if len(c.mentions) == 0 && len(gs) == 1 && p.parallel(i, gs[0]) {
		return
	}
	for g, grp := range gs {
		if !used[g] && grp.where.says() {
			m := &mention{kind: area, at: []where{grp.where}, terms: c.terms[grp.from:grp.to], index: grp.from}
			c.mentions = append(c.mentions, m)
		}
	}
	c.span()
	slices.SortStableFunc(c.mentions, func(a, b *mention) int { return a.index - b.index })
}

// leadsTo reports whether a position followed by these terms belongs to the
// part after them: "offside dented door", but not "front damage to the door".
func leadsTo(between []term) bool {
	for _, t := range between {
		if t.entry != nil && !quiet(t) && !t.is(severity, count, harm, hedge, sound, class) && t.word != "of" || t.is(link) && t.word != "of" {
			return false
		}
	}
	return true
}

// shared reports whether only more positions stand between a position and its
// part: "nearside front, nearside rear doors".
func shared(between []term) bool {
	return !slices.ContainsFunc(between, func(t term) bool { return !quiet(t) && !t.is(position) })
}

// before returns the part that a position after it belongs to.
func before(c *chunk, g group) *mention {
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
		if last.entry.first().at.generic == "hit" && (t.word == "following" || t.word == "after") {
			// "chassis damage after a rear shunt"
			return nil
		}
		if t.entry != nil && !quiet(t) && !t.is(severity, count, harm, hedge, position) && !(t.is(link) && t.first().link == "to") {
			return nil
		}
	}
	return last
}

func (m *mention) take(g group, terms []term) {
	m.terms = append(m.terms, terms[g.from:g.to]...)
	n := len(m.at)
	if n == 0 || !m.at[n-1].joins(g.where) {
		m.at = append(m.at, g.where)
		m.shareSides()
		return
	}
	m.at[n-1] = m.at[n-1].with(g.where)
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

// counted reads "both", "x 2", "all" beside the part: before it, or as a figure
// after it ("doors x 2", but not "doors, sill all scraped").
func (m *mention) counted(terms []term, at int) {
	read := func(t term) {
		if t.is(count) && t.first().number > 1 {
			m.plural = true
			m.every = m.every || t.first().number > 2
			m.terms = append(m.terms, t)
		}
	}
	for j := at - 1; j >= max(at-3, 0) && !terms[j].is(link, part, fitting, event); j-- {
		read(terms[j])
	}
	for j := at + 1; j <= min(at+2, len(terms)-1) && !terms[j].is(part, fitting, event); j++ {
		if m.entry.first().class == damage.Restraint || strings.ContainsAny(terms[j].word, "x0123456789") {
			read(terms[j])
		}
	}
}

// sided reports whether the part is on one side or the other.
func (m *mention) sided() bool {
	return m.entry != nil && slices.Contains([]string{"front", "rear", "side", "corner", "leg"}, m.entry.first().at.generic)
}

// parallel hands a position that stands alone to the part it shares with a
// neighbour: "front and rear bumper", "door nearside front and nearside rear".
func (p *parsed) parallel(i int, g group) bool {
	c := p.chunks[i]
	if c.hurt.said {
		return false
	}
	if i > 0 && (c.sep == '+' || c.sep == ',') {
		last := p.chunks[i-1]
		if n := len(last.mentions); n > 0 && last.mentions[n-1].kind != area && (last.terms[len(last.terms)-1].is(position) || c.sep == ',') {
			m := last.mentions[n-1]
			if g.where.side != 0 && !m.sideSaid() && m.sided() && (len(m.at) == 0 || m.at[len(m.at)-1].joins(g.where)) {
				// "rear door (n/s)"
				m.take(g, c.terms)
				return true
			}
			if k := len(m.at); k > 0 && last.terms[len(last.terms)-1].is(position) && (m.at[k-1].pairs(g.where) || m.isBags()) {
				m.at = append(m.at, g.where)
				m.shareSides()
				m.terms = append(m.terms, c.terms[g.from:g.to]...)
				return true
			}
		}
	}
	if i+1 < len(p.chunks) {
		next := p.chunks[i+1]
		gs := groups(next.terms)
		if next.sep != '+' && next.sep != 'o' {
			return false
		}
		at := slices.IndexFunc(next.terms, func(t term) bool { return t.is(part, fitting) })
		if at < 0 {
			return false
		}
		bags := next.terms[at].first().class == damage.Restraint
		paired := len(gs) > 0 && gs[0].to <= at && leadsTo(next.terms[gs[0].to:at])
		if bags && (paired || at == 0) || paired && g.where.pairs(gs[0].where) {
			// The position goes in front of the next chunk's terms, apart.
			shared := slices.Clone(c.terms[g.from:g.to])
			next.terms = append(shared, next.terms...)
			next.hurt = ownHurt(next.terms)
			return true
		}
	}
	return false
}
