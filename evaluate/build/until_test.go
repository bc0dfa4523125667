package build_test

import (
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// A ledger read up to a day is the ledger as it was on that day.
func TestUntil(t *testing.T) {
	const head = "build,date,zone,class,grade,what,spend,hours,state\n"
	rows := []string{
		"a,2026-03-02,,,,hammer,1700,,\n",
		"a,,,,,wheel nuts,12,,\n",
		"a,2026-03-05,tail,c,3,bumper,300,4,\n",
		"a,2026-03-09,tail,c,,paint,310,5,done\n",
		"a,2026-03-10,nose,s,,,,1,clear\n",
		"a,2026-04-20,,,,sale,6400,,\n",
	}
	read := func(text string) *build.Build {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("l.csv", strings.NewReader(head+text)))
		if err != nil || len(l.Problems) > 0 {
			t.Fatal(err, l)
		}
		return l.Builds[0]
	}
	whole := read(strings.Join(rows, ""))
	for _, c := range []struct {
		day  string
		rows int
	}{{"2026-03-02", 2}, {"2026-03-04", 2}, {"2026-03-05", 3}, {"2026-03-09", 4}, {"2026-03-10", 5}, {"2026-12-31", 6}} {
		day, err := time.Parse(time.DateOnly, c.day)
		if err != nil {
			t.Fatal(err)
		}
		got, want := whole.Until(day), read(strings.Join(rows[:c.rows], ""))
		if len(got.Entries) != c.rows || got.Overhead != want.Overhead || got.Hammer != want.Hammer ||
			got.Sale != want.Sale || got.Finished() != want.Finished() ||
			!got.Bought.Equal(want.Bought) || !got.Sold.Equal(want.Sold) || len(got.Jobs) != len(want.Jobs) {
			t.Errorf("until %s: %+v, want %+v", c.day, got, want)
			continue
		}
		for i, j := range got.Jobs {
			w := want.Jobs[i]
			if j.Spot != w.Spot || j.Spend != w.Spend || j.Hours != w.Hours || j.State != w.State || j.Grade != w.Grade ||
				j.ClearFrom != w.ClearFrom {
				t.Errorf("until %s: %+v, want %+v", c.day, j, w)
			}
		}
	}
	if j := whole.Job(damage.Spot{Zone: damage.Tail, Class: damage.Cosmetic}); j.State != build.JobDone ||
		len(j.Entries) != 2 {
		t.Errorf("the whole build was changed: %+v", j)
	}
}
