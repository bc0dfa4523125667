package listing

import (
	"slices"

	"wreckoner/damage"
)

// inherit gives every mention its condition: its own clause's, or that of a list.
func (p *statement) inherit() {
	for _, c := range p.clauses {
		c.findEnds()
		c.negate()
	}
	p.negateAlternatives()
	for i, c := range p.clauses {
		if c.lacks(p.clauses[i+1:]) {
			c.cond = condition{said: true, level: 3, terms: c.cond.terms}
			c.negated = false
		}
	}
	resolved := make([]condition, len(p.clauses))
	for i, c := range p.clauses {
		resolved[i] = c.cond
		if !c.speaks() {
			l := p.list(i)
			resolved[i] = inheritance.of(l)(l)
		}
	}
	for i, c := range p.clauses {
		c.assign(resolved[i])
	}
}

// findEnds finds whether harm is said ahead of the first thing or after the last.
func (c *clause) findEnds() {
	first, last := c.terms.first(content), c.terms.last(content)
	for i, t := range c.terms {
		if t.is(saying|class) && (!t.is(unseen) || c.cond.unseen) {
			c.governs = c.governs || first >= 0 && i < first
			c.ends = c.ends || last >= 0 && i > last
		}
	}
}

// negate turns a clause with a "no" into one that is in order, and leaves one
// with "not" before "fine" damaged.
func (c *clause) negate() {
	at := c.terms.first(negation)
	if at < 0 || c.terms[at:].has(sound) {
		return
	}
	c.cond.sound, c.cond.said = true, true
	c.cond.terms = append(c.cond.terms, c.terms[at])
	if at > 0 && c.terms.end().is(negation) {
		c.ends = true
	}
}

// negateAlternatives carries a "no" over "or": "no engine or gearbox damage".
func (p *statement) negateAlternatives() {
	for i, c := range p.clauses {
		if i == 0 || c.sep != 'o' || !c.cond.said || c.negated {
			continue
		}
		if last := p.clauses[i-1]; last.negated && last.cond.sound {
			c.negated, c.cond.sound = true, true
		}
	}
}

// A list is a clause that says nothing itself, with the clauses before and after
// it that do, nil for none. ahead is nil where it does not speak for the clause.
type list struct {
	*clause
	back, ahead *clause
	// negates is whether the "no" or "replaced" of the clause before still holds.
	negates bool
	// turned is whether an "only" or "just" has come since the clause before.
	turned bool
}

func fromBack(l list) condition  { return l.back.cond }
func fromAhead(l list) condition { return l.ahead.cond }
func itsOwn(l list) condition    { return l.cond }

// inheritance says where a clause of a list takes its condition from.
var inheritance = verdicts[list, func(list) condition]{
	{"no damage to the rear, | front bumper only", func(l list) bool {
		return l.back != nil && l.back.negated && l.turned
	}, itsOwn},
	{"hit on the side: wing, | doors all scraped", func(l list) bool {
		return l.ahead != nil && l.ahead.saysOfAll()
	}, fromAhead},
	{"damage to bumper, | bonnet", func(l list) bool {
		return l.back != nil && l.back.governs && (!l.back.cond.sound || l.ahead == nil)
	}, fromBack},
	{"no engine, | gearbox or axle damage", func(l list) bool { return l.negates }, fromBack},
	{"nearside, | wing dented", func(l list) bool {
		return l.ahead != nil && l.areasOnly() && l.ahead.sep == ',' && !l.ahead.areasOnly()
	}, itsOwn},
	{"bumper, | bonnet and wing bent", func(l list) bool { return l.ahead != nil }, fromAhead},
	{"bumper", always[list], itsOwn},
}

func (p *statement) list(i int) list {
	cs := p.clauses
	l := list{clause: cs[i]}
	b, a := p.speaker(i, -1), p.speaker(i, 1)
	if b >= 0 {
		l.back = cs[b]
		h := l.back.cond
		l.turned = slices.ContainsFunc(cs[b+1:i+1], func(c *clause) bool { return c.terms.plays(onlyThis) })
		l.negates = (l.back.negated && h.sound || h.repaired) && continues(cs, b, i)
		// "dented: bumper, bonnet"
		l.back.governs = l.back.governs || cs[b+1].sep == ':' && h.said && !h.sound
	}
	if a < len(cs) && l.names() && cs[a].speaksFor(cs[i+1:]) {
		l.ahead = cs[a]
	}
	return l
}

