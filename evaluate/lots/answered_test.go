package lots_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
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

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
)

// An answered list is one as somebody typed it, with what a person would read beneath each lot; testdata/answered/
// README.md says how it is written.
type answered struct {
	setup map[string]string // of its first line
	lines []string          // of the list
	want  []answer
}

// An answer is what a person would read of one row.
type answer struct {
	line   int // of the list, where the row starts
	source int // of the file with the answers
	fields map[string][]string
	ask    string // the column that they would ask about
	either bool   // both to read it and to ask would do
}

var answerField = regexp.MustCompile(`([a-z_]+)=(?:"([^"]*)"|(\S*))|(\bcanask\b|\bcanread\b|\bask\b)`)

func answeredList(t *testing.T, path string) *answered {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	all := &answered{setup: map[string]string{}}
	start, before := 1, 0
	for i, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		switch {
		case i == 0:
			for _, m := range answerField.FindAllStringSubmatch(line, -1) {
				all.setup[m[1]] = m[2] + m[3]
			}
		case strings.HasPrefix(line, "= "):
			a := answer{line: start, source: i + 1, fields: map[string][]string{}}
			for _, m := range answerField.FindAllStringSubmatch(line, -1) {
				switch {
				case m[4] == "ask" || m[1] == "ask":
					a.ask = "*" + m[2] + m[3]
				case m[4] != "":
					a.either = true
				default:
					a.fields[m[1]] = strings.Split(m[2]+m[3], "|")
					a.either = a.either || slices.Contains(a.fields[m[1]], "ask")
				}
			}
			all.want = append(all.want, a)
		default:
			if before%2 == 0 { // a line within quotes goes on with the row
				start = len(all.lines) + 1
			}
			if all.setup["enc"] != "" {
				before += strings.Count(line, `"`)
				if all.setup["sep"] == "tab" && strings.Count(line, `"`)%2 == 1 && strings.Contains(line, `6"`) {
					before++ // an inch mark
				}
				if all.setup["sep"] == "tab" && strings.Contains(line, "\t\"\t") {
					before += strings.Count(line, `"`) // ditto marks
				}
			}
			all.lines = append(all.lines, line)
		}
	}
	return all
}

