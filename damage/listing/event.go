package listing

import (
	"cmp"
	"maps"
	"slices"

	"wreckoner/damage"
)

// happened is the events of one sentence and what they take in.
type happened struct {
	// zones are those in which an event was placed.
	zones []damage.Zone
	// deep is set where an event reads the words for its depth.
	deep bool
	// areas are those that say where an event happened.
	areas map[*mention]bool
	// beside are parts in one breath with an event that has a depth.
	beside map[*mention]bool
}

// swallow says why a mention gives no mark of its own beside an event, "" where
// it does.
func (h happened) swallow(m *mention) string {
	switch {
	case m.is(area) && h.areas[m]:
		return "where it happened"
	case m.is(area) || m.cond.sound:
		return ""
	case h.deep && (m.depth > 0 || h.beside[m]):
		return "how deep the water was"
	case m.fixed() && m.sense().grade <= 2 && slices.Contains(h.zones, m.zone()):
		return "where it happened"
	}
	return ""
}

// events reads the events of a sentence.
func (r *reader) events(p *statement) happened {
	h := happened{areas: map[*mention]bool{}, beside: map[*mention]bool{}}
	for _, c := range p.clauses {
		for _, m := range c.mentions {
			if m.is(event) {
				r.event(&h, p, c, m)
			}
		}
	}
	return h
}

// An occurrence is an event and what the sentence says of where it happened and
// how deep the water was.
type occurrence struct {
	*mention
	r *reader
	h *happened
	// own is the clause that names it.
	own *clause
	// home is the zone of its rows, zone the one where it happened.
	home, zone damage.Zone
	level      int
	// deepens is an event whose rows depend on a depth.
	deepens bool
	words   terms
}

// event reads an event: it happens in the zone of a part beside it if it has
// rows for that zone, else in the first zone of its rows.
func (r *reader) event(h *happened, p *statement, c *clause, m *mention) {
	o := &occurrence{
		mention: m, r: r, h: h, own: c, home: m.zone(), zone: m.zone(), level: m.cond.level, words: slices.Clone(m.terms),
		deepens: m.zone() == damage.Whole && slices.ContainsFunc(m.senses, func(s sense) bool { return s.level > 1 }),
	}
	for _, other := range p.clauses {
		o.readWords(other)
	}
	o.readAreas()
	if o.spread() {
		return
	}
	fire := !m.plays(flooding) && !m.cond.sound && o.level != 1
	r.burning = r.burning || fire && o.zone == damage.Bay && m.has(damage.Bay)
	if o.zone != o.home {
		h.zones = append(h.zones, o.zone)
	}
	for _, a := range c.mentions {
		h.beside[a] = true
	}
	cl := &clue{terms: append(o.words, m.cond.terms...)}
	r.clues = append(r.clues, cl)
	if m.cond.sound {
		cl.findings = o.absences()
	} else {
		cl.findings = o.findings()
	}
}

// readWords reads the words of a clause of the event's sentence.
func (o *occurrence) readWords(c *clause) {
	for i, t := range c.terms {
		if t.known() && t.entry != o.entry {
			wordRules.apply(eventWord{o, c, i, t})
		}
	}
}

// An eventWord is term i of a clause of a sentence with an event.
type eventWord struct {
	*occurrence
	clause *clause
	i      int
	term   term
}

// before reports whether the word is ahead of the event in its clause.
func (x eventWord) before() bool { return x.clause == x.own && x.i < x.index }

// after reports whether the word follows the event in its clause.
func (x eventWord) after() bool { return x.clause == x.own && x.i >= x.index }

// places reports whether the word is a thing of one zone that the event can be in.
func (x eventWord) places() bool {
	at := x.term.sense().at
	return x.term.is(things) && at.generic == "" && x.has(at.zone)
}

// measures reports whether the word may be a depth of the water.
func (x eventWord) measures() bool {
	return x.deepens && x.term.depth > 0 && (x.clause == x.own || x.clause.plain())
}

func (x eventWord) place() {
	x.zone = x.term.sense().at.zone
	x.words = append(x.words, x.term)
}

