package page

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// Floor writes the page of the open cars, for the workshop wall.
func Floor(w io.Writer, r *report.Floor) error {
	f := figuresIn(r.Currency)
	part := &partView{Heading: "The floor", Words: paragraphs(r.Words())}
	for _, step := range []func(*report.Floor, figures) (*blockView, error){wall, cash, openCars, floorWaits} {
		b, err := step(r, f)
		if err != nil {
			return err
		}
		if b != nil {
			part.Blocks = append(part.Blocks, *b)
		}
	}
	if notices := r.Notices(); len(notices) > 0 {
		part.Blocks = append(part.Blocks, blockView{Heading: "How the ledger was read", List: notices})
	}
	var classes [damage.ClassCount]bool
	for i := range r.Lines {
		for _, j := range r.Lines[i].Next {
			for _, c := range damage.Classes() {
				classes[c] = classes[c] || strings.HasSuffix(j.Name, ", "+c.String())
			}
		}
	}
	lead := tabular.Count(len(r.Lines), "open car")
	if r.Bays > 0 {
		lead += fmt.Sprintf(", %d of %d bays taken", r.BaysNow, r.Bays)
	}
	v := &reportView{
		frame: frame{Kind: "Floor", Title: r.AsOf.Format("2 January 2006"), Lead: lead + ".",
			Made: fmt.Sprintf("%s runs of all cars together, seed %d.", money.Group(int64(r.Runs)), r.Seed)},
		Parts: []*partView{part}, Regulated: cautions(classes), Legend: r.Legend(),
	}
	return write(w, "report", v)
}

// wall draws a bar a car on a time axis.
func wall(r *report.Floor, _ figures) (*blockView, error) {
	if len(r.Lines) == 0 {
		return nil, nil
	}
	p := draw.Schedule{
		Frame: draw.Frame{Title: "The open cars on a time axis",
			Size: draw.Both}, From: r.AsOf, Days: float64(7 * len(r.Floor.Weeks)),
		Wait: "waiting", Work: "in work or in the queue", Sale: "for sale", Range: "likely range",
	}
	for i := range r.Lines {
		p.Rows = append(p.Rows, stretch(r, &r.Lines[i]))
	}
	b := &blockView{Heading: "When each is ready and sold",
		Hint: "In the order to work on them. Below each bar are the likely ranges of the day it is ready and the day it " +
			"is sold: 8 times in 10 it ends within."}
	return b.drawn(p)
}

func stretch(r *report.Floor, l *floor.Line) draw.Stretch {
	wait := 0.0
	for _, w := range l.Ways {
		wait += w.Known / float64(len(l.Ways))
	}
	ready, sold := max(0, l.ReadyIn.Mean), max(0, l.SoldIn.Mean)
	day := r.Day(math.Round(sold)).Format("2 Jan")
	ready = min(ready, sold)
	return draw.Stretch{
		Label: l.Name, Value: day, Wait: min(wait, ready), Work: ready, Sale: sold,
		ReadyLow: l.ReadyIn.P10, ReadyHigh: l.ReadyIn.P90, SoldLow: l.SoldIn.P10, SoldHigh: l.SoldIn.P90,
	}
}

// cash draws the cash tied up week by week, with bays and hours in the table.
func cash(r *report.Floor, f figures) (*blockView, error) {
	if len(r.Lines) == 0 {
		return nil, nil
	}
	rows := draw.Intervals{Frame: draw.Frame{Title: "Cash tied up week by week", Size: draw.Both}, Format: f.format,
		Axis: "cash tied up", Middle: "average", Band: "likely range"}
	b := &blockView{Heading: "Cash, bays and hours, week by week", Table: &grid{Heads: []string{"week to", "cash tied up",
		"9 in 10 at most"}}}
	if r.Bays > 0 {
		b.Table.Heads = append(b.Table.Heads, "bays taken", "you have")
	}
	b.Table.Heads = append(b.Table.Heads, "your hours needed", "you have")
	for _, w := range r.Floor.Weeks {
		day := w.Ends.Format("2 Jan")
		rows.Rows = append(rows.Rows, draw.Interval{Label: day, Low: w.Cash.P10, Mid: min(max(w.Cash.Mean, w.Cash.P10),
			w.Cash.P90), High: w.Cash.P90, Value: f.about(w.Cash.Mean)})
		cells := []gridCell{f.amount(w.Cash.Mean), f.amount(w.Cash.P90)}
		if r.Bays > 0 {
			cells = append(cells, gridCell{report.Tenths(w.Bays.Mean), "", number(w.Bays.Mean)}, countCell(r.Bays))
		}
		cells = append(cells, wholeCell(w.Wanted), wholeCell(w.There))
		b.Table.add(gridCell{Text: day}, cells...)
	}
	return b.drawn(rows)
}

func whole(x float64) string { return strconv.FormatFloat(math.Round(x)+0, 'f', 0, 64) }

// openCars is the table of the cars.
func openCars(r *report.Floor, f figures) (*blockView, error) {
	if len(r.Lines) == 0 {
		return nil, nil
	}
	b := &blockView{Heading: "The cars", Table: &grid{Heads: []string{"car", "stage", "money in", "still to pay",
		"your hours to come", "ready", "sold", "margin now", "margin when bought"}}}
	day := func(in float64) string { return r.Day(math.Round(in)).Format("2 Jan") }
	when := func(s evaluate.Spread) gridCell {
		return gridCell{day(s.Mean), day(s.P10) + " to " + day(s.P90), number(s.Mean)}
	}
	for i := range r.Lines {
		l := &r.Lines[i]
		stage, since := report.StageWords(l)
		ready := when(l.ReadyIn)
		if l.Stage == floor.Advertised || l.Stage == floor.Stopped {
			ready = gridCell{}
		}
		hours := gridCell{}
		if l.Hours.Mean > 0 {
			hours = gridCell{whole(l.Hours.Mean), whole(l.Hours.P10) + " to " + whole(l.Hours.P90), number(l.Hours.Mean)}
		}
		b.Table.add(gridCell{report.Clean(l.Name), report.Clean(l.Called), ""}, gridCell{Text: stage, More: since},
			f.amount(l.MoneyIn), spreadCell(l.ToPay, f), hours, ready, when(l.SoldIn),
			gridCell{f.about(l.Margin.Mean), f.span(l.Margin.P10, l.Margin.P90), number(l.Margin.Mean)},
			f.amount(l.WhenBought.Mean))
	}
	return b, nil
}

// floorWaits says what each car waits for, and its next jobs.
func floorWaits(r *report.Floor, _ figures) (*blockView, error) {
	b := &blockView{Heading: "What each waits for, and its next jobs",
		Table: &grid{Heads: []string{"car", "waits for", "next jobs"}}}
	for i := range r.Lines {
		l := &r.Lines[i]
		waits, jobs := strings.Join(report.WaitsWords(l), "; "), report.NextWords(l)
		if waits != "" || jobs != "" {
			b.Table.add(gridCell{Text: report.Clean(l.Name)}, gridCell{Text: waits}, gridCell{Text: jobs})
		}
	}
	if len(b.Table.Rows) == 0 {
		return nil, nil
	}
	return b, nil
}
