package listing

// A sentence is one statement: no side, severity or negation goes beyond it but
// the side and the end that were spoken of last.
type sentence struct {
	terms   terms
	doubted bool
}

// longestSentence bounds the terms of a sentence. What runs on is read in
// pieces, so that a cell of any size takes time in proportion to its length.
const longestSentence = 240

func sentences(ts terms) []sentence {
	var out []sentence
	var current sentence
	for i, t := range ts {
		switch {
		case t.stop == '.' && len(out) == 0 && current.terms.rate() && i+1 < len(ts):
			// "Severity: heavy. Area: front."
		case t.stop == '.' || t.stop == '?' || t.links("but"):
			current.doubted = t.stop == '?'
			out = put(out, current)
			current = sentence{}
		default:
			if len(current.terms) == longestSentence {
				out = put(out, current)
				current = sentence{}
			}
			current.terms = append(current.terms, t)
		}
	}
	return put(out, current)
}

// rate reports whether the terms only say how bad it is.
func (ts terms) rate() bool { return ts.has(severity) && !ts.has(content|sound|negation|harm|link) }

// put adds a sentence. One that only says how bad it is ("Heavy.") goes to the
// sentence before it.
func put(out []sentence, s sentence) []sentence {
	if len(s.terms) == 0 {
		return out
	}
	if n := len(out); n > 0 && s.terms.rate() {
		last := &out[n-1]
		if len(last.terms) < longestSentence && !last.terms.has(severity|sound|negation) {
			last.terms = append(last.terms, s.terms...)
			return out
		}
	}
	return append(out, s)
}

// A statement is a sentence with its clauses and their mentions, in order.
type statement struct {
	clauses  []*clause
	mentions []*mention
}

func parse(s sentence) *statement {
	p := &statement{clauses: clauses(s.terms)}
	for i, c := range p.clauses {
		c.cond = conditionOf(c.terms)
		c.negated = c.terms.has(negation)
		p.collect(i)
	}
	p.inherit()
	p.doubt(s.doubted)
	p.targets()
	for _, c := range p.clauses {
		p.mentions = append(p.mentions, c.mentions...)
	}
	p.dropReferences()
	p.dropHeadings()
	return p
}

// clauseOf returns the clause of a mention. A mention that was handed on has
// none: then it is nil.
func (p *statement) clauseOf(m *mention) *clause {
	for _, c := range p.clauses {
		for _, o := range c.mentions {
			if o == m {
				return c
			}
		}
	}
	return nil
}