// content is the file as its owner would have saved it.
func (a *answered) content(t *testing.T) []byte {
	t.Helper()
	if a.setup["enc"] == "" {
		return a.workbook(t)
	}
	text := strings.Join(a.lines, "\r\n") + "\r\n"
	switch a.setup["enc"] {
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
func (a *answered) workbook(t *testing.T) []byte {
	t.Helper()
	f := excelize.NewFile()
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	check(err)
	for r, line := range a.lines {
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
	for m := range strings.SplitSeq(a.setup["merges"], ",") {
		if from, to, ok := strings.Cut(m, ":"); ok {
			check(f.MergeCell("Sheet1", from, to))
		}
	}
	check(f.UpdateLinkedValue())
	var b bytes.Buffer
	check(f.Write(&b))
	return b.Bytes()
}

// open opens the content as the command does.
func (a *answered) open(t *testing.T, content []byte) tabular.Source {
	t.Helper()
	name := a.setup["file"]
	if filepath.Ext(name) != ".xlsx" {
		return tabular.NewCSV(name, bytes.NewReader(content))
	}
	source, err := tabular.OpenWorkbook(name, bytes.NewReader(content), int64(len(content)), "")
	if err != nil {
		t.Fatal(err)
	}
	return source
}

// Lists in ten more manners, with no option given: what a person would read is read or asked about, what they would
// ask about is asked about, and nothing is read wrong or lost. What people write is common practice, no source.
func TestAnsweredLists(t *testing.T) {
	workshop := starter(t)
	paths, err := filepath.Glob("testdata/answered/*.txt")
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	var all counts
	for _, path := range paths {
		a := answeredList(t, path)
		content := a.content(t)
		if folder := os.Getenv("ANSWERED_INTO"); folder != "" {
			if err := os.WriteFile(filepath.Join(folder, a.setup["file"]), content, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		list, err := lots.ReadList(a.open(t, content), workshop, lots.Reading{
			Again: func() (tabular.Source, io.Closer, error) { return a.open(t, content), io.NopCloser(nil), nil }})
		c := a.judge(t, path, list, err)
		t.Logf("%s: %v", filepath.Base(path), c)
		if list != nil {
			for _, n := range list.Notices {
				t.Log("   ", n)
			}
		}
		all.add(c)
	}
	t.Logf("all lists: %v", all)
	if total := all.right + all.asked + all.refused; all.wrong > 0 || all.lost > 0 || all.refused*10 > total {
		t.Errorf("%v; want none wrong, none lost, nine tenths right or rightly asked about", all)
	}
}

// judge compares a list as read with its answers.
func (a *answered) judge(t *testing.T, path string, list *lots.List, err error) counts {
	t.Helper()
	var c counts
	problems, byLine := map[int][]tabular.Problem{}, map[int]*evaluate.Lot{}
	var faults tabular.Problems
	if whole := errors.As(err, &faults); whole || err != nil {
		t.Logf("%s: refused: %v", path, err)
	} else {
		for _, p := range list.Problems {
			problems[p.Line] = append(problems[p.Line], p)
		}
		for _, lot := range list.Lots {
			byLine[lot.Line] = lot
		}
	}
	for _, x := range a.want {
		lot := byLine[x.line]
		delete(byLine, x.line)
		where := fmt.Sprintf("%s:%d (line %d)", filepath.Base(path), x.source, x.line)
		switch asked := err != nil || len(problems[x.line]) > 0; {
		case lot == nil && !asked:
			c.lost++
			t.Errorf("%s is lost", where)
		case lot == nil && err == nil && (x.ask != "" || x.either):
			t.Logf("%s: asked: %v", where, problems[x.line])
			c.asked++
		case lot == nil:
			c.refused++
			t.Logf("%s: refused: %v", where, problems[x.line])
		case x.ask != "" && !x.either:
			c.wrong++
			t.Errorf("%s is read, though a person would ask about %s", where, x.ask)
		default:
			if wrong := x.differences(lot); len(wrong) > 0 {
				c.wrong++
				t.Errorf("%s: %s", where, strings.Join(wrong, "; "))
				break
			}
			c.right++
		}
	}
	for line, lot := range byLine {
		c.wrong++
		t.Errorf("%s: line %d is read as lot %s", path, line, lot.Number)
	}
	for line := range problems {
		if !slices.ContainsFunc(a.want, func(x answer) bool { return x.line == line }) {
			t.Logf("%s: line %d, which is no lot: %v", path, line, problems[line])
		}
	}
	return c
}

// differences are the fields of a lot that are read otherwise than a person would; a field without an answer is blank,
// a car type without one family.
func (x *answer) differences(lot *evaluate.Lot) []string {
	var wrong []string
	for _, field := range []string{"year", "odometer", "segment", "category", "damage", "value", "guide", "site", "vat",
		"keys", "starts", "sale_date", "car"} {
		want, said := x.fields[field]
		got := ""
		if field == "car" {
			got = strings.TrimSpace(lot.Make + " " + lot.Model)
		} else {
			got = asRead(lot, field)
		}
		switch {
		case field == "car":
			if got != "" && said && !strings.Contains(strings.ToLower(got), strings.ToLower(want[0])) {
				wrong = append(wrong, fmt.Sprintf("the car is read as %q", got))
			}
			continue
		case !said && (field == "segment" || field == "vat" && got == "margin" ||
			(field == "keys" || field == "starts") && got == "unknown"):
			continue
		case field == "damage":
			for i, w := range want {
				if code, err := damage.Parse(w); err == nil {
					want[i] = code.String()
				}
			}
		}
		if !said {
			want = []string{""}
		}
		if !slices.ContainsFunc(want, func(w string) bool { return strings.EqualFold(w, got) }) {
			wrong = append(wrong, fmt.Sprintf("%s is read as %q, want %q", field, got, want))
		}
	}
	return wrong
}
