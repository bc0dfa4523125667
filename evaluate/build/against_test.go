package build_test

import (
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// What a hurried ledger gets wrong beside the frozen builds is said; builds that
// differ only by their number are other builds.
func TestLedgerAgainstFrozenBuilds(t *testing.T) {
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(`build,date,zone,class,grade,what,spend,hours,state
mine,2026-01-05,,,,hammer,30000,,
mine,2099-01-01,nose,s,2,bench,400,3,
mien,2026-01-07,nose,c,3,lamp,100,1,
sale 101,2026-01-05,,,,hammer,1500,,
sale 102,2026-01-05,,,,hammer,900,,
`)))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	today := time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC)
	got := l.Against(map[string]money.Pence{"mine": 350000, "Sale 101": 150000}, today)
	want := []string{
		`ledger.csv: the estimate of build "mine" has a hammer price of 3,500.00 and the ledger 30,000.00; the ledger's counts`,
		`ledger.csv:3: 2099-01-01 is after today; is it mistyped? days are counted up to it`,
		`ledger.csv: no estimate has the build name "mien"; did you mean "mine"? its rows are not counted`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// The rows of a name that is none of the builds' are not counted, and that is said where the figures are one's: an O for
// a 0, lot for sale. Another number is another build.
func TestLedgerNamesWithTheSameFigures(t *testing.T) {
	for name, want := range map[string]string{"sale 1O2": "sale 102", "lot 102": "sale 102", "102": "sale 102",
		"Sale-l02": "sale 102", "sale 103": "", "sale 1020": "", "van": ""} {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv",
			strings.NewReader("build,date,what,spend\n"+name+",2026-01-05,hammer,900\n")))
		if err != nil || len(l.Problems) > 0 {
			t.Fatal(err, l.Problems)
		}
		got := strings.Join(l.Against(map[string]money.Pence{"sale 101": 90000, "sale 102": 90000}, time.Now()), "\n")
		if said := strings.Contains(got, `did you mean "`+want+`"? its rows are not counted`); said != (want != "") || want == "" &&
			got != "" {
			t.Errorf("%q: %s, want %q", name, got, want)
		}
	}
}
