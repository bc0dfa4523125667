package lots

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
)

// Every column is read, has one name, and what people call it is of a column that there is.
func TestColumnsAreWhole(t *testing.T) {
	names := map[string]bool{}
	for _, c := range lotColumns {
		if c.read == nil {
			t.Errorf("nothing reads %s", c.name)
		}
		if names[tabular.Canonical(c.name)] {
			t.Errorf("two columns %s", c.name)
		}
		names[tabular.Canonical(c.name)] = true
	}
	for name, called := range calledBy {
		if !names[tabular.Canonical(name)] {
			t.Errorf("headers.csv names a column %q", name)
		}
		for i, c := range called {
			if slices.Contains(called[:i], c) {
				t.Errorf("headers.csv: %s is called %q twice", name, c)
			}
		}
	}
}

// No word of a column means two things.
func TestWordsMeanOneThing(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(wordsCSV)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]string{}
	for _, row := range rows[1:] {
		for word := range strings.SplitSeq(row[2], "|") {
			key := row[0] + "\x00" + word
			if before, twice := seen[key]; twice {
				t.Errorf("%s: %q is %s and %s", row[0], word, before, row[1])
			}
			if seen[key] = row[1]; wordKey(word) != word {
				t.Errorf("%s: %q is never found", row[0], word)
			}
		}
	}
}
