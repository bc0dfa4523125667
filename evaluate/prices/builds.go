package prices

import (
	"cmp"
	"slices"
)

// sortBuilds orders builds by content, so that the file's order says nothing.
func sortBuilds(list []Build) {
	slices.SortStableFunc(list, func(a, b Build) int {
		return cmp.Or(a.SaleDate.Compare(b.SaleDate), cmp.Compare(a.Predicted, b.Predicted), cmp.Compare(a.Realised,
			b.Realised),
			cmp.Compare(a.MarginSD, b.MarginSD), cmp.Compare(a.RepairSD, b.RepairSD), cmp.Compare(a.U, b.U),
			cmp.Compare(a.Tau.V, b.Tau.V), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Line, b.Line))
	})
}
