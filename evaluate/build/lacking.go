package build

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// Lacking returns the fixed items for which the ledger of a sold car has no row, and what was expected for them
// together. A sale closes a build: they count as nothing (METHOD.md 17.2). They may be in rows of other words: where
// those come to as much, nothing is lacking. Of a car that was given up nothing is expected.
func (o *Outcome) Lacking() (names []string, expected money.Pence) {
	if o.Stopped() {
		return nil, 0
	}
	workshop := o.Frozen.Shop()
	named := func(name string) bool {
		return slices.ContainsFunc(o.Build.Entries, func(e Entry) bool {
			return e.Kind == OverheadEntry && deal.Named(e.What, name)
		})
	}
	for _, c := range workshop.Fixed {
		if mean := money.FromPounds(c.Amount.Mean()); mean > 0 && !named(c.Name) {
			names = append(names, c.Name)
			expected += mean
		}
	}
	var others money.Pence
	for i := range o.Build.Entries {
		if e := &o.Build.Entries[i]; e.Kind == OverheadEntry && !o.fixed(e.What) {
			others += e.Spend
		}
	}
	if others >= expected {
		return nil, 0
	}
	return names, expected
}

// fixed reports whether words are the name of a fixed item or an extra of the build's shop.
func (o *Outcome) fixed(what string) bool {
	s := o.Frozen.Shop()
	for _, c := range s.Fixed {
		if deal.Named(what, c.Name) {
			return true
		}
	}
	for _, x := range s.Extras {
		if deal.Named(what, x.Name) {
			return true
		}
	}
	return false
}

// LackingOf says in one line what sold cars lack of fixed items, "" for nothing.
func LackingOf(outcomes []*Outcome, file string) string {
	var names []string
	var expected money.Pence
	cars := 0
	for _, o := range outcomes {
		lacks, sum := o.Lacking()
		if len(lacks) == 0 {
			continue
		}
		cars++
		expected += sum
		for _, name := range lacks {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if cars == 0 {
		return ""
	}
	return fmt.Sprintf("%s: %s sold without a row for %s: they count as nothing, where the estimates have %s in all; add "+
		"what was paid, or a row of 0", file, tabular.Count(cars, "car"), strings.Join(names, ", "), expected)
}
