package listing

import (
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
	// Marks are what they gave, each as it stands in the code.
	Marks []damage.Mark
	// Note says what became of the words where they gave no mark of their own,
	// or why a mark is what it is. It may be blank.
	Note string
}

// Read reads a listing's text. Any text is legal.
func (l *Lexicon) Read(text string) Reading {
	text = strings.ToValidUTF8(text, " ")
	r := &reader{lexicon: l, text: text, extras: map[string]string{}}
	terms := l.scan(text)
	l.alone(terms)
	unknown := unknownWords(terms)
	var all []parsed
	for _, s := range sentences(terms) {
		all = append(all, parseSentence(s))
	}
	headings(all)
	r.overview(all)
	for _, p := range all {
		r.sentence(p)
	}
	r.placeHits()
	code, evidence := r.settle()
	return Reading{Code: code, Evidence: evidence, Unknown: unknown, Extras: r.extras}
}

// alone reads a harm in a text that names nothing of the car as said of the
// whole car, where the lexicon has that: "burnt" as "burnt car".
func (l *Lexicon) alone(terms []term) {
	if slices.ContainsFunc(terms, func(t term) bool { return t.is(part, fitting, position, event) }) {
		return
	}
	for i, t := range terms {
		if e := l.entries[t.word+"car"]; t.is(harm) && e != nil && e.kind == event {
			terms[i].entry = e
		}
	}
}

func unknownWords(terms []term) []string {
	var unknown []string
	seen := map[string]bool{}
	for _, t := range terms {
		if t.entry != nil || t.stop != 0 || seen[t.word] || strings.Trim(t.word, "0123456789.") == "" {
			continue
		}
		seen[t.word] = true
		unknown = append(unknown, t.word)
	}
	return unknown
}
