package evidence

import (
	"fmt"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
)

var resultColumns = columns{
	file: "results", lots: true,
	needed: []string{"category", "hammer", "sale_date"},
	days:   []string{"sale_date", "collect_by"},
	others: []string{"lot", "make", "model", "year", "odometer", "segment", "damage", "description", "value", "guide",
		"site",
		"distance", "vat", "keys", "starts", "note", "collect_by", "collect_days", "result", "stop", "won", "build"},
}

type resultRow struct {
	Lot         tabular.Cell `csv:"lot"`
	Make        tabular.Cell `csv:"make"`
	Model       tabular.Cell `csv:"model"`
	Year        tabular.Cell `csv:"year"`
	Odometer    tabular.Cell `csv:"odometer"`
	Segment     tabular.Cell `csv:"segment"`
	Category    tabular.Cell `csv:"category"`
	Damage      tabular.Cell `csv:"damage"`
	Value       tabular.Cell `csv:"value"`
	Guide       tabular.Cell `csv:"guide"`
	Site        tabular.Cell `csv:"site"`
	VAT         tabular.Cell `csv:"vat"`
	Keys        tabular.Cell `csv:"keys"`
	Starts      tabular.Cell `csv:"starts"`
	SaleDate    tabular.Cell `csv:"saledate"`
	Hammer      tabular.Cell `csv:"hammer"`
	Result      tabular.Cell `csv:"result"`
	Stop        tabular.Cell `csv:"stop"`
	Won         tabular.Cell `csv:"won"`
	Build       tabular.Cell `csv:"build"`
	Description tabular.Cell `csv:"description"`
	Distance    tabular.Cell `csv:"distance"`
	Note        tabular.Cell `csv:"note"`
	CollectBy   tabular.Cell `csv:"collectby"`
	CollectDays tabular.Cell `csv:"collectdays"`
}

// result reads one row of results.csv.
func (r *reader) result(v *resultRow, line int, bad func(string, error) bool) {
	p := Past{Result: prices.Result{Line: line, Number: v.Lot.Text()}}
	p.Make, p.Model, p.Site = v.Make.Text(), v.Model.Text(), v.Site.Text()
	ok := true
	check := func(column string, err error) { ok = !bad(column, err) && ok }
	var err error
	r.car(&p, v, check)
	for _, x := range []struct {
		column string
		cell   tabular.Cell
		into   *float64
	}{{"value", v.Value, &p.Value}, {"guide", v.Guide, &p.Guide}, {"hammer", v.Hammer, &p.Hammer}, {"stop", v.Stop,
		&p.Stop}} {
		if _, ok := r.word("result", x.cell); ok && x.column == "hammer" {
			// An outcome in the place of a price: "withdrawn".
			if !v.Result.Given() {
				v.Result = x.cell
			}
			continue
		}
		read := r.cells.SalePrice
		if x.column == "value" {
			read = r.cells.Price
		}
		*x.into, err = r.amount(x.cell, read)
		check(x.column, err)
	}
	p.SaleDate, err = r.day(v.SaleDate)
	check("sale_date", err)
	p.VATPlus, err = r.vat(v.VAT)
	check("vat", err)
	p.Starts, err = r.answer("starts", v.Starts)
	check("starts", err)
	p.Keys, err = r.answer("keys", v.Keys)
	check("keys", err)
	p.Won, err = r.answer("won", v.Won)
	check("won", err)
	p.Outcome, err = r.outcome(v.Result)
	check("result", err)
	if name := v.Build.Text(); name != "" {
		r.files.WonBuilds[tabular.NameKey(name)] = true
	}
	if ok {
		r.files.Results = append(r.files.Results, p)
	}
}

// car reads which car it was.
func (r *reader) car(p *Past, v *resultRow, check func(string, error)) {
	var err error
	if v.Year.Given() {
		p.Year, err = year(v.Year)
		check("year", err)
	}
	if v.Odometer.Given() {
		p.Miles, err = r.miles(v.Odometer)
		check("odometer", err)
	}
	p.Segment, err = r.segment(v.Segment)
	check("segment", err)
	p.Category, err = r.cells.Category(v.Category.Text())
	check("category", err)
	if v.Damage.Given() {
		p.Code, err = r.cells.Code(v.Damage.Text())
		check("damage", err)
		p.Coded = err == nil
	}
}

// outcome reads what became of a lot; a blank cell leaves it to the hammer price.
func (r *reader) outcome(c tabular.Cell) (prices.Outcome, error) {
	if !c.Given() {
		return prices.NotSaid, nil
	}
	word, ok := r.word("result", c)
	if !ok {
		return prices.NotSaid, fmt.Errorf("%q says neither that the lot was sold nor that it was not; "+
			"write sold, unsold or withdrawn", c.Text())
	}
	return map[string]prices.Outcome{"sold": prices.Sold, "unsold": prices.Unsold,
		"withdrawn": prices.Withdrawn}[word], nil
}
