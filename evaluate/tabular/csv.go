package tabular

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
)

// most is the number of lines beyond which a record is a fault: an open quote
// should not swallow the rest of the file.
const most = 500

// A CSV is a Source that reads comma, semicolon or tab separated text: RFC 4180
// with any line ends, in UTF-8, UTF-16 with a byte-order mark or Windows-1252. It
// holds no more than a few MiB of the file at once.
//
// A malformed record costs its first line: reading goes on at the next, so that a
// stray quote takes no good row with it.
type CSV struct {
	file    string
	stream  io.Reader
	lines   *lines
	decoder decoder
	wide    bool   // UTF-16
	ahead   []line // read, not yet used
	failed  error  // what ended the stream
	comma   byte   // 0 until the header is known
	headers int
	split   *splitter
	arena   []string
	looks   tally // records that hold lines which look like rows
	loose   bool  // rows may have any number of cells
	from    int   // the line to begin at
}

// line is one line of the file.
type line struct {
	text, end string
	number    int
	long      bool
}

// NewCSV returns a source of the records in r. The name stands in problems and
// notices.
func NewCSV(file string, r io.Reader) *CSV {
	return &CSV{file: file, stream: r}
}

// Place returns the file's name.
func (s *CSV) Place() (file, sheet string) { return s.file, "" }

// Notices says which lines were read as Windows-1252, and the like.
func (s *CSV) Notices() []string {
	notices := s.decoder.notices(s.file)
	if s.looks.count > 0 {
		notices = append(notices,
			fmt.Sprintf("%s: a quoted cell contains lines that look like rows, from %s on; is a closing quote missing?", s.file,
				s.looks.lines()))
	}
	return notices
}

// Next returns the next record that is not blank. A row with too few or too many
// cells, a stray or unclosed quote, a NUL byte, or more than Longest bytes or 500
// lines is a record with a Fault.
func (s *CSV) Next() (Record, error) {
	if s.lines == nil {
		stream, wide, err := unmark(s.stream)
		if err != nil {
			return Record{}, err
		}
		s.wide = wide
		s.lines = &lines{r: stream}
	}
	for {
		first, err := s.line(0)
		if err != nil {
			return Record{}, err
		}
		if first.number < s.from {
			s.drop(1)
			continue
		}
		if s.comma == 0 && s.separator(first) {
			s.drop(1)
			continue
		}
		if s.blank(first.text) {
			s.drop(1)
			continue
		}
		group := s.group(first)
		if s.comma == 0 {
			if s.comma = delimiter(join(group)); s.loose {
				s.comma = s.commonDelimiter()
			}
			s.split = newSplitter(s.comma)
		}
		rec := s.record(group)
		s.drop(rec.Lines)
		if rec.Fault == "" && allBlank(rec.Cells) {
			continue
		}
		if s.headers == 0 && !s.loose {
			s.headers = max(1, len(rec.Cells))
		}
		return rec, nil
	}
}

// line returns the nth line ahead.
func (s *CSV) line(n int) (line, error) {
	for len(s.ahead) <= n {
		if s.failed != nil {
			return line{}, s.failed
		}
		text, end, long, err := s.lines.next()
		if err != nil {
			s.failed = err
			return line{}, err
		}
		number := s.lines.number
		s.ahead = append(s.ahead, line{s.decoder.text(text, number), end, number, long})
	}
	return s.ahead[n], nil
}

// drop forgets the first n lines ahead.
func (s *CSV) drop(n int) {
	if n == len(s.ahead) {
		s.ahead = s.ahead[:0]
		return
	}
	s.ahead = s.ahead[n:]
}

// separator reports whether the line only names the delimiter, as spreadsheets
// write it, and takes it.
func (s *CSV) separator(l line) bool {
	mark, ok := strings.CutPrefix(l.text, "sep=")
	if !ok || l.number != 1 || len(mark) != 1 || !strings.Contains(",;\t", mark) {
		return false
	}
	s.comma = mark[0]
	s.split = newSplitter(s.comma)
	return true
}

