package lots

import (
	"io"

	"wreckoner/damage"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// LexiconFrom reads the text of a lexicon.csv by itself.
func LexiconFrom(r io.Reader) (*Lexicon, []tabular.Problem, error) {
	l, problems, _, err := readLexicon(shop.LexiconFile, r)
	return l, problems, err
}

// ParseCode reads a damage code as people type it.
func ParseCode(text string) (damage.Code, error) { return parseCode(text) }
