// Package report writes results for people and for programs: tables for the
// terminal and for Markdown, flat records for CSV, and JSON.
package report

import (
	"math"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// A Document is what a person reads: paragraphs and tables in order.
type Document struct {
	Blocks []Block
}

// A Block is a paragraph, or a table with a heading.
type Block struct {
	// Heading stands above the block; "" for none.
	Heading string
	// Text is a paragraph, wrapped to the width at hand.
	Text  string
	Table *Table
	// Commands are command lines, to be copied: they are never wrapped.
	Commands []string
}

// Say adds a paragraph.
func (d *Document) Say(text string) { d.Blocks = append(d.Blocks, Block{Text: text}) }

// Show adds a table under a heading. A table without rows is left out.
func (d *Document) Show(heading string, t *Table) {
	if len(t.Rows) > 0 {
		d.Blocks = append(d.Blocks, Block{Heading: heading, Table: t})
	}
}

// A Table is rows of cells. A cell may have several lines, split by "\n".
type Table struct {
	Columns []Column
	Rows    [][]string
	// Under, where it is not empty, has a line for each row that stands in the row's last
	// line, from the column From on, over the columns behind it: their cells have none there.
	// Above stands likewise in the first line of the heads.
	Under []string
	Above string
	From  int
}

// A Column says how its cells stand.
type Column struct {
	Head string
	// Right aligns to the right, as numbers are.
	Right bool
	// Gives says that this column gives way where the width is short, its text
	// cut; Wraps that it does with its text going on in the next line. At least
	// one column of a wide table must do either.
	Gives, Wraps bool
}

// The columns: text to the left, numbers to the right, text that wraps, and text that is cut where there is no room.
func left(head string) Column  { return Column{Head: head} }
func right(head string) Column { return Column{Head: head, Right: true} }
func wraps(head string) Column { return Column{Head: head, Wraps: true} }
func gives(head string) Column { return Column{Head: head, Gives: true} }

func tableOf(columns ...Column) *Table { return &Table{Columns: columns} }

// Add appends a row.
func (t *Table) Add(cells ...string) { t.Rows = append(t.Rows, cells) }

// Pounds prints an amount for reading, to the nearest 10 of the currency: the
// digits below are noise. It starts from the pence, as JSON has them, so that the
// two never differ on an edge.
func Pounds(x float64) string { return money.Group(int64(money.Tens(x))) }

// Whole prints an exact amount without its pence where they are zero.
func Whole(p money.Pence) string {
	if p%100 == 0 {
		return money.Group(int64(p / 100))
	}
	return p.String()
}

// DontBid is what a person reads where the price to stop at is nothing.
const DontBid = "don't bid"

// StopWords prints a price to stop at.
func StopWords(p money.Pence) string {
	if p == 0 {
		return DontBid
	}
	return Whole(p)
}

// Range prints an interval of amounts.
func Range(low, high float64) string { return Pounds(low) + " to " + Pounds(high) }

// Percent prints a share, to the whole percent; what is rare but possible does
// not print as never.
func Percent(share float64) string {
	switch {
	case share > 0 && share < 0.005:
		return "<1%"
	case share < 1 && share >= 0.995:
		return ">99%"
	}
	return money.Group(int64(math.Round(100*share))) + "%"
}

// CleanLines makes each line of a text safe to print.
func CleanLines(text string) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = tabular.Sanitise(line)
	}
	return strings.Join(lines, "\n")
}