// blank reports whether nothing but delimiters and spaces is in the line.
func (s *CSV) blank(text string) bool {
	if text != "" && sure(text[0]) && text[0] != s.comma && s.comma != 0 {
		return false
	}
	for _, r := range text {
		known := r != 0 && r == rune(s.comma) || s.comma == 0 && strings.ContainsRune(delimiters, r)
		if !known && !space(r) {
			return false
		}
	}
	return true
}

func allBlank(cells []string) bool {
	for _, cell := range cells {
		if trim(cell) != "" {
			return false
		}
	}
	return true
}

// group returns the lines of the record that starts with the first: up to the one
// where quotes come out even. A group whose quotes are odd never does.
func (s *CSV) group(first line) []line {
	quotes := strings.Count(first.text, `"`)
	if quotes%2 == 0 || first.long {
		return s.ahead[:1]
	}
	size := len(first.text)
	for n := 1; n < most; n++ {
		next, err := s.line(n)
		if err != nil || next.long {
			break
		}
		if size += len(next.text) + 1; size > Longest {
			break
		}
		if quotes += strings.Count(next.text, `"`); quotes%2 == 0 {
			return s.ahead[:n+1]
		}
	}
	return s.ahead[:1]
}

// join returns the text of the lines with LF between them.
func join(group []line) string {
	if len(group) == 1 {
		return group[0].text
	}
	var b strings.Builder
	for i, l := range group {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(l.text)
	}
	return b.String()
}

// raw returns the lines as they were.
func raw(group []line) string {
	if len(group) == 1 {
		return group[0].text
	}
	var b strings.Builder
	for i, l := range group {
		b.WriteString(l.text)
		if i < len(group)-1 {
			b.WriteString(l.end)
		}
	}
	return b.String()
}

// record splits a group of lines, or finds the fault of its first line.
func (s *CSV) record(group []line) Record {
	first := group[0]
	fault := func(message string) Record {
		return Record{Line: first.number, Lines: 1, Raw: first.text, Fault: message, Found: excerpt(first.text)}
	}
	if first.long {
		return fault("is longer than 1 MiB; split the line, or close a quote that is left open")
	}
	group, text, cells, err := s.divide(group)
	if err != nil {
		return fault(quoteFault(err, first.text))
	}
	ragged := s.headers > 0 && len(cells) != s.headers
	if len(group) > 1 && s.headers > 1 && s.rowWithin(group[1:]) {
		// A quote left open here and one closed further down would make one cell
		// of the rows between. A listing's own words seldom fall into as many
		// cells as there are headers, unless these are few.
		if ragged || s.headers >= 6 {
			return fault("a quote seems to be left open, for the lines after this one read as rows; close it, or write a " +
				"quote within a cell twice")
		}
		s.looks.add(first.number)
	}
	rec := Record{Line: first.number, Lines: len(group), Raw: raw(group)}
	switch {
	case strings.IndexByte(text, 0) >= 0:
		rec.Fault = "is not plain text; save it as CSV UTF-8"
	case ragged && !s.loose && !allBlank(cells):
		rec.Fault = Ragged(len(cells), s.headers)
	default:
		rec.Cells = cells
		return rec
	}
	rec.Found = excerpt(rec.Raw)
	return rec
}

// rowWithin reports whether one of the lines is by itself a row with a cell for
// each header.
func (s *CSV) rowWithin(group []line) bool {
	for _, l := range group {
		if s.blank(l.text) || strings.Count(l.text, `"`)%2 != 0 {
			continue
		}
		if strings.Count(l.text, string(s.comma)) < s.headers-1 {
			continue
		}
		if cells, err := s.cells(l.text); err == nil && len(cells) == s.headers {
			return true
		}
	}
	return false
}

