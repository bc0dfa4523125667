package build

import (
	"errors"
	"slices"
	"strings"
)

// Wages is what WorkshopCost returns of what the people of the workshop are paid.
const Wages = "wages"

// WorkshopCost returns what a row without a build is for, in one word of ours: rent,
// insurance, wages, or running costs for all the rest.
func WorkshopCost(what string) (word string, ok bool) {
	key := wordKey(what)
	if word = meaning("workshop", key); word != "" {
		return word, true
	}
	_, left := phrasesIn("period", plainWords(what))
	left = slices.DeleteFunc(left, figure) // a day, a year
	word = meaning("workshop", strings.Join(left, " "))
	return word, word != ""
}

// workshop books a row without a build that is a cost of the workshop's own, and reports
// whether it is one that has no fault. Otherwise it says what is wrong.
func (r *ledgerReader) workshop(e *Entry, v *ledgerRow, bad func(string, error) bool) bool {
	ours := !v.Zone.Given() && !v.Class.Given() && !v.Grade.Given()
	if _, ok := WorkshopCost(e.What); !ok || !ours {
		bad("build", errors.New("is blank; write the name the build was given at freeze, or, "+
			"for a cost of the workshop itself, what it is: rent, insurance, wages, electricity, tools"))
		return false
	}
	failed := false
	fault := func(column string, err error) bool {
		failed = bad(column, err) || failed
		return err != nil
	}
	e.Kind = OverheadEntry
	r.amounts(e, v, fault)
	if !failed && e.Date.IsZero() {
		fault("date", errors.New("is blank; write the day on which it was paid, such as 2026-04-30"))
	}
	if !failed && !e.Paid {
		fault("spend", errors.New("is blank; write what it cost"))
	}
	if !failed {
		r.out.Workshop = append(r.out.Workshop, *e)
	}
	return true
}
