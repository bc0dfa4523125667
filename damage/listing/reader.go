package listing

import (
	"slices"
	"strings"

	"wreckoner/damage"
)

// A clue is words with their findings.
type clue struct {
	terms    []term
	findings []finding
	note     string
	// hit is set where the zone is to be where the car was hit.
	hit *mention
}

type reader struct {
	lexicon *Lexicon
	text    string
	extras  map[string]string
	clues   []*clue
	// spoken is the side and end spoken of last, only those of the whole text.
	spoken, only around
	// ended is whether the nose or the tail is spoken of as a whole.
	ended map[int]bool
	// behind is a text that speaks of the rear and of nothing at the front.
	behind bool
	// flooded and stripped are texts in which that happened to the whole car.
	flooded, stripped bool
	// burning is a text that has spoken of a fire in the engine bay.
	burning bool
}

// overview finds the only side and the only end of the text, if there is one.
func (r *reader) overview(all []parsed) {
	var sides, ends, bodies, lone int
	quarter, struck := false, false
	r.ended = map[int]bool{}
	for _, p := range all {
		for _, m := range p.mentions {
			if m.hurt.ruled {
				continue
			}
			for _, w := range m.at {
				sides |= w.side
				ends |= w.end
				bodies |= w.end
				struck = struck || m.kind == area && w.end == rear
				if m.kind == area && w.side == 0 && !w.flank && !w.corner {
					r.ended[w.end] = true
				}
			}
			ends |= m.impliedEnd()
			switch {
			case m.entry == nil:
			case m.entry.first().at.generic == "rear":
				quarter = true
				bodies |= rear
			case m.kind == event:
				home := m.entry.first().at.zone == damage.Whole
				r.flooded = r.flooded || home && m.entry.key == flooding
				r.stripped = r.stripped || home && m.entry.key == stripping
			case m.entry.first().at.generic == "end" && len(m.at) == 0 && !m.plural:
				lone = front
			case m.entry.first().at.generic != "front":
				bodies |= m.impliedEnd()
			}
		}
	}
	if ends == 0 {
		// One bumper without a word of where is the front one.
		ends = lone
	}
	r.behind = bodies == rear && struck && !quarter
	r.only = around{sides, ends}
	if sides == near|off {
		r.only.side = 0
	}
	if ends == front|rear {
		r.only.end = 0
	}
}

// impliedEnd is the end of the car that the part is at.
func (m *mention) impliedEnd() int {
	if m.entry == nil {
		return 0
	}
	switch at := m.entry.first().at; at.generic {
	case "front":
		return front
	case "rear":
		return rear
	case "":
		return aroundZone(at.zone).end
	}
	return 0
}

// impliedEnd is the end that the part is at in this text: a wing is at the rear
// of a car that was hit from behind alone.
func (r *reader) impliedEnd(m *mention) int {
	if r.behind && m.entry != nil && m.entry.first().at.generic == "front" {
		return rear
	}
	return m.impliedEnd()
}

// nearby returns what the words around mention j say of side and end.
func (r *reader) nearby(p parsed, j int) around {
	side, end := 0, 0
	look := func(m *mention) {
		if m.isBags() || m.kind == event {
			return
		}
		if len(m.at) > 0 {
			last := m.at[len(m.at)-1]
			if side == 0 {
				side = last.side
			}
			if end == 0 {
				end = last.end
			}
		}
		if end == 0 {
			end = r.impliedEnd(m)
		}
	}
	for k := j - 1; k >= 0; k-- {
		look(p.mentions[k])
	}
	for k := j + 1; k < len(p.mentions); k++ {
		look(p.mentions[k])
	}
	if side == 0 {
		side = r.spoken.side
	}
	leg := p.mentions[j].entry != nil && p.mentions[j].entry.first().at.generic == "leg"
	if side == 0 && !leg {
		side = r.only.side
	}
	if end == 0 {
		end = r.spoken.end
	}
	if end == 0 {
		end = r.only.end
	}
	return around{side, end}
}

func (m *mention) isBags() bool {
	return m.entry != nil && m.entry.first().at.generic == "bags"
}

func (r *reader) sentence(p parsed) {
	r.readExtras(p)
	events := r.events(p)
	for j, m := range p.mentions {
		if m.kind == event {
			continue
		}
		if m.detail {
			r.clues = append(r.clues, &clue{terms: m.terms, note: "where the parts beside it are"})
			continue
		}
		if moved := events.swallow(m); moved != "" {
			r.clues = append(r.clues, &clue{terms: m.terms, note: moved})
			continue
		}
		if moved := r.taken(p, m); moved != "" {
			r.clues = append(r.clues, &clue{terms: m.terms, note: moved})
			continue
		}
		r.mention(p, j, m)
	}
	for _, m := range p.mentions {
		if m.hurt.ruled && m.kind == area {
			continue
		}
		for _, w := range m.at {
			if w.side == near || w.side == off {
				r.spoken.side = w.side
			}
			if w.end == front || w.end == rear {
				r.spoken.end = w.end
			}
		}
		if end := r.impliedEnd(m); end != 0 && len(m.at) == 0 && !m.hurt.ruled {
			r.spoken.end = end
		}
	}
}

