package listing

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// A token is a word or a mark of punctuation.
type token struct {
	// text is the word in lower case without apostrophes; "" for punctuation.
	text string
	// stop is the punctuation: one of . ? , : / - and + for "and"; 0 for a word.
	stop rune
	// from and to are the bytes in the text.
	from, to int
	// fixed is a word whose spelling was corrected.
	fixed bool
}

func isWordRune(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) }

func isApostrophe(r rune) bool { return r == '\'' || r == '’' || r == '`' }

// split cuts the text into words and punctuation. Whatever else is written
// (currency signs, quotes, bullets) separates words and means nothing.
func split(text string) []token {
	var tokens []token
	var word []rune
	start, before, at := 0, ' ', 0
	runes := []rune(text + " ")
	for i, r := range runes {
		next := ' '
		if i+1 < len(runes) {
			next = runes[i+1]
		}
		switch {
		case isWordRune(r), r == '.' && unicode.IsDigit(before) && unicode.IsDigit(next):
			if len(word) == 0 {
				start = at
			}
			word = append(word, unicode.ToLower(r))
		case isApostrophe(r) && len(word) > 0 && isWordRune(next):
			// don't, driver's
		default:
			if len(word) > 0 {
				tokens = append(tokens, token{text: string(word), from: start, to: at})
				word = nil
			}
			if stop := punctuation(r, before, next); stop != 0 {
				tokens = append(tokens, token{stop: stop, from: at, to: at + utf8.RuneLen(r)})
			}
		}
		before = r
		at += utf8.RuneLen(r)
	}
	return tokens
}

// stops are the runes that count as each mark of punctuation.
var stops = []struct {
	stop  rune
	runes string
}{
	{'.', ".;!\n\r…•*|"},
	{'?', "?"},
	{',', ",()[]、"},
	{':', ":=>–—"},
	{'+', "&+"},
	{'/', "/\\"},
}

// punctuation returns the stop that a rune counts as, 0 for none. A hyphen
// between words joins them, one with a space beside it is a dash.
func punctuation(r, before, after rune) rune {
	for _, s := range stops {
		if strings.ContainsRune(s.runes, r) {
			return s.stop
		}
	}
	switch {
	case r != '-':
		return 0
	case unicode.IsSpace(before) || unicode.IsSpace(after):
		return ':'
	}
	return '-'
}

// glue joins what is written with strokes or points, such as n/s/f, o.s.r,
// w/screen or 1/4, where the joined word is one that is known.
func glue(tokens []token, known func(string) bool) []token {
	var out []token
	for i := 0; i < len(tokens); i++ {
		t := tokens[i]
		last, word := fraction(tokens, i, known)
		if last == i {
			last, word = stroked(tokens, i, known)
		}
		if last > i {
			t = token{text: word, from: t.from, to: tokens[last].to}
			if last+2 < len(tokens) && tokens[last+1].stop == '.' && tokens[last-1].stop == '.' {
				// The point after o.s.r. belongs to it.
				last++
			}
			i = last
		}
		out = append(out, t)
	}
	return out
}

// fraction returns the last token of a fraction that starts with token i, such
// as 1/4, and what it is looked up as; i where there is none that is known.
func fraction(tokens []token, i int, known func(string) bool) (int, string) {
	digits := func(t token) bool { return t.text != "" && t.text[0] >= '0' && t.text[0] <= '9' && len(t.text) <= 2 }
	if i+2 < len(tokens) && tokens[i+1].stop == '/' && digits(tokens[i]) && digits(tokens[i+2]) {
		if word := tokens[i].text + "/" + tokens[i+2].text; known(word) {
			return i + 2, word
		}
	}
	return i, ""
}

// mostStrokes bounds the letters that are joined, and shortest their length.
const (
	mostStrokes = 4
	shortWord   = 2
)

// stroked returns the last token of a word that is written with strokes, points
// or hyphens from token i on, and that word; i where none is known.
func stroked(tokens []token, i int, known func(string) bool) (last int, word string) {
	last = i
	if tokens[i].stop != 0 || len(tokens[i].text) > shortWord {
		return last, ""
	}
	joined := tokens[i].text
	for j := i + 2; j < len(tokens) && j <= i+2*mostStrokes; j += 2 {
		between := tokens[j-1]
		joins := between.stop == '/' || between.stop == '-' || between.stop == '.' && between.to == tokens[j].from
		if !joins || tokens[j].stop != 0 {
			break
		}
		joined += tokens[j].text
		if known(joined) {
			last, word = j, joined
		}
	}
	return last, word
}
