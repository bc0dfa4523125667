package lots_test

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/answered"
)

// Lists in fifteen more manners, with no option given: what a person would read is read or asked about, what they would
// ask about is asked about, and nothing is read wrong or lost. What people write is common practice, no source.
func TestAnsweredLists(t *testing.T) {
	all := answeredLists(t, func(*answered.File) map[string]string { return nil })
	if total := all.right + all.asked + all.refused; 2*all.right < total || 10*all.refused > total {
		t.Errorf("%v; want half read right, nine tenths right or rightly asked about", all)
	}
}

// The same lists with every column mapped by hand.
func TestAnsweredListsWithEveryColumnMapped(t *testing.T) {
	all := answeredLists(t, func(a *answered.File) map[string]string {
		columns := map[string]string{}
		for pair := range strings.SplitSeq(a.Setup["map"], ";") {
			name, header, ok := strings.Cut(pair, "=")
			if !ok {
				t.Fatalf("%s: %q is no column", a.Setup["file"], pair)
			}
			columns[name] = header
		}
		return columns
	})
	if total := all.right + all.asked + all.refused; 2*all.right < total || 10*all.refused > total {
		t.Errorf("%v; want half read right, nine tenths right or rightly asked about", all)
	}
}

// answeredLists reads all the lists, with columns mapped, and counts how their lots were read.
func answeredLists(t *testing.T, columns func(*answered.File) map[string]string) (all counts) {
	t.Helper()
	workshop := starter(t)
	paths, err := filepath.Glob("testdata/answered/*.txt")
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		a := answered.Read(t, path)
		content := a.Content(t)
		list, err := lots.ReadList(a.Open(t, content), workshop, lots.Reading{
			Map:   columns(a),
			On:    lots.Day{Date: time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)},
			Again: func() (tabular.Source, io.Closer, error) { return a.Open(t, content), io.NopCloser(nil), nil }})
		c := judgeAnswered(t, a, path, list, err)
		t.Logf("%s: %v", filepath.Base(path), c)
		if list != nil {
			for _, n := range list.Notices {
				t.Log("   ", n)
			}
		}
		all.add(c)
	}
	t.Logf("all lists: %v", all)
	if all.wrong > 0 || all.lost > 0 {
		t.Errorf("%v; want none wrong, none lost", all)
	}
	return all
}

// judgeAnswered compares a list as read with its answers.
func judgeAnswered(t *testing.T, a *answered.File, path string, list *lots.List, err error) counts {
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
	for _, x := range a.Want {
		lot := byLine[x.Line]
		delete(byLine, x.Line)
		where := fmt.Sprintf("%s:%d (line %d)", filepath.Base(path), x.Source, x.Line)
		switch asked := err != nil || len(problems[x.Line]) > 0; {
		case lot == nil && !asked:
			c.lost++
			t.Errorf("%s is lost", where)
		case lot == nil && err == nil && (x.Ask != "" || x.Either):
			t.Logf("%s: asked: %v", where, problems[x.Line])
			c.asked++
		case lot == nil:
			c.refused++
			t.Logf("%s: refused: %v", where, problems[x.Line])
		case x.Ask != "" && !x.Either:
			c.wrong++
			t.Errorf("%s is read, though a person would ask about %s", where, x.Ask)
		default:
			if wrong := answerDifferences(&x, lot); len(wrong) > 0 {
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
		if !slices.ContainsFunc(a.Want, func(x answered.Answer) bool { return x.Line == line }) {
			t.Logf("%s: line %d, which is no lot: %v", path, line, problems[line])
		}
	}
	return c
}

// answerDifferences are the fields of a lot that are read otherwise than a person would; a field without an answer is
// blank,
// a car type without one family.
func answerDifferences(x *answered.Answer, lot *evaluate.Lot) []string {
	var wrong []string
	for _, field := range []string{"year", "odometer", "segment", "category", "damage", "value", "guide", "site", "vat",
		"keys", "starts", "sale_date", "car"} {
		want, said := x.Fields[field]
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
