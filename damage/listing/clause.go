package listing

import "slices"

// A clause is a stretch of a sentence between commas and "and"s.
type clause struct {
	// sep is what comes before it: ',' ':' '+' (and) 'o' (or) ' ' or 0.
	sep   rune
	terms terms

	mentions []*mention
	cond     condition
	// governs is harm before the part that goes on to the parts after a comma:
	// "damage to bumper, bonnet". ends is harm after the part, which goes back:
	// "bumper, bonnet and wing bent".
	governs, ends bool
	negated       bool
}

// speaks reports whether the clause itself says that something is damaged or not.
func (c *clause) speaks() bool { return c.cond.said || c.negated }

// clauses cuts a sentence.
func clauses(ts terms) []*clause {
	var out []*clause
	current := &clause{}
	cut := func(sep rune) {
		switch {
		case len(current.terms) > 0:
			out = append(out, current)
			current = &clause{sep: sep}
		case current.sep != '+' && current.sep != 'o' || sep == 'o':
			current.sep = sep
		}
	}
	for i, t := range ts {
		if sep := separator(t); sep == ':' && len(current.terms) > 0 && current.terms.end().is(extra) {
			// "Keys: no" is one statement.
			continue
		} else if sep != 0 {
			cut(sep)
			continue
		}
		if current.turns(ts[i:]) {
			cut(' ')
		}
		current.terms = append(current.terms, t)
	}
	cut(0)
	return merge(out)
}

// separator returns what the term separates clauses as, 0 where it does not.
func separator(t term) rune {
	switch {
	case t.stop == ',' || t.stop == ':':
		return t.stop
	case t.stop == '+' || t.stop == '/' || t.links("and"):
		return '+'
	case t.links("or"):
		return 'o'
	}
	return 0
}

// A turn is a clause so far and the term that may begin another.
type turn struct {
	so   terms
	next term
	// first is the first part so far, says the first word of harm or soundness.
	first, says int
	// last is the last term so far that is neither quiet nor a position.
	last term
	// ahead says that a part comes after the next term, or is it.
	ahead bool
}

// turnRules are the cases in which a new clause begins without punctuation.
var turnRules = verdicts[turn, bool]{
	{"impact to rear | pushing boot floor up", func(t turn) bool {
		return t.first < 0 && t.next.is(harm) && t.ahead && t.so.placed()
	}, true},
	{"(nothing named yet)", func(t turn) bool { return t.first < 0 }, false},
	{"scratched the wing and door (one harm before all the parts)", func(t turn) bool {
		return t.next.is(things|positional) && t.saysFirst() && !t.last.is(harm|sound)
	}, false},
	{"wing dented at the | front", func(t turn) bool { return t.next.is(positional) && !t.ahead }, false},
	{"wing dented | door scratched", func(t turn) bool {
		return t.next.is(things|positional) && t.so[t.first:].has(saying) && !t.last.is(link)
	}, true},
	{"scratched door | dented wing", func(t turn) bool {
		return t.next.is(harm|severity) && t.saysFirst() && t.ahead && !t.last.is(severity|harm)
	}, true},
	{"front bumper damaged | no airbags", func(t turn) bool {
		return t.next.is(negation) && t.says >= 0 && t.ahead
	}, true},
}

// saysFirst reports whether harm was said before the first part.
func (t turn) saysFirst() bool { return t.says >= 0 && t.says < t.first }

// turns reports whether the next term starts a new thing without any
// punctuation before it.
func (c *clause) turns(next terms) bool {
	if len(c.terms) == 0 {
		return false
	}
	return turnRules.of(turn{
		so: c.terms, next: next[0], first: c.terms.first(things), says: c.terms.first(saying),
		last:  c.terms[max(c.terms.back(len(c.terms)-1, quiet|positional), 0)],
		ahead: next.partFollows(),
	})
}

// placed reports whether the terms already say where there is damage, as in
// "impact to rear".
func (ts terms) placed() bool {
	last, at := ts.back(len(ts)-1, quiet), ts.first(harm)
	return last >= 0 && ts[last].is(positional) && at >= 0 &&
		ts[at:].any(func(t term) bool { return t.links("to") })
}

// A merging is a clause that may belong to one beside it.
type merging struct {
	*clause
	// before is the clause before it that stays, after the next; nil at the ends.
	before, after *clause
	out           *[]*clause
}

func (m merging) stay() { *m.out = append(*m.out, m.clause) }

// join puts the terms of the clause at the end of those before it.
func (m merging) join() { m.before.terms = append(m.before.terms, m.terms...) }

// mergeRules are the cases of clauses that do or do not stay on their own.
var mergeRules = rules[merging]{
	{"sill, not seen", func(m merging) bool {
		return m.terms.has(unseen) && !m.terms.has(content) && !(m.after != nil && m.after.sep == ':')
	}, func(m merging) {
		if m.before != nil && !m.before.terms.has(harm|severity|sound|event) {
			m.join()
		}
	}},
	{"airbags deployed: no", func(m merging) bool {
		return m.before != nil && m.sep == ':' && !m.terms.any(func(t term) bool { return !t.is(quiet | negation) })
	}, merging.join},
	{"bumper scratched", func(m merging) bool {
		return m.terms.has(content) || m.before == nil && m.after == nil
	}, merging.stay},
	{"dents and | scratches to the door", merging.leads, func(m merging) {
		m.after.terms = append(slices.Clone(m.terms), m.after.terms...)
		m.after.sep = m.sep
	}},
	{"bumper dented, not bad", func(m merging) bool {
		return m.before != nil && m.terms.has(sound|negation) && m.before.terms.has(harm|severity|event)
	}, merging.stay},
	{"bumper scratched, dented", func(m merging) bool { return m.before != nil && m.terms.has(saying) }, merging.join},
	{"lovely car", always[merging], merging.stay},
}

// leads reports whether the clause belongs to the one after it.
func (m merging) leads() bool {
	if m.after == nil || m.terms.has(sound) {
		return false
	}
	next := m.after.terms
	lead := next.first(content | saying | link)
	return lead >= 0 && next[lead].is(harm|severity|link) ||
		m.before == nil || m.terms.has(negation|hedge|class) || m.terms.end().is(link)
}

// merge puts clauses that only say how bad something is with what they say it
// of: "bumper scratched, dented" or "dents and scratches to the door".
func merge(in []*clause) []*clause {
	var out []*clause
	for i, c := range in {
		m := merging{clause: c, out: &out}
		if len(out) > 0 {
			m.before = out[len(out)-1]
		}
		if i+1 < len(in) {
			m.after = in[i+1]
		}
		mergeRules.apply(m)
	}
	return out
}
