package build_test

import (
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// Rows without a build that are the workshop's own costs are kept apart, and belong to no car;
// what is no such cost, or lacks its day or amount, is a fault.
func TestWorkshopCosts(t *testing.T) {
	text := `build,date,zone,class,grade,what,spend,hours,state,note
,2026-01-02,,,,Rent,420,,,
,2026-01-03,,,,motor trade insurance,"1,180.00",,,
,2026-01-28,,,,drawings,1600,,,
,2026-01-15,,,,electric,£161.50,,,
a,2026-01-15,,,,insurance,90,,,
,2026-01-15,,,,tyres,200,,,
,2026-01-15,nose,c,2,rent,200,,,
,,,,,rent,420,,,
,2026-02-02,,,,rent,,,,
`
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(text)))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range l.Workshop {
		word, ok := build.WorkshopCost(e.What)
		if !ok {
			t.Errorf("%q is no cost", e.What)
		}
		got = append(got, word+" "+e.Spend.String())
	}
	if want := "rent 420.00, insurance 1,180.00, wages 1,600.00, running costs 161.50"; strings.Join(got, ", ") != want {
		t.Errorf("%q, want %q", got, want)
	}
	if len(l.Builds) != 1 || l.Builds[0].Overhead != 9000 || l.Unplaced != 2 {
		t.Errorf("%d builds, %d rows of no build", len(l.Builds), l.Unplaced)
	}
	lines := map[int]string{7: "for a cost of the workshop itself", 8: "for a cost of the workshop itself",
		9: "the day on which it was paid", 10: "write what it cost"}
	if len(l.Problems) != len(lines) {
		t.Fatalf("%v", l.Problems)
	}
	for _, p := range l.Problems {
		if want := lines[p.Line]; want == "" || !strings.Contains(p.Message, want) {
			t.Errorf("line %d: %s", p.Line, p.Message)
		}
	}
}
