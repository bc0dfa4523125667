package table

import (
	"io"

	"wreckoner/evaluate/table/record"
)

// CheckSettings reads the text of a shop.toml by itself.
func CheckSettings(text string) ([]record.Problem, error) {
	starter, err := starterSettings()
	if err != nil {
		return nil, err
	}
	r := settingsReader{file: SettingsFile}
	r.read(text, starter)
	return r.problems, nil
}

// LexiconFrom reads the text of a lexicon.csv by itself.
func LexiconFrom(r io.Reader) (*Lexicon, []record.Problem, error) {
	l, problems, _, err := readLexicon(LexiconFile, r)
	return l, problems, err
}
