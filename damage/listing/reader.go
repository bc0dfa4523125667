package listing

import (
	"cmp"
	"slices"
	"strings"

	"wreckoner/damage"
)

// A Reading is what a text says of a car.
type Reading struct {
	// Code is the code that the words give. It is uncoded where no words gave
	// a mark, and never the code of an undamaged car.
	Code damage.Code
	// Evidence says which words gave which marks, in the order of the text.
	Evidence []Evidence
	// Unknown are the words that are not understood, in the order of the text,
	// each once. Numbers are not words.
	Unknown []string
	// Extras are values for other columns of the lot list, by column, such as
	// starts = no.
	Extras map[string]string
}

// An Evidence is words and what they gave.
type Evidence struct {
	// Words are the words as written, those that belong together.
	Words string
	// Marks are what they gave, each as it is in the code.
	Marks []damage.Mark
	// Note says what became of the words where they gave no mark of their own,
	// or why a mark is what it is. It may be blank.
	Note string
}

// Read reads a listing's text. Any text is legal.
func (l *Lexicon) Read(text string) Reading {
	text = strings.ToValidUTF8(text, " ")
	r := &reader{lexicon: l, text: text, extras: map[string]string{}}
	ts := l.scan(text)
	l.alone(ts)
	var all []*statement
	for _, s := range sentences(ts) {
		all = append(all, parse(s))
	}
	dropSentenceHeadings(all)
	r.overview(all)
	for _, p := range all {
		r.statement(p)
	}
	r.placeHits()
	code, evidence := r.settle()
	return Reading{Code: code, Evidence: evidence, Unknown: unknownWords(r.withUncovered(ts)), Extras: r.extras}
}

// alone reads a harm in a text that names nothing of the car as said of the
// whole car, where an event has the same role: "burnt" as "burnt out".
func (l *Lexicon) alone(ts terms) {
	if ts.has(things | positional | event) {
		return
	}
	for i, t := range ts {
		if t.is(harm) && t.plays(burnt) {
			ts[i].entry = l.playing(burnt, event)
		} else if t.is(harm) && t.plays(stolen) {
			ts[i].entry = l.playing(stolen, event)
		}
	}
}

// withUncovered returns the terms of the text with the parts, the events and the
// harm of a kind that nothing was made of as words that are not understood: none
// vanishes.
func (r *reader) withUncovered(ts terms) terms {
	used := map[int]bool{}
	for _, c := range r.clues {
		for _, t := range c.terms {
			used[t.from] = true
		}
	}
	out := slices.Clone(ts)
	for i, t := range out {
		if (t.is(things|event) || t.is(harm) && t.sense().level > 0) && !used[t.from] {
			out[i] = term{word: strings.ToLower(r.text[t.from:t.to]), from: t.from, to: t.to}
		}
	}
	return out
}

func unknownWords(ts terms) []string {
	var unknown []string
	seen := map[string]bool{}
	for _, t := range ts {
		if t.known() || t.stop != 0 || seen[t.word] || strings.Trim(t.word, "0123456789.") == "" {
			continue
		}
		seen[t.word] = true
		unknown = append(unknown, t.word)
	}
	return unknown
}

// A clue is words with their findings.
type clue struct {
	terms    terms
	findings []finding
	note     string
	// hit is set where the zone is to be where the car was hit.
	hit *mention
}

// A reader holds what a text has said so far, and what the whole of it says.
type reader struct {
	lexicon *Lexicon
	text    string
	extras  map[string]string
	clues   []*clue
	// spoken is the side and end spoken of last, only those of the whole text.
	spoken, only sideEnd
	// whole is whether the nose or the tail is spoken of as a whole.
	whole map[int]bool
	// behind is a text that speaks of the rear and of nothing at the front.
	behind bool
	// flooded and stripped are texts in which that happened to the whole car.
	flooded, stripped bool
	// burning is a text that has spoken of a fire in the engine bay.
	burning bool
}

// An overview adds up the sides and ends that a text speaks of.
type overview struct {
	sides, ends int
	// bodies are the ends of what is damaged, lone that of a single bumper
	// without a word of where.
	bodies, lone int
	// quarter is a text with a rear corner's panels, struck one with a rear area.
	quarter, struck bool
}

// overview finds the only side and the only end of the text, if there is one.
func (r *reader) overview(all []*statement) {
	r.whole = map[int]bool{}
	var o overview
	for _, p := range all {
		for _, m := range p.mentions {
			if !m.cond.sound {
				o.part(m)
				r.wholes(m)
			}
		}
	}
	r.behind = o.bodies == rear && o.struck && !o.quarter
	r.only = sideEnd{only(o.sides), only(orElse(o.ends, o.lone))}
}

// wholes notes what a mention says of an end or of the car as a whole.
func (r *reader) wholes(m *mention) {
	for _, w := range m.at {
		if m.is(area) && w.side == 0 && !w.flank && !w.corner {
			r.whole[w.end] = true
		}
	}
	if m.is(event) && m.zone() == damage.Whole {
		r.flooded = r.flooded || m.plays(flooding)
		r.stripped = r.stripped || m.plays(stripping)
	}
}

// only returns the bit that is set alone, else 0.
func only(bits int) int {
	if bits == near|off {
		return 0
	}
	return bits
}

