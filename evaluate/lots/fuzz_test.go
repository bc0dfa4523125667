package lots_test

import (
	"bytes"
	"errors"
	"iter"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wreckoner/damage/listing"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// folderWith returns a shop folder that holds one file.
func folderWith(t *testing.T, name string, content []byte) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

// printable fails where a problem would steer the terminal.
func printable(t *testing.T, problems []tabular.Problem) {
	t.Helper()
	for _, p := range problems {
		if text := p.Error(); text != tabular.Sanitise(text) || text == "" {
			t.Fatalf("problem %q", text)
		}
	}
}

// Whatever lexicon.csv holds: no panic; where it is sound, any text can be read
// by it.
func FuzzLexicon(f *testing.F) {
	head := "words,kind,means,class,grade,level,chance,role,note\n"
	f.Add([]byte(listing.StarterCSV()), "n/s/f wing dented, bonnet and both headlamps broken; no airbags deployed")
	for _, seed := range []string{"x,part,nose,c,2,,,\n", "x,extra,keys=no,,,,,\n",
		"x|y,position,front,,,,,\nx,part,end,s,9,,,\n", "x,depth,,,,2,,\n", "x,harm,,,,3,50,\n", "no,negation,,,,,,\n"} {
		f.Add([]byte(head+seed), "x y no x x")
	}
	f.Fuzz(func(t *testing.T, lexicon []byte, text string) {
		l, problems, err := lots.LexiconFrom(bytes.NewReader(lexicon))
		printable(t, problems)
		if err != nil {
			return
		}
		if (l == nil) == (len(problems) == 0) {
			t.Fatalf("lexicon %v, problems %v", l, problems)
		}
		if l != nil {
			l.Read(text)
		}
	})
}

// Whatever columns.csv holds: no panic, and what is read and saved is read again.
func FuzzMappings(f *testing.F) {
	for _, seed := range []string{"name,column,header,value\nw,lot,Ref,\nw,site,,Tolloway\n", "name,column,header\n,,\n",
		"name;column;header\nx;lot;\"a\nb\"\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		dir := folderWith(t, shop.ColumnsFile, text)
		all, problems, err := lots.ReadMappings(dir)
		printable(t, problems)
		if err != nil || len(problems) > 0 {
			return
		}
		added := lots.Mapping{Name: "added here", Columns: map[string]string{"lot": "Ref"}}
		if err := lots.SaveMapping(dir, added); err != nil {
			t.Fatal(err)
		}
		again, problems, err := lots.ReadMappings(dir)
		if err != nil || len(problems) > 0 {
			t.Fatal(err, problems)
		}
		if len(again) < len(all) || len(again) > len(all)+1 {
			t.Fatalf("%d mappings, then %d", len(all), len(again))
		}
	})
}

// Whatever a lot list holds: no panic, every row is a lot or a problem.
func FuzzLots(f *testing.F) {
	workshop, _, _, err := shop.Read("")
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("lot,category,damage,value,guide,site,vat,keys,sale_date,collect_by\n1,N,nose s1 " +
		"c3?,\"£9,000\",2000,Tolloway,plus,no,2026-01-01,2026-01-05\n"))
	f.Add([]byte("lot;category;description;value\n1;N;x;1e9\n1;N;x;.\n\n2;\"N\n\";;99999999999999999999\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := lots.ReadList(tabular.NewCSV("f.csv", bytes.NewReader(text)), workshop, lots.Reading{})
		var problems tabular.Problems
		if errors.As(err, &problems) {
			printable(t, problems)
		}
		if err != nil {
			return
		}
		printable(t, list.Problems)
		again, err := lots.OpenLots(tabular.NewCSV("f.csv", bytes.NewReader(text)), workshop, lots.Reading{})
		if err != nil {
			t.Fatal(err)
		}
		var rejects bytes.Buffer
		var problemsAgain []tabular.Problem
		if err := again.WriteRejects(&rejects, rejected(again, &problemsAgain)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(list.Problems, problemsAgain); diff != "" {
			t.Error("row by row, other problems are found:\n" + diff)
		}
	})
}

// rejected are the rows that cannot be read; their problems are added to all.
func rejected(list *lots.Lots, all *[]tabular.Problem) iter.Seq2[lots.Rejected, error] {
	return func(yield func(lots.Rejected, error) bool) {
		for row, err := range list.All() {
			list.Unique(&row)
			*all = append(*all, row.Problems...)
			if (err != nil || len(row.Problems) > 0) && !yield(lots.Rejected{Raw: row.Raw, Problems: row.Problems}, err) {
				return
			}
		}
	}
}
