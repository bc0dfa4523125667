package build_test

import (
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// The part in the zone's cell says the class where the words of the job don't; a side alone says none. The amounts
// stand under a £ alone, and several jobs without a grade are asked about at once.
func TestClassByPlace(t *testing.T) {
	for _, tt := range []struct{ row, want string }{
		{"a,2026-01-05,n/s sliding door,runner and rollers,64,done", "side-near c"},
		{"a,2026-01-05,n/s sliding door,,64,done", "side-near c"},
		{"a,2026-01-05,front subframe,new bolts,64,done", "under m"},
		{"a,2026-01-05,n/s sill,cut out,64,done", "side-near s"},
		{"a,2026-01-05,front-near,runner and rollers,64,done", ""},
		{"a,2026-01-05,nose,things,64,done", ""},
	} {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv",
			strings.NewReader("car,when,which bit,what we bought,£,done?\n"+tt.row+"\n")))
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if b, ok := l.Build("a"); ok && len(l.Problems) == 0 && len(b.Jobs) == 1 {
			if got = b.Jobs[0].Spot.String(); b.Jobs[0].Spend != 6400 {
				t.Errorf("%s: spent %s", tt.row, b.Jobs[0].Spend)
			}
		}
		if got != tt.want {
			t.Errorf("%s: %q, want %q; %v", tt.row, got, tt.want, l.Problems)
		}
	}
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(
		"build,date,zone,class,what,spend,state\na,2026-01-05,nose,c,paint,20,done\na,2026-01-06,tail,s,pull,30,done\n")))
	const want = `2 jobs of "a" are done, and no row names the grade that was found: write it, 1 to 4; it shows whether ` +
		`the code or the cost was wrong: nose c in line 2, tail s in line 3`
	if err != nil || !strings.Contains(strings.Join(l.Notices, "\n"), want) {
		t.Error(err, l.Notices)
	}
}
