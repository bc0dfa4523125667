package floor

import (
	"cmp"
	"slices"
)

// Order returns the places of the works in the order of Smith's rule; of equal ones the
// first comes first.
func Order(works []Work) []int {
	order := make([]int, len(works))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(works[b].index(), works[a].index()) })
	return order
}

// Cost returns what it costs, in pounds, that works finish as late as they do in an order,
// at so many hours a day: the sum of delay x day finished.
func Cost(works []Work, order []int, hoursPerDay float64) float64 {
	at, cost := 0.0, 0.0
	for _, i := range order {
		at += works[i].Hours / hoursPerDay
		cost += works[i].Delay * at
	}
	return cost
}
