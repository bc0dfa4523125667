package page

import (
	"fmt"
	"io"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
)

// MostMoments is how many moments of a build its page draws.
const MostMoments = 10

// Reforecast writes the page of a build in progress. history is what was believed
// of it before, the freeze first; it may be nil.
func Reforecast(w io.Writer, r *report.Reforecast, history []reforecast.Moment) error {
	f, now := figuresIn(r.Currency), r.Forecast
	part := &partView{Heading: report.Clean(r.Build), Words: paragraphs(r.Words())}
	var classes [damage.ClassCount]bool
	for _, l := range now.Jobs {
		classes[l.Class] = classes[l.Class] || l.State != reforecast.Gone
	}
	steps := []func() (*blockView, error){
		func() (*blockView, error) { return narrowing(r, history, f) },
		func() (*blockView, error) { return choices(r, f) },
		func() (*blockView, error) { return lookFirst(r, f), nil },
		func() (*blockView, error) { return totals(r, f), nil },
		func() (*blockView, error) { return jobs(r, f) },
	}
	for _, step := range steps {
		b, err := step()
		if err != nil {
			return err
		}
		if b != nil {
			part.Blocks = append(part.Blocks, *b)
		}
	}
	if len(now.Notices) > 0 {
		part.Blocks = append(part.Blocks, blockView{Heading: "How the ledger was read", List: report.CleanAll(now.Notices)})
	}
	lead := fmt.Sprintf("Lot %s", report.Clean(r.Lot.Number))
	if car := report.Clean(r.Lot.Car()); car != "" {
		lead += ", " + car
	}
	switch {
	case now.ElapsedKnown:
		lead += fmt.Sprintf(", day %.0f", now.Elapsed)
	case now.Elapsed > 0:
		lead += fmt.Sprintf(", day %.0f or later", now.Elapsed)
	}
	v := &reportView{
		frame: frame{Kind: "Reforecast", Title: "build " + report.Clean(r.Build), Lead: lead + ".",
			Made: fmt.Sprintf("%s simulated cars, seed %d, as when bought. Your hours count at %s.",
				money.Group(int64(r.Points)), r.Seed, f.pennies(money.FromPounds(r.LabourRate)))},
		Parts: []*partView{part}, Regulated: cautions(classes),
		Legend: []string{"Figures are averages, with the likely range beside them: 8 in 10 end in it. Finished jobs " +
			"count at cost; open jobs at what is still to pay; damage checked and not there is dropped."},
	}
	return write(w, "report", v)
}

func day(t time.Time) string {
	if t.IsZero() {
		return "when bought"
	}
	return t.Format(time.DateOnly)
}

// narrowing draws the estimate at completion as it moved.
func narrowing(r *report.Reforecast, history []reforecast.Moment, f figures) (*blockView, error) {
	b := &blockView{Heading: "Forecast repair cost, date by date", Folded: true,
		Table: &grid{Heads: []string{"when", "repair at completion", "margin", "loss"}}}
	now := r.Forecast
	n := draw.Narrowing{Frame: draw.Frame{Title: "Forecast repair cost, date by date", Size: draw.Both}, Format: f.format,
		Axis:   "repair at completion",
		Guides: []draw.Guide{{Label: "spent so far", Value: now.Actual(r.LabourRate)}}}
	if len(history) == 0 {
		history = []reforecast.Moment{{Repair: now.Start.Repair, Margin: now.Start.Margin}}
	}
	add := func(when string, s evaluate.Spread, m evaluate.Margin) {
		n.Steps = append(n.Steps, draw.Interval{Label: when, Low: s.P10, Mid: s.P50, High: s.P90})
		b.Table.add(gridCell{Text: when}, spreadCell(s, f),
			spreadCell(evaluate.Spread{Mean: m.Mean, P10: m.P10, P50: m.P50, P90: m.P90}, f), chanceCell(m.LossChance))
	}
	last := history[len(history)-1]
	for _, m := range history[:len(history)-1] {
		add(day(m.Day), m.Repair, m.Margin)
	}
	if last.Repair == now.Now.Repair && !last.Day.IsZero() {
		add("now, "+day(last.Day), now.Now.Repair, now.Now.Margin)
	} else {
		add(day(last.Day), last.Repair, last.Margin)
		add("now", now.Now.Repair, now.Now.Margin)
	}
	return b.drawn(n)
}

func spreadCell(s evaluate.Spread, f figures) gridCell {
	return gridCell{f.about(s.Mean), f.span(s.P10, s.P90), number(s.Mean)}
}

func choices(r *report.Reforecast, f figures) (*blockView, error) {
	if len(r.Forecast.Choices) == 0 {
		return nil, nil
	}
	b := &blockView{Heading: "The choices", Hint: "What each is worth from here; money already spent is left out.",
		Table: &grid{Heads: []string{"choice", "worth", "turns out best in"}}}
	rows := draw.Intervals{Frame: draw.Frame{Title: "Worth of each choice from here", Size: draw.Both}, Format: f.format,
		Axis: "money from here", Middle: "average", Zero: true}
	for _, c := range r.Forecast.Choices {
		best := chanceCell(c.Best)
		if len(r.Forecast.Choices) == 1 {
			best = gridCell{Text: "nothing to compare it with"}
		}
		b.Table.add(gridCell{Text: c.Name}, spreadCell(c.Worth, f), best)
		rows.Rows = append(rows.Rows, draw.Interval{Label: c.Name, Low: c.Worth.P10, Mid: c.Worth.Mean, High: c.Worth.P90})
	}
	return b.drawn(rows)
}

