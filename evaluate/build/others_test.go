package build_test

import (
	"fmt"
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// Sold builds whose files were not given are named, whatever the spelling; open ones are not, and of many the first.
func TestOthersOfTheLedger(t *testing.T) {
	rows := "build,date,what,spend\nsale 1,2026-01-05,sale,900\nSale  2,2026-01-05,sale,900\nopen,2026-01-05,hammer,900\n"
	var many strings.Builder
	for i := range 10 {
		fmt.Fprintf(&many, "m%d,2026-01-05,sale,900\n", i)
	}
	for _, tt := range []struct {
		rows  string
		names []string
		want  string
	}{
		{rows, []string{"sale 1", "sale 2"}, ""},
		{rows, []string{"sale 2"}, `ledger.csv: 1 more build is sold and not reviewed, as no estimate of it was read: ` +
			`"sale 1"`},
		{rows, nil, `ledger.csv: 2 more builds are sold and not reviewed, as no estimate of them was read: "sale 1", ` +
			`"Sale  2"`},
		{rows + many.String(), []string{"sale 1", "sale 2"}, `ledger.csv: 10 more builds are sold and not reviewed, as no ` +
			`estimate of them was read: "m0", "m1", "m2", "m3", "m4", "m5", "m6", "m7" and 2 more`},
	} {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(tt.rows)))
		if err != nil || len(l.Problems) > 0 {
			t.Fatal(err, l.Problems)
		}
		if got := l.Others(tt.names); got != tt.want {
			t.Errorf("%v:\n got %s\nwant %s", tt.names, got, tt.want)
		}
	}
}
