package build

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// Fit returns how many columns of a ledger a file has, and how many it lacks that a ledger must have. The source is
// read to its end.
func Fit(source tabular.Loose, how Reading) (found, missing int, err error) {
	r := &ledgerReader{how: how}
	plan, err := layout.Survey(source, layout.Options{Columns: r.columns(), Key: "build", Given: how.Map,
		HeaderRow: how.HeaderRow})
	if err != nil {
		return 0, 0, err
	}
	found, missing = plan.Count()
	return found, missing, nil
}

// Went says where each row went that was read, a line each in the order of the file. known are the frozen builds'
// names,
// nil where nobody asks whether a build is one of them.
func (l *Ledger) Went(known []string) []string {
	type went struct {
		line int
		text string
	}
	var rows []went
	for _, b := range l.Builds {
		frozen := known == nil || slices.ContainsFunc(known,
			func(name string) bool { return tabular.Canonical(name) == tabular.Canonical(b.Name) })
		for i := range b.Entries {
			e := &b.Entries[i]
			text := fmt.Sprintf("%s:%d: %s", l.File, e.Line, b.Name)
			if !frozen {
				text += " (not among the builds)"
			}
			rows = append(rows, went{e.Line, text + ": " + e.went()})
		}
	}
	slices.SortStableFunc(rows, func(a, b went) int { return a.line - b.line })
	lines := make([]string, len(rows))
	for i, r := range rows {
		lines[i] = r.text
	}
	return lines
}

// went says where a row went, with its amounts.
func (e *Entry) went() string {
	where := e.Kind.String()
	switch e.Kind {
	case ZoneEntry:
		where = e.Spot.String()
		if e.Grade > 0 {
			where += fmt.Sprint(int(e.Grade))
		}
		if e.ByWords {
			where += ", by its words"
		}
		if e.State != JobOpen {
			where += ", " + e.State.String()
		}
	}
	parts := []string{where}
	if e.What != "" && !strings.EqualFold(e.What, e.Kind.String()) {
		parts[0] += fmt.Sprintf(" (%s)", e.What)
	}
	if !e.Date.IsZero() {
		parts = append(parts, e.Date.Format(time.DateOnly))
	}
	if e.Paid {
		parts = append(parts, e.Spend.String())
	}
	if e.Worked {
		parts = append(parts, fmt.Sprintf("%s hours", shortHours(e.Hours)))
	}
	return strings.Join(parts, ", ")
}

// shortHours writes hours with up to two decimals.
func shortHours(hours float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(hours, 'f', 2, 64), "0"), ".")
}