// mention turns one part or area into findings.
func (r *reader) mention(p parsed, j int, m *mention) {
	c := &clue{terms: append(slices.Clone(m.terms), m.hurt.terms...)}
	r.clues = append(r.clues, c)
	nearby := r.nearby(p, j)
	if m.kind == fitting && m.hurt.unseen && m.entry.first().at.generic == "" && m.entry.first().at.zone != damage.Bay {
		c.note = "nobody looked at it"
		return
	}
	if m.kind == area && m.hurt.unseen {
		c.note = "nobody looked at it"
		return
	}
	if m.kind == fitting && !m.hurt.said && !m.listed() && !p.category() {
		c.note = "named, but no damage is said of it"
		return
	}
	if m.kind == area {
		for _, w := range m.at {
			for _, s := range w.sites(nearby) {
				if w.side != 0 && w.end != 0 && p.kerbed(m) {
					c.wheel(s)
					continue
				}
				r.area(c, m, s, w.all || m.skin || m.hurt.hot())
			}
		}
		if len(c.findings) == 0 {
			c.note = "no zone is said"
		}
		return
	}
	if m.entry.first().at.generic == "hit" {
		r.hitPart(c, m, p, j)
		return
	}
	at := m.at
	if len(at) == 0 {
		at = []where{{all: m.every}}
	}
	if m.kind == fitting && m.entry.first().at.generic == "corner" && nearby.side == 0 {
		// Which wheel is not told by the bumper that is spoken of.
		nearby.end = 0
	}
	if m.entry.first().at.generic == "beside" {
		zone := p.beside(j)
		if r.burning && zone == damage.Nose {
			zone = damage.Bay
		}
		r.part(c, m, site{zone: zone})
		return
	}
	if m.entry.key == "window" && len(m.at) == 0 && m.every {
		// "all glass broken"
		r.part(c, m, site{zone: damage.Tail})
		r.part(c, m, site{zone: damage.Cabin})
	}
	if m.entry.key == "window" && len(m.at) == 0 && j > 0 && p.joined(j) && p.mentions[j-1].zone() == damage.Tail {
		// "tailgate and glass"
		r.part(c, m, site{zone: damage.Tail})
		return
	}
	for _, w := range at {
		for _, s := range m.entry.first().at.sites(p.rearWing(j, w, r.behind), nearby, m.plural) {
			r.part(c, m, r.shift(m, s))
		}
	}
}

// The lexicon's groups of words for events that take in what else is said.
const (
	flooding  = "flood"
	stripping = "stripped"
)

// soaked are the lexicon's groups of parts that a flood takes in.
var soaked = []string{"seat", "headlining", "interior", "carpet"}

// shift moves a part's place to where the whole text puts it: a leg to the end
// that was hit as a whole, a module that was under water to the whole car.
func (r *reader) shift(m *mention, s site) site {
	first := m.entry.first()
	switch {
	case first.at.generic == "leg":
		for _, w := range m.at {
			if w.end != 0 {
				return s
			}
		}
		if end := aroundZone(s.zone).end; r.ended[end] && s.guess == 0 {
			return ends(end)[0]
		}
	case r.flooded && first.at.generic == "corner" && first.class == damage.Mechanical && len(m.at) == 0,
		r.flooded && s.zone == damage.Cabin && first.class == damage.Electrical:
		return site{zone: damage.Whole}
	}
	return s
}

// taken says why a mention gives no mark of its own beside what happened to the
// whole car, "" where it does.
func (r *reader) taken(p parsed, m *mention) string {
	if m.entry == nil || m.hurt.ruled || m.entry.first().class != damage.Cosmetic {
		return ""
	}
	lost := slices.ContainsFunc(m.hurt.terms, func(t term) bool {
		return slices.Contains([]string{"missing", "gone", "removed", "stolen", "taken"}, t.word)
	})
	eventful := slices.ContainsFunc(p.mentions, func(m *mention) bool { return m.kind == event })
	switch {
	case r.stripped && lost && !eventful:
		return "among what was stripped"
	case r.flooded && m.entry.first().at.zone == damage.Cabin && m.entry.first().at.generic == "" && slices.Contains(soaked, m.entry.key) && !eventful:
		return "counted with the water"
	}
	return ""
}

// kerbed reports whether the area is where a kerb or a hole in the road was hit.
func (p parsed) kerbed(m *mention) bool {
	return m.hurt.level == 0 && slices.ContainsFunc(p.chunks, func(c *chunk) bool {
		return slices.Contains(c.mentions, m) && c.any(func(t term) bool { return t.is(filler) && t.key == "hitakerb" })
	})
}

// kerbPercent is the chance that a wheel that met a kerb moved what it hangs on.
const kerbPercent = 60

// wheel suspects the suspension of a corner.
func (c *clue) wheel(s site) {
	f := finding{}
	f.mark.Zone, f.mark.Class, f.mark.Grade = s.zone, damage.Mechanical, 2
	f.suspect(kerbPercent, s.guess, hurt{})
	c.findings = append(c.findings, f)
	c.note = "a wheel met a kerb"
}