// speaker returns the next clause that speaks, in steps of 1 or -1 from clause i,
// the index beyond the last where none does.
func (p *statement) speaker(i, step int) int {
	for i += step; i >= 0 && i < len(p.clauses) && !p.clauses[i].speaks(); {
		i += step
	}
	return i
}

// speaksFor reports whether the clause speaks for the list before it, of which
// rest is what comes after one clause: "doors, roof and boot fine" does, "bumper,
// legs straight" does not.
func (c *clause) speaksFor(rest []*clause) bool {
	return c.ends && (!c.cond.sound && !c.cond.unseen || c.closes(rest))
}

// saysOfAll reports whether the clause ends in harm of all that was listed: "wing,
// door and quarter all scraped".
func (c *clause) saysOfAll() bool {
	last := c.terms.last(harm)
	return c.cond.said && !c.cond.sound && last > 0 && c.terms[last-1].is(count) && c.terms[last-1].sense().number > 2 &&
		!c.terms[last-1].plays(figure)
}

// areasOnly reports whether the clause speaks of areas alone: how bad the parts
// after it are does not say how bad they are.
func (c *clause) areasOnly() bool {
	return len(c.mentions) > 0 && !slices.ContainsFunc(c.mentions, func(m *mention) bool { return !m.is(area) })
}

// names reports whether the clause holds nothing but things of the car and their
// positions, so that it may be one of a list.
func (c *clause) names() bool {
	return !c.terms.any(func(t term) bool { return !t.known() || t.is(extra|event) })
}

// closes reports whether the clause ends a list that is in order as a whole.
func (c *clause) closes(between []*clause) bool {
	headed := slices.ContainsFunc(between, func(b *clause) bool { return b.sep == ':' })
	return c.terms.has(count) || c.sep == '+' && !headed
}

// continues reports whether the "no" of clause j still holds in clause i: "no
// engine, gearbox or axle damage".
func continues(cs []*clause, j, i int) bool {
	or := func(c *clause) bool { return c.sep == 'o' }
	if cs[i].sep == '+' || slices.ContainsFunc(cs[j+1:i+1], or) {
		return true
	}
	for _, c := range cs[i+1:] {
		if or(c) || c.cond.said {
			return or(c)
		}
	}
	return false
}

// An inheritor is a mention that is given a condition.
type inheritor struct {
	*mention
	clause *clause
}

// exceptions are the cases in which a mention does not have the condition of its
// clause. All that hold are carried out.
var exceptions = rules[inheritor]{
	{"airbag in the steering wheel deployed", func(x inheritor) bool {
		return x.cond.fired && x.is(fitting) && x.clause.terms.any(func(t term) bool {
			return t.is(part) && t.sense().class == damage.Restraint
		})
	}, func(x inheritor) { x.detail = true }},
	{"bags deployed, door", func(x inheritor) bool {
		return x.cond.fired && !x.clause.cond.said && !x.restrains()
	}, func(x inheritor) { x.cond = x.clause.cond }},
	{"hail, not looked at", func(x inheritor) bool {
		return x.cond.unseen && x.is(event)
	}, func(x inheritor) { x.cond = condition{} }},
	{"front damaged no airbags", func(x inheritor) bool {
		return x.cond.sound && x.clause.negated && x.spared(x.clause)
	}, func(x inheritor) {
		x.cond = x.clause.cond
		x.cond.sound = false
	}},
}

// assign gives the mentions of the clause their condition.
func (c *clause) assign(h condition) {
	if c.cond.confined && !h.confined {
		// A class word of the clause itself stays.
		h.confined, h.class = true, c.cond.class
	}
	for _, m := range c.mentions {
		m.cond = h
		for _, e := range exceptions {
			if x := (inheritor{m, c}); e.when(x) {
				e.then(x)
			}
		}
	}
}

