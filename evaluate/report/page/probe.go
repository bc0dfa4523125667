package page

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// mostBars bounds the rows of a picture; the table beside it has them all.
const mostBars = 10

// Probe writes the page of one or several probed lots.
func Probe(w io.Writer, ps *report.Probes) error {
	f := figuresIn(ps.Currency)
	v := &reportView{frame: frame{Kind: "Probe", Made: report.Drawn(ps.Points, ps.Seed) +
		". Figures with and without an item are simulated."}}
	var classes [damage.ClassCount]bool
	for i, p := range ps.Probes {
		part, err := probePart(p, f, ps.Currency)
		if err != nil {
			return fmt.Errorf("lot %s: %w", report.Clean(p.Lot.Number), err)
		}
		part.ID = fmt.Sprintf("p%d", i+1)
		if part.Inspect, err = inspectProbed(p, part.ID, f); err != nil {
			return fmt.Errorf("lot %s: %w", report.Clean(p.Lot.Number), err)
		}
		v.Parts = append(v.Parts, part)
		for _, m := range p.Lot.Code.Marks() {
			classes[m.Class] = classes[m.Class] || m.State != damage.Absent
		}
		for _, u := range p.Unknowns {
			classes[u.Class] = true
		}
	}
	v.Regulated = cautions(classes)
	switch n := len(v.Parts); n {
	case 0:
		return fmt.Errorf("no lot was probed")
	case 1:
		v.Title, v.Lead = v.Parts[0].Heading, "What is worth finding out before bidding, and what it changes."
	default:
		v.Title, v.Lead = tabular.Count(n, "lot"), "What is worth finding out before bidding, and what it changes."
	}
	v.Legend = report.ProbeLegend
	return write(w, "report", v)
}

// cautions are those of the classes of work at hand.
func cautions(classes [damage.ClassCount]bool) []string {
	var out []string
	for _, c := range damage.Classes() {
		if classes[c] {
			out = append(out, c.Caution())
		}
	}
	return out
}

func probePart(p *probe.Probe, f figures, currency string) (*partView, error) {
	part := &partView{
		Heading: fmt.Sprintf("lot %s, %s (category %s)", report.Clean(p.Lot.Number), report.CarWords(p.Result),
			report.Clean(p.Lot.Category)),
		Words: paragraphs(report.ProbeWords(p, currency)),
		Facts: []fact{
			{What: "at a hammer price of", Value: f.exact(p.Price), Num: number(p.Price.Pounds())},
			{What: "average margin there", Value: f.about(p.Margin.Mean), More: "likely range: " +
				f.span(p.Margin.P10, p.Margin.P90), Num: number(p.Margin.Mean)},
			{What: "chance of a loss", Value: percent(p.Margin.LossChance), Num: share(p.Margin.LossChance)},
			{What: "stop at, if you can't find out more", Value: stopAt(p.HighestBid, f), More: limitSentence(p.Result),
				Num: number(p.HighestBid.Pounds())},
			{What: "knowing everything would be worth", Value: f.exact(wholePounds(p.Everything)), Num: number(p.Everything)},
		},
	}
	for _, build := range []func(*probe.Probe, figures) (*blockView, error){looks, unknowns, inputs, odds} {
		b, err := build(p, f)
		if err != nil {
			return nil, err
		}
		if b != nil {
			part.Blocks = append(part.Blocks, *b)
		}
	}
	return part, nil
}

func wholePounds(x float64) money.Pence { return money.Pence(math.Round(x)) * 100 }

func outcomeCells(o *probe.Outcome, f figures) (margin, loss, stop gridCell) {
	if o == nil {
		return
	}
	off := ""
	if o.Error >= 0.5 {
		off = fmt.Sprintf("±%.0f", o.Error)
	}
	return gridCell{f.about(o.Margin), off, number(o.Margin)}, chanceCell(o.LossChance),
		f.stopCell(o.HighestBid)
}

// stopAt writes a price to stop at; of nothing, there is none.
func stopAt(p money.Pence, f figures) string {
	if p == 0 {
		return report.DontBid
	}
	return f.exact(p)
}

func looks(p *probe.Probe, f figures) (*blockView, error) {
	if len(p.Inspections) == 0 {
		return nil, nil
	}
	b := &blockView{Heading: "What an inspection is worth",
		Hint: "Pay for an inspection only if it is worth more than it costs. The price has the trip to the sale in it, " +
			"where it needs one.",
		Table: &grid{Heads: []string{"inspection", "worth", "price", "worth it?", "chance of clear", "clear: stop at",
			"found: stop at", "could show"}}}
	bars := draw.Intervals{Frame: draw.Frame{Title: "Worth of each inspection against its price", Size: draw.Both},
		Format: f.format, Axis: "worth on average, and price", Middle: "worth", Band: "up to its worth", Aim: "price"}
	for _, l := range p.Inspections {
		ask := "no"
		if l.WorthAsking() {
			ask = "yes"
		}
		_, _, clear := outcomeCells(l.Clear, f)
		_, _, bad := outcomeCells(l.Bad, f)
		items := ""
		for i, x := range l.Items {
			if i > 0 {
				items += ", "
			}
			items += x.String()
		}
		b.Table.add(gridCell{Text: report.Clean(l.Name)},
			gridCell{f.exact(wholePounds(max(0, l.Worth))), "", number(l.Worth)},
			gridCell{f.exact(wholePounds(l.Price + l.Trip)), "", number(l.Price + l.Trip)}, gridCell{Text: ask},
			chanceCell(l.ClearChance), clear, bad, gridCell{Text: items})
		cost := l.Price + l.Trip
		bars.Rows = append(bars.Rows, draw.Interval{Label: l.Name, Low: min(0, l.Worth), Mid: l.Worth, High: max(0, l.Worth),
			Target: &cost})
	}
	return b.drawn(bars)
}

