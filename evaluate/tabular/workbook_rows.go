package tabular

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// A Workbook is the rows of one sheet: a Source. Numbers come as text
// without grouping or currency, dates as YYYY-MM-DD, booleans as yes and no,
// formulas as the value that the workbook keeps of them. A row that stands alone
// above the header, such as a title, is passed over with a notice.
type Workbook struct {
	file    string
	book    *book
	tab     tab
	xml     *reader
	number  int // of the row last read
	headers int
	ahead   []row // read to tell a title from a header
	ended   error
	loose   bool // every row as it stands, for a caller that finds the header
	from    int  // the row to begin at
	notices []string

	hidden, uncounted, errors noticeCount
}

// A noticeCount counts what is worth a notice, and keeps the first place.
type noticeCount struct {
	n     int
	first string
}

func (c *noticeCount) add(place string) {
	if c.n == 0 {
		c.first = place
	}
	c.n++
}

// row is one row of the sheet, as far as its last cell that is not blank.
type row struct {
	number int
	cells  []string
	fault  string
}

// Place returns the file's name and the sheet's.
func (s *Workbook) Place() (file, sheet string) { return s.file, s.tab.name }

// Notices says what was guessed or passed over.
func (s *Workbook) Notices() []string {
	notices := s.notices
	say := func(c noticeCount, one, many string) {
		switch {
		case c.n == 1:
			notices = append(notices, fmt.Sprintf("%s: sheet %s: %s", s.file, s.tab.name, fmt.Sprintf(one, c.first)))
		case c.n > 1:
			notices = append(notices, fmt.Sprintf("%s: sheet %s: %s", s.file, s.tab.name, fmt.Sprintf(many, c.n, c.first)))
		}
	}
	say(s.hidden, "row %s is hidden there; it is read too",
		"%d rows are hidden there (the first is %s); they are read too")
	say(s.uncounted, "the formula in %s has no value yet and is read as blank; open and save the workbook in a "+
		"spreadsheet program",
		"%d formulas (the first in %s) have no value yet and are read as blank; open and save the workbook in a "+
			"spreadsheet program")
	say(s.errors, "the formula in %s ended in an error", "%d formulas (the first in %s) ended in an error")
	return notices
}

// Next returns the next row that is not blank, and io.EOF after the last. A row
// with a cell right of the last header, or of more than record.Longest bytes, has
// a Fault.
func (s *Workbook) Next() (Record, error) {
	if s.loose {
		return s.asItStands()
	}
	if s.headers == 0 {
		return s.header()
	}
	r, err := s.take()
	if err != nil {
		return Record{}, err
	}
	return s.record(r), nil
}

// asItStands returns the next row with the cells that it has.
func (s *Workbook) asItStands() (Record, error) {
	r, err := s.take()
	if err != nil {
		return Record{}, err
	}
	rec := Record{Line: r.number, Lines: 1, Raw: Line(r.cells, ','), Fault: r.fault, Cells: r.cells}
	if rec.Fault != "" {
		rec.Found, rec.Cells = excerpt(rec.Raw), nil
	}
	return rec, nil
}

// header returns the first row, or the one below a title.
func (s *Workbook) header() (Record, error) {
	for {
		first, err := s.take()
		if err != nil {
			return Record{}, err
		}
		next, err := s.take()
		if err == nil {
			s.ahead = append(s.ahead, next)
		} else if err != io.EOF {
			return Record{}, err
		}
		if first.fault == "" && given(first.cells) == 1 && given(next.cells) >= 3 {
			s.notices = append(s.notices, fmt.Sprintf("%s: sheet %s: row %d is skipped: it looks like a title", s.file,
				s.tab.name, first.number))
			continue
		}
		s.headers = max(1, len(first.cells))
		return s.record(first), nil
	}
}

