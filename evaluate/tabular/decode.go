package tabular

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// unmark returns the stream as UTF-8 without its byte-order mark, and whether it
// was UTF-16, which needs the mark. Without any, the bytes come through as they
// are, for decoder.
func unmark(r io.Reader) (text io.Reader, utf16 bool, err error) {
	b := bufio.NewReaderSize(r, 16)
	head, err := b.Peek(3)
	if err != nil && err != io.EOF {
		return nil, false, err
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")):
		_, err := b.Discard(3)
		return b, false, err
	case bytes.HasPrefix(head, []byte("\xFF\xFE")), bytes.HasPrefix(head, []byte("\xFE\xFF")):
		return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Reader(b), true, nil
	}
	return b, false, nil
}

// decoder turns lines into text. Valid UTF-8 stays; any other byte is read as
// Windows-1252. So a file in either encoding comes out right, no row is lost where
// a UTF-8 file has a stray byte, and nothing depends on how much of the file was
// looked at first. What it had to guess goes into the notices.
type decoder struct {
	western, lost tally
}

// tally counts lines.
type tally struct{ count, first int }

func (t *tally) add(line int) {
	if t.count == 0 {
		t.first = line
	}
	t.count++
}

// lines names the lines that were counted: "line 7", "3 lines (the first is 7)".
func (t tally) lines() string {
	if t.count == 1 {
		return fmt.Sprintf("line %d", t.first)
	}
	return fmt.Sprintf("%d lines (the first is %d)", t.count, t.first)
}

func (d *decoder) text(line []byte, number int) string {
	if utf8.Valid(line) {
		if bytes.IndexByte(line, 0xEF) >= 0 && bytes.Contains(line, []byte("\uFFFD")) {
			d.lost.add(number)
		}
		return string(line)
	}
	d.western.add(number)
	var b strings.Builder
	b.Grow(len(line) + len(line)/8)
	for len(line) > 0 {
		r, size := utf8.DecodeRune(line)
		if r == utf8.RuneError && size == 1 {
			r = charmap.Windows1252.DecodeByte(line[0])
		}
		b.WriteRune(r)
		line = line[size:]
	}
	return b.String()
}

func (d *decoder) notices(file string) []string {
	var notices []string
	if d.western.count > 0 {
		notices = append(notices, fmt.Sprintf("%s: not all UTF-8: read as Windows-1252 on %s", file, d.western.lines()))
	}
	if d.lost.count > 0 {
		notices = append(notices, fmt.Sprintf("%s: some characters were lost before we got the file (U+FFFD), on %s", file,
			d.lost.lines()))
	}
	return notices
}
