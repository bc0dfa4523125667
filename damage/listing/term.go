package listing

import "slices"

// A term is a word or phrase of the text that the lexicon knows, or
// punctuation, or a word that it does not know (entry and stop both zero).
type term struct {
	*entry
	stop     rune
	plural   bool
	from, to int
	// word is the first word, corrected; fixed says that one was corrected.
	word  string
	fixed bool
}

// is reports whether the term is of one of the kinds.
func (t term) is(k kind) bool { return t.entry != nil && t.kind&k != 0 }

// plays reports whether the term has one of the roles.
func (t term) plays(r role) bool { return t.entry != nil && t.roles&r != 0 }

// links reports whether the term is a link of that meaning: and, or, but, to.
func (t term) links(means string) bool { return t.is(link) && t.sense().link == means }

// known reports whether the lexicon knows the word.
func (t term) known() bool { return t.entry != nil }

type terms []term

func (ts terms) any(test func(term) bool) bool { return slices.ContainsFunc(ts, test) }

// has reports whether a term is of one of the kinds.
func (ts terms) has(k kind) bool { return ts.first(k) >= 0 }

// plays reports whether a term has one of the roles.
func (ts terms) plays(r role) bool {
	return ts.any(func(t term) bool { return t.plays(r) })
}

// first returns the index of the first term of the kinds, -1 where none is.
func (ts terms) first(k kind) int {
	return slices.IndexFunc(ts, func(t term) bool { return t.is(k) })
}

// last returns the index of the last term of the kinds, -1 where none is.
func (ts terms) last(k kind) int {
	for i := len(ts) - 1; i >= 0; i-- {
		if ts[i].is(k) {
			return i
		}
	}
	return -1
}

// back returns the index of the last term at or before i that is not of the
// kinds, -1 where all are.
func (ts terms) back(i int, skip kind) int {
	for i >= 0 && ts[i].is(skip) {
		i--
	}
	return i
}

// end returns the last term.
func (ts terms) end() term { return ts[len(ts)-1] }

// partFollows reports whether a part or an event comes before the clause ends.
func (ts terms) partFollows() bool {
	for _, t := range ts {
		switch {
		case t.stop != 0 || t.is(link) && !t.links("to"):
			return false
		case t.is(things | event):
			return true
		}
	}
	return false
}
