package page

import (
	"fmt"
	"io"
	"math"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// MostBuilds is how many builds the page of a review sets out line by line, the
// last ones sold.
const MostBuilds = 40

// Review writes the page of finished builds.
func Review(w io.Writer, r *report.Review) error {
	f := figuresIn(r.Currency)
	v := &reportView{frame: frame{Kind: "Review", Title: tabular.Count(len(r.Outcomes), "finished build"),
		Lead: "The estimate when each car was bought, and what it came to.",
		Made: "Each build against its own estimate when bought."},
		Legend: []string{
			"Rank: P63 is dearer than 63 in 100 of the simulated cars of its own estimate. If all estimates are right, " +
				"ranks lie evenly, and 8 builds in 10 end within their likely range.",
			"Below, above: outside its likely range. Not in the estimate: found, and nothing of the estimate covers it. Not " +
				"needed: expected, and not there.",
		}}
	all := &partView{ID: "all", Heading: "All builds", Words: paragraphs(r.Words())}
	v.Parts = append(v.Parts, all)
	if len(r.Outcomes) > 1 {
		if err := overall(all, r, f); err != nil {
			return err
		}
	}
	if len(r.Aside) > 0 {
		b := blockView{Heading: "Not reviewed"}
		for _, a := range r.Aside {
			b.List = append(b.List, report.Clean(a.Build)+": "+report.Clean(a.Reason))
		}
		all.Blocks = append(all.Blocks, b)
	}
	shown := r.Outcomes
	if len(shown) > MostBuilds {
		shown = shown[len(shown)-MostBuilds:]
		all.Words = append(all.Words,
			wordsView{Text: fmt.Sprintf("To keep the page small, only the last %d builds are set out line by line below; "+
				"review --details prints all.", MostBuilds)})
	}
	var classes [damage.ClassCount]bool
	for _, o := range r.Outcomes {
		for _, l := range o.Lines {
			classes[l.Spot.Class] = classes[l.Spot.Class] || l.Actual != 0
		}
	}
	for i, o := range shown {
		part, err := buildPart(o, f)
		if err != nil {
			return fmt.Errorf("build %s: %w", report.Clean(o.Build.Name), err)
		}
		part.ID = fmt.Sprintf("b%d", i+1)
		if len(r.Outcomes) == 1 {
			part.Words = nil // said above
		}
		v.Parts = append(v.Parts, part)
	}
	v.Regulated = cautions(classes)
	return write(w, "report", v)
}

// overall adds what several builds say together.
func overall(all *partView, r *report.Review, f figures) error {
	b := blockView{Heading: "Where the repairs landed", Folded: true,
		Table: &grid{Heads: []string{"build", "repair expected", "actual", "rank", "margin expected", "actual", "rank"}}}
	dots := draw.Dots{Frame: draw.Frame{Title: "Rank of every repair among the simulated cars of its estimate",
		Size: draw.Both}, Axis: "percentile of the estimate", Left: "cheaper than said", Right: "dearer than said"}
	for _, o := range r.Outcomes {
		p := o.Frozen.Predicted.Repair
		b.Table.add(gridCell{report.Clean(o.Build.Name), "lot " + report.Clean(o.Frozen.Kept.Lot), ""},
			spreadCell(spread(p), f), f.amount(o.Actual.Pounds()),
			gridCell{report.RankWords(o.Percentile), "", share(o.Percentile)}, f.amount(o.MarginExpected.Pounds()),
			f.amount(o.MarginActual.Pounds()), gridCell{report.RankWords(o.MarginPercentile), "", share(o.MarginPercentile)})
		dots.Dots = append(dots.Dots, draw.Dot{Label: o.Build.Name, At: 100 * o.Percentile})
	}
	var err error
	if b.Picture, err = dots.SVG(); err != nil {
		return err
	}
	all.Blocks = append(all.Blocks, b)
	if r.Calibration == nil {
		return nil
	}
	return calibration(all, r.Calibration, f)
}

func calibration(all *partView, c *build.Calibration, f figures) error {
	b := blockView{Heading: "How often the repair came out within its range", Folded: true,
		Table: &grid{Heads: []string{"range of", "inside", "share", "in the long run (95%)"}}}
	cover := draw.Coverage{Frame: draw.Frame{Title: "Coverage stated and observed", Size: draw.Both},
		Axis: "share of the builds inside"}
	for _, x := range c.Coverage {
		count := fmt.Sprintf("%d of %d", x.Inside, x.N)
		b.Table.add(chanceCell(x.Level), gridCell{Text: count}, chanceCell(x.Share),
			gridCell{Text: percent(x.Low) + " to " + percent(x.High)})
		cover.Levels = append(cover.Levels, draw.Level{Stated: x.Level, Observed: x.Share, Low: x.Low, High: x.High,
			Count: count})
	}
	var err error
	if b.Picture, err = cover.SVG(); err != nil {
		return err
	}
	all.Blocks = append(all.Blocks, b)

	b = blockView{Heading: "How far off you usually are",
		Hint: "How many times its estimate it came to: 1.00 is spot on, above it dearer.", Folded: true,
		Table: &grid{Heads: []string{"of", "builds", "actual over estimate", "in the long run (95%)"}}}
	bias := draw.Intervals{Frame: draw.Frame{Title: "Actual over estimate, class by class", Size: draw.Both},
		Axis: "actual over estimate", Middle: "observed", Band: "95 in 100",
		Format: draw.Format{Decimals: 2}, Guides: []draw.Guide{{Label: "right", Value: 1}}}
	add := func(name string, x stats.LogRatio) {
		if x.N == 0 || x.Interval != nil && math.Exp(x.Interval.High-x.Interval.Low) > 10 {
			return
		}
		row, interval := draw.Interval{Label: name, Low: x.Factor(), Mid: x.Factor(), High: x.Factor()}, ""
		if x.Interval != nil {
			row.Low, row.High = math.Exp(x.Interval.Low), math.Exp(x.Interval.High)
			interval = fmt.Sprintf("%.2f to %.2f", row.Low, row.High)
		}
		bias.Rows = append(bias.Rows, row)
		b.Table.add(gridCell{Text: name}, gridCell{Text: fmt.Sprint(x.N)}, gridCell{Text: fmt.Sprintf("%.2f", x.Factor())},
			gridCell{Text: interval})
	}
	for i := range c.Account.Habits {
		h := &c.Account.Habits[i]
		if h.Jobs == 0 {
			continue
		}
		if h.TooFew {
			b.Table.add(gridCell{Text: h.Class.String()}, gridCell{Text: fmt.Sprint(h.Builds)},
				gridCell{Text: "too few to judge"}, gridCell{})
			continue
		}
		bias.Rows = append(bias.Rows, draw.Interval{Label: h.Class.String(), Low: h.Low, Mid: h.Ratio, High: h.High})
		b.Table.add(gridCell{Text: h.Class.String()}, gridCell{Text: fmt.Sprint(h.Builds)},
			gridCell{Text: fmt.Sprintf("%.2f", h.Ratio)}, gridCell{Text: fmt.Sprintf("%.2f to %.2f", h.Low, h.High)})
	}
	add("whole repair", c.Bias)
	add("sale price", c.Price)
	if len(bias.Rows) > 0 {
		if b.Picture, err = bias.SVG(); err != nil {
			return err
		}
		all.Blocks = append(all.Blocks, b)
	}

	b = blockView{Heading: "Worth listening to?",
		Hint: "Against rough guesses that anyone could make from the builds before; a positive share says that the " +
			"estimates did better.",
		Table: &grid{Heads: []string{"rough guess", "builds compared", "estimates better by"}}}
	for _, x := range c.Rivals {
		if x.Known {
			b.Table.add(gridCell{Text: x.Name}, gridCell{Text: fmt.Sprint(x.Builds)},
				gridCell{fmt.Sprintf("%.0f%%", 100*x.Skill), "", share(x.Skill)})
		}
	}
	if len(b.Table.Rows) == 0 {
		return nil
	}
	all.Blocks = append(all.Blocks, b)
	return nil
}

func spread(p build.Forecast) evaluate.Spread {
	return evaluate.Spread{Mean: p.Mean, P10: p.P10, P50: p.P50, P90: p.P90}
}

// buildPart sets out one build: its lines and its walk.
func buildPart(o *build.Outcome, f figures) (*partView, error) {
	part := &partView{Heading: report.Clean(o.Build.Name), Words: paragraphs([]string{report.OutcomeWords(o, f.currency)})}
	b := blockView{Heading: "Estimate against actual, zone by zone", Folded: true,
		Table: &grid{Heads: []string{"zone and class", "chance", "expected", "actual", "where"}}}
	rows := draw.Intervals{Frame: draw.Frame{Title: "Estimate and actual of every zone", Size: draw.Both},
		Format: f.format, Axis: "repair money", Middle: "average expected", Aim: "actual"}
	for _, l := range o.Lines {
		name, actual := l.Spot.Zone.String()+", "+l.Spot.Class.String(), l.Actual.Pounds()
		if l.Forecast == nil {
			b.Table.add(gridCell{Text: name}, gridCell{}, gridCell{}, f.amount(actual),
				gridCell{Text: report.WhereWords(l.Where)})
			rows.Rows = append(rows.Rows, draw.Interval{Label: l.Spot.String() + ", not in the estimate",
				Value: f.about(actual), Target: &actual})
			continue
		}
		p := l.Forecast
		b.Table.add(gridCell{Text: name}, chanceCell(p.Chance), spreadCell(spread(p.Forecast), f), f.amount(actual),
			gridCell{Text: report.WhereWords(l.Where)})
		if p.P90 > 0 || actual != 0 {
			rows.Rows = append(rows.Rows, draw.Interval{Label: l.Spot.String(), Low: p.P10, Mid: p.Mean, High: p.P90,
				Value: f.about(actual), Target: &actual})
		}
	}
	var err error
	if len(rows.Rows) > 0 {
		if b.Picture, err = rows.SVG(); err != nil {
			return nil, err
		}
	}
	part.Blocks = append(part.Blocks, b)

	b = blockView{Heading: "From the expected margin to the actual one", Folded: true,
		Table: &grid{Heads: []string{"step", "expected", "actual", "margin"}}}
	fall := draw.Waterfall{Frame: draw.Frame{Title: "From the expected margin to the actual one", Size: draw.Both},
		Format: f.format, Axis: "margin", Plus: "better than expected", Minus: "worse",
		Steps: []draw.Step{{Label: "margin expected", Amount: o.MarginExpected.Pounds()}}}
	for _, s := range o.Walk {
		b.Table.add(gridCell{Text: s.Name}, f.penniesCell(s.Expected), f.penniesCell(s.Actual), f.penniesCell(s.Difference()))
		if s.Difference() != 0 {
			fall.Steps = append(fall.Steps, draw.Step{Label: s.Name, Amount: s.Difference().Pounds()})
		}
	}
	b.Table.add(gridCell{Text: "margin"}, f.penniesCell(o.MarginExpected), f.penniesCell(o.MarginActual), gridCell{})
	fall.Steps = append(fall.Steps, draw.Step{Label: "margin", Total: true})
	if b.Picture, err = fall.SVG(); err != nil {
		return nil, err
	}
	part.Blocks = append(part.Blocks, b)
	if len(o.Notes) > 0 {
		part.Blocks = append(part.Blocks, blockView{Heading: "Assumed", List: report.CleanAll(o.Notes)})
	}
	return part, nil
}
