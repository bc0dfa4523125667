package tabular

import (
	"fmt"
	"strings"
	"unicode"

	"wreckoner/damage/spell"
)

// Canonical returns the form in which names of columns are compared: lower case,
// without spaces, underscores and hyphens.
func Canonical(name string) string {
	return strings.Map(func(r rune) rune {
		if space(r) || r == '_' || r == '-' {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}

// Nearest returns the one of the names that somebody who wrote the word most
// likely meant, or "" where none is near: a slip of the keyboard, or a name that
// contains the word or is contained in it. Case, spaces, underscores and hyphens
// don't count.
func Nearest(word string, among []string) string {
	best, bestScore := "", 1<<30
	for _, name := range among {
		if score, near := distance(word, name); near && score < bestScore {
			best, bestScore = name, score
		}
	}
	return best
}

// distance scores how far two names are apart; near says that one may well be
// meant by the other.
func distance(word, name string) (score int, near bool) {
	const wordWithin, textWithin = 3, 7
	a, b := []rune(Canonical(word)), []rune(Canonical(name))
	if len(a) == 0 || len(b) == 0 || len(a) > 100 || len(b) > 100 {
		return 0, false
	}
	allowed := min(len(a)/3, 3)
	if len(a) < 4 {
		allowed = 0
	}
	if slips := spell.Distance(a, b); slips <= allowed {
		return 2 * slips, true
	}
	if hasWord(name, string(a)) || hasWord(word, string(b)) {
		return wordWithin, true
	}
	if min(len(a), len(b)) >= 4 && (strings.Contains(string(a), string(b)) || strings.Contains(string(b), string(a))) {
		return textWithin, true
	}
	return 0, false
}

// hasWord reports whether the canonical word is one of the words of a name.
func hasWord(name, word string) bool {
	words := strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	for _, w := range words {
		if Canonical(w) == word {
			return true
		}
	}
	return false
}

// NameKey is the form in which names that people type are compared: lower case,
// with single spaces.
func NameKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// Unknown says that the shop does not have a name, and which it may be.
func Unknown(what, name string, names []string) error {
	if near := Nearest(name, names); near != "" {
		return fmt.Errorf("%q is not a %s of the shop; did you mean %s?", name, what, near)
	}
	return fmt.Errorf("%q is not a %s of the shop; write one of %s", name, what, strings.Join(names, ", "))
}
