package listing

import (
	"slices"
)

// A sentence is one statement: no side, severity or negation goes beyond it but
// the side and the end that were spoken of last.
type sentence struct {
	terms   []term
	doubted bool
}

// longestSentence bounds the terms of a sentence. What runs on is read in
// pieces, so that a cell of any size takes time in proportion to its length.
const longestSentence = 240

func sentences(terms []term) []sentence {
	var out []sentence
	var current sentence
	for i, t := range terms {
		switch {
		case t.stop == '.' && len(out) == 0 && rates(current.terms) && i+1 < len(terms):
			// "Severity: heavy. Area: front."
		case t.stop == '.' || t.stop == '?' || t.is(link) && t.first().link == "but":
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

// rates reports whether the terms only say how bad it is.
func rates(terms []term) bool {
	has := func(test func(term) bool) bool { return slices.ContainsFunc(terms, test) }
	return has(func(t term) bool { return t.is(severity) }) && !has(func(t term) bool { return content(t) || t.is(sound, negation, harm, link) })
}

// put adds a sentence. One that only says how bad it is ("Heavy.") goes to the
// sentence before it.
func put(out []sentence, s sentence) []sentence {
	if len(s.terms) == 0 {
		return out
	}
	if n := len(out); n > 0 && rates(s.terms) && len(out[n-1].terms) < longestSentence && !slices.ContainsFunc(out[n-1].terms, func(t term) bool { return t.is(severity, sound, negation) }) {
		out[n-1].terms = append(out[n-1].terms, s.terms...)
		return out
	}
	return append(out, s)
}

// A parsed sentence has its chunks with their mentions, in order.
type parsed struct {
	chunks   []*chunk
	mentions []*mention
}

func parseSentence(s sentence) parsed {
	p := parsed{chunks: chunks(s.terms)}
	for i, c := range p.chunks {
		c.hurt = ownHurt(c.terms)
		c.negated = slices.ContainsFunc(c.terms, func(t term) bool { return t.is(negation) })
		p.collect(i)
	}
	p.inherit()
	p.hedge(s.doubted)
	p.targets()
	for _, c := range p.chunks {
		p.mentions = append(p.mentions, c.mentions...)
	}
	p.refer()
	p.explain()
	return p
}
