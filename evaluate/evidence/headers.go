package evidence

import (
	_ "embed" // what people call things
	"encoding/csv"
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// What people call the columns of these files: column, called.
//
//go:embed headers.csv
var headersCSV string

// What people write in them: column, read, words.
//
//go:embed words.csv
var wordsCSV string

var (
	ownNames = layout.Parse(headersCSV)
	words    = readWords()
)

func readWords() map[string]map[string]string {
	rows, err := csv.NewReader(strings.NewReader(wordsCSV)).ReadAll()
	if err != nil {
		panic("evidence: words.csv: " + err.Error()) // the file is embedded
	}
	all := map[string]map[string]string{}
	for _, row := range rows[1:] {
		if all[row[0]] == nil {
			all[row[0]] = map[string]string{}
		}
		for word := range strings.SplitSeq(row[2], "|") {
			all[row[0]][word] = row[1]
		}
	}
	return all
}

// calledAs is what people call the columns that a lot list has too, by the name that it has there.
func calledAs(lists map[string]string) map[string][]string {
	called := map[string][]string{}
	for name, list := range lists {
		called[name] = append([]string{list}, lots.Called(list)...)
	}
	return called
}

// find returns where the columns are that the header calls otherwise, by their canonical names, and
// what was read as what. A column's own name comes first, then what these files call it, then what lot
// lists do.
func (c columns) find(headers []string) (at map[string]int, read []string) {
	at = map[string]int{}
	taken := map[int]bool{}
	names := append(slices.Clone(c.needed), c.others...)
	place := func(name string, i int) {
		at[tabular.Canonical(name)], taken[i] = i, true
	}
	where := func(called string) int {
		return slices.IndexFunc(headers, func(h string) bool { return tabular.Canonical(h) == tabular.Canonical(called) })
	}
	for _, name := range names {
		if i := where(name); i >= 0 {
			place(name, i)
		}
	}
	for _, called := range []map[string][]string{ownNames, c.called} {
		for _, name := range names {
			for _, other := range called[name] {
				i := where(other)
				if _, done := at[tabular.Canonical(name)]; done || i < 0 || taken[i] {
					continue
				}
				place(name, i)
				read = append(read, fmt.Sprintf("%s=%q", name, strings.TrimSpace(headers[i])))
			}
		}
	}
	for name, i := range at {
		if tabular.Canonical(headers[i]) == name {
			delete(at, name) // found by its own name
		}
	}
	return at, read
}
