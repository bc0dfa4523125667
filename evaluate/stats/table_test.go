package stats_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/stats"
)

// Tables against gonum's normal and Student t, within and beyond them.
func TestTable(t *testing.T) {
	for _, of := range []stats.Distribution{distuv.UnitNormal, distuv.StudentsT{Sigma: 1, Nu: 6},
		distuv.StudentsT{Sigma: 1, Nu: 29.2}, distuv.StudentsT{Sigma: 1, Nu: 1000}} {
		table := stats.NewTable(of, 8)
		for x := -9.0; x <= 9; x += 0.00371 {
			if got, want := table.CDF(x), of.CDF(x); math.Abs(got-want) > 1e-9 {
				t.Fatalf("%T: %v: %v, want %v", of, x, got, want)
			}
		}
	}
}
