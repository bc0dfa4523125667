package listing

import (
	"encoding/csv"
	"strings"
	"sync"
	"testing"
)

// Starter returns the lexicon of the built-in file.
var Starter = sync.OnceValue(func() *Lexicon {
	l, err := New(starterRows())
	if err != nil {
		panic("lexicon.csv: " + err.Error())
	}
	return l
})

// starterRows are the rows of the built-in file.
func starterRows() []Row {
	records, err := csv.NewReader(strings.NewReader(StarterCSV())).ReadAll()
	if err != nil {
		panic("lexicon.csv: " + err.Error())
	}
	var rows []Row
	for i, f := range records[1:] {
		rows = append(rows, Row{i + 2, f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7], f[8]})
	}
	return rows
}

// columns are those of a lexicon file, in the order in which the starter has them.
var columns = []string{"words", "kind", "means", "class", "grade", "level", "chance", "role", "note"}

// withRoles returns the rows, and the row that is advised for every role.
func withRoles(t *testing.T, rows ...Row) []Row {
	t.Helper()
	for _, r := range roles {
		f, err := csv.NewReader(strings.NewReader(r.row)).Read()
		if err != nil || len(f) != len(columns) {
			t.Fatalf("role %s: the row %q has %d columns, err %v", r.name, r.row, len(f), err)
		}
		rows = append(rows, Row{0, f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7], f[8]})
	}
	return rows
}
