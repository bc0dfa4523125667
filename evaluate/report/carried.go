package report

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"wreckoner/evaluate/money"
)

// A Carried writes rows that came from a list, cell by cell as they are.
type Carried interface {
	// Row writes one row.
	Row(cells []string) error
	// Raw writes a row that could not be read, as it was; false says that this
	// kind of file, or this row, does not allow it.
	Raw(line string) (bool, error)
	// Guarded is how many cells were prefixed with ' because a spreadsheet would
	// run them.
	Guarded() int
	// Finish writes what is left.
	Finish() error
	// Close gives back what is held, finished or not.
	Close() error
}

// CarriedCSV returns a writer of CSV in UTF-8.
func CarriedCSV(w io.Writer, comma rune, guard Guard) Carried {
	b := bufio.NewWriterSize(w, 1<<16)
	c := &carriedCSV{buffer: b, csv: csv.NewWriter(b), comma: comma, guard: guard}
	c.csv.Comma = comma
	return c
}

type carriedCSV struct {
	buffer  *bufio.Writer
	csv     *csv.Writer
	comma   rune
	guard   Guard
	guarded int
	row     []string
}

func (c *carriedCSV) Row(cells []string) error {
	c.row = append(c.row[:0], cells...)
	for i, cell := range c.row {
		if bool(c.guard) && !isNumber(cell) && harmless(cell) != cell {
			c.row[i] = harmless(cell)
			c.guarded++
		}
	}
	return c.csv.Write(c.row)
}

// isNumber reports whether the text is a plain number, such as -5, which no
// spreadsheet runs.
func isNumber(text string) bool {
	if strings.Trim(text, "+-.0123456789") != "" {
		return false
	}
	_, err := strconv.ParseFloat(text, 64)
	return err == nil
}

// Raw refuses a row in which any cell may start with what a spreadsheet runs, for
// where its cells start nobody can tell.
func (c *carriedCSV) Raw(line string) (bool, error) {
	if c.guard {
		for _, cell := range strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(",;\t\"'\n\r ", r) }) {
			if !isNumber(cell) && harmless(cell) != cell {
				return false, nil
			}
		}
	}
	c.csv.Flush()
	_, err := c.buffer.WriteString(line + "\n")
	return true, err
}

func (c *carriedCSV) Guarded() int { return c.guarded }

func (c *carriedCSV) Finish() error {
	c.csv.Flush()
	if err := c.csv.Error(); err != nil {
		return err
	}
	return c.buffer.Flush()
}

func (c *carriedCSV) Close() error { return nil }

// CarriedWorkbook returns a writer of an .xlsx workbook with one sheet, the
// header its first row.
func CarriedWorkbook(w io.Writer, sheet string, header []string) (Carried, error) {
	book, err := NewWorkbook(sheet, header, carriedWidths(header), nil)
	if err != nil {
		return nil, err
	}
	book.carried = true
	return &carriedWorkbook{out: w, Workbook: book}, nil
}

// carriedWidths are those of columns whose rows are not known yet.
func carriedWidths(header []string) []int {
	widths := make([]int, len(header))
	for i, h := range header {
		switch strings.ToLower(h) {
		case "description", "why":
			widths[i] = 58
		case "damage", "proposed", "note", "not_understood":
			widths[i] = 30
		default:
			widths[i] = 12
		}
	}
	return widths
}

type carriedWorkbook struct {
	*Workbook
	out    io.Writer
	values []any
}

// Row writes what is a plain number as a number, and everything else as text.
func (c *carriedWorkbook) Row(cells []string) error {
	c.values = c.values[:0]
	for _, cell := range cells {
		if x, ok := exact(cell); ok {
			c.values = append(c.values, x)
		} else {
			c.values = append(c.values, cell)
		}
	}
	return c.Workbook.Row(c.values)
}

// exact reads a text that is printed just so again from the number, and so loses
// nothing as one: 1250, but neither 0042 nor 1.50.
func exact(text string) (float64, bool) {
	if len(text) == 0 || len(text) > 15 {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || money.Plain(x) != text {
		return 0, false
	}
	return x, true
}

func (c *carriedWorkbook) Raw(string) (bool, error) { return false, nil }
func (c *carriedWorkbook) Guarded() int             { return 0 }
func (c *carriedWorkbook) Finish() error            { return c.Workbook.Finish(c.out) }
