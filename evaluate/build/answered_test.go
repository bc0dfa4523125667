package build_test

import (
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/answered"
)

// Ledgers in three more manners, with no option given: what a person would read is read or asked about, what they would
// ask about is asked about, and nothing is booked wrong or lost. What people write is common practice, no source.
func TestAnsweredLedgers(t *testing.T) {
	paths, err := filepath.Glob("testdata/answered/*.txt")
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	var all tally
	for _, path := range paths {
		a := answered.Read(t, path)
		content := a.Content(t)
		how := build.Reading{Again: func() (tabular.Source, io.Closer, error) {
			return a.Open(t, content), io.NopCloser(nil), nil
		}}
		l, err := how.Ledger(a.Open(t, content))
		if err != nil {
			t.Logf("%s: refused: %v", path, err)
			var faults tabular.Problems
			if !errors.As(err, &faults) {
				t.Error(err)
			}
			all.refused += len(a.Want)
			continue
		}
		var c tally
		judgeBooked(t, a, filepath.Base(path), l, &c)
		t.Logf("%s: %+v", filepath.Base(path), c)
		for _, n := range l.Notices {
			t.Log("   ", n)
		}
		all.add(c)
	}
	t.Logf("all ledgers: %+v", all)
	if total := all.right + all.asked + all.refused; all.wrong > 0 || all.lost > 0 || all.refused*10 > total {
		t.Errorf("%+v; want none wrong, none lost, nine tenths right or rightly asked about", all)
	}
}

// A tally is how the rows of a ledger were read.
type tally struct{ right, asked, refused, wrong, lost int }

func (c *tally) add(o tally) {
	c.right, c.asked, c.refused = c.right+o.right, c.asked+o.asked, c.refused+o.refused
	c.wrong, c.lost = c.wrong+o.wrong, c.lost+o.lost
}

// judgeBooked compares a ledger as read with its answers.
func judgeBooked(t *testing.T, a *answered.File, name string, l *build.Ledger, c *tally) {
	t.Helper()
	entries, problems := map[int]booked{}, map[int][]tabular.Problem{}
	for _, b := range append(slices.Clone(l.Builds), &build.Build{Entries: l.Workshop}) {
		for i := range b.Entries {
			entries[b.Entries[i].Line] = booked{b, &b.Entries[i]}
		}
	}
	for _, p := range l.Problems {
		problems[p.Line] = append(problems[p.Line], p)
	}
	for _, x := range a.Want {
		e, read := entries[x.Line]
		delete(entries, x.Line)
		asked := problems[x.Line]
		delete(problems, x.Line)
		switch {
		case !read && len(asked) == 0:
			c.lost++
			t.Errorf("%s:%d is lost", name, x.Source)
		case !read && (x.Ask != "" || x.Either):
			c.asked++
			t.Logf("%s:%d: asked: %v", name, x.Source, asked)
		case !read:
			c.refused++
			t.Logf("%s:%d: refused: %v", name, x.Source, asked)
		case x.Ask != "" && !x.Either:
			c.wrong++
			t.Errorf("%s:%d is read as %s, though a person would ask about %s", name, x.Source, e.What, x.Ask)
		default:
			if wrong := bookedOtherwise(&x, e); len(wrong) > 0 {
				c.wrong++
				t.Errorf("%s:%d: %s", name, x.Source, strings.Join(wrong, "; "))
				break
			}
			c.right++
		}
	}
	for line, e := range entries {
		c.wrong++
		t.Errorf("%s: line %d is read as a row: %s", name, line, e.What)
	}
	for line, p := range problems {
		t.Logf("%s: line %d, which is no row: %v", name, line, p)
	}
}

// bookedOtherwise are the fields of a row that are read otherwise than a person would.
func bookedOtherwise(x *answered.Answer, e booked) []string {
	var wrong []string
	for field, want := range x.Fields {
		got := ""
		switch {
		case field == "own" && e.Kind == build.OverheadEntry && e.Build.Name != "":
			got = "overhead"
		case field == "own" && e.Build.Name == "":
			got = "workshop"
		case field == "own":
			got = e.Kind.String()
		case field == "hours":
			got = strconv.FormatFloat(e.Hours, 'f', -1, 64)
			if n, err := strconv.ParseFloat(want[0], 64); err == nil && n-e.Hours < 0.001 && e.Hours-n < 0.001 {
				got = want[0]
			}
		case field == "spend" && !e.Paid:
			got = ""
		case field == "spend":
			got = strconv.FormatFloat(e.Spend.Pounds(), 'f', -1, 64)
			if n, err := strconv.ParseFloat(want[0], 64); err == nil && n == e.Spend.Pounds() {
				got = want[0]
			}
		default:
			got = entryField(e.Build, e.Entry, field)
		}
		if !slices.Contains(want, got) {
			wrong = append(wrong, field+" is read as "+strconv.Quote(got)+", want "+strconv.Quote(strings.Join(want, "|")))
		}
	}
	return wrong
}
