package tabular

import (
	"encoding/csv"
	"strings"
)

// Line writes cells as a line of CSV, without its end. The delimiter is a file's own: one that cannot stand between
// cells, such as a quote, joins them as they are.
func Line(cells []string, delimiter rune) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.Comma = delimiter
	if err := w.Write(cells); err != nil {
		return strings.Join(cells, string(delimiter))
	}
	w.Flush()
	return strings.TrimSuffix(b.String(), "\n")
}

// YesNo writes yes or no.
func YesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}
