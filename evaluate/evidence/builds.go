package evidence

import (
	"errors"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
)

var buildColumns = columns{
	needed: []string{"build", "predicted", "margin_sd", "repair_sd", "u", "realised"},
	others: []string{"sale_date", "value", "tau"},
	file:   "builds", days: []string{"sale_date"},
}

type buildRow struct {
	Build     tabular.Cell `csv:"build"`
	SaleDate  tabular.Cell `csv:"saledate"`
	Predicted tabular.Cell `csv:"predicted"`
	MarginSD  tabular.Cell `csv:"marginsd"`
	RepairSD  tabular.Cell `csv:"repairsd"`
	U         tabular.Cell `csv:"u"`
	Realised  tabular.Cell `csv:"realised"`
	Value     tabular.Cell `csv:"value"`
	Tau       tabular.Cell `csv:"tau"`
}

// mostU bounds a build's u as typed; it is cut to 2 where it is used.
const mostU = 1000

// build reads one row of builds.csv.
func (r *reader) build(v *buildRow, line int, bad func(string, error) bool) {
	b := prices.Build{Line: line, Name: v.Build.Text()}
	ok := true
	check := func(column string, err error) { ok = !bad(column, err) && ok }
	var err error
	if b.Name == "" {
		check("build", errors.New("is blank; write the build's name"))
	}
	for i := range r.files.Builds {
		if old := &r.files.Builds[i]; tabular.NameKey(old.Name) == tabular.NameKey(b.Name) {
			check("build", alreadyOn(b.Name, old.Line))
			break
		}
	}
	b.SaleDate, err = r.day(v.SaleDate)
	check("sale_date", err)
	b.Predicted, err = pounds(v.Predicted)
	check("predicted", err)
	b.Realised, err = pounds(v.Realised)
	check("realised", err)
	if b.MarginSD, err = pounds(v.MarginSD); err == nil && b.MarginSD <= 0 {
		err = errors.New(v.MarginSD.Text() + " is not above 0; write pounds, such as 1500")
	}
	check("margin_sd", err)
	if b.RepairSD, err = pounds(v.RepairSD); err == nil && b.RepairSD < 0 {
		err = errors.New(v.RepairSD.Text() + " is below 0; write pounds, such as 900")
	}
	check("repair_sd", err)
	b.U, err = v.U.Number(-mostU, mostU)
	check("u", err)
	for _, x := range []struct {
		column string
		cell   tabular.Cell
		into   *prices.Optional
	}{{"value", v.Value, &b.Value}, {"tau", v.Tau, &b.Tau}} {
		if !x.cell.Given() {
			continue
		}
		var p float64
		if p, err = pounds(x.cell); err == nil && p <= 0 {
			err = errors.New(x.cell.Text() + " is not above 0; write pounds, such as 7000")
		}
		check(x.column, err)
		*x.into = prices.Some(p)
	}
	if ok {
		r.files.Builds = append(r.files.Builds, b)
	}
}
