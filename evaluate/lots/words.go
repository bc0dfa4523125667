package lots

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// What people call our columns: column, called.
//
//go:embed headers.csv
var headersCSV string

// What people write for the choices of a column: column, read, words.
//
//go:embed words.csv
var wordsCSV string

var calledBy = layout.Parse(headersCSV)

// Called returns what people call a column of a lot list, beside its own name.
func Called(column string) []string { return calledBy[column] }

// choices are what people write for each choice of a column, by column and word.
var choices = sync.OnceValue(func() map[string]map[string]string { return layout.Words(wordsCSV) })

// wordKey is the form in which people's words are compared.
func wordKey(text string) string {
	if choiceLike(text) {
		return text
	}
	text = straight.Replace(text)
	return strings.TrimRight(strings.ToLower(strings.Join(strings.Fields(text), " ")), "!")
}

// straight makes quotes, dashes and spaces those of a typewriter.
var straight = strings.NewReplacer("’", "'", "–", "-", "\u00a0", " ")

// choiceLike reports whether a text is a plain word already: lower-case letters and digits only.
func choiceLike(text string) bool {
	for i := range len(text) {
		if c := text[i]; (c < 'a' || c > 'z') && (c < '0' || c > '9') {
			return false
		}
	}
	return true
}

// choice returns what somebody's word for one of a column's choices means.
func choice(column, text string) (string, bool) {
	meant, ok := choices()[column][wordKey(text)]
	return meant, ok
}

// marker takes from a category what people write around it: Cat N, category S (structural).
func marker(text string) string {
	key := strings.Trim(wordKey(text), ".")
	if before, _, bracket := strings.Cut(key, "("); bracket && strings.TrimSpace(before) != "" {
		key = strings.TrimSpace(before)
	}
	for _, word := range []string{"category", "cat.", "cat"} {
		if rest, ok := strings.CutPrefix(key, word); ok {
			key = strings.TrimLeft(rest, " .:-")
			break
		}
	}
	for _, word := range []string{" - non-structural", " - structural", " non-structural", " structural"} {
		if letter := strings.TrimSuffix(key, word); len(letter) == 1 && agrees(letter, word) {
			return letter
		}
	}
	return key
}

// agrees reports whether a letter and the word behind it say the same.
func agrees(letter, word string) bool {
	return letter == "n" == strings.Contains(word, "non-") && slices.Contains([]string{"s", "n"}, letter)
}

// ParseWords reads what words mean in columns: COLUMN:WORD=MEANING each.
func ParseWords(all []string) (map[string]map[string]string, error) {
	words := map[string]map[string]string{}
	for _, text := range all {
		column, rest, ok := strings.Cut(text, ":")
		word, meant, also := strings.Cut(rest, "=")
		i := slices.IndexFunc(lotColumns,
			func(c lotColumn) bool { return tabular.Canonical(c.name) == tabular.Canonical(column) })
		switch {
		case !ok || !also || wordKey(word) == "" || strings.TrimSpace(meant) == "":
			return nil, fmt.Errorf("%q: write COLUMN:WORD=MEANING, such as starts:maybe=unknown", text)
		case i < 0:
			return nil, fmt.Errorf("%q: %w", text, tabular.Unknown("column", column, ColumnNames()))
		}
		name := lotColumns[i].name
		if words[name] == nil {
			words[name] = map[string]string{}
		}
		words[name][wordKey(word)] = strings.TrimSpace(meant)
	}
	return words, nil
}
