package evidence

import (
	_ "embed"
	"errors"
	"io"
	"os"
	"slices"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
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
func (c columns) all() []tabular.Column {
	return tabular.ColumnsOf(append(append([]string{"?"}, c.needed...), c.others...)...)
}

// plan finds the columns of a header by what people call them.
func (c columns) plan(header []string) *layout.Plan {
	var all []layout.Column
	for _, name := range slices.Concat(c.needed, c.others) {
		called := calledBy[c.file+" "+name]
		if c.lots {
			called = append(slices.Clone(called), lots.Called(name)...)
		}
		all = append(all, layout.Column{Column: tabular.Column{Name: name}, Called: called})
	}
	return layout.FromHeader(header, layout.Options{Columns: all}, nil)
}

// order is that of the figures in dates such as 04/03/2026, as the file's other dates show it: typed.Unknown where
// they show none, or both, or where no date can be two.
func (c columns) order(path string) (order typed.Order, err error) {
	f, err := os.Open(path)
	if err != nil {
		return typed.Unknown, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	source := layout.LookAhead(tabular.NewCSV(path, f))
	at := c.plan(source.First().Cells).At()
	var days []int
	for _, name := range c.days {
		if i, ok := at[tabular.Canonical(name)]; ok {
			days = append(days, i)
		}
	}
	var votes [3]int
	open := false
	for {
		record, err := source.Next()
		switch {
		case errors.Is(err, io.EOF) && open:
			return typed.Decide(votes), nil
		case errors.Is(err, io.EOF):
			return typed.Unknown, nil
		case err != nil:
			return typed.Unknown, nil // the reading itself says what is wrong
		}
		for _, i := range days {
			if i >= len(record.Cells) || yearFirst(record.Cells[i]) {
				continue
			}
			shows, either := typed.ShowsOrder(record.Cells[i])
			votes[shows]++
			open = open || either
		}
	}
}

// yearFirst says that a text is blank or starts with a year and a dash, so that it shows no order of day and month:
// what is in most cells is told at a glance.
func yearFirst(text string) bool { return text == "" || len(text) > 4 && text[4] == '-' }
