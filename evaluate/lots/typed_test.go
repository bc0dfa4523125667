package lots_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A truth is what a person reads of one row of a list in testdata/typed.
type truth struct {
	line   int
	ask    bool
	lot    string
	fields map[string]string // of a lot that is read
	column string            // of one that is asked about
}

func truths(t *testing.T, path string) []truth {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var all []truth
	for row := range strings.Lines(string(text)) {
		parts := strings.Split(strings.TrimSpace(row), " | ")
		line, err := strconv.Atoi(parts[0])
		if err != nil {
			t.Fatalf("%s: %q", path, row)
		}
		kind, lot, ok := strings.Cut(parts[1], " ")
		if !ok {
			t.Fatalf("%s: %q", path, row)
		}
		x := truth{line: line, ask: kind == "ask", lot: lot, fields: map[string]string{}}
		if x.ask {
			x.column = parts[2]
		} else {
			for _, f := range parts[2:] {
				name, value, _ := strings.Cut(f, "=")
				x.fields[strings.TrimSpace(name)] = strings.TrimSpace(value)
			}
		}
		all = append(all, x)
	}
	return all
}

// listSource opens a list of testdata/typed; a workbook is made of its text.
func listSource(t *testing.T, path string) tabular.Source {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if filepath.Ext(path) != ".book" {
		return tabular.NewCSV(filepath.Base(path), bytes.NewReader(text))
	}
	content := bookOf(t, string(text))
	source, err := tabular.OpenWorkbook(filepath.Base(path), bytes.NewReader(content), int64(len(content)), "")
	if err != nil {
		t.Fatal(err)
	}
	return source
}

func bookOf(t *testing.T, text string) []byte {
	t.Helper()
	f := excelize.NewFile()
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	check(err)
	row := 0
	for line := range strings.Lines(text) {
		row++
		for i, cell := range strings.Split(strings.TrimRight(line, "\n"), "\t") {
			name, err := excelize.CoordinatesToCellName(i+1, row)
			check(err)
			if rest, ok := strings.CutPrefix(cell, "{"); ok {
				count, value, _ := strings.Cut(rest, "}")
				n, err := strconv.Atoi(count)
				check(err)
				last, err := excelize.CoordinatesToCellName(i+1, row+n-1)
				check(err)
				check(f.MergeCell("Sheet1", name, last))
				cell = value
			}
			switch number, err := strconv.ParseFloat(cell, 64); {
			case cell == "" || cell == "^":
			case strings.HasPrefix(cell, "@"):
				when, err := time.Parse(time.DateOnly, cell[1:])
				check(err)
				check(f.SetCellValue("Sheet1", name, when))
				check(f.SetCellStyle("Sheet1", name, name, day))
			case err == nil:
				check(f.SetCellValue("Sheet1", name, number))
			default:
				check(f.SetCellValue("Sheet1", name, cell))
			}
		}
	}
	var b bytes.Buffer
	check(f.Write(&b))
	return b.Bytes()
}

// counts are how the rows of a list were read.
type counts struct{ right, asked, refused, wrong, lost int }

func (c counts) String() string {
	return fmt.Sprintf("right %d, rightly asked about %d, refused though plain %d, wrong %d, lost %d", c.right, c.asked,
		c.refused, c.wrong, c.lost)
}

func (c *counts) add(o counts) {
	c.right, c.asked, c.refused = c.right+o.right, c.asked+o.asked, c.refused+o.refused
	c.wrong, c.lost = c.wrong+o.wrong, c.lost+o.lost
}

// asRead returns what was read in a field, as the truth writes it.
func asRead(lot *evaluate.Lot, field string) string {
	number := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	amount := func(p money.Pence) string {
		if p == 0 {
			return ""
		}
		return strconv.FormatFloat(p.Pounds(), 'f', -1, 64)
	}
	switch field {
	case "year":
		return number(lot.Year)
	case "odometer":
		return number(lot.Odometer)
	case "segment":
		return lot.Segment
	case "category":
		return lot.Category
	case "damage":
		return lot.Code.String()
	case "value":
		return amount(lot.Value)
	case "guide":
		return amount(lot.Guide)
	case "site":
		return lot.Site
	case "vat":
		if lot.Plus {
			return "plus"
		}
		return "margin"
	case "keys":
		return lot.Keys
	case "starts":
		return lot.Starts
	case "sale_date":
		return lot.SaleDate
	}
	return "no such field"
}

