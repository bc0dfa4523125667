package evidence

import (
	"errors"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
)

var advertColumns = columns{
	file: "adverts", days: []string{"first_seen", "last_seen", "sold"},
	needed: []string{"make", "model", "year", "miles", "asked", "marked"},
	others: []string{"segment", "first_seen", "last_seen", "sold", "got", "listed", "vat", "build", "note"},
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
	done, known, err := miles(v.Miles)
	if a.Miles = float64(done); err == nil && !known {
		err = errors.New("is blank; write a number")
	}
	check("miles", err)
	for _, x := range []struct {
		column string
		cell   tabular.Cell
		into   *float64
	}{{"asked", v.Asked, &a.Asked}, {"got", v.Got, &a.Got}, {"listed", v.Listed, &a.Listed}} {
		var plus bool
		*x.into, plus, err = r.amount(x.cell)
		check(x.column, err)
		a.VATPlus = a.VATPlus || plus && x.column != "listed"
	}
	a.FirstSeen, err = r.day(v.FirstSeen)
	check("first_seen", err)
	a.LastSeen, err = r.day(v.LastSeen)
	check("last_seen", err)
	a.Sold, err = r.day(v.Sold)
	check("sold", err)
	a.Segment, err = r.segment(v.Segment)
	check("segment", err)
	onTop, err := plus(v.VAT)
	a.VATPlus = a.VATPlus || onTop
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
	name, known := r.category(c.Text())
	if word, err := c.Word(prices.MarkedYes, "no"); err == nil && !known {
		return word
	}
	return name
}
