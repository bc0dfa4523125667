package build_test

import (
	"strings"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
)

// A sold car without rows for fixed items makes its margin look better by what was expected for them: that is said,
// with the sum of their means. Rows by their names, of 0 too, or other rows of as much say nothing is lacking.
func TestFixedItemsWithoutARow(t *testing.T) {
	workshop := starter(t, nil)
	e := newEvaluator(t, workshop, evaluate.Options{})
	f, err := build.Freeze(e, readLots(t, samples+"sale.csv", workshop)[0], 400000, "car", "test")
	if err != nil {
		t.Fatal(err)
	}
	sold := "car,,,,,hammer,4000,,\ncar,,,,,sale,9000,,\n"
	all, sum := "", 0.0
	for _, c := range workshop.Fixed {
		if c.Name != "consumables" {
			all += "car,,,,," + c.Name + ",0,,\n"
		}
		sum += c.Amount.Mean()
	}
	for _, tt := range []struct {
		why, rows string
		lacks     int
	}{
		{"no row", "", len(workshop.Fixed)},
		{"all but one", all, 1},
		{"all", all + "car,,,,,Consumables,12,,\n", 0},
		{"rows of other words that come to as much", "car,,,,,overhead: the lot,5000,,\n", 0},
		{"rows of other words that come to less", "car,,,,,overhead: bits,20,,\n", len(workshop.Fixed)},
	} {
		b, _ := readLedger(t, sold+tt.rows).Build("car")
		o, err := build.Compare(f, b)
		if err != nil {
			t.Fatal(err)
		}
		names, expected := o.Lacking()
		said := strings.Contains(strings.Join(o.Notes, "\n"), "counted as nothing, where")
		line := build.LackingOf([]*build.Outcome{o, o}, "l.csv")
		if len(names) != tt.lacks || said != (tt.lacks > 0) || (line != "") != said {
			t.Errorf("%s: %v, %v", tt.why, names, o.Notes)
		}
		if off := expected.Pounds() - sum; tt.rows == "" && (off > 0.05 || off < -0.05) {
			t.Errorf("%s: %s expected, want %.2f", tt.why, expected, sum)
		}
	}
}
