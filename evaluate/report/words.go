package report

import (
	"fmt"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// Clean makes a text of one line safe to show: control and direction characters
// are written out.
func Clean(text string) string { return tabular.Sanitise(text) }

// CleanAll makes texts of one line safe to show.
func CleanAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = Clean(t)
	}
	return out
}

// ShopWords says which files were used.
func ShopWords(workshop *shop.Shop, folder string) string {
	var own, built []string
	for _, x := range workshop.Sources {
		if x.BuiltIn {
			built = append(built, x.File)
		} else {
			own = append(own, x.File)
		}
	}
	switch {
	case len(own) == 0:
		return "the built-in starter figures (wreckoner start DIR makes a copy to edit)"
	case len(built) == 0:
		return Clean(folder)
	}
	return fmt.Sprintf("%s (%s); built in: %s", Clean(folder), strings.Join(own, ", "), strings.Join(built, ", "))
}

// Drawn says how many cars were simulated for each lot; 0 is none.
func Drawn(points int, seed uint64) string {
	if points == 0 {
		return "Calculated, not simulated"
	}
	return fmt.Sprintf("Simulated: %s cars a lot, seed %d", money.Group(int64(points)), seed)
}
