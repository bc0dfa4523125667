package listing

import (
	"slices"
	"strings"

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
	case m.kind == area && h.areas[m]:
		return "where it happened"
	case m.kind == area || m.entry == nil:
		return ""
	case h.deep && (m.entry.depth > 0 || h.beside[m]) && !m.hurt.ruled:
		return "how deep the water stood"
	case m.entry.first().at.generic == "" && m.entry.first().grade <= 2 && slices.Contains(h.zones, m.entry.first().at.zone) && !m.hurt.ruled:
		return "where it happened"
	}
	return ""
}

// events reads the events of a sentence: an event happens in the zone of a part
// beside it if it has rows for that zone, else in the first zone of its rows.
func (r *reader) events(p parsed) happened {
	h := happened{areas: map[*mention]bool{}, beside: map[*mention]bool{}}
	for _, c := range p.chunks {
		for _, m := range c.mentions {
			if m.kind == event {
				r.event(&h, p, c, m)
			}
		}
	}
	return h
}

func (r *reader) event(h *happened, p parsed, c *chunk, m *mention) {
	zone := m.entry.first().at.zone
	home := zone
	level := m.hurt.level
	terms := slices.Clone(m.terms)
	graded := slices.ContainsFunc(m.entry.senses, func(s sense) bool { return s.level > 1 })
	for _, other := range p.chunks {
		for i, t := range other.terms {
			if t.entry == nil || t.entry == m.entry {
				continue
			}
			before := other == c && i < m.index
			if before && t.is(part, fitting) && t.first().at.generic == "" && m.has(t.first().at.zone) {
				zone = t.first().at.zone
				terms = append(terms, t)
				continue
			}
			if t.is(fitting) && t.first().at.zone == damage.Bay && m.has(damage.Bay) && other == c && !before && strings.Contains(strings.ToLower(r.words(m.terms)), "damage") {
				// "flood damage to the engine bay"
				zone = damage.Bay
				terms = append(terms, t)
				continue
			}
			if graded && home == damage.Whole && t.depth > 0 && (other == c || other.plain()) {
				h.deep = true
				if before && !slices.ContainsFunc(other.terms[:m.index], func(t term) bool { return t.is(link) }) {
					// "engine bay flooded" says where, not how deep.
					continue
				}
				level = max(level, t.depth)
				terms = append(terms, t)
			}
			if other == c && (t.depth == 0 || !graded) && t.is(part, fitting) && t.first().at.generic == "" && t.first().at.zone != home && m.has(t.first().at.zone) {
				zone = t.first().at.zone
				terms = append(terms, t)
			}
		}
	}
	for _, a := range c.mentions {
		if a.kind != area {
			continue
		}
		for _, w := range a.at {
			sites := w.sites(around{})
			if w.all || len(sites) == 1 && m.has(sites[0].zone) || m.entry.key == "damp" && !c.hurt.said {
				h.areas[a] = true
				terms = append(terms, a.terms...)
			}
			if len(sites) == 1 && home == damage.Whole && m.has(sites[0].zone) {
				zone = sites[0].zone
			}
		}
	}
	if zone == home && !m.hurt.ruled && m.has(damage.Nose) && m.has(damage.Tail) {
		// A fire that is said to have been at one corner or panel was there,
		// and not in the whole car.
		if local := c.panels(m); len(local) > 0 {
			for _, o := range local {
				o.hurt.said, o.hurt.level = true, max(o.hurt.level, localLevel)
			}
			r.clues = append(r.clues, &clue{terms: terms, note: "counted where it happened"})
			return
		}
	}
	r.burning = r.burning || zone == damage.Bay && m.has(damage.Bay) && m.entry.key != flooding && !m.hurt.ruled && level != 1
	if zone != home {
		h.zones = append(h.zones, zone)
	}
	for _, a := range c.mentions {
		h.beside[a] = true
	}
	cl := &clue{terms: append(terms, m.hurt.terms...)}
	r.clues = append(r.clues, cl)
	if m.hurt.ruled {
		cl.ruleOut(m, zone)
		return
	}
	reached := level
	if reached == 0 {
		reached = 2
	}
	best := map[damage.Spot]finding{}
	for _, s := range m.entry.senses {
		moved := s.at.zone != home && m.roams(s.at.zone)
		if s.level > reached || (moved || s.at.zone == home && zone != home) && s.at.zone != zone {
			continue
		}
		f := finding{said: s.percent == 0, level: level}
		f.mark.Zone, f.mark.Class, f.mark.Grade = s.at.zone, s.class, s.grade
		f.suspect(s.percent, 0, m.hurt)
		if s.percent > 0 {
			cl.findings = append(cl.findings, f)
			continue
		}
		if old, ok := best[f.mark.Spot]; !ok || old.mark.Grade < f.mark.Grade {
			best[f.mark.Spot] = f
		}
	}
	for _, z := range damage.Zones() {
		for _, k := range damage.Classes() {
			if f, ok := best[damage.Spot{Zone: z, Class: k}]; ok {
				cl.findings = append(cl.findings, f)
			}
		}
	}
}

// localLevel is how bad an event is for the panels that it is said of.
const localLevel = 3

// panels returns the mentions beside an event that are panels or areas of the
// outside.
func (c *chunk) panels(event *mention) []*mention {
	var found []*mention
	for _, m := range c.mentions {
		switch {
		case m == event || m.hurt.ruled:
		case m.kind == area && !m.at[0].all:
			found = append(found, m)
		case m.kind == part && m.entry.first().at.generic != "" && m.entry.first().class == damage.Cosmetic:
			found = append(found, m)
		}
	}
	return found
}

// plain reports whether the chunk only names things.
func (c *chunk) plain() bool {
	return !c.hurt.said && c.lists() && !slices.ContainsFunc(c.mentions, func(m *mention) bool { return m.kind == event })
}

// has reports whether the event has rows for the zone.
func (m *mention) has(z damage.Zone) bool {
	return slices.ContainsFunc(m.entry.senses, func(s sense) bool { return s.at.zone == z })
}

// roams reports whether the rows of that zone stand for another place of the
// event: only an event of the whole car has other places.
func (m *mention) roams(z damage.Zone) bool {
	return m.entry.first().at.zone == damage.Whole && z != damage.Whole
}

// ruleOut adds what an event that is said not to have happened rules out.
func (c *clue) ruleOut(m *mention, zone damage.Zone) {
	done := map[damage.Spot]bool{}
	for _, s := range m.entry.senses {
		if s.at.zone != zone || done[damage.Spot{Zone: zone, Class: s.class}] || s.percent > 0 {
			continue
		}
		done[damage.Spot{Zone: zone, Class: s.class}] = true
		f := finding{said: true}
		f.mark.Zone, f.mark.Class, f.mark.Grade, f.mark.State = zone, s.class, s.grade, damage.Absent
		c.findings = append(c.findings, f)
	}
}