func unknowns(p *probe.Probe, f figures) (*blockView, error) {
	if len(p.Unknowns) == 0 {
		return nil, nil
	}
	b := &blockView{Heading: "Damage that may be there", Folded: true,
		Hint: "The average margin with each item there and without it: what the list suspects comes first, then what is " +
			"worth most to know.",
		Table: &grid{Heads: []string{"item", "chance", "its own job", "whole car dearer by", "margin if there", "if not",
			"loss if there", "if not", "stop at if there", "if not", "still pays up to", "share of the doubt",
			"worth of knowing"}}}
	t := draw.Tornado{Frame: draw.Frame{Title: "Margin with and without each item that may be there", Size: draw.Both},
		Base: p.Margin.Mean, BaseLabel: "the margin", Format: f.format,
		Axis: "average margin", AtLow: "with it", AtHigh: "without it"}
	for _, u := range p.Unknowns {
		pays := gridCell{Text: strings.ReplaceAll(report.PaysWords(&u), "\n", " ")}
		if !math.IsNaN(u.BreakEvenChance) {
			pays.Num = share(u.BreakEvenChance)
		}
		m1, l1, s1 := outcomeCells(u.Present, f)
		m0, l0, s0 := outcomeCells(u.Absent, f)
		b.Table.add(gridCell{Text: u.Words(), More: u.Kind.String()}, chanceCell(u.Chance), f.amount(u.OwnCost),
			f.amount(u.MeanCost), m1, m0, l1, l0, s1, s0, pays, chanceCell(u.VarianceShare),
			gridCell{f.exact(wholePounds(max(0, u.Worth))), "", number(u.Worth)})
		if u.Present != nil && u.Absent != nil && len(t.Swings) < mostBars {
			t.Swings = append(t.Swings, draw.Swing{Label: fmt.Sprintf("%s (%s): %s", u.Item, percent(u.Chance),
				u.Class.Describe(u.Grade)), Low: u.Present.Margin, High: u.Absent.Margin})
		}
	}
	if len(p.Unknowns) > mostBars {
		b.Hint += fmt.Sprintf(" The picture has the first %d; the table has all.", mostBars)
	}
	return b, tornado(&b.Picture, t)
}

// tornado draws one where there is something to draw.
func tornado(into *template.HTML, t draw.Tornado) (err error) {
	if len(t.Swings) > 0 {
		*into, err = t.SVG()
	}
	return err
}

func inputs(p *probe.Probe, f figures) (*blockView, error) {
	b := &blockView{Heading: "What each figure could change",
		Hint: "The average margin with one number low and high, all else as it is.", Folded: true,
		Table: &grid{Heads: []string{"number", "low", "high", "margin at low", "at high", "swing"}}}
	t := draw.Tornado{Frame: draw.Frame{Title: "Margin with one number at its low and at its high", Size: draw.Both},
		Base: p.Margin.Mean, BaseLabel: "the margin", Format: f.format, Axis: "average margin"}
	for _, i := range p.Inputs {
		b.Table.add(gridCell{Text: report.InputName(i.Name)}, gridCell{inputWords(i.Low, i.Unit, f), "", share(i.Low)},
			gridCell{inputWords(i.High, i.Unit, f), "", share(i.High)}, f.amount(i.MarginAtLow), f.amount(i.MarginAtHigh),
			gridCell{Text: f.about(i.Swing())})
		if len(t.Swings) < mostBars {
			t.Swings = append(t.Swings, draw.Swing{Label: report.InputName(i.Name) + ", " + inputWords(i.Low, i.Unit, f) +
				" to " + inputWords(i.High, i.Unit, f), Low: i.MarginAtLow, High: i.MarginAtHigh})
		}
	}
	return b, tornado(&b.Picture, t)
}

// inputWords writes an input's value in its unit.
func inputWords(x float64, unit string, f figures) string {
	switch {
	case unit == "share":
		return fmt.Sprintf("%.1f%%", 100*x)
	case unit == "times":
		return fmt.Sprintf("%g times", x)
	case unit == "times its chance":
		return report.ChanceTimes(x)
	case math.Abs(x) < 100:
		return f.pennies(money.FromPounds(x))
	}
	return f.about(x)
}

func odds(p *probe.Probe, f figures) (*blockView, error) {
	b := &blockView{Heading: "If the chances of hidden damage are off",
		Hint:  "All suspected and hidden chances moved together, by a factor of their odds.",
		Table: &grid{Heads: []string{"damage that may be there", "average margin", "loss", "stop at"}}}
	line := draw.Line{}
	var marks []draw.Mark
	for _, o := range p.Odds {
		if o.Factor == 1 {
			marks = append(marks, draw.Mark{Label: "as listed", X: 1, Y: o.Margin, Drop: true})
		}
		b.Table.add(gridCell{Text: report.OddsWords(o.Factor)}, f.amount(o.Margin), chanceCell(o.LossChance),
			f.stopCell(o.HighestBid))
		line.Points = append(line.Points, draw.Point{X: o.Factor, Y: o.Margin})
	}
	var err error
	b.Picture, err = draw.Curve{
		Frame: draw.Frame{Title: "Margin against the odds of hidden damage",
			Size: draw.Both}, Lines: []draw.Line{line}, Marks: marks,
		X: draw.Axis{Label: "odds, times those listed", Format: draw.Plain("")}, Y: draw.Axis{Label: "average margin",
			Format: f.format, Include: []float64{0}, Zero: true},
	}.SVG()
	return b, err
}