// category reports whether the sentence is a line of a listing's own headings
// for what is wrong: "mechanical - engine".
func (p parsed) category() bool {
	c := p.chunks[0]
	heading := func(t term) bool { return t.is(fitting) && (t.key == "mechanical" || t.key == "electrical") }
	return len(c.terms) == 1 && heading(c.terms[0]) && !slices.ContainsFunc(p.chunks, func(c *chunk) bool { return c.hurt.said || !c.lists() })
}

// joined reports whether mention j stands after an "and".
func (p parsed) joined(j int) bool {
	return slices.ContainsFunc(p.chunks, func(c *chunk) bool { return c.sep == '+' && len(c.mentions) > 0 && c.mentions[0] == p.mentions[j] })
}

// zone is the zone of a part that has only one, else the whole car.
func (m *mention) zone() damage.Zone {
	if m.entry == nil || m.entry.first().at.generic != "" {
		return damage.Whole
	}
	return m.entry.first().at.zone
}

// listed reports whether a fitting is one of a corner's parts and its corner is
// said, which nobody does of equipment: "o/s/r wheel".
func (m *mention) listed() bool {
	g := m.entry.first().at.generic
	return (g == "corner" || g == "front") && len(m.at) > 0 && m.at[0].side != 0 && (m.at[0].end != 0 || g == "front")
}

// nextTo reports whether the mention is said to stand next to the one before it.
func (p parsed) nextTo(m *mention) bool {
	return slices.ContainsFunc(p.chunks, func(c *chunk) bool {
		return slices.Contains(c.mentions, m) && c.any(func(t term) bool { return t.entry != nil && t.key == "besideit" || t.is(link) && t.word == "beside" })
	})
}

// rearWing reads "rear door and wing", "rear lamp, wing beside it" and the wing
// of a car that was hit from behind alone as a rear wing.
func (p parsed) rearWing(j int, w where, behind bool) where {
	m := p.mentions[j]
	if w.end != 0 || m.entry.first().at.generic != "front" || m.entry.first().class != damage.Cosmetic {
		return w
	}
	if behind {
		w.end = rear
	}
	if j == 0 {
		return w
	}
	last := p.mentions[j-1]
	if p.nextTo(m) && (last.impliedEnd() == rear || slices.ContainsFunc(last.at, func(w where) bool { return w.end == rear })) {
		w.end = rear
	}
	if last.entry == nil || last.entry.first().at.generic != "side" || len(last.at) != 1 || last.at[0].end != rear {
		return w
	}
	for i, c := range p.chunks {
		if i > 0 && slices.Contains(c.mentions, m) && c.sep == '+' && slices.Contains(p.chunks[i-1].mentions, last) {
			w.end = rear
		}
	}
	return w
}

// beside is the zone of the part that was named last before mention j, where
// wiring may belong to it.
func (p parsed) beside(j int) damage.Zone {
	for _, w := range p.mentions[j].at {
		if sites := ends(w.end); len(sites) == 1 {
			return sites[0].zone
		}
	}
	order := slices.Concat(p.mentions[:j], p.mentions[j+1:])
	slices.Reverse(order[:j])
	for _, m := range order {
		if m.entry == nil || m.entry.first().at.generic != "" {
			continue
		}
		switch z := m.entry.first().at.zone; z {
		case damage.Nose, damage.Tail, damage.Bay, damage.Cabin:
			return z
		}
	}
	return damage.Bay
}

// areaName is the row of kind area that describes a zone.
func areaName(z damage.Zone) string {
	switch z {
	case damage.Nose:
		return "nose"
	case damage.Tail:
		return "tail"
	case damage.SideNear, damage.SideOff:
		return "side"
	case damage.FrontNear, damage.FrontOff:
		return "front corner"
	}
	return "rear corner"
}

func (r *reader) area(c *clue, m *mention, s site, all bool) {
	e := r.lexicon.areas[areaName(s.zone)]
	if e == nil {
		c.note = "the lexicon has no area row for it"
		return
	}
	rows := e.senses
	if all {
		// Damage all round is panels; what lies behind each is not said.
		rows = rows[:1]
	}
	r.senses(c, m, s, rows, true)
}

func (r *reader) part(c *clue, m *mention, s site) { r.senses(c, m, s, m.entry.senses, false) }

func (c *clue) name(m *mention) string {
	if m.entry == nil {
		return ""
	}
	return m.entry.key
}

// words prints the terms as they stand in the text, in its order.
func (r *reader) words(terms []term) string {
	sorted := slices.Clone(terms)
	slices.SortFunc(sorted, func(a, b term) int { return a.from - b.from })
	sorted = slices.CompactFunc(sorted, func(a, b term) bool { return a.from == b.from })
	var parts []string
	for _, t := range sorted {
		parts = append(parts, strings.Join(strings.Fields(r.text[t.from:t.to]), " "))
	}
	return strings.Join(parts, " ")
}
