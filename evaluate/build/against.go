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
			if near := tabular.Nearest(b.Name, names); near != "" && digits(near) == digits(b.Name) {
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

// digits are what tells "sale 101" from "sale 102".
func digits(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, name)
}