// lookFirst sets out what looking first would be worth, nil where no look gains anything.
func lookFirst(r *report.Reforecast, f figures) *blockView {
	b := &blockView{Heading: "Look first?", Hint: "What an inspection is worth, on average, over deciding today.",
		Table: &grid{Heads: []string{"inspection", "price", "worth", "gain", "shows nothing in"}}}
	for i := range r.Forecast.Looks {
		l := &r.Forecast.Looks[i]
		if l.Gain() <= 0 {
			continue
		}
		b.Table.add(gridCell{Text: report.Clean(l.Name)}, f.amount(l.Price), f.amount(l.Worth), f.amount(l.Gain()),
			chanceCell(l.Clear))
	}
	if len(b.Table.Rows) == 0 {
		return nil
	}
	return b
}

func totals(r *report.Reforecast, f figures) *blockView {
	now := r.Forecast
	b := &blockView{Heading: "When bought, and now", Table: &grid{Heads: []string{"", "when bought", "so far", "to come",
		"now, in all"}}}
	plain := func(s evaluate.Spread) gridCell {
		return gridCell{fmt.Sprintf("%.0f", s.Mean), fmt.Sprintf("%.0f to %.0f", s.P10, s.P90), number(s.Mean)}
	}
	count := func(x float64) gridCell { return gridCell{fmt.Sprintf("%.0f", x), "", number(x)} }
	margin := func(m evaluate.Margin) gridCell {
		return spreadCell(evaluate.Spread{Mean: m.Mean, P10: m.P10, P90: m.P90}, f)
	}
	b.Table.add(gridCell{Text: "repair"}, spreadCell(now.Start.Repair, f), f.amount(now.Actual(r.LabourRate)),
		f.amount(now.ToCome.Mean), spreadCell(now.Now.Repair, f))
	b.Table.add(gridCell{Text: "your hours"}, plain(now.Start.Hours), count(now.HoursSpent), count(now.HoursToCome.Mean),
		plain(now.Now.Hours))
	b.Table.add(gridCell{Text: "tests and extras"}, spreadCell(now.Start.Other, f), f.amount(now.Overhead),
		f.amount(now.OtherToCome.Mean), spreadCell(now.Now.Other, f))
	b.Table.add(gridCell{Text: "days to sale"}, plain(now.Start.Days), count(now.Elapsed), count(now.DaysLeft.Mean),
		plain(now.Now.Days))
	b.Table.add(gridCell{Text: "sale price"}, spreadCell(now.Start.Resale, f), gridCell{}, gridCell{},
		spreadCell(now.Now.Resale, f))
	b.Table.add(gridCell{Text: "margin"}, margin(now.Start.Margin), gridCell{}, gridCell{}, margin(now.Now.Margin))
	return b
}

func jobs(r *report.Reforecast, f figures) (*blockView, error) {
	b := &blockView{Heading: "Job by job", Hint: "A % is the chance of a job not yet checked.",
		Table: &grid{Heads: []string{"job", "state", "when bought", "spent", "your hours", "to come"}}}
	bars := draw.Bars{Frame: draw.Frame{Title: "Spent and to come, job by job", Size: draw.Both}, Format: f.format,
		Parts: []string{"spent", "to come"}, Axis: "money and your hours"}
	for _, l := range r.Forecast.Jobs {
		before, left := gridCell{}, gridCell{}
		if !l.Unplanned {
			before = spreadCell(l.Start, f)
		}
		if l.State == reforecast.Open || l.State == reforecast.Untouched {
			left = spreadCell(l.ToCome, f)
		}
		b.Table.add(gridCell{Text: l.Zone.String() + ", " + l.Class.String()}, gridCell{Text: stands(l)}, before,
			f.amount(l.Spent), gridCell{report.Tenths(l.Hours), "", number(l.Hours)}, left)
		if l.Actual > 0 || l.ToCome.Mean > 0 && l.State != reforecast.Gone {
			bars.Rows = append(bars.Rows, draw.Bar{Label: l.Spot.String(), Parts: []float64{max(0, l.Actual),
				max(0, l.ToCome.Mean)}})
		}
	}
	if len(bars.Rows) == 0 {
		return b, nil
	}
	return b.drawn(bars)
}

// stands says how a job stands.
func stands(l reforecast.Line) string {
	text := report.StateWords(l.State)
	switch {
	case l.State == reforecast.Untouched && l.Chance < 1:
		text = "not checked, " + percent(l.Chance)
	case l.State == reforecast.Untouched:
		text = "to do"
	case l.State == reforecast.Open && l.Chance < 1:
		text += ", " + percent(l.Chance)
	}
	if l.Grade > 0 {
		text += fmt.Sprintf(", grade %d", l.Grade)
	}
	switch {
	case l.Unplanned:
		text += ", not in the estimate"
	case l.Over && l.State == reforecast.Open:
		text += ", overspent"
	}
	return text
}
