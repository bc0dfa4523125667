package listing

import (
	"slices"

	"wreckoner/damage"
)

// inherit gives every mention its hurt: its own chunk's, or that of a list.
func (p *parsed) inherit() {
	cs := p.chunks
	for _, c := range cs {
		first, last := -1, -1
		for i, t := range c.terms {
			if content(t) {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		for i, t := range c.terms {
			if (saying(t) || t.is(class)) && (!t.is(unseen) || c.hurt.unseen) {
				c.governs = c.governs || first >= 0 && i < first
				c.ends = c.ends || last >= 0 && i > last
			}
		}
		c.negate()
	}
	for i, c := range cs {
		if i > 0 && c.sep == 'o' && c.hurt.said && cs[i-1].negated && cs[i-1].hurt.ruled && !c.negated {
			// "no engine or gearbox damage"
			c.negated, c.hurt.ruled, c.hurt.said = true, true, true
		}
	}
	for i, c := range cs {
		if c.lacks(cs[i+1:]) {
			c.hurt = hurt{said: true, level: 3, terms: c.hurt.terms}
			c.negated = false
		}
	}
	bare := func(c *chunk) bool { return !c.hurt.said && !c.negated }
	resolved := make([]hurt, len(cs))
	for i, c := range cs {
		resolved[i] = c.hurt
		if !bare(c) {
			continue
		}
		var back, ahead *chunk
		for j := i - 1; j >= 0 && back == nil; j-- {
			if !bare(cs[j]) {
				back = cs[j]
				if cs[j+1].sep == ':' && !c.hurt.ruled {
					back.governs = back.governs || back.hurt.said && !back.hurt.ruled
				}
			}
		}
		for k := i + 1; k < len(cs) && ahead == nil; k++ {
			if !bare(cs[k]) {
				ahead = cs[k]
			}
		}
		// "doors, roof and boot fine" goes back; "bumper, legs straight" does not.
		if ahead != nil && (!c.lists() || !ahead.ends || (ahead.hurt.ruled || ahead.hurt.unseen) && !ahead.closes(cs[i+1:])) {
			ahead = nil
		}
		negates := back != nil && (back.negated && back.hurt.ruled || back.hurt.mended) && continues(cs, slices.Index(cs, back), i)
		switch {
		case back != nil && back.governs && (!back.hurt.ruled || ahead == nil || negates):
			resolved[i] = back.hurt
		case negates:
			resolved[i] = back.hurt
		case ahead != nil && !(c.areas() && ahead.sep == ',' && !ahead.areas()):
			resolved[i] = ahead.hurt
		}
	}
	for i, c := range cs {
		// A class word of the chunk itself stays.
		h := resolved[i]
		if c.hurt.confined && !h.confined {
			h.confined, h.class = true, c.hurt.class
		}
		for _, m := range c.mentions {
			m.hurt = h
			if h.fired && m.kind == fitting && c.any(func(t term) bool { return t.is(part) && t.first().class == damage.Restraint }) {
				// "airbag in the steering wheel deployed"
				m.detail = true
			}
			if h.fired && !c.hurt.said && (m.entry == nil || m.entry.first().class != damage.Restraint) {
				// What bags did is not passed on to panels.
				m.hurt = c.hurt
			}
			if h.unseen && m.kind == event {
				m.hurt = hurt{}
			}
			if h.ruled && c.negated && m.spared(c) {
				m.hurt = c.hurt
				m.hurt.ruled = false
			}
		}
	}
}

// areas reports whether the chunk speaks of areas alone: how bad the parts after
// it are does not say how bad they are.
func (c *chunk) areas() bool {
	return len(c.mentions) > 0 && !slices.ContainsFunc(c.mentions, func(m *mention) bool { return m.kind != area })
}

// lists reports whether the chunk holds nothing but things of the car and their
// positions, so that it may be one of a list.
func (c *chunk) lists() bool {
	return !c.any(func(t term) bool { return t.entry == nil || t.is(extra, event) })
}

// closes reports whether the chunk ends a list that is in order as a whole.
func (c *chunk) closes(between []*chunk) bool {
	if c.any(func(t term) bool { return t.is(count) }) {
		return true
	}
	return c.sep == '+' && !slices.ContainsFunc(between, func(b *chunk) bool { return b.sep == ':' })
}

// continues reports whether the "no" of chunk j still holds in chunk i: "no
// engine, gearbox or axle damage".
func continues(cs []*chunk, j, i int) bool {
	for k := j + 1; k <= i; k++ {
		if cs[k].sep == 'o' {
			return true
		}
	}
	if cs[i].sep == '+' {
		return true
	}
	for k := i + 1; k < len(cs); k++ {
		if cs[k].hurt.said && cs[k].sep != 'o' {
			return false
		}
		if cs[k].sep == 'o' {
			return true
		}
	}
	return false
}

// negate turns a chunk with a "no" into one that is in order, and a chunk with
// "not" before "fine" into one that is damaged.
func (c *chunk) negate() {
	if !c.negated {
		return
	}
	at := slices.IndexFunc(c.terms, func(t term) bool { return t.is(negation) })
	for _, t := range c.terms[at:] {
		if t.is(sound) {
			return
		}
	}
	c.hurt.ruled, c.hurt.said = true, true
	c.hurt.terms = append(c.hurt.terms, c.terms[at])
	last := c.terms[len(c.terms)-1]
	if at > 0 && last.is(negation) {
		c.ends = true
	}
}

// lacks reports whether "no" says that the part itself is missing ("no front
// bumper") and not that it has no damage ("no damage to the bumper", "no engine
// or gearbox damage") or never fired ("no airbags").
func (c *chunk) lacks(later []*chunk) bool {
	if !c.negated || len(c.mentions) == 0 || c.any(func(t term) bool { return saying(t) || t.is(class, extra, event) }) {
		return false
	}
	if c.terms[len(c.terms)-1].is(negation) {
		// "roof: nil"
		return false
	}
	for _, m := range c.mentions {
		if m.kind == area || m.isBags() || m.entry.first().class == damage.Restraint || m.entry.first().at.generic == "hit" {
			return false
		}
	}
	for _, l := range later {
		if l.sep == 'o' || l.sep == '+' {
			if l.hurt.said {
				return false
			}
			continue
		}
		break
	}
	return true
}

// spared reports whether the mention has its own harm ahead of the "no":
// "bumper scuffed not bonnet".
func (m *mention) spared(c *chunk) bool {
	at := slices.IndexFunc(c.terms, func(t term) bool { return t.is(negation) })
	return m.index < at && slices.ContainsFunc(c.terms[:at], func(t term) bool { return t.is(harm, severity) })
}

// hedge marks what is only supposed: the parts in the chunk of a "possible",
// and those that follow it in a list without words of their own.
func (p *parsed) hedge(doubted bool) {
	holding := false
	var by term
	for i, c := range p.chunks {
		at := slices.IndexFunc(c.terms, func(t term) bool { return t.is(hedge) })
		switch {
		case at >= 0:
			holding, by = true, c.terms[at]
		case c.hurt.said && c.sep != 'o' && !(c.sep == '+' && !c.any(content)):
			holding = false
		case c.sep == ':':
			holding = false
		}
		if doubted && i == len(p.chunks)-1 && !holding {
			for _, m := range c.mentions {
				m.hurt.hedged = true
			}
		}
		if !holding {
			continue
		}
		for _, m := range c.mentions {
			if at > m.index && slices.ContainsFunc(c.terms[m.index:at], func(t term) bool { return t.is(harm, severity) }) && at < len(c.terms)-1 && partFollows(c.terms[at:]) {
				continue
			}
			m.hurt.hedged, m.hurt.percent = true, by.first().percent
			m.terms = append(m.terms, by)
		}
	}
}

// targetPercent is the chance that what something was pushed into is damaged.
const targetPercent = 40

// targets suspects what other parts were pushed into: "wheel pushed back into
// the sill".
func (p *parsed) targets() {
	for _, c := range p.chunks {
		for _, m := range c.mentions {
			for i := m.index - 1; i > 0 && (quiet(c.terms[i]) || c.terms[i].is(link, position)); i-- {
				if c.terms[i].is(link) && c.reachesTo(i) {
					m.hurt.hedged, m.hurt.percent = true, targetPercent
				}
			}
		}
	}
}

// reachesTo reports whether term i leads to what something was pushed into or
// reached: "pushed into the sill", "crushed up to the seats".
func (c *chunk) reachesTo(i int) bool {
	t := c.terms[i]
	if t.key == "upto" {
		return slices.ContainsFunc(c.terms[:i], func(t term) bool { return t.is(harm) })
	}
	if t.word == "to" && c.terms[i-1].is(harm) && c.terms[i-1].first().level == 4 {
		return true
	}
	if t.key == "into" && c.terms[i-1].is(part) {
		return true
	}
	return (t.key == "into" || t.word == "to") && slices.ContainsFunc(c.terms[:i], pushes)
}

// pushes reports whether the term is a harm that leans on structure.
func pushes(t term) bool {
	return t.is(harm) && slices.ContainsFunc(t.senses, func(s sense) bool { return s.hasClass && s.grade > 0 })
}