// judgeList compares a list as read with its truth.
func judgeList(t *testing.T, name string, list *lots.List, err error, want []truth) counts {
	var c counts
	problems := map[int][]tabular.Problem{}
	whole := false
	var faults tabular.Problems
	switch {
	case errors.As(err, &faults):
		whole = true
	case err != nil:
		t.Errorf("%s: %v", name, err)
		whole = true
	default:
		for _, p := range list.Problems {
			problems[p.Line] = append(problems[p.Line], p)
		}
	}
	byLine := map[int]*evaluate.Lot{}
	if list != nil {
		for _, lot := range list.Lots {
			byLine[lot.Line] = lot
		}
	}
	for _, x := range want {
		lot := byLine[x.line]
		delete(byLine, x.line)
		switch asked := whole || len(problems[x.line]) > 0; {
		case lot == nil && !asked:
			c.lost++
			t.Errorf("%s:%d: lot %s is lost", name, x.line, x.lot)
		case lot == nil && x.ask:
			about := whole || slices.ContainsFunc(problems[x.line],
				func(p tabular.Problem) bool { return p.Column == x.column || x.column == "*" })
			if !about {
				t.Logf("%s:%d: lot %s: asked about %v, not about %s", name, x.line, x.lot, problems[x.line], x.column)
			}
			c.asked++
		case lot == nil:
			c.refused++
			t.Logf("%s:%d: lot %s: %v", name, x.line, x.lot, problems[x.line])
		case x.ask:
			c.wrong++
			t.Errorf("%s:%d: lot %s is read, though a person would ask about %s", name, x.line, x.lot, x.column)
		default:
			if wrong := differences(lot, x); len(wrong) > 0 {
				c.wrong++
				t.Errorf("%s:%d: lot %s: %s", name, x.line, x.lot, strings.Join(wrong, "; "))
				break
			}
			if found, err := list.Find(x.lot); err != nil || found != lot {
				t.Errorf("%s:%d: lot %s is found as %v: %v", name, x.line, x.lot, found, err)
			}
			c.right++
		}
	}
	for line, lot := range byLine {
		c.wrong++
		t.Errorf("%s:%d: read as a lot: %s", name, line, lot.Number)
	}
	return c
}

func differences(lot *evaluate.Lot, x truth) []string {
	var wrong []string
	for field, value := range x.fields {
		if field == "damage" {
			code, err := damage.Parse(value)
			if err != nil {
				wrong = append(wrong, err.Error())
			}
			value = code.String()
		}
		if got := asRead(lot, field); got != value {
			wrong = append(wrong, fmt.Sprintf("%s is read as %q, want %q", field, got, value))
		}
	}
	return wrong
}

// Lists as people type them: what a person reads is read, what they would ask
// about is asked about, and nothing is read wrong or lost.
func TestTypedLists(t *testing.T) {
	workshop := starter(t)
	paths, err := filepath.Glob("testdata/typed/*.truth")
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	var all counts
	for _, path := range paths {
		base := strings.TrimSuffix(path, ".truth")
		for _, ext := range []string{".csv", ".tsv", ".book"} {
			if _, err := os.Stat(base + ext); err != nil {
				continue
			}
			list, err := readTyped(t, base+ext, workshop)
			c := judgeList(t, filepath.Base(base)+ext, list, err, truths(t, path))
			t.Logf("%s: %v", filepath.Base(base), c)
			if list != nil {
				for _, n := range list.Notices {
					t.Log(n)
				}
			}
			all.add(c)
		}
	}
	t.Logf("all lists: %v", all)
	if total := all.right + all.asked + all.refused; all.wrong > 0 || all.lost > 0 || all.refused*10 > total {
		t.Errorf("want none wrong, none lost, nine tenths right or rightly asked about")
	}
}

func readTyped(t *testing.T, path string, workshop *shop.Shop) (*lots.List, error) {
	return lots.ReadList(listSource(t, path), workshop, lots.Reading{Again: func() (tabular.Source, io.Closer, error) {
		return listSource(t, path), io.NopCloser(nil), nil
	}})
}
