// Package listing turns a listing's own English into a damage code.
//
// A lexicon says what words mean: parts, positions, severities, events. A small
// grammar says which of them belong together. What a listing says is seen or
// absent; what its words only make likely is suspected, with a chance. Words
// that are not in the lexicon are listed, never dropped. The package makes a
// first pass for a person to correct: it knows what was written, not what broke.
//
// The grammar knows no words. Where it needs to tell one word from others of its
// kind, the lexicon gives that word a role (role.go). Choices among many cases
// are tables of rules (rule.go), each with an example of what it is for.
package listing

import (
	_ "embed" // the starter lexicon
	"slices"
	"strings"
)

//go:embed lexicon.csv
var starterCSV string

// StarterCSV returns the built-in lexicon as the file that a shop folder may
// hold and edit.
func StarterCSV() string { return starterCSV }

// A Lexicon is what words mean. It is made by New and never changes.
type Lexicon struct {
	entries map[string]*entry
	// longest is the number of words of the longest phrase.
	longest int
	// vocabulary holds every word of every phrase, by its first letter.
	vocabulary map[rune][]string
	wordSet    map[string]bool
	// meaning holds the words that say something of a car.
	meaning map[string]bool
	// cast holds the entries that have a role.
	cast map[role][]*entry
}

// An entry is what one word or phrase means.
type entry struct {
	// key names the entry in messages: one of its ways to be written.
	key    string
	kind   kind
	roles  role
	senses []sense
	// depth is the level of water that the words mean, 0 for none.
	depth int
}

// sense returns the entry's first sense, the zero sense where it has none.
func (e *entry) sense() sense {
	if e == nil || len(e.senses) == 0 {
		return sense{}
	}
	return e.senses[0]
}

// New returns the lexicon of the rows. The words of a row mean the same; a
// further row for some of them adds to what all of them mean. A word has one
// kind, and beside it perhaps a depth. Every role must have its row. Faults are
// *Fault, several joined where roles are missing.
func New(rows []Row) (*Lexicon, error) {
	if len(rows) == 0 {
		return nil, &Fault{
			Column: "words", Problem: "the lexicon has no rows; write at least one, such as bonnet,part,nose,c,2",
		}
	}
	l := &Lexicon{
		entries: map[string]*entry{}, vocabulary: map[rune][]string{}, wordSet: map[string]bool{},
		meaning: map[string]bool{}, cast: map[role][]*entry{},
	}
	for _, r := range rows {
		if err := l.add(r); err != nil {
			return nil, err
		}
	}
	if err := l.checkRoles(); err != nil {
		return nil, err
	}
	for word := range l.wordSet {
		first := []rune(word)[0]
		l.vocabulary[first] = append(l.vocabulary[first], word)
	}
	for _, words := range l.vocabulary {
		slices.Sort(words)
	}
	return l, nil
}

// repeatable kinds hold nothing but their words: one written twice is no fault.
const repeatable = filler | sound | negation

func (l *Lexicon) add(r Row) error {
	k, played, s, err := r.parse()
	if err != nil {
		return err
	}
	if k == area {
		// The words of an area row are for people: the role says which area.
		e := l.playing(played, area)
		if e == nil {
			e = &entry{key: r.Words, kind: area}
		}
		e.senses = append(e.senses, s)
		l.give(e, played)
		return nil
	}
	forms, err := l.forms(r, k)
	if err != nil {
		return err
	}
	if k == depth {
		for _, key := range forms {
			l.deepen(key, s.level)
		}
		return nil
	}
	e := l.row(forms, k)
	for i, key := range forms {
		if err := l.assign(r, i, key, e, played); err != nil {
			return err
		}
	}
	e.senses = append(e.senses, s)
	l.give(e, played)
	return nil
}

// give adds roles to the entry.
func (l *Lexicon) give(e *entry, played role) {
	for _, r := range roles {
		if played&r.role != 0 && !slices.Contains(l.cast[r.role], e) {
			l.cast[r.role] = append(l.cast[r.role], e)
		}
	}
	e.roles |= played
}

// forms returns the keys of the row's ways to be written, in their order.
func (l *Lexicon) forms(r Row, k kind) ([]string, error) {
	var keys []string
	for form := range strings.SplitSeq(r.Words, "|") {
		words := plainWords(form)
		if len(words) == 0 {
			return nil, r.fault("words", "%q has no word in it; write words, and | between ways to write them", r.Words)
		}
		l.longest = max(l.longest, len(words))
		for _, w := range words {
			l.wordSet[w] = true
			if k&(filler|link|hedge|count) == 0 {
				l.meaning[w] = true
			}
		}
		keys = append(keys, strings.Join(words, ""))
	}
	return keys, nil
}

// row returns the entry that a row adds to: the one that any of its forms has
// already, else a new one.
func (l *Lexicon) row(forms []string, k kind) *entry {
	for _, key := range forms {
		if e := l.entries[key]; e != nil && e.kind == k && k&repeatable == 0 {
			return e
		}
	}
	return &entry{key: forms[0], kind: k}
}

// assign makes form i of the row mean the entry.
func (l *Lexicon) assign(r Row, i int, key string, e *entry, played role) error {
	old := l.entries[key]
	form := func() string { return strings.TrimSpace(strings.Split(r.Words, "|")[i]) }
	switch {
	case old == nil || old == e:
		l.entries[key] = e
	case old.kind == depth:
		e.depth = max(e.depth, old.depth)
		l.entries[key] = e
	case old.kind != e.kind:
		return r.fault("words", "%q is already a %s; keep one of the two", form(), old.kind)
	case e.kind&repeatable == 0:
		return r.fault("words", "%q is already another %s, with %q; keep one of the two", form(), old.kind, old.key)
	case old.roles != played:
		return r.fault("words", "%q is already a %s with another role; keep one of the two", form(), old.kind)
	}
	return nil
}

// deepen makes a word mean a depth of water, beside what else it means.
func (l *Lexicon) deepen(key string, level int) {
	e, _ := l.lookup(key)
	if e == nil {
		e = &entry{key: key, kind: depth}
		l.entries[key] = e
	}
	e.depth = max(e.depth, level)
}

// plainWords returns the words of one way to write a row's words.
func plainWords(text string) []string {
	var words []string
	for _, t := range glue(split(text), func(word string) bool { return strings.Contains(word, "/") }) {
		if t.stop == 0 {
			words = append(words, t.text)
		}
	}
	return words
}

// lookup returns what the key means, and whether it is the plural of a word.
func (l *Lexicon) lookup(key string) (*entry, bool) {
	if e := l.entries[key]; e != nil {
		base, cut := strings.CutSuffix(key, "s")
		return e, cut && l.entries[base] == e
	}
	for _, ending := range []string{"s", "es"} {
		if base, ok := strings.CutSuffix(key, ending); ok && len(base) > 2 {
			if e := l.entries[base]; e != nil {
				return e, true
			}
		}
	}
	return nil, false
}

// known reports whether the word needs no correction.
func (l *Lexicon) known(word string) bool {
	if l.wordSet[word] {
		return true
	}
	if e, _ := l.lookup(word); e != nil {
		return true
	}
	base, ok := strings.CutSuffix(word, "s")
	return ok && l.wordSet[base]
}
