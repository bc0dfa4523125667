package lots_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// Whatever a list holds, read as people type it: no panic, problems are printable, the same bytes give the same list,
// and every lot has what a lot must have.
func FuzzTypedLists(f *testing.F) {
	workshop, _, _, err := shop.Read("")
	if err != nil {
		f.Fatal(err)
	}
	paths, err := filepath.Glob("testdata/typed/*.?sv")
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
		read := func() (*lots.List, error) {
			open := func() tabular.Source { return tabular.NewCSV("f.csv", bytes.NewReader(text)) }
			return lots.ReadList(open(), workshop, lots.Reading{Tell: true, Again: func() (tabular.Source, io.Closer,
				error) {
				return open(), io.NopCloser(nil), nil
			}})
		}
		list, err := read()
		var problems tabular.Problems
		if errors.As(err, &problems) {
			printable(t, problems)
		}
		if err != nil {
			return
		}
		printable(t, list.Problems)
		again, err := read()
		if err != nil || len(again.Lots) != len(list.Lots) || len(again.Problems) != len(list.Problems) ||
			len(again.Notices) != len(list.Notices) {
			t.Fatalf("%d lots, %d problems; then %d, %d: %v", len(list.Lots), len(list.Problems), len(again.Lots),
				len(again.Problems), err)
		}
		seen := map[string]bool{}
		for i, lot := range list.Lots {
			if lot.Number == "" || lot.Value < 50_00 || lot.Category == "" || lot.Segment == "" || lot.Guide < 0 ||
				lot.Guide > 0 && lot.Guide < 50_00 {
				t.Fatalf("%+v", lot)
			}
			if seen[lot.Key()] || again.Lots[i].Key() != lot.Key() {
				t.Fatalf("lot %q twice, or in another place", lot.Key())
			}
			seen[lot.Key()] = true
		}
	})
}

// Whatever is written for a damage code: no panic, and what is read is read back from our own way of writing it.
func FuzzTypedCode(f *testing.F) {
	for _, seed := range []string{"N/S/F S2,C3", "nose s3c4m1/cabin r2", "osr c2 osf c1", "front bumper c2 | tail s1-",
		"off-side doors c2", "n/s c2", "r2?70", "//", "nose c2-3"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		code, err := lots.ParseCode(text)
		if err != nil {
			return
		}
		again, err := lots.ParseCode(code.String())
		if err != nil || again.String() != code.String() {
			t.Fatalf("%q is %q, and that is %q, %v", text, code, again, err)
		}
	})
}
