// Package typed reads cells as people type them: "£2,100 + VAT", "48k", "69 plate", "04/03/2026", "1h30". What one
// person would read is read; what a careful person might read in two ways is an error that says both and what to
// write. Errors come without file and line, for tabular.Place.At.
package typed

import (
	"strings"

	"wreckoner/evaluate/tabular"
)

// plain returns a text in lower case with single spaces and straight quotes.
func plain(text string) string {
	text = straight.Replace(text)
	return strings.ToLower(strings.Join(strings.Fields(text), " "))
}

// shown cuts a text to what fits into a message.
func shown(text string) string { return tabular.Shorten(text, 60) }

// digitsOnly reports whether the text is 1 to most digits.
func digitsOnly(text string, most int) bool {
	if text == "" || len(text) > most {
		return false
	}
	for _, d := range []byte(text) {
		if d < '0' || d > '9' {
			return false
		}
	}
	return true
}

// straight makes quotes, dashes and spaces those of a typewriter.
var straight = strings.NewReplacer("’", "'", "‘", "'", "–", "-", "—", "-", "−", "-",
	"\u00a0", " ", "\u202f", " ",
	"\u2009", " ")
