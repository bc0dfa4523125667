package build_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// What a hurried ledger gets wrong beside the frozen builds is said; builds that
// differ only by their number are other builds.
func TestLedgerAgainstFrozenBuilds(t *testing.T) {
	l, err := build.Reading{}.Ledger(
		tabular.NewCSV("ledger.csv", strings.NewReader(`build,date,zone,class,grade,what,spend,hours,state
mine,2026-01-05,,,,hammer,30000,,
mine,2099-01-01,nose,s,2,bench,400,3,
mien,2026-01-07,nose,c,3,lamp,100,1,
sale 101,2026-01-05,,,,hammer,1500,,
sale 102,2026-01-05,,,,hammer,900,,
`)),
	)
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	today := time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC)
	got := l.Against(map[string]build.Expected{"mine": {Hammer: 350000}, "Sale 101": {Hammer: 150000}}, today)
	want := []string{
		`ledger.csv: the estimate of build "mine" has a hammer price of 3,500.00 and the ledger 30,000.00; the ledger's counts`,
		`ledger.csv: no estimate has the build name "mien"; did you mean "mine"? its rows are not counted`,
		`ledger.csv:3: 2099-01-01 is after today; is it mistyped? days are counted up to it`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A car goes by its lot number where one estimate alone has that lot, and the ledger has no rows under its name.
func TestCarsByTheirLot(t *testing.T) {
	l, err := build.Reading{}.Ledger(tabular.NewCSV("l.csv", strings.NewReader(`build,date,what,spend
101,2026-01-05,hammer,1500
Lot 102,2026-01-05,hammer,900
103,2026-01-05,hammer,900
may 103,2026-01-06,fuel,9
104,2026-01-05,hammer,900
`)))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	var frozen []*build.Frozen
	for _, x := range [][2]string{{"may 101", "101"}, {"may 102", "102"}, {"may 103", "103"}, {"may 104", "104"},
		{"june 104", "104"}} {
		frozen = append(frozen, &build.Frozen{Build: x[0], Kept: build.LotRecord{Lot: x[1]}})
	}
	got := l.CallByLot(frozen)
	want := []string{`l.csv: "101" is read as the build "may 101", by its lot`,
		`l.csv: "Lot 102" is read as the build "may 102", by its lot`}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	var names []string
	for _, b := range l.Builds {
		names = append(names, b.Name)
	}
	if got := strings.Join(names, ", "); got != "may 101, may 102, 103, may 103, 104" {
		t.Errorf("the builds are %s", got)
	}
}

// Rows dated after today are one line, whatever their number; rows of two cars together are named; a hammer price with
// the VAT in it is told from another price.
func TestLedgerAgainstTheDay(t *testing.T) {
	rows := "build,date,what,spend\nalder,2026-03-01,hammer,1800\n"
	for day := range 20 {
		rows += fmt.Sprintf("alder,2026-03-%02d,fuel,%d\n", 2+day, 10+day)
	}
	rows += "Both,2026-03-22,transport,150\nalder & birch,2026-03-22,fuel,15\noak and ash,2026-03-22,fuel,15\n"
	l, err := build.Reading{}.Ledger(tabular.NewCSV("l.csv", strings.NewReader(rows)))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	got := l.Against(map[string]build.Expected{"Alder": {Hammer: 150000, WithVAT: 180000}, "birch": {Hammer: 90000}},
		time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC))
	want := []string{
		`l.csv: the hammer price of 1,800.00 of "alder" is the estimate's 1,500.00 with VAT on it: it counts as written, ` +
			`and VAT comes on top of it; write the price as called, 1,500.00`,
		`l.csv: 1 row of "Both" is not counted: write a row for each car, with its share`,
		`l.csv: 1 row of "alder & birch" is not counted: write a row for each car, with its share`,
		`l.csv: 19 rows are dated after today, from line 4 (2026-03-03) on, the latest 2026-03-21 on line 22; is the year ` +
			`right? days are counted up to them`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// The rows of a name that is none of the builds' are not counted, and that is said where the figures are one's: an O
// for
// a 0, lot for sale. Another number is another build.
func TestLedgerNamesWithTheSameFigures(t *testing.T) {
	for name, want := range map[string]string{"sale 1O2": "sale 102", "lot 102": "sale 102", "102": "sale 102",
		"Sale-l02": "sale 102", "sale 103": "", "sale 1020": "", "van": ""} {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv",
			strings.NewReader("build,date,what,spend\n"+name+",2026-01-05,hammer,900\n")))
		if err != nil || len(l.Problems) > 0 {
			t.Fatal(err, l.Problems)
		}
		known := map[string]build.Expected{"sale 101": {Hammer: 90000}, "sale 102": {Hammer: 90000}}
		got := strings.Join(l.Against(known, time.Now()), "\n")
		if said := strings.Contains(got, `did you mean "`+want+`"? its rows are not counted`); said != (want != "") || want == "" &&
			got != "" {
			t.Errorf("%q: %s, want %q", name, got, want)
		}
	}
}
