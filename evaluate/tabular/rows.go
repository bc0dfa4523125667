package tabular

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
)

// ColumnsOf returns the columns that a struct of Cells names in its csv tags, in their order: those with the option
// omitempty may be missing, the others are required.
func ColumnsOf[T any]() []Column {
	var out []Column
	for field := range reflect.TypeFor[T]().Fields() {
		name, optional := tagOf(field)
		out = append(out, Column{Name: name, Required: !optional})
	}
	return out
}

// tagOf returns the column that a field's csv tag names, and whether it may be missing.
func tagOf(field reflect.StructField) (name string, optional bool) {
	return strings.CutSuffix(field.Tag.Get("csv"), ",omitempty")
}

// ReadAll reads a table whose columns are those of T. row gets each row that can be read, with a Check of its cells.
// What is wrong with the header, with rows and by the checks is added to problems. The table is nil where its header
// cannot be read; the error is for a file that cannot be read on.
func ReadAll[T any](source Source, problems *[]Problem, row func(v *T, k *Check)) (*Table, error) {
	t, err := Open(source, Options{Columns: ColumnsOf[T]()})
	var faults Problems
	if errors.As(err, &faults) {
		*problems = append(*problems, faults...)
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return t, Rows(t, problems, row)
}

// Rows reads the rows of a table that was opened, as ReadAll does.
func Rows[T any](t *Table, problems *[]Problem, row func(v *T, k *Check)) error {
	for r, err := range Read[T](t) {
		switch {
		case err != nil:
			return err
		case r.Problem != nil:
			*problems = append(*problems, *r.Problem)
		default:
			row(&r.Values, &Check{Place: r.Place, problems: problems})
		}
	}
	return nil
}

// Ignored says which columns nobody asked for, in a notice with the file's name; none where there are none.
func (t *Table) Ignored() []string {
	if len(t.header.extra) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%s: columns ignored: %s", t.file, strings.Join(t.header.extra, ", "))}
}

// A Check reads the cells of one row and keeps what is wrong with them. Its methods take the column's name and the
// cell, and return the zero value of a cell that is at fault.
type Check struct {
	Place
	// Failed says that something is wrong with the row.
	Failed   bool
	problems *[]Problem
}

// Bad keeps an error, unless it is nil, as a problem of the row's cell in that column, and reports whether there was
// one.
func (k *Check) Bad(column string, err error) bool {
	if err != nil {
		k.Failed = true
		*k.problems = append(*k.problems, k.At(column, err))
	}
	return err != nil
}

// Name reads a text that has to be there; blank says what to write where it is not.
func (k *Check) Name(column string, c Cell, blank string) string {
	if !c.Given() {
		k.Bad(column, errors.New("is blank; "+blank))
	}
	return c.Text()
}

// Number reads a number from least to most.
func (k *Check) Number(column string, c Cell, least, most float64) float64 {
	return checked(k, column, func() (float64, error) { return c.Number(least, most) })
}

// Share reads a share from 0 to 1.
func (k *Check) Share(column string, c Cell) float64 { return checked(k, column, c.Fraction) }

// Chance reads a share above 0; none says what a chance of 0 would mean, and what to do.
func (k *Check) Chance(column string, c Cell, none string) float64 {
	x, err := c.Fraction()
	if err == nil && x == 0 {
		err = errors.New("a chance of 0 " + none)
	}
	k.Bad(column, err)
	return x
}

// YesNo reads yes or no.
func (k *Check) YesNo(column string, c Cell) bool { return checked(k, column, c.YesNo) }

// Int reads a whole number from least to most.
func (k *Check) Int(column string, c Cell, least, most int) int {
	return checked(k, column, func() (int, error) { return c.Int(least, most) })
}

func checked[V any](k *Check, column string, read func() (V, error)) V {
	v, err := read()
	k.Bad(column, err)
	return v
}