func given(cells []string) int {
	n := 0
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

// record makes a record of a row: as many cells as there are headers.
func (s *Workbook) record(r row) Record {
	rec := Record{Line: r.number, Lines: 1, Raw: Line(r.cells, ','), Fault: r.fault}
	if rec.Fault == "" && len(r.cells) > s.headers {
		rec.Fault = Beyond(len(r.cells))
	}
	if rec.Fault != "" {
		rec.Found = string([]rune(rec.Raw)[:min(len([]rune(rec.Raw)), 80)])
		return rec
	}
	rec.Cells = append(r.cells, make([]string, s.headers-len(r.cells))...)
	return rec
}

// Beyond says that a sheet's row goes on right of the headers, to a column counted from 1.
func Beyond(column int) string {
	return fmt.Sprintf("has a cell in column %s, to the right of the last header; give that column a header, or clear "+
		"the cell", letters(column))
}

// take returns the next row that is not blank.
func (s *Workbook) take() (row, error) {
	if len(s.ahead) > 0 {
		r := s.ahead[0]
		s.ahead = s.ahead[1:]
		return r, nil
	}
	if s.ended != nil {
		return row{}, s.ended
	}
	for {
		t, err := s.xml.next()
		if err != nil {
			s.ended = err
			return row{}, err
		}
		e, ok := t.(xml.StartElement)
		if !ok || e.Name.Local != "row" {
			continue
		}
		r, err := s.row(e)
		if err != nil {
			s.ended = err
			return row{}, err
		}
		if given(r.cells) == 0 && r.fault == "" || r.number < s.from {
			continue
		}
		if v := attribute(e, "hidden"); v == "1" || v == "true" {
			s.hidden.add(strconv.Itoa(r.number))
		}
		return r, nil
	}
}

// row reads the cells of the row that has begun.
func (s *Workbook) row(e xml.StartElement) (row, error) {
	if err := s.numberRow(e); err != nil {
		return row{}, err
	}
	r := row{number: s.number}
	size, column := 0, 0
	for {
		t, err := s.xml.next()
		if err != nil {
			return row{}, err
		}
		if end, ok := t.(xml.EndElement); ok && end.Name.Local == "row" {
			return r, nil
		}
		c, ok := t.(xml.StartElement)
		if !ok || c.Name.Local != "c" {
			continue
		}
		column++
		if text := attribute(c, "r"); text != "" {
			if column, err = columnOf(text); err != nil {
				return row{}, fmt.Errorf("sheet %s, row %d: %w", s.tab.name, s.number, err)
			}
		}
		text, fault, err := s.cell(c, column)
		if err != nil {
			return row{}, err
		}
		if fault != "" {
			r.fault = fault
		}
		if text == "" {
			continue
		}
		size += len(text) + 1
		r.put(column, text, size)
	}
}

// numberRow takes the number of the row that has begun: its own, else the one after the last.
func (s *Workbook) numberRow(e xml.StartElement) error {
	s.number++
	text := attribute(e, "r")
	if text == "" {
		return nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < s.number || n > 1<<24 {
		return fmt.Errorf("sheet %s: row %q is out of order after row %d", s.tab.name, text, s.number-1)
	}
	s.number = n
	return nil
}

// put sets a cell of the row, in a column counted from 1. size is how many bytes the row has
// with it.
func (r *row) put(column int, text string, size int) {
	switch {
	case column > mostColumns:
		r.fault = fmt.Sprintf("has a cell in column %s, past the %d columns that can be read", letters(column), mostColumns)
		return
	case size > Longest:
		r.fault = fmt.Sprintf("is longer than %d MiB; cut it down", Longest>>20)
		return
	case column <= len(r.cells) && r.cells[column-1] != "":
		r.fault = fmt.Sprintf("has two cells in column %s", letters(column))
	}
	for len(r.cells) < column {
		r.cells = append(r.cells, "")
	}
	r.cells[column-1] = text
}

// cell returns the text of the cell that has begun; fault says why it has none.
func (s *Workbook) cell(c xml.StartElement, column int) (text, fault string, err error) {
	var value string
	var formula, valued bool
	for {
		t, err := s.xml.next()
		if err != nil {
			return "", "", err
		}
		switch e := t.(type) {
		case xml.EndElement:
			if e.Name.Local != "c" {
				continue
			}
			text, fault = s.value(c, value, column)
			if formula && !valued {
				s.uncounted.add(letters(column) + strconv.Itoa(s.number))
			}
			return text, fault, nil
		case xml.StartElement:
			switch e.Name.Local {
			case "v":
				if value, err = s.xml.text(""); err != nil {
					return "", "", err
				}
				valued = true
			case "is":
				if value, err = s.xml.text("t"); err != nil {
					return "", "", err
				}
				valued = true
			case "f":
				formula = true
				if _, err = s.xml.text(""); err != nil {
					return "", "", err
				}
			}
		}
	}
}

// value turns what the XML has into what a person reads. What a workbook should
// not have is a fault of the row, never a blank.
func (s *Workbook) value(c xml.StartElement, value string, column int) (text, fault string) {
	place := letters(column) + strconv.Itoa(s.number)
	bad := func(what string) (string, string) {
		return "", fmt.Sprintf("has %s in %s (%q); open and save the workbook in a spreadsheet program", what, place,
			value[:min(len(value), 40)])
	}
	switch attribute(c, "t") {
	case "s":
		if text, ok := s.book.shared(value); ok {
			return text, ""
		}
		return bad("a text that is not in the workbook")
	case "str", "inlineStr":
		return unixLines(unescape(value)), ""
	case "e":
		s.errors.add(place)
		return value, ""
	case "b":
		if text, ok := yesNo[strings.TrimSpace(value)]; ok {
			return text, ""
		}
		return bad("a value that is not true or false")
	case "d":
		return strings.TrimSuffix(value, "T00:00:00"), ""
	}
	value = strings.TrimSpace(value)
	if value == "" {
		return "", ""
	}
	if style := s.book.style(attribute(c, "s")); style != number {
		if text, ok := s.book.moment(value, style); ok {
			return text, ""
		}
	}
	if text, ok := numeral(value); ok {
		return text, ""
	}
	return bad("no number")
}

// yesNo is what a truth value of a workbook reads as.
var yesNo = map[string]string{"1": "yes", "true": "yes", "0": "no", "false": "no", "": ""}

// shared returns the shared text of a number, as written in a cell; "" where the cell is blank.
func (b *book) shared(value string) (text string, ok bool) {
	if value == "" {
		return "", true
	}
	n, err := strconv.Atoi(strings.TrimSpace(value))
	if err != nil || n < 0 || n >= len(b.texts) {
		return "", false
	}
	return unixLines(b.texts[n]), true
}

// style returns the kind of number that a style formats, by its index as written in a cell.
func (b *book) style(index string) kind {
	if n, err := strconv.Atoi(index); err == nil && n >= 0 && n < len(b.styles) {
		return b.styles[n]
	}
	return number
}

// unixLines turns the line breaks of a text into LF.
func unixLines(text string) string {
	if !strings.Contains(text, "\r") {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}

// columnOf returns the column of a reference such as AB12, from 1.
func columnOf(reference string) (int, error) {
	n, i := 0, 0
	for i < len(reference) && i < 4 {
		c := reference[i] &^ 0x20
		if c < 'A' || c > 'Z' {
			break
		}
		n = n*26 + int(c-'A') + 1
		i++
	}
	if i == 0 || i > 3 {
		return 0, errors.New("a cell without a place: " + strconv.Quote(reference[:min(len(reference), 20)]))
	}
	return n, nil
}

// letters returns a column as a sheet names it: 28 is AB.
func letters(column int) string {
	text := ""
	for ; column > 0; column = (column - 1) / 26 {
		text = string(rune('A'+(column-1)%26)) + text
	}
	return text
}
