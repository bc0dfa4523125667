package tabular

import (
	"fmt"
	"io"
	"iter"
	"reflect"
	"slices"
	"strings"

	"github.com/gocarina/gocsv"
)

// A Row is one row bound to the caller's struct.
type Row[T any] struct {
	Place
	// Values holds the cells. A field whose column is not in the file is Absent.
	Values T
	// Problem is not nil where the row cannot be read; Values is then zero.
	Problem *Problem
}

// A Place is where a row stands, and what it holds beside the bound cells.
type Place struct {
	// Line is the line, as an editor counts from 1, or the sheet's row, where the
	// row starts; Lines is how many it takes up.
	Line, Lines int
	// Raw is the row as it was, in UTF-8 and without its last line end.
	Raw   string
	cells []string
	table *Table
}

// Cell returns the cell of any column by its name, wanted or extra.
func (p Place) Cell(name string) Cell {
	if p.table == nil {
		return Cell{}
	}
	return p.CellAt(p.table.At(name))
}

// Cells returns all cells of the row, untrimmed, one per header. They are the
// caller's to change. A row with a Problem has none.
func (p Place) Cells() []string { return slices.Clone(p.cells) }

// CellAt returns the cell at a position among the headers, as Table.At gives it;
// that of -1 is Absent. A caller with many rows to read asks for the positions once.
func (p Place) CellAt(i int) Cell {
	if i < 0 || i >= len(p.cells) {
		return Cell{}
	}
	return NewCell(p.cells[i])
}

// At returns the problem that err describes in the row's cell of that column.
func (p Place) At(name string, err error) Problem {
	problem := p.Whole(err)
	if p.table != nil {
		problem.Column = p.table.Header(name)
	}
	problem.Text = p.Cell(name).Text()
	return problem
}

// Whole returns the problem that err describes in the row as a whole.
func (p Place) Whole(err error) Problem {
	problem := Problem{Line: p.Line, Text: excerpt(p.Raw), Message: err.Error()}
	if p.table != nil {
		problem.File, problem.Sheet = p.table.file, p.table.sheet
	}
	return problem
}

// batch bounds the rows that are bound at once, in number and in bytes.
const (
	batchRows  = 256
	batchBytes = 1 << 20
)

// Read yields the rows of the table in order, those that cannot be read with their
// Problem. An error is the last thing it yields: the file cannot be read on. A
// table can be read once.
//
// T is a struct of Cells, each with the name of a wanted column as its csv tag.
// Anything else is a programmer's mistake, and Read panics.
func Read[T any](t *Table) iter.Seq2[Row[T], error] {
	names, at := bindings(reflect.TypeFor[T](), t.header)
	return func(yield func(Row[T], error) bool) {
		b := &binder[T]{names: names, at: at, values: make([]T, batchRows)}
		rows := make([]Row[T], 0, batchRows)
		for {
			rows = rows[:0]
			var ended error
			for size := 0; len(rows) < batchRows && size < batchBytes; {
				r, err := t.source.Next()
				if err != nil {
					ended = err
					break
				}
				size += len(r.Raw)
				row := Row[T]{Place: Place{Line: r.Line, Lines: r.Lines, Raw: r.Raw, cells: r.Cells, table: t}}
				if r.Fault != "" {
					problem := t.fault(r)
					row.Problem = &problem
				}
				rows = append(rows, row)
			}
			if err := b.bind(rows); err != nil {
				yield(Row[T]{}, t.broken(err))
				return
			}
			for _, row := range rows {
				if !yield(row, nil) {
					return
				}
			}
			if ended == io.EOF {
				return
			}
			if ended != nil {
				yield(Row[T]{}, t.broken(ended))
				return
			}
		}
	}
}

// bindings returns the tags of the struct's fields whose columns the table has,
// and where these are.
func bindings(t reflect.Type, h *header) (names []string, at []int) {
	if t.Kind() != reflect.Struct {
		panic(fmt.Sprintf("tabular: %v is not a struct of cells", t))
	}
	for field := range t.Fields() {
		name, _ := tagOf(field)
		switch {
		case name == "" || name == "-":
			panic(fmt.Sprintf("tabular: field %v.%s has no csv tag", t, field.Name))
		case !field.IsExported() || field.Type != reflect.TypeFor[Cell]():
			panic(fmt.Sprintf("tabular: field %v.%s is not an exported Cell", t, field.Name))
		case strings.Contains(name, ",") || strings.HasPrefix(name, "partial"):
			panic(fmt.Sprintf("tabular: gocsv takes the tag %q of %v.%s for an option", name, t, field.Name))
		case !h.wanted[Canonical(name)]:
			panic(fmt.Sprintf("tabular: the tag %q of %v.%s is not a wanted column", name, t, field.Name))
		}
		if i, ok := h.at[Canonical(name)]; ok {
			names = append(names, name)
			at = append(at, i)
		}
	}
	return names, at
}

// binder fills structs by gocsv, of which it uses neither the settings, which are
// global, nor the forms with callbacks, which leave goroutines behind. It is the
// gocsv.CSVReader of one batch after the other.
type binder[T any] struct {
	names  []string
	at     []int
	values []T
	rows   [][]string
}

func (b *binder[T]) bind(rows []Row[T]) error {
	b.rows = append(b.rows[:0], b.names)
	for i := range rows {
		if rows[i].Problem == nil {
			b.rows = append(b.rows, rows[i].pick(b.at))
		}
	}
	if len(b.rows) == 1 || len(b.names) == 0 {
		return nil
	}
	values := b.values[:len(b.rows)-1]
	if err := gocsv.UnmarshalCSV(b, &values); err != nil {
		return err
	}
	n := 0
	for i := range rows {
		if rows[i].Problem == nil {
			rows[i].Values = values[n]
			n++
		}
	}
	return nil
}

// pick returns the cells at those positions.
func (p Place) pick(at []int) []string {
	picked := make([]string, len(at))
	for i, from := range at {
		if from < len(p.cells) {
			picked[i] = p.cells[from]
		}
	}
	return picked
}

// ReadAll returns the header of the bound columns and the rows of the batch.
func (b *binder[T]) ReadAll() ([][]string, error) { return b.rows, nil }

// Read is part of gocsv.CSVReader; gocsv.UnmarshalCSV does not call it.
func (b *binder[T]) Read() ([]string, error) { return nil, io.EOF }
