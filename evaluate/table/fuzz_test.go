package table_test

import (
	"bytes"
	"errors"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wreckoner/damage/book"
	"wreckoner/damage/listing"
	"wreckoner/evaluate/table"
	"wreckoner/evaluate/table/record"
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
func printable(t *testing.T, problems []record.Problem) {
	t.Helper()
	for _, p := range problems {
		if text := p.Error(); text != record.Sanitise(text) || text == "" {
			t.Fatalf("problem %q", text)
		}
	}
}

// Whatever shop.toml holds: no panic, and faults that can be printed.
func FuzzSettings(f *testing.F) {
	starter, err := fs.ReadFile(book.Starter(), table.SettingsFile)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(starter)
	for _, seed := range []string{
		"labour_rate = nan", "loss_limit = 15", "lead_spread = [1, 2]", "lead_spread = 3", "[[fixed]]\nname = \"x\"\nlow = 1\nmid = 2\nhigh = 9",
		"[[extra]]\nafter = [\"s\", \"m2\"]\nlow=1\nmid=1\nhigh=1\nname=\"a\"", "[fixed]\nx=1", "a.b.c = 1", "vat_rate = 1e400", "bid_step = 0.0000001", "currency = \"\\u001b\"",
		"\xff\xfea\x00", "labour_rate = 1\nlabour_rate = 2", "cash = -inf", "vat_rate = 9223372036854775807",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		problems, err := table.CheckSettings(string(text))
		if err != nil {
			t.Fatal(err)
		}
		printable(t, problems)
	})
}

// Whatever lexicon.csv holds: no panic; where it is sound, any text can be read
// by it.
func FuzzLexicon(f *testing.F) {
	head := strings.Join(listing.Columns(), ",") + "\n"
	f.Add([]byte(listing.StarterCSV()), "n/s/f wing dented, bonnet and both headlamps broken; no airbags deployed")
	for _, seed := range []string{"x,part,nose,c,2,,,\n", "x,extra,keys=no,,,,,\n", "x|y,position,front,,,,,\nx,part,end,s,9,,,\n", "x,depth,,,,2,,\n", "x,harm,,,,3,50,\n", "no,negation,,,,,,\n"} {
		f.Add([]byte(head+seed), "x y no x x")
	}
	f.Fuzz(func(t *testing.T, lexicon []byte, text string) {
		l, problems, err := table.LexiconFrom(bytes.NewReader(lexicon))
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
	for _, seed := range []string{"name,column,header,value\nw,lot,Ref,\nw,site,,Tolloway\n", "name,column,header\n,,\n", "name;column;header\nx;lot;\"a\nb\"\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		dir := folderWith(t, table.ColumnsFile, text)
		all, problems, err := table.ReadMappings(dir)
		printable(t, problems)
		if err != nil || len(problems) > 0 {
			return
		}
		added := table.Mapping{Name: "added here", Columns: map[string]string{"lot": "Ref"}}
		if err := table.SaveMapping(dir, added); err != nil {
			t.Fatal(err)
		}
		again, problems, err := table.ReadMappings(dir)
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
	shop, _, _, err := table.ReadShop("")
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("lot,category,damage,value,guide,site,vat,keys,sale_date,collect_by\n1,N,nose s1 c3?,\"£9,000\",2000,Tolloway,plus,no,2026-01-01,2026-01-05\n"))
	f.Add([]byte("lot;category;description;value\n1;N;x;1e9\n1;N;x;.\n\n2;\"N\n\";;99999999999999999999\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := table.ReadLots(record.NewCSV("f.csv", bytes.NewReader(text)), shop, nil)
		var problems record.Problems
		if errors.As(err, &problems) {
			printable(t, problems)
		}
		if err != nil {
			return
		}
		printable(t, list.Problems)
		lots, err := table.OpenLots(record.NewCSV("f.csv", bytes.NewReader(text)), shop, table.Reading{})
		if err != nil {
			t.Fatal(err)
		}
		var rejects bytes.Buffer
		var again []record.Problem
		if err := lots.WriteRejects(&rejects, rejected(lots, &again)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(list.Problems, again); diff != "" {
			t.Error("row by row, other problems are found:\n" + diff)
		}
	})
}

// rejected are the rows that cannot be read; their problems are added to all.
func rejected(lots *table.Lots, all *[]record.Problem) iter.Seq2[table.Rejected, error] {
	return func(yield func(table.Rejected, error) bool) {
		for row, err := range lots.All() {
			lots.Unique(&row)
			*all = append(*all, row.Problems...)
			if (err != nil || len(row.Problems) > 0) && !yield(table.Rejected{Raw: row.Raw, Problems: row.Problems}, err) {
				return
			}
		}
	}
}
