package report

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// Gathered is what learning added to the evidence of the new folder.
type Gathered struct {
	// Rows are how many rows each file got.
	Rows map[string]int
	// MarginSpread is what past lots say of it; 0 where there are too few.
	MarginSpread float64
}

// words says it in a sentence or two; blank for nothing.
func (g *Gathered) words() string {
	if g == nil {
		return ""
	}
	var added []string
	for _, name := range slices.Sorted(maps.Keys(g.Rows)) {
		if n := g.Rows[name]; n > 0 {
			added = append(added, fmt.Sprintf("%s to %s", tabular.Count(n, "row"), name))
		}
	}
	text := ""
	if len(added) > 0 {
		text = "Added: " + strings.Join(added, ", ") + "."
	}
	if g.MarginSpread > 0 {
		text += fmt.Sprintf(" Past lots say that true margins differ by %.1f%% of the value from lot to lot: "+
			"margin_spread in shop.toml.", 100*g.MarginSpread)
	}
	return strings.TrimSpace(text)
}
