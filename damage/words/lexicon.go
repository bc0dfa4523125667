// Package words turns a listing's own English into a damage code.
//
// A lexicon says what words mean: parts, positions, severities, events. A small
// grammar says which of them belong together. What a listing says is seen or
// absent; what its words only make likely is suspected, with a chance. Words
// that are not in the lexicon are listed, never dropped. The package makes a
// first pass for a person to correct: it knows what was written, not what broke.
package words

import (
	"fmt"
	"slices"
	"strings"
)

// A Lexicon is what words mean. It is made by New and never changes.
type Lexicon struct {
	entries map[string]*entry
	// longest is the number of words of the longest phrase.
	longest int
	// vocabulary holds every word of every phrase, by its first letter.
	vocabulary map[rune][]string
	wordSet    map[string]bool
	areas      map[string]*entry
}

// An entry is what one word or phrase means.
type entry struct {
	key    string
	kind   kind
	senses []sense
	// depth is the level of water that the words stand for, 0 for none.
	depth int
}

// areaNames are what the rows of kind area describe.
var areaNames = []string{"nose", "tail", "side", "front corner", "rear corner"}

// New returns the lexicon of the rows. A word may have rows of one kind, and
// beside them one depth. Faults are *Fault.
func New(rows []Row) (*Lexicon, error) {
	if len(rows) == 0 {
		return nil, &Fault{Column: "words", Problem: "the lexicon has no rows; write at least one, such as bonnet,part,nose,c,2"}
	}
	l := &Lexicon{
		entries:    map[string]*entry{},
		vocabulary: map[rune][]string{},
		wordSet:    map[string]bool{},
		areas:      map[string]*entry{},
	}
	for _, r := range rows {
		if err := l.add(r); err != nil {
			return nil, err
		}
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

func (l *Lexicon) add(r Row) error {
	k, s, err := r.parse()
	if err != nil {
		return err
	}
	for form := range strings.SplitSeq(r.Words, "|") {
		if k == area {
			name := strings.ToLower(strings.TrimSpace(form))
			if !slices.Contains(areaNames, name) {
				return r.fault("words", "%q is no area; write one of %s", form, strings.Join(areaNames, ", "))
			}
			l.extend(l.areas, name, area, s)
			continue
		}
		parts := plainWords(form)
		if len(parts) == 0 {
			return r.fault("words", "%q holds no word; write words and | between ways to write them", r.Words)
		}
		l.longest = max(l.longest, len(parts))
		for _, p := range parts {
			l.wordSet[p] = true
		}
		key := strings.Join(parts, "")
		if other := l.entries[key]; other != nil && other.kind != k && other.kind != depth && k != depth {
			return r.fault("words", "%q is already a %s; keep one of the two", strings.TrimSpace(form), kindNames[other.kind])
		}
		l.extend(l.entries, key, k, s)
	}
	return nil
}

func (l *Lexicon) extend(entries map[string]*entry, key string, k kind, s sense) {
	e := entries[key]
	if e == nil {
		e = &entry{key: key, kind: k}
		entries[key] = e
	}
	if k == depth {
		e.depth = max(e.depth, s.level)
		return
	}
	e.kind = k
	e.senses = append(e.senses, s)
}

func plainWords(text string) []string {
	var parts []string
	for _, t := range glue(split(text), func(string) bool { return false }) {
		if t.stop == 0 {
			parts = append(parts, t.text)
		}
	}
	return parts
}

// first returns the entry's first sense. Depth-only entries have none.
func (e *entry) first() sense {
	if len(e.senses) == 0 {
		return sense{}
	}
	return e.senses[0]
}

// A term is a word or phrase of the text that the lexicon knows, or
// punctuation, or a word that it does not know (entry and stop both zero).
type term struct {
	*entry
	stop     rune
	plural   bool
	from, to int
	word     string
}

func (t term) is(kinds ...kind) bool { return t.entry != nil && slices.Contains(kinds, t.kind) }

// scan cuts text into terms, the longest phrase first.
func (l *Lexicon) scan(text string) []term {
	tokens := glue(split(text), func(w string) bool { return l.entries[w] != nil })
	tokens = slices.DeleteFunc(tokens, func(t token) bool { return t.stop == '-' })
	for i, t := range tokens {
		if t.stop == 0 && !l.pairs(tokens, i-1) && !l.pairs(tokens, i) {
			tokens[i].text = l.correct(t.text)
		}
	}
	var terms []term
	for i := 0; i < len(tokens); {
		t := tokens[i]
		if t.stop != 0 {
			terms = append(terms, term{stop: t.stop, from: t.from, to: t.to})
			i++
			continue
		}
		e, n, plural := l.match(tokens[i:])
		if n == 0 {
			n = 1
		}
		terms = append(terms, term{entry: e, plural: plural, from: t.from, to: tokens[i+n-1].to, word: t.text})
		i += n
	}
	return terms
}

// pairs reports whether token i and the next are one known word, written apart.
func (l *Lexicon) pairs(tokens []token, i int) bool {
	if i < 0 || i+1 >= len(tokens) || tokens[i].stop != 0 || tokens[i+1].stop != 0 {
		return false
	}
	e, _ := l.lookup(tokens[i].text + tokens[i+1].text)
	return e != nil
}

// match returns the longest phrase that the tokens start with and its number
// of tokens, 0 where there is none. Words that are written apart match a phrase
// that is written together, and the other way round.
func (l *Lexicon) match(tokens []token) (*entry, int, bool) {
	var found *entry
	length, many := 0, false
	key := ""
	for n := 1; n <= len(tokens) && n <= l.longest+1 && tokens[n-1].stop == 0; n++ {
		key += tokens[n-1].text
		if e, plural := l.lookup(key); e != nil {
			found, length, many = e, n, plural
		}
	}
	return found, length, many
}

func (l *Lexicon) lookup(key string) (*entry, bool) {
	if e := l.entries[key]; e != nil {
		return e, false
	}
	for _, ending := range []string{"s", "es"} {
		if base, ok := strings.CutSuffix(key, ending); ok {
			if e := l.entries[base]; e != nil && len(base) > 2 {
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

// String says how large the lexicon is.
func (l *Lexicon) String() string { return fmt.Sprintf("%d words and phrases", len(l.entries)) }
