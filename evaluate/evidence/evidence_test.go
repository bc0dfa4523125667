package evidence_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
)

// folder writes a shop folder with these files beside the starter's settings.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func evaluator(t *testing.T, s *shop.Shop) *evaluate.Evaluator {
	t.Helper()
	e, err := evaluate.New(s, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func readShop(t *testing.T, dir string) (*shop.Shop, *evidence.Files) {
	t.Helper()
	s, problems, _, err := shop.Read(dir)
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	f, err := evidence.Read(dir, s)
	if err != nil {
		t.Fatal(err)
	}
	return s, f
}

// messages are the problems without the folder's name.
func messages(dir string, f *evidence.Files) []string {
	var out []string
	for _, p := range f.Problems {
		out = append(out, strings.TrimPrefix(p.Error(), dir+"/"))
	}
	return out
}

const advertHead = "make,model,segment,year,miles,asked,marked,first_seen,last_seen,sold,got,listed,vat,build\n"

func TestEveryFaultOfARowIsSaidAndTheOthersCount(t *testing.T) {
	dir := folder(t, map[string]string{
		"adverts.csv": advertHead +
			"Brantholt,Aldra,,2017,71977,6520,no,2026-02-14,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,6520,no,,2026-02-30,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,6520,no,,31/02/2026,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,6520,no,2026-03-04,2026-03-01,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,6520,cat q,,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,,no,,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,city,2017,71977,6520,no,,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,,2017,71977,65OO,no,,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,,2017,,6520,no,,2026-03-04,,,,,\n" +
			"Brantholt,Aldra,,2018,60000,6900,n,,2026-03-04,2026-04-01,\"6,750\",7200,margin,Red Aldra\n",
		"results.csv": "lot,make,model,year,odometer,category,damage,value,guide,site,sale_date,hammer,result,stop,won,build\n" +
			"1,Brantholt,Aldra,2017,70000,N,nose c2,6500,2000,Marrow Fen,2026-04-30,2200,,,,\n" +
			"2,Brantholt,Aldra,2017,71000,N,,6500,2000,Marrow Fen,,2200,,,,\n" +
			"3,Brantholt,Aldra,2017,72000,N,,6500,2000,Marrow Fen,2026-04-30,3400,,\"3,000\",yes,\n" +
			"1,Brantholt,Aldra,2017,73000,N,,6500,2000,Marrow Fen,2026-04-30,2200,,,,\n" +
			"4,Brantholt,Aldra,2017,74000,Q,,6500,2000,Marrow Fen,2026-04-30,2200,,,,\n" +
			"5,Brantholt,Aldra,2017,75000,N,nose z9,6500,2000,Marrow Fen,2026-04-30,2200,,,,\n" +
			"6,Brantholt,Aldra,2017,76000,N,,6500,2000,Marrow Fen,2026-04-30,,sold,,,\n" +
			"7,Brantholt,Aldra,2017,77000,N,,6500,2000,Marrow Fen,2026-04-30,2100,sold,2500,yes,Red Aldra\n",
		"builds.csv": "build,sale_date,predicted,margin_sd,repair_sd,u,realised,value,tau\n" +
			"a,2026-01-01,1000,900,400,-0.5,800,7000,600\n" +
			"A,2026-01-01,1000,900,400,-0.5,800,7000,600\n" +
			"b,2026-01-01,1000,0,400,-0.5,800,,\n" +
			"c,2026-01-01,1000,900,400,-0.5,,,\n",
	})
	_, f := readShop(t, dir)
	want := []string{
		`adverts.csv:3: last_seen: "2026-02-30" is not a date that exists; write 2026-03-17`,
		`adverts.csv:4: last_seen: "31/02/2026" is not a date that exists; write 2026-03-17`,
		`adverts.csv:9: asked: "65OO" is not an amount; write 1200 or 1,200.00`,
		`adverts.csv:10: miles: is blank; write a number`,
		`results.csv:6: category: "Q" is not a category of the shop; write one of A, B, S, N, C, D, unrecorded`,
		`results.csv:7: damage: `,
		`builds.csv:3: build: "A" is already on line 2; take one away`,
		`builds.csv:4: margin_sd: 0 is not above 0; write pounds, such as 1500`,
		`builds.csv:5: realised: is blank; write pounds`,
		`adverts.csv:5: last_seen: 2026-03-01 is before first_seen, 2026-03-04; is one of them mistyped?`,
		`adverts.csv:6: marked: "cat q" is not yes, no or a category of the shop`,
		`adverts.csv:7: asked: blank, and got too; write the price asked, or for an own sale the price received`,
		`adverts.csv:8: segment: "city", but Aldra is family on line 2; write one car type for a model`,
		`results.csv:3: sale_date: blank; write the day of the sale, such as 2026-05-27`,
		`results.csv:4: stop: 3,000 is below the hammer price of 3,400, and won says yes; is one of them mistyped?`,
		`results.csv:5: lot: "1" of Marrow Fen on 2026-04-30 is already on line 2; take one away`,
		`results.csv:8: hammer: blank, and result says sold; write the hammer price`,
	}
	got := messages(dir, f)
	for i := range max(len(got), len(want)) {
		switch {
		case i >= len(got):
			t.Errorf("missing: %s", want[i])
		case i >= len(want):
			t.Errorf("not expected: %s", got[i])
		case !strings.HasPrefix(got[i], want[i]):
			t.Errorf("got  %s\nwant %s", got[i], want[i])
		}
	}
	if len(f.Adverts) != 2 || len(f.Results) != 2 || len(f.Builds) != 1 {
		t.Errorf("%d adverts, %d results, %d builds are left; want 2, 2, 1", len(f.Adverts), len(f.Results), len(f.Builds))
	}
	a := f.Adverts[1]
	sold := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	if a.Got != 6750 || a.Listed != 7200 || a.Marked != "N" || !a.Sold.Equal(sold) || a.VATPlus ||
		!f.SoldBuilds["red aldra"] {
		t.Errorf("the own sale was read as %+v, builds %v", a, f.SoldBuilds)
	}
	if p := f.Results[0]; !p.Coded || p.Code.String() != "nose c2" || p.Hammer != 2200 || p.Site != "Marrow Fen" {
		t.Errorf("the first result was read as %+v", p)
	}
	if p := f.Results[1]; p.Coded || p.Won != prices.Yes || p.Stop != 2500 || !f.WonBuilds["red aldra"] {
		t.Errorf("the last result was read as %+v", p)
	}
}

func TestAMissingColumnIsNamedWithAllThatTheHeaderNeeds(t *testing.T) {
	dir := folder(t, map[string]string{
		"adverts.csv": "make,model,year,miles,marked\nBrantholt,Aldra,2017,70000,no\n",
		"results.csv": "lot,category,paid,on\n1,N,200,2026-01-01\n",
	})
	_, f := readShop(t, dir)
	want := []string{
		`adverts.csv:1: no column "asked"; the header needs model, year, miles, asked and marked`,
		`results.csv:1: no column "hammer" or "sale_date"; the header needs category, hammer and sale_date`,
	}
	if got := messages(dir, f); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Files as people type them: their own headers, pounds signs, thousands, plates, days. What was guessed is said. A day
// that may be two is read as the file's other days are.
func TestFilesAsPeopleTypeThem(t *testing.T) {
	dir := folder(t, map[string]string{
		"adverts.csv": "Make,Model,Reg,Mileage,Price,Cat,Seen on,Notes\n" +
			"Brantholt,Aldra,2019,41k,\"£9,495\",,17/11/2026,one owner\n" +
			"Brantholt,Aldra,68 plate,\"52,000 miles\",8750 + VAT,no,04/11/2026,\n" +
			"Brantholt,Aldra,2017,71500,6.9k,N,Tue 3 November 2026,\n" +
			"Brantholt,Aldra,2018,60000,POA,,18/11/2026,\n",
		"results.csv": "Lot No,Make,Model,Year,Mileage,Cat,Sold for,Date,Yard\n" +
			"12,Brantholt,Aldra,2018,60k,N,\"£2,050\",05/11/2026,Marrow Fen\n" +
			"13,Brantholt,Aldra,2018,unknown,N,,05/11/2026,Marrow Fen\n",
	})
	_, f := readShop(t, dir)
	want := []string{
		`adverts.csv:5: asked: blank, and got too; write the price asked, or for an own sale the price received`,
	}
	if got := messages(dir, f); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	day := func(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }
	for i, want := range []prices.Advert{
		{Year: 2019, Miles: 41000, Asked: 9495, LastSeen: day(17)},
		{Year: 2018, Miles: 52000, Asked: 8750, LastSeen: day(4), Marked: "no", VATPlus: true},
		{Year: 2017, Miles: 71500, Asked: 6900, LastSeen: day(3), Marked: "N"},
	} {
		want.Line, want.Make, want.Model, want.Segment = i+2, "Brantholt", "Aldra", "family"
		if i >= len(f.Adverts) || f.Adverts[i] != want {
			t.Errorf("advert %d: %+v, want %+v", i, f.Adverts, want)
		}
	}
	said := strings.ReplaceAll(strings.Join(f.Notices, "\n"), dir+"/", "")
	for _, want := range []string{
		`adverts.csv: columns read as: year="Reg", miles="Mileage", asked="Price", marked="Cat", last_seen="Seen on", ` +
			`note="Notes"`,
		"adverts.csv: 1 date that could be two: read day first, as other dates of the folder show",
		"results.csv: 2 dates that could be two: read day first, as other dates of the folder show",
		`results.csv: columns read as: category="Cat", hammer="Sold for", sale_date="Date", lot="Lot No", ` +
			`odometer="Mileage", site="Yard"`,
	} {
		if !strings.Contains(said, want) {
			t.Errorf("not said: %s\nin: %s", want, said)
		}
	}
}

func TestHeadersAloneAreNoEvidence(t *testing.T) {
	dir := folder(t, map[string]string{"adverts.csv": advertHead, "results.csv": "category,hammer,sale_date\n"})
	s, f := readShop(t, dir)
	if !f.Empty() || len(f.Problems) > 0 || len(f.Notices) > 0 {
		t.Errorf("headers alone gave %d adverts, %v, %v", len(f.Adverts), f.Problems, f.Notices)
	}
	m, notices, err := f.Fit(evaluator(t, s), time.Time{}, true)
	if err != nil || m.HasResults() || len(notices) > 0 {
		t.Errorf("fitted to nothing: %v, %v", err, notices)
	}
}

// The independent reference's files (see testdata of package prices) are read to the last row.
func TestTheFixtureIsReadWhole(t *testing.T) {
	dir := t.TempDir()
	counts := map[string]int{}
	for _, name := range []string{"adverts.csv", "results.csv", "builds.csv"} {
		text, err := os.ReadFile(filepath.Join("..", "prices", "testdata", "fixture", name))
		if err != nil {
			t.Fatal(err)
		}
		counts[name] = strings.Count(string(text), "\n") - 1
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, f := readShop(t, dir)
	// One of its rows is mistyped on purpose, and a reader refuses it.
	if got := messages(dir, f); len(got) != 1 || !strings.HasPrefix(got[0], "results.csv:22: stop: 1,400 is below") {
		t.Error(got)
	}
	if len(f.Adverts) != counts["adverts.csv"] || len(f.Results) != counts["results.csv"]-1 ||
		len(f.Builds) != counts["builds.csv"] {
		t.Errorf("%d, %d, %d rows of %v", len(f.Adverts), len(f.Results), len(f.Builds), counts)
	}
	m, _, err := f.Fit(evaluator(t, s), time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), true)
	if err != nil || !m.HasResults() {
		t.Errorf("not fitted: %v", err)
	}
	if _, _, err := f.Fit(evaluator(t, s), time.Time{}, true); err != nil {
		t.Error(err)
	}
}

func TestSettingsOfEvidenceAreChecked(t *testing.T) {
	dir := folder(t, map[string]string{"shop.toml": "labour_rate = 30\nadvert_halflife = 0\nlisting_share = " +
		"1\nshare_spread = [1, 1, 1]\n" +
		"rival_gap = [0.1]\nmiles_a_year = -1\nselection = [0, 1]\nmargin_spread = 8\nresult_halflife = inf\n"})
	_, problems, _, err := shop.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"shop.toml:2: advert_halflife: 0 is not above 0; write days, such as 180",
		"shop.toml:9: result_halflife: +Inf is not above 0; write days, such as 365",
		"shop.toml:6: miles_a_year: -1 is not above 0; write miles, such as 8000",
		"shop.toml:3: listing_share: 1 is not between 0 and 1; write a share, such as 0.5",
		"shop.toml:4: share_spread: [1 1 1] do not rise from above 0; write three factors, such as [0.6, 1, 1.6]",
		"shop.toml:5: rival_gap: [0.1] is not a mean and a standard deviation above 0; write two numbers, such as [0.10, " +
			"0.05]",
		"shop.toml:7: selection: [0 1] are not pounds and two shares; write three numbers, such as [0, 1, 0.25]",
		"shop.toml:8: margin_spread: 8 is not a share of the value from 0 to 1; write a share, such as 0.08",
	}
	var got []string
	for _, p := range problems {
		got = append(got, strings.TrimPrefix(p.Error(), dir+"/"))
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A figure that hardly counts is named as it stands in the file, so that it can be found there.
func TestAFigureThatHardlyCountsIsNamedAsTyped(t *testing.T) {
	adverts := advertHead
	for i := range 12 {
		adverts += fmt.Sprintf("Brantholt,Aldra,,2018,60000,%d,no,,2026-09-%02d,,,,,\n", 8800+40*i, 1+i)
	}
	dir := folder(t, map[string]string{"adverts.csv": adverts,
		"results.csv": "make,model,year,odometer,category,value,guide,site,sale_date,hammer\n" +
			"Brantholt,Aldra,2018,61000,N,9100,3000,Marrow Fen,2026-09-20,3100\n" +
			"Brantholt,Aldra,2018,62000,N,9200,3000,Marrow Fen,2026-09-21,3200\n" +
			"Brantholt,Aldra,2018,63000,N,2900,3000,Marrow Fen,2026-09-22,3000\n"})
	s, f := readShop(t, dir)
	_, notices, err := f.Fit(evaluator(t, s), time.Time{}, true)
	if err != nil {
		t.Fatal(err)
	}
	const want = "results.csv:4: value: 2,900 is a third of what the others say; it hardly counts: mistyped?"
	if said := strings.Join(notices, "\n"); !strings.Contains(said, want) {
		t.Errorf("%s; want %s", said, want)
	}
}
