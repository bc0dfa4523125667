package listing

import (
	"slices"

	"wreckoner/damage"
)

// explain drops a bare side whose parts are then listed: "nearside: wing, door
// and sill" is three parts, not three parts and a side.
func (p *parsed) explain() {
	for i, c := range p.chunks {
		if i+1 < len(p.chunks) && p.chunks[i+1].sep == ':' && len(p.chunks[i+1].mentions) > 0 && len(c.mentions) == 1 && c.mentions[0].contains() && !c.mentions[0].hurt.ruled {
			// "underside damage: sump cracked"
			c.mentions[0].detail = true
		}
		if p.heads(i) {
			c.mentions[0].detail = true
		}
	}
	for i, a := range p.mentions {
		if i == 0 || a.kind != area || slices.ContainsFunc(p.chunks, func(c *chunk) bool { return c.hurt.said && slices.Contains(c.mentions, a) }) {
			continue
		}
		if m := p.mentions[i-1]; m.entry != nil && m.entry.first().at.generic == "hit" && len(m.at) == 0 {
			// "bent chassis, front"
			m.at, a.detail = a.at, true
		}
	}
	bags := slices.ContainsFunc(p.mentions, func(m *mention) bool { return m.entry != nil && m.entry.first().class == damage.Restraint })
	for i, a := range p.mentions {
		if a.kind == area && a.at[0].seat && bags && !a.hurt.said {
			// "airbags deployed (driver, passenger)"
			a.detail = true
		}
		if a.kind != area || a.at[0].side == 0 || a.at[0].end != 0 || a.at[0].all || a.at[0].corner || a.hurt.level >= 3 {
			continue
		}
		for j, m := range p.mentions {
			if i == j || m.kind == area || m.kind == event || m.hurt.ruled != a.hurt.ruled {
				continue
			}
			s := m.entry.first()
			sided := slices.Contains([]string{"front", "rear", "side", "leg"}, s.at.generic)
			if sided && (s.class == damage.Cosmetic || s.class == damage.Structural) && !m.sideSaid() && p.nearest(j) == i {
				a.detail = true
			}
		}
	}
}

// headings drops a bare side that is a sentence's heading for the parts of the
// next sentence: "Front and nearside. Bumper, n/s wing broken."
func headings(all []parsed) {
	for i, p := range all {
		if i+1 == len(all) || slices.ContainsFunc(p.mentions, func(m *mention) bool { return m.kind != area || m.hurt.said }) {
			continue
		}
		for _, a := range p.mentions {
			w := a.at[0]
			if w.side == 0 || w.end != 0 || w.corner || w.all {
				continue
			}
			for _, m := range all[i+1].mentions {
				if m.kind == part && slices.ContainsFunc(m.at, func(v where) bool { return v.side&w.side != 0 }) {
					a.detail = true
				}
			}
		}
	}
}

// contains reports whether the part stands for all that is there.
func (m *mention) contains() bool {
	return m.entry != nil && slices.Contains([]string{"underside", "interior", "enginebay"}, m.entry.key)
}

// refer drops a part that only says where another is: "floor dented behind the
// sill".
func (p *parsed) refer() {
	for _, c := range p.chunks {
		for k, m := range c.mentions {
			if k == 0 || m.kind != part && m.kind != fitting || c.mentions[k-1].kind == area {
				continue
			}
			if below := c.mentions[k-1]; m.entry.key == "underside" && below.zone() == damage.Under && m.index == below.index+1 {
				// "exhaust underneath hanging"
				m.detail = true
				continue
			}
			i := m.index - 1
			for i > 0 && (quiet(c.terms[i]) || c.terms[i].is(position, count)) {
				i--
			}
			if i > c.mentions[k-1].index && c.terms[i].is(link) && slices.Contains([]string{"behind", "beneath", "below", "above", "under", "over", "at", "near", "around", "away", "clear", "beside", "alongside", "next"}, c.terms[i].word) {
				m.detail = true
			}
		}
	}
}

func (m *mention) sideSaid() bool {
	return slices.ContainsFunc(m.at, func(w where) bool { return w.side != 0 })
}

// nearest returns the mention whose side mention j takes over: the last before
// it that has one, else the first after it. -1 where there is none.
func (p *parsed) nearest(j int) int {
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

// heads reports whether the chunk is no more than a heading: "o/s/f corner:".
func (p *parsed) heads(i int) bool {
	c := p.chunks[i]
	return i+1 < len(p.chunks) && p.chunks[i+1].sep == ':' && !c.hurt.said && !c.negated && len(c.mentions) == 1 && c.mentions[0].kind == area &&
		slices.ContainsFunc(p.chunks[i+1:], func(n *chunk) bool {
			return slices.ContainsFunc(n.mentions, func(m *mention) bool { return m.kind != area && m.entry.first().outside() })
		})
}

// outside reports whether the row's part may stand under a side, end or corner.
func (s sense) outside() bool {
	return s.at.generic != "bags" && (s.at.generic != "" || s.at.zone.Impact())
}
