package build_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// entryField returns what was read in a field of a row, as the truth writes it.
func entryField(b *build.Build, e *build.Entry, field string) string {
	zoned := e.Kind == build.ZoneEntry
	switch field {
	case "build":
		return b.Name
	case "date":
		return e.Date.Format(time.DateOnly)
	case "zone":
		if !zoned {
			return ""
		}
		return e.Spot.Zone.String()
	case "class":
		if !zoned {
			return ""
		}
		return e.Spot.Class.Letter()
	case "grade":
		return strconv.Itoa(int(e.Grade))
	case "what":
		if zoned || e.Kind == build.OverheadEntry {
			return e.What
		}
		return e.Kind.String()
	case "spend":
		return strconv.FormatFloat(e.Spend.Pounds(), 'f', -1, 64)
	case "hours":
		return strconv.FormatFloat(e.Hours, 'f', -1, 64)
	case "state":
		return e.State.String()
	case "supplier":
		return e.Supplier
	case "invoice":
		return e.Invoice
	}
	return "no such field"
}

// A booked is a row that was read, and the build that has it.
type booked struct {
	*build.Build
	*build.Entry
}

// Ledgers as people type them: what a person reads is read, what they would ask about is asked about, and nothing is
// read wrong, counted twice or lost.
func TestTypedLedgers(t *testing.T) {
	paths, err := filepath.Glob("testdata/typed/*.truth")
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	right, asked, refused, wrong, lost := 0, 0, 0, 0, 0
	for _, path := range paths {
		name := strings.TrimSuffix(filepath.Base(path), ".truth") + ".csv"
		l := typedLedger(t, name)
		entries, problems := map[int]booked{}, map[int][]tabular.Problem{}
		for _, b := range l.Builds {
			for i := range b.Entries {
				entries[b.Entries[i].Line] = booked{b, &b.Entries[i]}
			}
		}
		for i := range l.Workshop {
			entries[l.Workshop[i].Line] = booked{&build.Build{}, &l.Workshop[i]}
		}
		for _, p := range l.Problems {
			problems[p.Line] = append(problems[p.Line], p)
		}
		truth, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for row := range strings.Lines(string(truth)) {
			parts := strings.Split(strings.TrimSpace(row), " | ")
			line, err := strconv.Atoi(parts[0])
			if err != nil {
				t.Fatal(err)
			}
			e, read := entries[line]
			delete(entries, line)
			asks := len(problems[line]) > 0
			delete(problems, line)
			switch expectAsk := parts[1] == "ask"; {
			case !read && !asks:
				lost++
				t.Errorf("%s:%d: lost", name, line)
			case !read && expectAsk:
				asked++
			case !read:
				refused++
				t.Logf("%s:%d: refused", name, line)
			case expectAsk:
				wrong++
				t.Errorf("%s:%d: is read, though a person would ask about %s", name, line, parts[2])
			default:
				faults := 0
				for _, f := range parts[2:] {
					field, want, _ := strings.Cut(f, "=")
					if got := entryField(e.Build, e.Entry, strings.TrimSpace(field)); got != strings.TrimSpace(want) {
						faults++
						t.Errorf("%s:%d: %s is read as %q, want %q", name, line, field, got, want)
					}
				}
				if faults == 0 {
					right++
				} else {
					wrong++
				}
			}
		}
		for line, e := range entries {
			wrong++
			t.Errorf("%s:%d: read as a row: %s", name, line, e.What)
		}
		for line, p := range problems {
			wrong++
			t.Errorf("%s:%d: asked about though it is no row: %v", name, line, p)
		}
		for _, p := range l.Problems {
			t.Log(p)
		}
		for _, n := range l.Notices {
			t.Log(n)
		}
	}
	all := fmt.Sprintf("ledgers: right %d, rightly asked about %d, refused though plain %d, wrong %d, lost %d", right,
		asked, refused, wrong, lost)
	t.Log(all)
	if wrong > 0 || lost > 0 || refused*10 > right+asked+refused {
		t.Error(all)
	}
}

func typedLedger(t *testing.T, name string) *build.Ledger {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata/typed", name))
	if err != nil {
		t.Fatal(err)
	}
	how := build.Reading{Again: func() (tabular.Source, io.Closer, error) {
		return tabular.NewCSV(name, bytes.NewReader(text)), io.NopCloser(nil), nil
	}}
	l, err := how.Ledger(tabular.NewCSV(name, bytes.NewReader(text)))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Whatever a ledger holds, read as people type it: no panic, and every row is booked, named or no row.
func FuzzTypedLedgers(f *testing.F) {
	paths, err := filepath.Glob("testdata/typed/*.csv")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		open := func() tabular.Source { return tabular.NewCSV("f.csv", bytes.NewReader(text)) }
		how := build.Reading{Again: func() (tabular.Source, io.Closer, error) { return open(), io.NopCloser(nil), nil }}
		l, err := how.Ledger(open())
		if err != nil {
			return
		}
		for _, p := range l.Problems {
			if said := p.Error(); said != tabular.Sanitise(said) {
				t.Errorf("problem %q", said)
			}
		}
		booked := 0
		for _, b := range l.Builds {
			booked += len(b.Entries)
		}
		if went := l.Went(nil); len(went) != booked {
			t.Errorf("%d rows are booked, and %d are shown", booked, len(went))
		}
	})
}
