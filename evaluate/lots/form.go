package lots

import (
	_ "embed"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
)

// A form is what a column's header says of how its cells are to be read.
type form struct {
	thousands bool // "Guess (k)"
	unit      unit
	opposite  bool // "Keys missing": yes says that there are none
}

// A unit is that of a distance without one.
type unit uint8

const (
	miles unit = iota
	kilometres
	eitherUnit // "km/miles"
)

// What people call columns whose yes is our no: column, called.
//
//go:embed opposites.csv
var oppositesCSV string

var oppositeOf = layout.Parse(oppositesCSV)

// isOpposite reports whether a header says the opposite of a column.
func isOpposite(column, header string) bool {
	return slices.ContainsFunc(oppositeOf[column],
		func(name string) bool {
			return tabular.Canonical(name) == tabular.Canonical(strings.Join(strings.Fields(header), " "))
		})
}

var thousandsForm = regexp.MustCompile(`(?:^|[^a-z0-9'])(?:[£$€]?k|[£$€]?'?000'?s?|thousands?|thou)(?:$|[^a-z0-9])`)

// formOf reads a header.
func formOf(column, header string) form {
	low := strings.ToLower(header)
	f := form{thousands: thousandsForm.MatchString(low), opposite: isOpposite(column, header)}
	words := strings.FieldsFunc(low, func(c rune) bool { return c < 'a' || c > 'z' })
	has := func(names ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(names, w) })
	}
	if has("km", "kms", "kilometre", "kilometres", "kilometer", "kilometers") {
		if f.unit = kilometres; has("miles", "mile", "mls", "mi") {
			f.unit = eitherUnit
		}
	}
	return f
}

// form is that of one of the list's columns.
func (r *lotReader) form(column string) form { return r.forms[column] }

// formed says what headers say of the cells below them.
func (r *lotReader) formed() []string {
	var said []string
	for _, c := range lotColumns {
		if f := r.forms[c.name]; f.opposite {
			said = append(said, fmt.Sprintf("%s: %q is the opposite of %s: yes there is read as no, and no as yes",
				r.table.File(), r.table.Header(c.name), c.name))
		}
	}
	return said
}

// turned returns the choice that a cell in a column of the opposite means, "" where that is not clear.
func turned(text, read string) string {
	switch wordKey(text) {
	case "y", "yes", "true", "1", "✓", "✔":
		return "no"
	case "n", "no", "false", "0", "✗", "✘":
		return "yes"
	}
	if read == "unknown" {
		return read
	}
	for _, word := range []string{"run", "start", "drive", "missing", "lost", "present"} { // says it in full
		if strings.Contains(wordKey(text), word) {
			return read
		}
	}
	return ""
}

// mostThousands is the most that a price in a column of thousands can be: 250 thousand.
const mostThousands = 250_00

// scaled returns the amount of a column whose header says that it is in thousands, where it has no k of its own.
func scaled(text string, a typed.Amount) (typed.Amount, error) {
	if a.None || a.Thousands {
		return a, nil
	}
	if a.High > mostThousands {
		return a, fmt.Errorf("%q is in a column of thousands; write %s for %s", text, trimZeros(a.High/1000),
			trimZeros(a.High))
	}
	a.Low, a.High, a.Pence, a.Thousands = a.Low*1000, a.High*1000, a.Pence*1000, true
	return a, nil
}

// leastMiles is below what a bare number on the clock was mostly typed in thousands.
const leastMiles = 1000

// distance reads an odometer as the column's header says.
func (f form) distance(text string) (typed.Distance, error) {
	d, err := typed.ParseDistance(text, f.unit == kilometres)
	switch {
	case err != nil || d.None:
	case d.Unsaid && f.unit == eitherUnit:
		err = fmt.Errorf("%q could be miles or kilometres; write %s miles or %s km", text, text, text)
	case d.Bare && d.Miles > 0 && d.Miles < leastMiles && f.thousands:
		d.Miles *= 1000
	case d.Bare && d.Miles > 0 && d.Miles < leastMiles:
		err = fmt.Errorf("%q may be in thousands; write %sk or %s miles", text, text, text)
	}
	return d, err
}
