package listing

import (
	"strings"
	"unicode"

	"wreckoner/damage/spell"
)

// Words of fewer than oneEdit letters are not corrected, those of twoEdits may be
// off by two. Words without a meaning (filler, links) are only corrected to from
// fillerEdit letters: else too many words would pass for understood.
const (
	oneEdit    = 5
	twoEdits   = 9
	fillerEdit = 7
	longest    = 24
	tooMany    = 3
)

// correct returns the word of the lexicon that a misspelt word must mean: one
// edit away, two for long words, with the same first letter, and no second
// word as near. Any other word is returned as it is.
func (l *Lexicon) correct(word string) string {
	letters := []rune(word)
	notLetter := func(r rune) bool { return !unicode.IsLetter(r) }
	if len(letters) < oneEdit || len(letters) > longest || l.known(word) || strings.ContainsFunc(word, notLetter) {
		return word
	}
	best, nearest, tied := "", tooMany, false
	for _, candidate := range l.vocabulary[letters[0]] {
		d := l.edits(letters, candidate)
		switch {
		case d < nearest:
			best, nearest, tied = candidate, d, false
		case d == nearest && d > 1:
			tied = true
		}
	}
	if best == "" || tied {
		return word
	}
	return best
}

// edits returns the edits between a word and a word of the lexicon, tooMany
// where there are too many to be a slip.
func (l *Lexicon) edits(letters []rune, candidate string) int {
	other := []rune(candidate)
	apart := max(len(other)-len(letters), len(letters)-len(other))
	if len(other) < oneEdit-1 || apart > 2 || !l.meaning[candidate] && len(letters) < fillerEdit {
		return tooMany
	}
	switch d := slip(letters, other); d {
	case 1:
		if len(letters) < fillerEdit && consonantChanged(letters, other) {
			// "space" is not a slip for "spare".
			return tooMany
		}
		return d
	case 2:
		long := len(letters) >= twoEdits && len(other) >= twoEdits-1
		if l.meaning[candidate] && long && other[len(other)-1] == letters[len(letters)-1] {
			return d
		}
	}
	return tooMany
}

// slip is the distance of a word, or of what it is the plural of, from another.
func slip(letters, other []rune) int {
	d, n := spell.Distance(letters, other), len(letters)
	if d > 1 && letters[n-1] == 's' && n > fillerEdit {
		return min(d, spell.Distance(letters[:n-1], other))
	}
	return d
}

// consonantChanged reports whether two words of one length differ in one letter
// that is not a vowel: a short word then is more likely another word than a slip.
func consonantChanged(a, b []rune) bool {
	if len(a) != len(b) {
		return false
	}
	vowel := func(r rune) bool { return strings.ContainsRune("aeiouy", r) }
	differ, consonant := 0, false
	for i := range a {
		if a[i] != b[i] {
			differ++
			consonant = consonant || !vowel(a[i]) || !vowel(b[i])
		}
	}
	return differ == 1 && consonant
}
