package listing

import "slices"

// stations are the places along a car, from the nose to the tail.
const (
	atNose = iota
	atFrontCorner
	atSide
	atRearCorner
	atTail
	nowhere
)

// station returns how far along the car a mention is.
func (m *mention) station() int {
	if m.kind == area || m.kind == event {
		return nowhere
	}
	switch m.entry.first().at.generic {
	case "":
		switch m.impliedEnd() {
		case front:
			return atNose
		case rear:
			return atTail
		}
	case "end":
		if len(m.at) > 0 && m.at[0].end == rear {
			return atTail
		}
		return atNose
	case "front":
		return atFrontCorner
	case "side":
		return atSide
	case "rear":
		return atRearCorner
	case "corner":
		if len(m.at) > 0 && m.at[0].end == front {
			return atFrontCorner
		}
		if len(m.at) > 0 && m.at[0].end == rear {
			return atRearCorner
		}
	}
	return nowhere
}

// span adds the panels between two parts: "scraped from the front wing to the
// rear quarter" is the doors too.
func (c *chunk) span() {
	for i, m := range c.mentions {
		if i == 0 || m.index == 0 {
			continue
		}
		first := c.mentions[i-1]
		from, to := first.station(), m.station()
		if from == nowhere || to == nowhere || !c.runs(first.index, m.index) {
			continue
		}
		for at := min(from, to) + 1; at < max(from, to); at++ {
			var w where
			switch at {
			case atFrontCorner:
				w = where{end: front, corner: true}
			case atSide:
				w = where{flank: true}
			case atRearCorner:
				w = where{end: rear, corner: true}
			}
			c.mentions = append(c.mentions, &mention{kind: area, at: []where{w}, skin: true, index: m.index, terms: []term{c.terms[first.index], c.terms[m.index]}})
		}
	}
}

// runs reports whether the terms between two parts read "from the one to the
// other".
func (c *chunk) runs(first, last int) bool {
	word := func(w string) func(term) bool { return func(t term) bool { return t.word == w || t.word == "through" } }
	return first > 0 && slices.ContainsFunc(c.terms[:first], word("from")) && slices.ContainsFunc(c.terms[first:last], word("to"))
}
