package tabular

import (
	"fmt"
	"io"
)

// A Table is a source whose header has been read.
type Table struct {
	source      Source
	file, sheet string
	header      *header
	line        int
	raw         string
}

// Open reads the header and finds the wanted columns. A header that cannot be
// read, that lacks a required column or has a wanted one twice gives Problems;
// any other error is the source's own, with the file's name.
func Open(source Source, o Options) (*Table, error) {
	t := &Table{source: source}
	t.file, t.sheet = source.Place()
	first, err := source.Next()
	switch {
	case err == io.EOF:
		return nil, Problems{{File: t.file, Sheet: t.sheet, Message: "is empty; the first line must name the columns"}}
	case err != nil:
		return nil, t.broken(err)
	}
	t.line, t.raw = first.Line, first.Raw
	if first.Fault != "" {
		return nil, Problems{t.fault(first)}
	}
	h, faults := newHeader(first.Cells, o)
	if len(faults) > 0 {
		problems := make(Problems, len(faults))
		for i, message := range faults {
			problems[i] = Problem{File: t.file, Sheet: t.sheet, Line: t.line, Text: excerpt(t.raw), Message: message}
		}
		return nil, problems
	}
	t.header = h
	return t, nil
}

// broken is the error of a file that cannot be read on.
func (t *Table) broken(err error) error {
	return fmt.Errorf("%s: cannot be read: %w", Sanitise(t.file), err)
}

// fault is the problem of a record that cannot be read.
func (t *Table) fault(r Record) Problem {
	return Problem{File: t.file, Sheet: t.sheet, Line: r.Line, Text: r.Found, Message: r.Fault}
}

// File returns the file's name as given to the source.
func (t *Table) File() string { return t.file }

// Sheet returns the sheet's name; empty where the file is no spreadsheet.
func (t *Table) Sheet() string { return t.sheet }

// HeaderLine returns the line, or the sheet's row, on which the header starts.
func (t *Table) HeaderLine() int { return t.line }

// HeaderRaw returns the header as it was, for a file of rejected rows.
func (t *Table) HeaderRaw() string { return t.raw }

// Headers returns all headers as the file spells them, trimmed. A column without
// one is "".
func (t *Table) Headers() []string { return t.header.spelled }

// Extra returns the headers, as the file spells them, of the columns that were
// not asked for.
func (t *Table) Extra() []string { return t.header.extra }

// Has reports whether the file has the column, wanted or extra.
func (t *Table) Has(name string) bool { return t.At(name) >= 0 }

// Header returns the header of a column as the file spells it, or the name itself
// where there is none.
func (t *Table) Header(name string) string {
	if i := t.At(name); i >= 0 {
		return t.header.spelled[i]
	}
	return name
}

// At returns the position of a column, wanted or extra, among the headers; -1
// where the file does not have it.
func (t *Table) At(name string) int {
	canonical := Canonical(name)
	if i, ok := t.header.at[canonical]; ok {
		return i
	}
	if i, ok := t.header.first[canonical]; ok {
		return i
	}
	return -1
}

// Notices says what was guessed or passed over, each with the file's name. They
// are complete after the last row.
func (t *Table) Notices() []string {
	var notices []string
	for _, n := range t.header.notices {
		notices = append(notices, t.file+": "+n)
	}
	return append(notices, t.source.Notices()...)
}
