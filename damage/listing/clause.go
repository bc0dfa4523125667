package listing

import "slices"

// A mention is one part, area or event of a sentence with what is said of it.
type mention struct {
	kind kind
	// terms are the words behind it.
	terms []term
	entry *entry
	// at are the positions said of it; one mention may stand at several.
	at []where
	// plural is more than one of the part.
	plural bool
	// skin is an area of which only the panels are damaged.
	skin bool
	// every is all of them: "all four wheels".
	every bool
	// index is the term of the chunk that names it.
	index int
	hurt  hurt
	// detail is a mention that only says where others are, and has no mark.
	detail bool
}

// A chunk is a stretch of a sentence between commas and "and"s.
type chunk struct {
	// sep is what stands before it: ',' ':' '+' (and) 'o' (or) or 0.
	sep   rune
	terms []term

	mentions []*mention
	hurt     hurt
	// governs is harm before the part that goes on to the parts after a comma:
	// "damage to bumper, bonnet". ends is harm after the part, which goes back:
	// "bumper, bonnet and wing bent".
	governs, ends bool
	negated       bool
}

// content is a term that names something of the car.
func content(t term) bool { return t.is(part, fitting, position, event, extra) }

func saying(t term) bool { return t.is(harm, severity, sound, unseen, mended) }

func (c *chunk) any(test func(term) bool) bool { return slices.ContainsFunc(c.terms, test) }

// chunks cuts a sentence.
func chunks(terms []term) []*chunk {
	var out []*chunk
	current := &chunk{}
	cut := func(sep rune) {
		if len(current.terms) > 0 {
			out = append(out, current)
			current = &chunk{sep: sep}
			return
		}
		if current.sep != '+' && current.sep != 'o' || sep == 'o' {
			current.sep = sep
		}
	}
	for i, t := range terms {
		switch {
		case t.stop == ':' && len(current.terms) > 0 && current.terms[len(current.terms)-1].is(extra):
			// "Keys: no" is one statement.
		case t.stop == ',' || t.stop == ':':
			cut(t.stop)
		case t.stop == '+' || t.stop == '/' || t.is(link) && t.first().link == "and":
			cut('+')
		case t.is(link) && t.first().link == "or":
			cut('o')
		default:
			if current.turns(terms, i) {
				cut(' ')
			}
			current.terms = append(current.terms, t)
		}
	}
	cut(0)
	return merge(out)
}

// turns reports whether term i starts a new thing without any punctuation
// before it, as in "wing dented door scratched" or "roof ok boot lid dented".
func (c *chunk) turns(terms []term, i int) bool {
	t := terms[i]
	firstPart := slices.IndexFunc(c.terms, func(t term) bool { return t.is(part, fitting) })
	if t.is(event) && firstPart >= 0 {
		return false
	}
	if firstPart < 0 {
		return t.is(harm) && c.placed() && partFollows(terms[i:])
	}
	last := c.terms[len(c.terms)-1]
	for i := len(c.terms) - 1; i > 0 && (quiet(last) || last.is(position)); i-- {
		last = c.terms[i-1]
	}
	before := slices.IndexFunc(c.terms, saying)
	switch {
	case t.is(part, fitting, position):
		// A part after a harm that followed a part: "wing dented | door".
		after := slices.ContainsFunc(c.terms[firstPart:], saying)
		if !after || last.is(link) || before >= 0 && before < firstPart && !last.is(harm, sound) {
			return false
		}
		if t.is(position) && !partFollows(terms[i:]) {
			return false
		}
		return true
	case t.is(harm, severity) && before >= 0 && before < firstPart:
		// "scratched door | dented wing": only where a part follows.
		return partFollows(terms[i:]) && !last.is(severity, harm)
	case t.is(negation):
		// "front bumper damaged | no airbags".
		return slices.ContainsFunc(c.terms, saying) && partFollows(terms[i:])
	}
	return false
}

// placed reports whether the chunk already says where there is damage, as in
// "impact to rear | pushing boot floor up".
func (c *chunk) placed() bool {
	last := len(c.terms) - 1
	for last >= 0 && quiet(c.terms[last]) {
		last--
	}
	if last < 0 || !c.terms[last].is(position) {
		return false
	}
	at := slices.IndexFunc(c.terms, func(t term) bool { return t.is(harm) })
	return at >= 0 && slices.ContainsFunc(c.terms[at:], func(t term) bool { return t.is(link) && t.first().link == "to" })
}

// partFollows reports whether a part stands ahead in the same chunk.
func partFollows(terms []term) bool {
	for _, t := range terms {
		switch {
		case t.stop != 0 || t.is(link) && t.first().link != "to":
			return false
		case t.is(part, fitting, event):
			return true
		}
	}
	return false
}

// merge puts chunks that only say how bad something is with what they say it
// of: "bumper scratched, dented" or "dents and scratches to the door".
func merge(in []*chunk) []*chunk {
	var out []*chunk
	for i := 0; i < len(in); i++ {
		c := in[i]
		if n := len(out); c.any(func(t term) bool { return t.is(unseen) }) && !c.any(content) && !(i+1 < len(in) && in[i+1].sep == ':') {
			// What nobody looked at was named before, without damage.
			if n > 0 && !out[n-1].any(func(t term) bool { return t.is(harm, severity, sound, event) }) {
				out[n-1].terms = append(out[n-1].terms, c.terms...)
			}
			continue
		}
		if n := len(out); n > 0 && c.sep == ':' && !c.any(func(t term) bool { return !quiet(t) && !t.is(negation) }) {
			// "airbags deployed: no" answers what stands before it.
			out[n-1].terms = append(out[n-1].terms, c.terms...)
			continue
		}
		if c.any(content) || i+1 == len(in) && len(out) == 0 {
			out = append(out, c)
			continue
		}
		forward := i+1 < len(in) && !c.any(func(t term) bool { return t.is(sound) })
		if forward {
			next := in[i+1]
			lead := slices.IndexFunc(next.terms, func(t term) bool { return content(t) || saying(t) || t.is(link) })
			leads := lead >= 0 && (next.terms[lead].is(harm, severity, link))
			forward = leads || len(out) == 0 || c.any(func(t term) bool { return t.is(negation, hedge, class) }) || c.terms[len(c.terms)-1].is(link)
		}
		switch {
		case forward:
			next := in[i+1]
			next.terms = append(slices.Clone(c.terms), next.terms...)
			next.sep = c.sep
		case len(out) > 0 && c.any(saying):
			last := out[len(out)-1]
			if c.any(func(t term) bool { return t.is(sound, negation) }) && last.any(func(t term) bool { return t.is(harm, severity, event) }) {
				out = append(out, c)
				continue
			}
			last.terms = append(last.terms, c.terms...)
		default:
			out = append(out, c)
		}
	}
	return out
}
