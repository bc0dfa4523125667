// Package listing turns a listing's own English into a damage code.
//
// A lexicon says what words mean: parts, positions, severities, events. A small
// grammar says which of them belong together. What a listing says is seen or
// absent; what its words only make likely is suspected, with a chance. Words
// that are not in the lexicon are listed, never dropped. The package makes a
// first pass for a person to correct: it knows what was written, not what broke.
package listing

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
	// meaning holds the words that say something of a car.
	meaning map[string]bool
	areas   map[string]*entry
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

// New returns the lexicon of the rows. The words of a row mean the same; a
// further row that starts with the first of them adds to what all of them mean.
// A word has one kind, and beside it perhaps a depth. Faults are *Fault.
func New(rows []Row) (*Lexicon, error) {
	if len(rows) == 0 {
		return nil, &Fault{Column: "words", Problem: "the lexicon has no rows; write at least one, such as bonnet,part,nose,c,2"}
	}
	l := &Lexicon{
		entries:    map[string]*entry{},
		vocabulary: map[rune][]string{},
		wordSet:    map[string]bool{},
		meaning:    map[string]bool{},
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
	if k == area {
		name := strings.ToLower(strings.TrimSpace(r.Words))
		if !slices.Contains(areaNames, name) {
			return r.fault("words", "%q is no area; write one of %s", r.Words, strings.Join(areaNames, ", "))
		}
		if l.areas[name] == nil {
			l.areas[name] = &entry{key: name, kind: area}
		}
		l.areas[name].senses = append(l.areas[name].senses, s)
		return nil
	}
	var group *entry
	for form := range strings.SplitSeq(r.Words, "|") {
		parts := plainWords(form)
		if len(parts) == 0 {
			return r.fault("words", "%q holds no word; write words, and | between ways to write them", r.Words)
		}
		l.longest = max(l.longest, len(parts))
		for _, p := range parts {
			l.wordSet[p] = true
			if k != filler && k != link && k != hedge && k != count {
				l.meaning[p] = true
			}
		}
		key := strings.Join(parts, "")
		if k == depth {
			l.deepen(key, s.level)
			continue
		}
		old := l.entries[key]
		if group == nil {
			group = old
			if group == nil || group.kind == depth {
				group = &entry{key: key, kind: k}
			}
		}
		switch {
		case old == nil:
			l.entries[key] = group
		case old.kind == depth:
			group.depth = max(group.depth, old.depth)
			l.entries[key] = group
		case old.kind == k && (k == filler || k == sound || k == negation):
			// Written twice, and means the same.
		case old != group:
			return r.fault("words", "%q is already another %s, with %q; keep one of the two", strings.TrimSpace(form), kindNames[old.kind], old.key)
		case old.kind != k:
			return r.fault("words", "%q is already a %s; keep one of the two", strings.TrimSpace(form), kindNames[old.kind])
		}
	}
	if group != nil {
		group.senses = append(group.senses, s)
	}
	return nil
}

// deepen makes a word stand for a depth of water, beside what else it means.
func (l *Lexicon) deepen(key string, level int) {
	if l.entries[key] == nil {
		l.entries[key] = &entry{key: key, kind: depth}
	}
	l.entries[key].depth = max(l.entries[key].depth, level)
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
	// word is the first word, corrected; fixed says that one was corrected.
	word  string
	fixed bool
}

func (t term) is(kinds ...kind) bool { return t.entry != nil && slices.Contains(kinds, t.kind) }

// scan cuts text into terms, the longest phrase first.
func (l *Lexicon) scan(text string) []term {
	tokens := glue(split(text), func(w string) bool { e, _ := l.lookup(w); return e != nil })
	tokens = slices.DeleteFunc(tokens, func(t token) bool { return t.stop == '-' })
	for i, t := range tokens {
		if t.stop == 0 && !l.pairs(tokens, i-1) && !l.pairs(tokens, i) {
			tokens[i].text = l.correct(t.text)
			tokens[i].fixed = tokens[i].text != t.text
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
		fixed := slices.ContainsFunc(tokens[i:i+n], func(t token) bool { return t.fixed })
		terms = append(terms, term{entry: e, plural: plural, from: t.from, to: tokens[i+n-1].to, word: t.text, fixed: fixed})
		i += n
	}
	terms = unbracket(text, terms)
	for i := range terms {
		l.lamp(terms, i)
		l.shell(terms, i)
	}
	return terms
}

// unbracket takes positions out of brackets, so that they belong to the part
// before them, or where there is none to the part after: "door (n/s)", "(n/s) door".
func unbracket(text string, terms []term) []term {
	out := make([]term, 0, len(terms))
	closing := -1
	for i, t := range terms {
		switch {
		case i == closing:
			continue
		case i+1 < len(terms) && numbers(text, terms, i):
			// "1) bonnet 2) bumper"
			continue
		case t.stop == ',' && (text[t.from] == '(' || text[t.from] == '['):
			k := i + 1
			for k < len(terms) && terms[k].is(position) {
				k++
			}
			if k == i+1 || k == len(terms) || terms[k].stop != ',' || text[terms[k].from] != ')' && text[terms[k].from] != ']' {
				break
			}
			if i == 0 || terms[i-1].stop != 0 || terms[i-1].is(link) {
				closing = k
			}
			continue
		}
		out = append(out, t)
	}
	return out
}

// numbers reports whether term i numbers an item of a list: "2)".
func numbers(text string, terms []term, i int) bool {
	return terms[i].stop == 0 && strings.Trim(terms[i].word, "0123456789") == "" && terms[i+1].stop == ',' && text[terms[i+1].from] == ')' &&
		(i == 0 || terms[i-1].stop == 0 || text[terms[i-1].from] != '(')
}

// lamp reads a severity that is also a part, "light", as the part where it
// stands between a position and a harm, as in "offside rear light broken".
func (l *Lexicon) lamp(terms []term, i int) {
	if !terms[i].is(severity) || i == 0 || !strings.HasPrefix(terms[i].word, terms[i].key) {
		return
	}
	e := l.entries[terms[i].key+"s"]
	if e == nil || e.kind != part {
		return
	}
	if enumerated(terms, i) {
		terms[i].entry = e
		return
	}
	if !terms[i-1].is(position) {
		return
	}
	if i+1 == len(terms) || terms[i+1].stop != 0 || terms[i+1].is(link) && terms[i+1].first().link != "to" || terms[i+1].is(harm) && terms[i+1].first().level >= 2 {
		terms[i].entry = e
	}
}

// enumerated reports whether term i stands alone in a list of parts: "bumper,
// light, wing", "bumper, wing and light".
func enumerated(terms []term, i int) bool {
	joins := func(t term) bool {
		return t.stop == ',' || t.stop == '/' || t.stop == '+' || t.is(link) && t.first().link == "and"
	}
	if i < 2 || !joins(terms[i-1]) || !terms[i-2].is(part) || i+1 < len(terms) && terms[i+1].stop == 0 && !joins(terms[i+1]) {
		return false
	}
	parts := 0
	for j := i - 1; j >= 0 && terms[j].stop != '.'; j-- {
		if terms[j].is(part) {
			parts++
		}
	}
	return parts >= 2 || i+1 < len(terms) && joins(terms[i+1])
}

// shell reads "body", which is mostly panels and paint, as the structure where it
// is said to be straight: "body straight", "straight body".
func (l *Lexicon) shell(terms []term, i int) {
	e := l.entries["structural"]
	if !terms[i].is(class) || e == nil || e.kind != part {
		return
	}
	straight := func(t term) bool {
		return t.is(sound) && slices.Contains([]string{"straight", "true", "square"}, t.word)
	}
	for _, step := range []int{-1, 1} {
		j := i + step
		for j >= 0 && j < len(terms) && quiet(terms[j]) {
			j += step
		}
		if j >= 0 && j < len(terms) && straight(terms[j]) {
			terms[i].entry = e
		}
	}
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
		e, plural := l.lookup(key)
		if e == nil || n > 1 && plural && len(tokens[n-1].text) <= 2 {
			// "the ns" is not the plural of "then".
			continue
		}
		found, length, many = e, n, plural
	}
	return found, length, many
}

func (l *Lexicon) lookup(key string) (*entry, bool) {
	if e := l.entries[key]; e != nil {
		base, cut := strings.CutSuffix(key, "s")
		return e, cut && l.entries[base] == e
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
