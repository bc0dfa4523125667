package evidence

import (
	"errors"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
)

var advertColumns = columns{
	file: "adverts", lots: true,
	needed: []string{"model", "year", "miles", "asked", "marked"},
	days:   []string{"first_seen", "last_seen", "sold"},
	others: []string{"make", "segment", "first_seen", "last_seen", "sold", "got", "listed", "vat", "build", "note"},
}

type advertRow struct {
	Make      tabular.Cell `csv:"make"`
	Model     tabular.Cell `csv:"model"`
	Year      tabular.Cell `csv:"year"`
	Miles     tabular.Cell `csv:"miles"`
	Asked     tabular.Cell `csv:"asked"`
	Marked    tabular.Cell `csv:"marked"`
	Segment   tabular.Cell `csv:"segment"`
	FirstSeen tabular.Cell `csv:"firstseen"`
	LastSeen  tabular.Cell `csv:"lastseen"`
	Sold      tabular.Cell `csv:"sold"`
	Got       tabular.Cell `csv:"got"`
	Listed    tabular.Cell `csv:"listed"`
	VAT       tabular.Cell `csv:"vat"`
	Build     tabular.Cell `csv:"build"`
	Note      tabular.Cell `csv:"note"`
}

// advert reads one row of adverts.csv.
func (r *reader) advert(v *advertRow, line int, bad func(string, error) bool) {
	a := prices.Advert{Line: line, Make: v.Make.Text(), Model: v.Model.Text()}
	ok := true
	check := func(column string, err error) { ok = !bad(column, err) && ok }
	var err error
	if a.Model == "" {
		check("model", errors.New("is blank; write the car's model"))
	}
	a.Year, err = year(v.Year)
	check("year", err)
	miles, err := r.miles(v.Miles)
	if err == nil && !miles.Known {
		err = errors.New("is blank; write a number")
	}
	a.Miles = miles.V
	check("miles", err)
	for _, x := range []struct {
		column string
		cell   tabular.Cell
		into   *float64
	}{{"asked", v.Asked, &a.Asked}, {"got", v.Got, &a.Got}, {"listed", v.Listed, &a.Listed}} {
		*x.into, err = r.amount(x.cell, r.cells.Price)
		check(x.column, err)
	}
	a.FirstSeen, err = r.day(v.FirstSeen)
	check("first_seen", err)
	a.LastSeen, err = r.day(v.LastSeen)
	check("last_seen", err)
	a.Sold, err = r.day(v.Sold)
	check("sold", err)
	a.Segment, err = r.segment(v.Segment)
	check("segment", err)
	a.VATPlus, err = r.vat(v.VAT)
	check("vat", err)
	a.Marked = r.marked(v.Marked)
	if name := v.Build.Text(); name != "" && a.Got > 0 {
		r.files.SoldBuilds[tabular.NameKey(name)] = true
	}
	if ok {
		r.files.Adverts = append(r.files.Adverts, a)
	}
}

// marked is what the cell says as package prices writes it: a category of the shop first, since
// n is one and no is not. What is neither yes, no nor a category stays as typed, and is refused there.
func (r *reader) marked(c tabular.Cell) string {
	if !c.Given() {
		return ""
	}
	if name, err := r.cells.Category(c.Text()); err == nil {
		return name
	}
	if word, ok := r.word("marked", c); ok {
		return word
	}
	return c.Text()
}
