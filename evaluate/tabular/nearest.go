package tabular

import (
	"strings"
	"unicode"
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
	if slips := edits(a, b); slips <= allowed {
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

// edits counts the letters to change, add, drop or swap with their neighbour:
// the optimal string alignment distance (Damerau 1964, Communications of the ACM
// 7, 171-176, by the recurrence of Wagner and Fischer 1974, Journal of the ACM 21,
// 168-173).
func edits(a, b []rune) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(a)][len(b)]
}