func (o *overview) part(m *mention) {
	for _, w := range m.at {
		o.sides |= w.side
		o.ends |= w.end
		o.bodies |= w.end
		o.struck = o.struck || m.is(area) && w.end == rear
	}
	o.ends |= m.impliedEnd()
	switch {
	case m.is(area | event):
	case m.generic() == rearCorner:
		o.quarter = true
		o.bodies |= rear
	case m.generic() == anyEnd && len(m.at) == 0 && !m.plural:
		o.lone = front
	case m.generic() != frontCorner:
		o.bodies |= m.impliedEnd()
	}
}

// impliedEnd is the end that the part is at in this text: a wing is at the rear
// of a car that was hit from behind alone.
func (r *reader) impliedEnd(m *mention) int {
	if r.behind && m.generic() == frontCorner {
		return rear
	}
	return m.impliedEnd()
}

// nearby returns what the words around mention j say of side and end: those of
// the same sentence, before it first, then the rest of the text.
func (r *reader) nearby(p *statement, j int) sideEnd {
	var found sideEnd
	for k := j - 1; k >= 0 && !found.complete(); k-- {
		r.look(&found, p.mentions[k])
	}
	for k := j + 1; k < len(p.mentions) && !found.complete(); k++ {
		r.look(&found, p.mentions[k])
	}
	found.side = orElse(found.side, r.spoken.side)
	if p.mentions[j].generic() != leg {
		found.side = orElse(found.side, r.only.side)
	}
	found.end = orElse(orElse(found.end, r.spoken.end), r.only.end)
	return found
}

// look completes the side and the end by what is said of the mention.
func (r *reader) look(found *sideEnd, m *mention) {
	if m.isBags() || m.is(event) {
		return
	}
	if n := len(m.at); n > 0 {
		found.side = orElse(found.side, m.at[n-1].side)
		found.end = orElse(found.end, m.at[n-1].end)
	}
	found.end = orElse(found.end, r.impliedEnd(m))
}

func (s sideEnd) complete() bool { return s.side != 0 && s.end != 0 }

// statement reads a sentence.
func (r *reader) statement(p *statement) {
	r.readExtras(p)
	events := r.events(p)
	for j, m := range p.mentions {
		if m.is(event) {
			continue
		}
		note := cmp.Or(m.reference(), events.swallow(m), r.taken(p, m))
		if note != "" {
			r.clues = append(r.clues, &clue{terms: m.terms, note: note})
			continue
		}
		r.mention(p, j, m)
	}
	r.remember(p)
}

// reference says that the mention only says where others are, "" where it does not.
func (m *mention) reference() string {
	if m.detail {
		return "where the parts beside it are"
	}
	return ""
}

// remember keeps the side and the end spoken of last.
func (r *reader) remember(p *statement) {
	for _, m := range p.mentions {
		if m.cond.sound && m.is(area) {
			continue
		}
		for _, w := range m.at {
			r.spoken.side = orElse(only(w.side), r.spoken.side)
			r.spoken.end = orElse(only(w.end), r.spoken.end)
		}
		if len(m.at) == 0 && !m.cond.sound {
			r.spoken.end = orElse(r.impliedEnd(m), r.spoken.end)
		}
	}
}

// taken says why a mention gives no mark of its own beside what happened to the
// whole car, "" where it does.
func (r *reader) taken(p *statement, m *mention) string {
	if m.entry == nil || m.cond.sound || m.sense().class != damage.Cosmetic ||
		slices.ContainsFunc(p.mentions, func(m *mention) bool { return m.is(event) }) {
		return ""
	}
	switch {
	case r.stripped && m.cond.terms.plays(gone):
		return "among what was stripped"
	case r.flooded && m.fixed() && m.zone() == damage.Cabin && m.plays(absorbs):
		return "counted with the water"
	}
	return ""
}

// readExtras fills other columns of the lot list.
func (r *reader) readExtras(p *statement) {
	for _, c := range p.clauses {
		for i, t := range c.terms {
			if !t.is(extra) {
				continue
			}
			if c.terms.has(unseen) || c.terms[:i].has(hedge) {
				r.clues = append(r.clues, &clue{terms: terms{t}, note: "not known"})
				continue
			}
			s := t.sense()
			value, later := s.value, c.terms[i+1:]
			if c.terms[:i].has(negation) || later.has(negation) && !later.partFollows() {
				value = opposite(value)
			}
			// What is said not to work outweighs what is said to.
			if r.extras[s.column] != "no" {
				r.extras[s.column] = value
			}
			r.clues = append(r.clues, &clue{terms: terms{t}, note: s.column + " = " + value})
		}
	}
}

func opposite(value string) string {
	switch value {
	case "yes":
		return "no"
	case "no":
		return "yes"
	}
	return value
}

// words prints the terms as they are in the text, in its order.
func (r *reader) words(ts terms) string {
	sorted := slices.Clone(ts)
	slices.SortFunc(sorted, func(a, b term) int { return a.from - b.from })
	sorted = slices.CompactFunc(sorted, func(a, b term) bool { return a.from == b.from })
	var parts []string
	for _, t := range sorted {
		parts = append(parts, strings.Join(strings.Fields(r.text[t.from:t.to]), " "))
	}
	return strings.Join(parts, " ")
}