// wordRules say what words beside an event tell of it.
var wordRules = rules[eventWord]{
	{"engine bay fire", func(x eventWord) bool { return x.before() && x.places() }, eventWord.place},
	{"flood damage to the engine bay", func(x eventWord) bool {
		inBay := x.term.is(fitting) && x.term.sense().at.zone == damage.Bay
		return inBay && x.has(damage.Bay) && x.after() && x.r.names(x.mention, plainDamage)
	}, eventWord.place},
	{"engine bay flooded: where, not how deep", func(x eventWord) bool {
		return x.measures() && x.before() && !x.clause.terms[:x.index].has(link)
	}, func(x eventWord) { x.h.deep = true }},
	{"flooded to the seats", eventWord.measures, func(x eventWord) {
		x.h.deep = true
		x.level = max(x.level, x.term.depth)
		x.words = append(x.words, x.term)
	}},
	{"fire in the cabin", func(x eventWord) bool {
		return x.clause == x.own && x.places() && x.term.sense().at.zone != x.home && (x.term.depth == 0 || !x.deepens)
	}, eventWord.place},
}

// names reports whether a word of the mention, by itself, has the role.
func (r *reader) names(m *mention, played role) bool {
	for _, t := range m.terms {
		for _, word := range split(r.text[t.from:t.to]) {
			if e, _ := r.lexicon.lookup(word.text); e != nil && e.roles&played != 0 {
				return true
			}
		}
	}
	return false
}

// readAreas reads the areas of the event's clause as where it happened.
func (o *occurrence) readAreas() {
	for _, a := range o.own.mentions {
		if !a.is(area) {
			continue
		}
		for _, w := range a.at {
			at := w.zones(sideEnd{})
			inside := len(at) == 1 && o.has(at[0].zone)
			if w.all || inside || o.plays(damp) && !o.own.cond.said {
				o.h.areas[a] = true
				o.words = append(o.words, a.terms...)
			}
			if inside && o.home == damage.Whole {
				o.zone = at[0].zone
			}
		}
	}
}

// localLevel is how bad an event is for the panels that it is said of.
const localLevel = 3

// spread gives an event that is said of one corner or panel to that, and reports
// whether it did: a fire at the wing was not in the whole car.
func (o *occurrence) spread() bool {
	if o.zone != o.home || o.cond.sound || !o.has(damage.Nose) || !o.has(damage.Tail) {
		return false
	}
	local := false
	for _, m := range o.own.mentions {
		outside := m.is(area) && !m.at[0].all || m.is(part) && !m.fixed() && m.sense().class == damage.Cosmetic
		if m != o.mention && !m.cond.sound && outside {
			m.cond.said, m.cond.level = true, max(m.cond.level, localLevel)
			local = true
		}
	}
	if local {
		o.r.clues = append(o.r.clues, &clue{terms: o.words, note: "counted where it happened"})
	}
	return local
}

// findings are the marks of the event: the suspected ones, then the worst seen
// of each spot.
func (o *occurrence) findings() []finding {
	var suspected []finding
	seen := map[damage.Spot]finding{}
	for _, s := range o.senses {
		if !o.covers(s) {
			continue
		}
		f := newFinding(s.at.zone, s.class, s.grade)
		f.said, f.level = s.percent == 0, o.level
		f.suspect(s.percent, 0, o.cond)
		if s.percent > 0 {
			suspected = append(suspected, f)
		} else if seen[f.mark.Spot].mark.Grade < f.mark.Grade {
			seen[f.mark.Spot] = f
		}
	}
	return append(suspected, slices.SortedFunc(maps.Values(seen), func(a, b finding) int {
		return cmp.Or(cmp.Compare(a.mark.Zone, b.mark.Zone), cmp.Compare(a.mark.Class, b.mark.Class))
	})...)
}

// covers reports whether a row counts at the event's level and where it happened.
// Only an event of the whole car has other places.
func (o *occurrence) covers(s sense) bool {
	if s.level > orElse(o.level, unsaidLevel) {
		return false
	}
	elsewhere := s.at.zone != o.zone
	if s.at.zone == o.home {
		return !elsewhere
	}
	return o.home != damage.Whole || !elsewhere
}

// absences are what an event that is said not to have happened rules out.
func (o *occurrence) absences() []finding {
	var out []finding
	done := map[damage.Class]bool{}
	for _, s := range o.senses {
		if s.at.zone != o.zone || done[s.class] || s.percent > 0 {
			continue
		}
		done[s.class] = true
		f := newFinding(o.zone, s.class, s.grade)
		f.said, f.mark.State = true, damage.Absent
		out = append(out, f)
	}
	return out
}

// plain reports whether the clause only names things.
func (c *clause) plain() bool {
	return !c.cond.said && c.names() && !slices.ContainsFunc(c.mentions, func(m *mention) bool { return m.is(event) })
}

// has reports whether the event has rows for the zone.
func (m *mention) has(z damage.Zone) bool {
	return slices.ContainsFunc(m.senses, func(s sense) bool { return s.at.zone == z })
}
