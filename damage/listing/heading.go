package listing

import (
	"slices"

	"wreckoner/damage"
)

// dropHeadings drops areas and wholes that only say where the parts named beside
// them are.
func (p *statement) dropHeadings() {
	for i, c := range p.clauses {
		if p.heads(i) {
			c.mentions[0].detail = true
		}
	}
	p.placeShell()
	p.dropSeats()
	p.dropSides()
}

// heads reports whether clause i is no more than a heading for those after it:
// "underside damage: sump cracked", "o/s/f corner: wing, lamp".
func (p *statement) heads(i int) bool {
	c, later := p.clauses[i], p.clauses[i+1:]
	if len(later) == 0 || later[0].sep != ':' || len(c.mentions) != 1 {
		return false
	}
	m := c.mentions[0]
	if m.plays(group) && !m.cond.sound && len(later[0].mentions) > 0 {
		return true
	}
	return m.is(area) && !c.speaks() && slices.ContainsFunc(later, func(n *clause) bool {
		return slices.ContainsFunc(n.mentions, func(m *mention) bool { return !m.is(area) && m.sense().outside() })
	})
}

// outside reports whether the row's part may be under a heading of side, end or
// corner.
func (s sense) outside() bool {
	return s.at.generic != bags && (s.at.generic != "" || s.at.zone.Impact())
}

// placeShell gives the structure the position named after it: "bent chassis, front".
func (p *statement) placeShell() {
	for i, a := range p.mentions {
		if i == 0 || !a.is(area) {
			continue
		}
		c, m := p.clauseOf(a), p.mentions[i-1]
		if (c == nil || !c.cond.said) && m.generic() == hitZone && len(m.at) == 0 {
			m.at, a.detail = a.at, true
		}
	}
}

// dropSeats drops who sits where the bags are: "airbags deployed (driver,
// passenger)".
func (p *statement) dropSeats() {
	if !slices.ContainsFunc(p.mentions, (*mention).restrains) {
		return
	}
	for _, a := range p.mentions {
		if a.is(area) && a.at[0].seat && !a.cond.said {
			a.detail = true
		}
	}
}

// dropSides drops a bare side whose parts are listed: "nearside: wing, door and
// sill" is three parts, not three parts and a side.
func (p *statement) dropSides() {
	for i, a := range p.mentions {
		if !a.bareSide() || a.cond.level >= 3 {
			continue
		}
		for j, m := range p.mentions {
			if m.takesSide() && m.cond.sound == a.cond.sound && p.nearest(j) == i {
				a.detail = true
			}
		}
	}
}

// bareSide reports whether the mention is a side and no more.
func (m *mention) bareSide() bool {
	return m.is(area) && m.at[0].side != 0 && m.at[0].end == 0 && !m.at[0].all && !m.at[0].corner
}

// takesSide reports whether the mention is a panel or a load path that has a
// side, which is not said.
func (m *mention) takesSide() bool {
	bodywork := m.sense().class == damage.Cosmetic || m.sense().class == damage.Structural
	return m.is(things) && m.sided() && m.generic() != anyCorner && bodywork && !m.sideSaid()
}

// nearest returns the mention whose side mention j takes over: the last before
// it that has one, else the first after it. -1 where there is none.
func (p *statement) nearest(j int) int {
	for k := j - 1; k >= 0; k-- {
		if p.mentions[k].sideSaid() {
			return k
		}
	}
	for k := j + 1; k < len(p.mentions); k++ {
		if p.mentions[k].sideSaid() {
			return k
		}
	}
	return -1
}

// dropSentenceHeadings drops a bare side that is a sentence's heading for the
// parts of the next sentence: "Front and nearside. Bumper, n/s wing broken."
func dropSentenceHeadings(all []*statement) {
	for i, p := range all[:max(len(all)-1, 0)] {
		if slices.ContainsFunc(p.mentions, func(m *mention) bool { return !m.is(area) || m.cond.said }) {
			continue
		}
		for _, a := range p.mentions {
			if a.bareSide() && slices.ContainsFunc(all[i+1].mentions, func(m *mention) bool {
				return m.is(part) && slices.ContainsFunc(m.at, func(v location) bool { return v.side&a.at[0].side != 0 })
			}) {
				a.detail = true
			}
		}
	}
}

// dropReferences drops a part that only says where another is: "floor dented
// behind the sill", "exhaust underneath hanging".
func (p *statement) dropReferences() {
	for _, c := range p.clauses {
		for k, m := range c.mentions {
			if k > 0 && m.is(things) && !c.mentions[k-1].is(area) && c.refers(m, c.mentions[k-1]) {
				m.detail = true
			}
		}
	}
}

func (c *clause) refers(m, last *mention) bool {
	if m.plays(underside) && last.zone() == damage.Under {
		return true
	}
	i := max(c.terms.back(m.index-1, quiet|positional|count), 0)
	return i > last.index && c.terms[i].is(link) && c.terms[i].plays(locates)
}
