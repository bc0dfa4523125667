// Package answered reads lists and ledgers of test data that were written as people type them, with what a careful
// person would read of each row beneath it.
//
// A file starts with a line that says how it is saved: its name, its encoding (utf-8, utf-8-sig, utf-16, cp1252; none
// for a workbook), what parts its cells, the merged cells of a workbook, the builds of a ledger. Then come its lines as
// they are; one that starts with "+ " goes on with the row above, within quotes. A line that starts with "= " is the
// answer to the row above: field=value, with | between values that are both right, and nothing for a field that is
// blank; ask=COLUMN, or ask, where a person would have to ask; canread and canask, where to read it and to ask about it
// are both right. In a workbook | parts the cells, #7 is a number, @2026-12-07 a day, =SUM(A1:A2) a formula.
package answered

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"

	"wreckoner/evaluate/tabular"
)

// A File is a list or a ledger as somebody typed it, with what a person would read beneath each row.
type File struct {
	Setup map[string]string // of its first line
	Lines []string          // of the list
	Want  []Answer
}

// An Answer is what a person would read of one row.
type Answer struct {
	Line   int // of the list, where the row starts
	Source int // of the file with the answers
	Fields map[string][]string
	Ask    string // the column that they would ask about
	Either bool   // both to read it and to ask would do
}

var answerField = regexp.MustCompile(`([a-z_]+)=(?:"([^"]*)"|(\S*))|(\bcanask\b|\bcanread\b|\bask\b)`)

// Read reads a file with its answers.
func Read(t *testing.T, path string) *File {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	all := &File{Setup: map[string]string{}}
	for _, m := range answerField.FindAllStringSubmatch(lines[0], -1) {
		all.Setup[m[1]] = m[2] + m[3]
	}
	start := 1
	for i, line := range lines[1:] {
		if rest, ok := strings.CutPrefix(line, "= "); ok {
			a := readAnswer(rest)
			a.Line, a.Source = start, i+2
			all.Want = append(all.Want, a)
			continue
		}
		rest, goesOn := strings.CutPrefix(line, "+ ")
		if all.Lines = append(all.Lines, rest); !goesOn {
			start = len(all.Lines)
		}
	}
	return all
}

// readAnswer reads a line of answers.
func readAnswer(line string) Answer {
	a := Answer{Fields: map[string][]string{}}
	for _, m := range answerField.FindAllStringSubmatch(line, -1) {
		value := m[2] + m[3]
		switch {
		case m[4] == "ask" || m[1] == "ask":
			a.Ask = "*" + value
		case m[4] != "":
			a.Either = true
		default:
			a.Fields[m[1]] = strings.Split(value, "|")
			a.Either = a.Either || slices.Contains(a.Fields[m[1]], "ask")
		}
	}
	return a
}

// Content is the file as its owner would have saved it.
func (a *File) Content(t *testing.T) []byte {
	t.Helper()
	if a.Setup["enc"] == "" {
		return a.workbook(t)
	}
	text := strings.Join(a.Lines, "\r\n") + "\r\n"
	switch a.Setup["enc"] {
	case "utf-8-sig":
		return []byte("\ufeff" + text)
	case "cp1252":
		b, err := charmap.Windows1252.NewEncoder().Bytes([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return b
	case "utf-16":
		b := []byte{0xff, 0xfe}
		for _, u := range utf16.Encode([]rune(text)) {
			b = append(b, byte(u), byte(u>>8))
		}
		return b
	}
	return []byte(text)
}

// workbook makes a workbook of lines: #7 is a number, @2026-12-07 a day, =SUM(A1) a formula.
func (a *File) workbook(t *testing.T) []byte {
	t.Helper()
	f := excelize.NewFile()
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	check(err)
	for r, line := range a.Lines {
		for c, cell := range strings.Split(line, "|") {
			at, err := excelize.CoordinatesToCellName(c+1, r+1)
			check(err)
			switch number, err := strconv.ParseFloat(strings.TrimPrefix(cell, "#"), 64); {
			case cell == "":
			case cell[0] == '#':
				check(err)
				check(f.SetCellValue("Sheet1", at, number))
			case cell[0] == '@':
				when, err := time.Parse(time.DateOnly, cell[1:])
				check(err)
				check(f.SetCellValue("Sheet1", at, when))
				check(f.SetCellStyle("Sheet1", at, at, day))
			case cell[0] == '=':
				check(f.SetCellFormula("Sheet1", at, cell[1:]))
			default:
				check(f.SetCellValue("Sheet1", at, cell))
			}
		}
	}
	for m := range strings.SplitSeq(a.Setup["merges"], ",") {
		if from, to, ok := strings.Cut(m, ":"); ok {
			check(f.MergeCell("Sheet1", from, to))
		}
	}
	check(f.UpdateLinkedValue())
	var b bytes.Buffer
	check(f.Write(&b))
	return b.Bytes()
}

// Open opens the content as the command does.
func (a *File) Open(t *testing.T, content []byte) tabular.Source {
	t.Helper()
	name := a.Setup["file"]
	if filepath.Ext(name) != ".xlsx" {
		return tabular.NewCSV(name, bytes.NewReader(content))
	}
	source, err := tabular.OpenWorkbook(name, bytes.NewReader(content), int64(len(content)), "")
	if err != nil {
		t.Fatal(err)
	}
	return source
}
