package listing

import (
	"strings"
	"unicode"
)

// A token is a word or a mark of punctuation.
type token struct {
	// text is the word in lower case without apostrophes; "" for punctuation.
	text string
	// stop is the punctuation: one of . ? , : / and + for "and"; 0 for a word.
	stop rune
	// from and to are the bytes in the text.
	from, to int
	// fixed is a word whose spelling was corrected.
	fixed bool
}

func isWordRune(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) }

// split cuts the text into words and punctuation. Whatever else is written
// (currency signs, quotes, bullets) separates words and means nothing.
func split(text string) []token {
	var tokens []token
	var word strings.Builder
	start := -1
	flush := func(end int) {
		if start >= 0 {
			tokens = append(tokens, token{text: word.String(), from: start, to: end})
			word.Reset()
			start = -1
		}
	}
	runes := []rune(text)
	at := 0
	peek := func(i int) rune {
		if i < 0 || i >= len(runes) {
			return ' '
		}
		return runes[i]
	}
	for i, r := range runes {
		size := len(string(r))
		switch {
		case isWordRune(r):
			if start < 0 {
				start = at
			}
			word.WriteRune(unicode.ToLower(r))
		case (r == '\'' || r == '’' || r == '`') && start >= 0 && isWordRune(peek(i+1)):
			// don't, driver's
		case r == '.' && unicode.IsDigit(peek(i-1)) && unicode.IsDigit(peek(i+1)):
			word.WriteRune('.')
		default:
			flush(at)
			if stop := punctuation(r, peek(i-1), peek(i+1)); stop != 0 {
				tokens = append(tokens, token{stop: stop, from: at, to: at + size})
			}
		}
		at += size
	}
	flush(len(text))
	return tokens
}

func punctuation(r, before, after rune) rune {
	switch r {
	case '.', ';', '!', '\n', '\r', '…', '•', '*', '|':
		return '.'
	case '?':
		return '?'
	case ',', '(', ')', '[', ']', '、':
		return ','
	case ':', '=', '>', '–', '—':
		return ':'
	case '&', '+':
		return '+'
	case '/', '\\':
		return '/'
	case '-':
		if unicode.IsSpace(before) || unicode.IsSpace(after) {
			return ':'
		}
		return '-'
	}
	return 0
}

// glue joins what is written with strokes or points, such as n/s/f, o.s.r or
// w/screen, where the joined word is one that is known.
func glue(tokens []token, known func(string) bool) []token {
	var out []token
	for i := 0; i < len(tokens); i++ {
		t := tokens[i]
		best, word := i, ""
		if t.text == "1" && i+2 < len(tokens) && tokens[i+1].stop == '/' && (tokens[i+2].text == "4" || tokens[i+2].text == "4s") {
			best, word = i+2, "quarter"+strings.TrimPrefix(tokens[i+2].text, "4")
		}
		if t.stop == 0 && len(t.text) <= 2 {
			joined := t.text
			for j := i + 2; j < len(tokens) && j <= i+8; j += 2 {
				if s := tokens[j-1].stop; s != '/' && s != '-' && (s != '.' || tokens[j-1].to != tokens[j].from) || tokens[j].stop != 0 {
					break
				}
				joined += tokens[j].text
				if known(joined) {
					best, word = j, joined
				}
			}
		}
		if best > i {
			t = token{text: word, from: t.from, to: tokens[best].to}
			// The point after o.s.r. belongs to it.
			if best+1 < len(tokens) && tokens[best+1].stop == '.' && tokens[best-1].stop == '.' && best+2 < len(tokens) {
				best++
			}
			i = best
		}
		out = append(out, t)
	}
	return out
}
