package table

import (
	"io"

	"wreckoner/evaluate/tabular"
)

// CheckSettings reads the text of a shop.toml by itself.
func CheckSettings(text string) ([]tabular.Problem, error) {
	starter, err := starterSettings()
	if err != nil {
		return nil, err
	}
	r := settingsReader{file: SettingsFile}
	r.read(text, starter)
	return r.problems, nil
}

// LexiconFrom reads the text of a lexicon.csv by itself.
func LexiconFrom(r io.Reader) (*Lexicon, []tabular.Problem, error) {
	l, problems, _, err := readLexicon(LexiconFile, r)
	return l, problems, err
}
