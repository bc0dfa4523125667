package words

import "unicode"

// Words shorter than fiveLetters are not corrected; words of eightLetters may
// be off by two.
const (
	fiveLetters  = 5
	eightLetters = 8
)

// correct returns the word of the lexicon that a misspelt word must mean: one
// edit away, two for long words, with the same first letter, and no second
// word as near. Any other word is returned as it is.
func (l *Lexicon) correct(word string) string {
	letters := []rune(word)
	if len(letters) < fiveLetters || len(letters) > 24 || l.known(word) {
		return word
	}
	for _, r := range letters {
		if !unicode.IsLetter(r) {
			return word
		}
	}
	limit := 1
	if len(letters) >= eightLetters {
		limit = 2
	}
	best, nearest, ties := "", limit+1, 0
	for _, candidate := range l.vocabulary[letters[0]] {
		other := []rune(candidate)
		if len(other) < fiveLetters-1 || len(other)-len(letters) > limit+1 || len(letters)-len(other) > limit+1 {
			continue
		}
		d := distance(letters, other)
		if d > 0 && letters[len(letters)-1] == 's' {
			// A misspelt plural.
			d = min(d, distance(letters[:len(letters)-1], other))
		}
		switch {
		case d < nearest:
			best, nearest, ties = candidate, d, 0
		case d == nearest:
			ties++
		}
	}
	if best == "" || ties > 0 && nearest > 1 {
		return word
	}
	return best
}

// distance is the number of letters to put in, take out, change or swap with
// their neighbour to make b of a.
//
// Optimal string alignment: Damerau (1964), Communications of the ACM 7.
func distance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
