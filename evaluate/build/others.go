package build

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// mostOthers is how many builds are named in one notice.
const mostOthers = 8

// Others says which sold builds of the ledger are not among those of the names, "" for none.
func (l *Ledger) Others(names []string) string {
	var others []string
	for _, b := range l.Builds {
		key := tabular.NameKey(b.Name)
		known := slices.ContainsFunc(names, func(name string) bool { return tabular.NameKey(name) == key })
		if b.Finished() && !known {
			others = append(others, fmt.Sprintf("%q", b.Name))
		}
	}
	if len(others) == 0 {
		return ""
	}
	n, are, them, more := len(others), "are", "them", ""
	if n == 1 {
		are, them = "is", "it"
	}
	if n > mostOthers {
		others, more = others[:mostOthers], fmt.Sprintf(" and %d more", n-mostOthers)
	}
	return fmt.Sprintf("%s: %s %s sold and not reviewed, as no estimate of %s was read: %s%s", l.File,
		tabular.Count(n, "more build"), are, them, strings.Join(others, ", "), more)
}
