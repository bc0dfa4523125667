package lots

import (
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"

	"wreckoner/evaluate/tabular/layout"
)

// Fit returns how many columns of a lot list a file has, and how many it lacks that a list must have. The source is
// read to its end.
func Fit(source tabular.Loose, workshop *shop.Shop, how Reading) (found, missing int, err error) {
	r := newLotReader(workshop, how)
	plan, err := layout.Survey(source, layout.Options{Columns: r.columns(), Key: "lot", Given: how.Map,
		HeaderRow: how.HeaderRow})
	if err != nil {
		return 0, 0, err
	}
	found, missing = plan.Count()
	return found, missing, nil
}
