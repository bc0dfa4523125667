package evidence

import (
	_ "embed"
	"slices"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// What people call the columns of each file: file and column, called. Past lots have the lot list's columns too.
//
//go:embed headers.csv
var headersCSV string

var calledBy = layout.Parse(headersCSV)

// columns are those of one file, needed ones first. The file's first word, such as adverts, is what headers.csv has it
// by.
type columns struct {
	file           string
	needed, others []string
	// lots says that the file has a lot list's columns, called as they are there; days are columns of days.
	lots bool
	days []string
}

// all are the columns, none of them demanded by the reader of tables: what is missing is said here.
func (c columns) all() (out []tabular.Column) {
	for _, name := range slices.Concat(c.needed, c.others) {
		out = append(out, tabular.Column{Name: name})
	}
	return out
}

// plan finds the columns of a header by what people call them.
func (c columns) plan(header []string) *layout.Plan {
	var all []layout.Column
	for _, name := range slices.Concat(c.needed, c.others) {
		called := calledBy[c.file+" "+name]
		if c.lots {
			called = append(slices.Clone(called), lots.Called(listed(name))...)
		}
		all = append(all, layout.Column{Column: tabular.Column{Name: name}, Called: called})
	}
	return layout.FromHeader(header, layout.Options{Columns: all}, nil)
}

// listed is what a lot list has the column by.
func listed(name string) string {
	if name == "miles" {
		return "odometer"
	}
	return name
}

// at is where a column is in a header, by its own name or by what people call it, -1 for nowhere.
func (c columns) at(header []string, column string) int {
	if i, ok := c.plan(header).At()[tabular.Canonical(column)]; ok {
		return i
	}
	return slices.IndexFunc(header, func(h string) bool { return tabular.Canonical(h) == tabular.Canonical(column) })
}

// yearFirst says that a text is blank or starts with a year and a dash, so that it shows no order of day and month:
// what is in most cells is told at a glance.
func yearFirst(text string) bool { return text == "" || len(text) > 4 && text[4] == '-' }
