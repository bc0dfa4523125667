package page

import (
	"fmt"
	"io"
	"strconv"

	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/year"
)

// Year writes the page of a year of sold cars.
func Year(w io.Writer, r *report.Year) error {
	f := figuresIn(r.Currency)
	part := &partView{Heading: "The year", Words: paragraphs(r.Words())}
	for i := range r.Tables {
		b, err := kinds(r, &r.Tables[i], f)
		if err != nil {
			return err
		}
		part.Blocks = append(part.Blocks, *b)
	}
	if len(r.Cars) > 0 {
		part.Blocks = append(part.Blocks, *soldCars(r, f), *profit(r, f))
		b, err := months(r, f)
		if err != nil {
			return err
		}
		part.Blocks = append(part.Blocks, *b)
	}
	if notices := r.Notices(); len(notices) > 0 {
		part.Blocks = append(part.Blocks, blockView{Heading: "How the ledger was read", List: notices})
	}
	title, lead := "no car sold", "No car was sold in this time."
	if !r.To.IsZero() && len(r.Cars) > 0 {
		title = r.From.Format("2 January 2006") + " to " + r.To.Format("2 January 2006")
		lead = tabular.Count(len(r.Cars), "car") + " sold."
	}
	v := &reportView{
		frame: frame{Kind: "Year", Title: title, Lead: lead,
			Made: "Each car by the ledger, against its own estimate when bought. " + report.NoTaxAdvice},
		Parts: []*partView{part}, Legend: r.Legend(),
	}
	return write(w, "report", v)
}

// kinds draws what kinds of cars earned an own hour.
func kinds(r *report.Year, t *year.Table, f figures) (*blockView, error) {
	b := &blockView{Heading: "What paid, by " + t.By, Hint: "Margin and wages for each of your hours.",
		Table: &grid{Heads: []string{t.By, "cars", "for each own hour", "allowing for chance", "chance above the average",
			"what to do"}}}
	rows := draw.Intervals{Frame: draw.Frame{Title: "Earned an own hour, by " + t.By, Size: draw.Both}, Format: f.format,
		Axis: "margin and wages for each of your hours", Middle: "allowing for chance", Band: "likely range", Zero: true}
	if t.Pooled {
		rows.Guides = []draw.Guide{{Label: "average", Value: t.Mean}}
	}
	const wide = 1.2815515655446004 // the normal score of 0.9
	for i := range t.Groups {
		g := &t.Groups[i]
		name := r.KindWords(t, g)
		pooled, chance := gridCell{}, gridCell{}
		if p := g.Pooled; p != nil {
			pooled, chance = f.penceCell(p.Mean), chanceCell(p.Above)
			rows.Rows = append(rows.Rows, draw.Interval{Label: name + " (" + strconv.Itoa(g.Cars) + ")",
				Low: p.Mean - wide*p.SD, Mid: p.Mean, High: p.Mean + wide*p.SD})
		}
		b.Table.add(gridCell{Text: name}, countCell(g.Cars), f.penceCell(g.AnHour), pooled, chance,
			gridCell{Text: report.SoWords(t, g)})
	}
	if len(rows.Rows) == 0 {
		return b, nil
	}
	b.Folded = false
	return b.drawn(rows)
}

func soldCars(r *report.Year, f figures) *blockView {
	b := &blockView{Heading: "The cars, the last sold first", Table: &grid{Heads: []string{"car", "sold", "for", "margin",
		"estimate when bought", "for each own hour", "for each bay day", "return a year"}}}
	figure := func(x float64, ok bool, text func(float64) string, num func(float64) string) gridCell {
		if !ok {
			return gridCell{Text: "not known"}
		}
		return gridCell{text(x), "", num(x)}
	}
	list, more := r.Listed()
	for i := range list {
		c := &list[i]
		hour, hourOK := c.AnHour()
		day, dayOK := c.ABayDay()
		back, backOK := c.Return()
		b.Table.add(gridCell{report.Clean(c.Name), report.Clean(c.Called), ""}, gridCell{Text: c.Sold.Format("2 Jan 2006")},
			f.amount(c.Sale), f.amount(c.Margin), f.amount(c.Expected), figure(hour, hourOK, f.pence, number),
			figure(day, dayOK, f.pence, number), figure(back, backOK, percent, share))
	}
	if more > 0 {
		b.Hint = fmt.Sprintf("And %s; year --details lists them all.", tabular.Count(more, "more car"))
	}
	return b
}

func profit(r *report.Year, f figures) *blockView {
	b := &blockView{Heading: "From the margins to the profit before tax", Hint: report.NoTaxAdvice,
		Table: &grid{Heads: []string{"", "amount"}}}
	for _, s := range r.Steps {
		b.Table.add(gridCell{Text: s.Name}, f.amount(s.Pounds))
	}
	b.Table.add(gridCell{Text: "profit before tax"}, f.amount(r.Profit))
	return b
}

func months(r *report.Year, f figures) (*blockView, error) {
	b := &blockView{Heading: "Month by month", Table: &grid{Heads: []string{"month", "cars sold", "for", "margin",
		"own costs", "profit", "turnover of twelve months"}}}
	twelve := map[string]gridCell{}
	line := draw.Bars{Frame: draw.Frame{Title: "Turnover of twelve months, month by month", Size: draw.Both},
		Parts: []string{"turnover of the twelve months before"}, Format: f.format, Axis: "turnover"}
	for _, t := range r.Turnover.Months {
		key := t.First.Format("2006-01")
		cell := f.amount(t.Twelve)
		if r.Threshold > 0 && t.Twelve > r.Threshold {
			cell.More = "over the threshold"
		}
		twelve[key] = cell
		line.Rows = append(line.Rows, draw.Bar{Label: t.First.Format("Jan 2006"), Parts: []float64{t.Twelve}})
	}
	for i := range r.Months {
		m := &r.Months[i]
		b.Table.add(gridCell{Text: m.First.Format("Jan 2006")}, countCell(m.Cars), f.amount(m.Sale), f.amount(m.Margin),
			f.amount(m.Own), f.amount(m.Profit), twelve[m.First.Format("2006-01")])
	}
	if len(line.Rows) == 0 {
		return b, nil
	}
	if r.Threshold > 0 {
		b.Hint = "The bars are turnover; the threshold for VAT is " + f.about(r.Threshold) + ". " + report.NoTaxAdvice
	}
	return b.drawn(line)
}
