package listing

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
)

// A Place is where a few words put a job or a part: "front bumper", "osf wing",
// "dash", "n/s/f".
type Place struct {
	Zone damage.Zone
	// ZoneSure is set where the words leave no other zone.
	ZoneSure bool
	Class    damage.Class
	// ClassSure is set where the words name a part of one class, or the class.
	ClassSure bool
	// Doubt says why the place is not sure, "" where it is; ClassDoubt says it of the class alone, for words beside
	// which somebody has said the zone.
	Doubt, ClassDoubt string
}

// Sure reports whether the words leave no other zone and class, every word was
// understood, and none was read as another.
func (p Place) Sure() bool { return p.Doubt == "" }

// Part reads words that name a part, with or without what is wrong with it, as a
// zone and a class. ok is false where they name nothing of a car.
func (l *Lexicon) Part(text string) (p Place, ok bool) {
	text = strings.ToValidUTF8(text, " ")
	ts := l.scan(text)
	var spots []spot
	for _, m := range namedParts(ts) {
		spots = append(spots, m.spots()...)
	}
	if len(spots) == 0 {
		return Place{}, false
	}
	first := spots[0]
	p = Place{Zone: first.zone, Class: first.class, ZoneSure: !first.zoneOpen, ClassSure: !first.classOpen}
	for _, s := range spots[1:] {
		p.ZoneSure = p.ZoneSure && s.zone == first.zone && !s.zoneOpen
		p.ClassSure = p.ClassSure && s.class == first.class && !s.classOpen
	}
	p.ClassDoubt = p.doubt(text, ts)
	if p.Doubt = p.ClassDoubt; !p.ZoneSure {
		p.Doubt = strings.TrimSuffix(fmt.Sprintf("which zone is not said; %s is one; %s", p.Zone, p.ClassDoubt), "; ")
	}
	return p, true
}

// namedParts returns the parts that the terms name, else the areas, else what
// happened.
func namedParts(ts terms) []*mention {
	var all []*mention
	for _, s := range sentences(ts) {
		for _, m := range parse(s).mentions {
			if !m.detail {
				all = append(all, m)
			}
		}
	}
	for _, k := range []kind{things, area, event} {
		if found := slices.DeleteFunc(slices.Clone(all), func(m *mention) bool { return !m.is(k) }); len(found) > 0 {
			return found
		}
	}
	return nil
}

// A spot is a zone and class that a mention may mean; open is what it leaves open.
type spot struct {
	zone                damage.Zone
	class               damage.Class
	zoneOpen, classOpen bool
}

// spots are the zones that the mention may be in, with its class.
func (m *mention) spots() []spot {
	class, open := m.ownClass()
	at := m.at
	if len(at) == 0 {
		at = []location{{all: m.every}}
	}
	var out []spot
	for _, w := range at {
		zones := m.zonesAt(w)
		for _, z := range zones {
			out = append(out, spot{z.zone, class, len(zones) > 1 || z.guess > 0 || m.endOpen(w), open})
		}
	}
	return out
}

func (m *mention) zonesAt(w location) []candidate {
	switch {
	case m.is(area) && w.all && !w.corner:
		return []candidate{{zone: damage.Whole}}
	case m.is(area) || m.generic() == hitZone:
		return w.zones(sideEnd{})
	case m.generic() == besideLast && w.end == 0:
		return []candidate{{zone: damage.Bay, guess: guessPercent}}
	case m.generic() == besideLast:
		return ends(w.end)
	}
	return m.sense().at.zones(w, sideEnd{}, m.plural)
}

// endOpen reports whether the part may be at either end and neither is said.
func (m *mention) endOpen(w location) bool {
	return w.end == 0 && slices.Contains([]string{anyEnd, anyCorner, leg}, m.generic())
}

// ownClass is the class of the mention, and whether it may be another: of an area
// nobody has said it, and some parts are of two.
func (m *mention) ownClass() (c damage.Class, open bool) {
	h := m.cond
	if m.is(area) && !h.confined {
		return damage.Cosmetic, true
	}
	first := m.sense().class
	if m.is(area) || h.confined && confines(h.class.class, first) {
		return h.class.class, false
	}
	return first, slices.ContainsFunc(m.senses, func(s sense) bool {
		return s.class != first && s.percent == 0 && s.level <= unsaidLevel
	})
}

// doubt says what, beside the zone, is not sure of the place that the terms of the text name.
func (p Place) doubt(text string, ts terms) string {
	var doubts []string
	add := func(holds bool, format string, args ...any) {
		if holds {
			doubts = append(doubts, fmt.Sprintf(format, args...))
		}
	}
	add(!p.ClassSure, "the kind of damage is not said; %s is one", p.Class)
	add(ts.has(negation|hedge|unseen), "part of it is denied or uncertain")
	for _, t := range ts {
		add(t.fixed, "%q was read as %s", text[t.from:t.to], t.word)
	}
	unknown := unknownWords(ts)
	add(len(unknown) > 0, "not understood: %s", strings.Join(unknown, " "))
	return strings.Join(doubts, "; ")
}