// spared reports whether the mention has its own harm ahead of the "no".
func (m *mention) spared(c *clause) bool {
	at := c.terms.first(negation)
	return m.index < at && c.terms[:at].has(harm|severity)
}

// lacks reports whether "no" says that the part itself is missing ("no front
// bumper") or does not work ("gearbox will not select"), and not that it has no
// damage ("no damage to the bumper", "no engine or gearbox damage", "not the
// bonnet", "roof: nil", "nothing underneath") or never fired ("no airbags").
func (c *clause) lacks(later []*clause) bool {
	if !c.negated || len(c.mentions) == 0 || c.terms.has(saying|class|extra|event) || c.terms.end().is(negation) {
		return false
	}
	if !c.terms.plays(lacking) && c.terms.first(negation) < c.mentions[0].index {
		return false
	}
	if slices.ContainsFunc(c.mentions, (*mention).staysPut) {
		return false
	}
	for _, l := range later {
		if l.sep != 'o' && l.sep != '+' {
			break
		}
		if l.cond.said {
			return false
		}
	}
	return true
}

// staysPut reports whether the mention is not a part that can be missing.
func (m *mention) staysPut() bool {
	return m.is(area) || m.restrains() || m.generic() == hitZone || m.plays(group)
}

// doubt marks what is only supposed: the parts in the clause of a "possible",
// and those that follow it in a list without words of their own. doubted is a
// sentence that ends in a question mark.
func (p *statement) doubt(doubted bool) {
	var by *term
	for i, c := range p.clauses {
		at := c.terms.first(hedge)
		switch {
		case at >= 0:
			by = &c.terms[at]
		case c.sep == ':', c.cond.said && c.sep != 'o' && !(c.sep == '+' && !c.terms.has(content)):
			by = nil
		}
		for _, m := range c.mentions {
			switch {
			case by != nil && !m.certain(c, at):
				m.cond.hedged, m.cond.percent = true, by.sense().percent
				m.terms = append(m.terms, *by)
			case by == nil && doubted && i == len(p.clauses)-1:
				m.cond.hedged = true
			}
		}
	}
}

// certain reports whether the mention has its own harm ahead of the hedge, which
// belongs to a part after it: "wing dented possible sill damage".
func (m *mention) certain(c *clause, at int) bool {
	return at > m.index && c.terms[m.index:at].has(harm|severity) && at < len(c.terms)-1 && c.terms[at:].partFollows()
}

// targetPercent is the chance that what something was pushed into is damaged.
const targetPercent = 40

// targets suspects what other parts were pushed into: "wheel pushed back into
// the sill".
func (p *statement) targets() {
	for _, c := range p.clauses {
		for _, m := range c.mentions {
			for i := m.index - 1; i > 0 && c.terms[i].is(quiet|link|positional); i-- {
				if reachRules.of(reach{c.terms, i}) {
					m.cond.hedged, m.cond.percent = true, targetPercent
				}
			}
		}
	}
}

// A reach is term i of a clause, which may lead to what something was pushed into.
type reach struct {
	terms terms
	i     int
}

func (x reach) link() term { return x.terms[x.i] }
func (x reach) last() term { return x.terms[x.i-1] }

// reachRules are the ways to say what something was pushed into or reached.
var reachRules = verdicts[reach, bool]{
	{"crushed up to the seats", func(x reach) bool { return x.link().plays(reaches) && x.terms[:x.i].has(harm) }, true},
	{"crushed to the seats", func(x reach) bool {
		return x.link().plays(to) && x.last().is(harm) && x.last().sense().level == 4
	}, true},
	{"bumper into the radiator", func(x reach) bool { return x.link().plays(into) && x.last().is(part) }, true},
	{"wing pushed into the door", func(x reach) bool {
		return x.link().plays(into|to) && x.terms[:x.i].any(pushes)
	}, true},
}

// pushes reports whether the term is a harm that leans on structure.
func pushes(t term) bool {
	return t.is(harm) && slices.ContainsFunc(t.senses, func(s sense) bool {
		return s.hasClass && s.grade > 0 && s.class != damage.Cosmetic
	})
}
