package build

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// Against says what in the ledger does not fit the frozen builds, which are
// given by name with the hammer price: another price than was frozen, a build
// that is nearly spelt like one of them, a date after today.
func (l *Ledger) Against(frozen map[string]money.Pence, today time.Time) []string {
	var notices, names []string
	for name := range frozen {
		names = append(names, name)
	}
	slices.Sort(names)
	known := func(b *Build) (money.Pence, bool) {
		for name, hammer := range frozen {
			if tabular.Canonical(name) == tabular.Canonical(b.Name) {
				return hammer, true
			}
		}
		return 0, false
	}
	for _, b := range l.Builds {
		hammer, ok := known(b)
		if !ok {
			if near := meant(b.Name, names); near != "" {
				notices = append(notices,
					fmt.Sprintf("%s: no estimate has the build name %q; did you mean %q? its rows are not counted", l.File, b.Name,
						near))
			}
			continue
		}
		if b.Hammer.Given && b.Hammer.Pence != hammer {
			notices = append(notices,
				fmt.Sprintf("%s: the estimate of build %q has a hammer price of %s and the ledger %s; the ledger's counts", l.File,
					b.Name, hammer, b.Hammer.Pence))
		}
		for _, e := range b.Entries {
			if e.Date.After(today) {
				notices = append(notices, fmt.Sprintf("%s:%d: %s is after today; is it mistyped? days are counted up to it",
					l.File, e.Line, e.Date.Format(time.DateOnly)))
			}
		}
	}
	return notices
}

// meant returns which of some names somebody who wrote another most likely meant: one with the same figures, such as
// "sale 102" for "sale 1O2" or "lot 102", or where there are none, one with a slip of the keyboard.
func meant(name string, among []string) string {
	own := digits(name)
	if near := tabular.Nearest(name, among); near != "" && digits(near) == own {
		return near
	}
	if i := slices.IndexFunc(among, func(n string) bool { return own != "" && digits(n) == own }); i >= 0 {
		return among[i]
	}
	return ""
}

// digits are what tells "sale 101" from "sale 102". Letters that look like figures count as such in a word that has one.
func digits(name string) string {
	var all strings.Builder
	for _, word := range strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if strings.ContainsAny(word, "0123456789") {
			word = strings.NewReplacer("O", "0", "o", "0", "I", "1", "l", "1").Replace(word)
		}
		for _, r := range word {
			if unicode.IsDigit(r) {
				all.WriteRune(r)
			}
		}
	}
	return all.String()
}