// quoteFault says what is wrong with the quotes of a line.
func quoteFault(err error, text string) string {
	switch {
	case errors.Is(err, csv.ErrBareQuote):
		return `has a quote within a cell; put the cell in quotes and write the quote twice: "19"" wheels"`
	case strings.Count(text, `"`)%2 != 0:
		return `opens a quote that is not closed; close it, or write a quote within a cell twice: "19"" wheels"`
	default:
		return `has text after a closing quote; write a quote within a quoted cell twice: "19"" wheels"`
	}
}

// cells splits a record. Without quotes that needs no parser.
func (s *CSV) cells(text string) ([]string, error) {
	if strings.IndexByte(text, '"') >= 0 {
		fields, err := s.split.split(text)
		if err != nil {
			return nil, err
		}
		cells := s.room(len(fields))
		copy(cells, fields)
		return cells, nil
	}
	n := s.headers
	if n == 0 {
		n = strings.Count(text, string(s.comma)) + 1
	}
	cells := s.room(n)[:0]
	for {
		i := strings.IndexByte(text, s.comma)
		if i < 0 {
			return append(cells, text), nil
		}
		cells = append(cells, text[:i])
		text = text[i+1:]
	}
}

// room returns n cells; making many rows' at once is faster.
func (s *CSV) room(n int) []string {
	if len(s.arena) < n {
		s.arena = make([]string, max(n, min(256*s.headers, 1<<13)))
	}
	cells := s.arena[:n:n]
	s.arena = s.arena[n:]
	return cells
}

// delimiter returns what most likely separates the cells of a header: whichever
// of semicolon, tab and comma it has most of outside quotes.
func delimiter(header string) byte {
	var counts [3]int
	quoted := false
	for _, r := range header {
		switch {
		case r == '"':
			quoted = !quoted
		case quoted:
		default:
			if i := strings.IndexRune(delimiters, r); i >= 0 {
				counts[i]++
			}
		}
	}
	best := 2
	for i, n := range counts {
		if n > counts[best] || n == counts[best] && n > 0 && i < best {
			best = i
		}
	}
	return delimiters[best]
}

const delimiters = ";\t,"

// splitter splits records that have quotes, by one csv.Reader for all of them.
type splitter struct {
	comma  byte
	reader *csv.Reader
	feed   strings.Reader
	loose  *splitter // takes spaces before a quote; it loses those of other cells
}

func newSplitter(comma byte) *splitter {
	s := &splitter{comma: comma}
	if comma != '\t' { // which counts as a space: empty cells would vanish
		s.loose = &splitter{comma: comma}
		s.loose.reset()
	}
	s.reset()
	return s
}

func (s *splitter) reset() {
	s.reader = csv.NewReader(&s.feed)
	s.reader.Comma = rune(s.comma)
	s.reader.FieldsPerRecord = -1
	s.reader.ReuseRecord = true
	s.reader.TrimLeadingSpace = s.loose == nil && s.comma != '\t'
}

// split returns the cells of one record, which hold until the next call.
func (s *splitter) split(record string) ([]string, error) {
	before := s.reader.InputOffset()
	s.feed.Reset(record + "\n")
	cells, err := s.reader.Read()
	if err == nil && s.reader.InputOffset()-before != int64(len(record)+1) {
		err = csv.ErrQuote
	}
	if err != nil {
		s.reset()
		if s.loose != nil {
			return s.loose.split(record)
		}
	}
	return cells, err
}

// space reports whether the rune is a space of any kind, the no-break space, the
// zero-width space and a stray byte-order mark among them.
func space(r rune) bool {
	return unicode.IsSpace(r) || r == '\u200b' || r == '\ufeff'
}

// trim takes the spaces off both ends.
func trim(text string) string {
	if n := len(text); n == 0 || sure(text[0]) && sure(text[n-1]) {
		return text
	}
	return strings.TrimFunc(text, space)
}

// sure reports whether the byte is a visible ASCII character.
func sure(b byte) bool { return b > ' ' && b < 0x7f }
