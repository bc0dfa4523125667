package page

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// panel is all that is said of one lot. What a lot without charts leaves out is
// empty.
type panel struct {
	Code                      string
	Marks                     []markView
	Said, Note                string
	Facts                     []fact
	Warnings                  []string
	Stops                     []fact
	Looks                     []lookView
	Inspect                   *inspectView
	ZoneWords                 string
	Zones, Curve, Along, Loss template.HTML
	Prices                    []priceView
	Fall                      template.HTML
	// Adverts and Past are drawn from the shop's evidence, and blank where it has none.
	Adverts, Past          template.HTML
	AdvertWords, PastWords string
	WalkAt                 string
	Walk                   []workingsView
}

type (
	markView struct{ Zone, Class, Words, State string }
	fact     struct{ What, Value, More, Num string }
	// lookView is something to look at before bidding; Cost says what its job costs and
	// what comes with it.
	lookView struct{ Words, Kind, Chance, Cost string }
	// priceView is the margin at one hammer price.
	priceView    struct{ Hammer, Margin, Span, Loss string }
	workingsView struct {
		What, Amount, How string
		Total             bool
	}
)

// The chances of a loss whose prices a bidder is told.
var stopChances = []struct {
	Chance float64
	Words  string
}{{0.1, "1 in 10"}, {0.25, "1 in 4"}, {0.5, "1 in 2"}}

const (
	curveSteps = 50 // of a repair curve, of which the last is left out
	priceSteps = 24 // of a curve along the hammer price
	tableEvery = 3  // steps between the prices of the table
	mostLooks  = 6  // things to look at that a panel names, unless the list suspects more
	fewLooks   = 3  // of a panel without charts
)

// look fills in the panel of a lot and its row of the bid sheet.
func (l *lotView) look(e *evaluate.Evaluator, f figures, charts bool) error {
	r := l.result
	s, err := e.Assess(r.Lot)
	if err != nil {
		return err
	}
	p := &panel{Code: r.Lot.Code.String(), Said: report.Clean(r.Lot.Description), Note: report.Clean(r.Lot.Note)}
	for _, m := range r.Lot.Code.Marks() {
		p.Marks = append(p.Marks, markOf(m))
	}
	for _, w := range r.Warnings {
		p.Warnings = append(p.Warnings, report.Clean(w.Text))
	}
	p.Facts = facts(r, f, charts)
	var stops []money.Pence
	for _, c := range stopChances {
		stops = append(stops, s.LossStop(c.Chance))
	}
	breakEven, checks, zones := s.BreakEven(), probe.Checks(s, e, r), s.Zones()
	pay := s.Outlay(r.HighestBid)
	p.Stops = stopFacts(r, f, stops, breakEven, pay)
	for i, c := range checks {
		if !c.Own && (i >= mostLooks || !charts && i >= fewLooks) {
			break
		}
		p.Looks = append(p.Looks, lookView{c.Words(), c.Kind.String(), percent(c.Chance), costWords(&c, e.Shop().Currency)})
	}
	p.ZoneWords = zoneWords(zones, f)
	l.Panel, l.sheet = p, sheetRowOf(l, f, stops, pay, checks)
	if charts {
		if p.Inspect, err = inspectLot(s, r.Lot, l.ID, checks, f); err != nil {
			return err
		}
		if err := p.evidence(r, e.Prices(), f); err != nil {
			return err
		}
		return p.draw(r, s, f, stops, breakEven, zones)
	}
	return nil
}

func markOf(m damage.Mark) markView {
	v := markView{Zone: m.Zone.String(), Class: m.Class.String(), Words: m.Class.Describe(m.Grade), State: "seen"}
	switch {
	case m.State == damage.Absent:
		v.State = "checked: not this bad"
	case m.State == damage.Suspected && m.Percent > 0:
		v.State = fmt.Sprintf("suspected, %d%%", m.Percent)
	case m.State == damage.Suspected:
		v.State = "suspected"
	}
	return v
}

// facts are the figures of a lot; those that its row has too only where all is set
// out.
func facts(r *evaluate.Result, f figures, all bool) []fact {
	spread := func(s evaluate.Spread) string { return oneDecimal(s.P10) + " to " + oneDecimal(s.P90) }
	out := []fact{
		{What: "repair, average", Value: f.about(r.Repair.Mean), More: "the true average is very likely within " +
			f.span(r.Repair.CILow, r.Repair.CIHigh), Num: number(r.Repair.Mean)},
		{What: "sale price, average", Value: f.about(r.Resale.Mean), More: "likely range " +
			f.span(r.Resale.P10, r.Resale.P90), Num: number(r.Resale.Mean)},
		{What: "your hours, average", Value: oneDecimal(r.Hours.Mean), More: "likely range " + spread(r.Hours),
			Num: number(r.Hours.Mean)},
		{What: "days to sale, average", Value: fmt.Sprintf("%.0f", r.Days.Mean),
			More: fmt.Sprintf("likely range %.0f to %.0f", r.Days.P10, r.Days.P90), Num: number(r.Days.Mean)},
		{What: "value before the damage", Value: f.exact(r.Value), Num: number(r.Value.Pounds())},
	}
	out = append([]fact{{What: "repair, likely (P50)", Value: f.about(r.Repair.P50), More: "likely range " +
		f.span(r.Repair.P10, r.Repair.P90), Num: number(r.Repair.P50)}}, out...)
	if r.Status != bid.Ranked || !all {
		return out
	}
	guide := "the list's"
	switch {
	case r.Appraisal.At() > 0:
		guide = "the middle of what has to be beaten, from " + tabular.Count(r.Appraisal.Price.Results, "past lot")
	case r.GuideGuessed:
		guide = "assumed from the value"
	}
	return append([]fact{
		{What: "margin at the " + priceName(r) + ", average", Value: f.about(r.Margin.Mean), More: "likely range " +
			f.span(r.Margin.P10, r.Margin.P90), Num: number(r.Margin.Mean)},
		{What: "chance of a loss there", Value: percent(r.Margin.LossChance), More: "worst 1 in 10, on average: " +
			f.about(r.Margin.Shortfall), Num: share(r.Margin.LossChance)},
		{What: priceName(r), Value: f.exact(r.At), More: guide + "; with fees, their VAT and transport " + f.exact(r.Outlay),
			Num: number(r.At.Pounds())},
	}, out...)
}

// stopFacts are the prices to stop at, the tool's own first.
func stopFacts(r *evaluate.Result, f figures, stops []money.Pence, breakEven, pay money.Pence) []fact {
	out := []fact{{What: "stop at", Value: stopAt(r.HighestBid, f), More: limitSentence(r),
		Num: number(r.HighestBid.Pounds())}}
	if r.HighestBid > 0 {
		out = append(out, fact{What: "to pay on the day at that price, with fees and transport", Value: f.exact(pay),
			Num: number(pay.Pounds())})
	}
	for i, c := range stopChances {
		out = append(out, fact{What: "chance of a loss passes " + c.Words + " above", Value: passes(stops[i], f,
			"any price"), Num: number(stops[i].Pounds())})
	}
	return append(out, fact{What: "breaks even on average at", Value: passes(breakEven, f, "no price"),
		Num: number(breakEven.Pounds())})
}

func limitSentence(r *evaluate.Result) string {
	above := "above it "
	if r.HighestBid == 0 {
		above = "even at the lowest bid "
	}
	switch r.BidLimit {
	case bid.LossLimit:
		return above + "the chance of a loss is over your limit (risk)"
	case bid.MarginLimit:
		return above + "the average margin is under your target"
	case bid.CashLimit:
		return above + "it takes more cash than you allow"
	}
	return "the car's own value"
}

func zoneWords(zones []evaluate.ZoneCost, f figures) string {
	words := make([]string, len(zones))
	for i, z := range zones {
		words[i] = z.Zone.String() + " " + f.about(z.Total())
	}
	return strings.Join(words, ", ")
}

// draw adds the charts and their tables.
func (p *panel) draw(r *evaluate.Result, s *evaluate.Assessment, f figures, stops []money.Pence, breakEven money.Pence,
	zones []evaluate.ZoneCost) (err error) {
	if len(zones) > 0 {
		if p.Zones, err = zoneBars(zones, f).SVG(); err != nil {
			return err
		}
		if p.Curve, err = repairCurve(r, s, f); err != nil {
			return err
		}
	}
	if err := p.along(r, s, f, stops, breakEven); err != nil {
		return err
	}
	at := r.At
	p.WalkAt = "the " + priceName(r) + " of " + f.exact(at)
	if at == 0 {
		at = r.HighestBid
		p.WalkAt = "the price to stop at, " + f.exact(at) + ", as there is no guide price"
	}
	walk := s.Workings(at)
	for _, x := range walk.Steps {
		p.Walk = append(p.Walk, workingsView{report.Clean(x.Name), f.pennies(x.Amount), report.Clean(x.How), x.Subtotal})
	}
	p.Walk = append(p.Walk, workingsView{"margin", f.pennies(walk.Total), "the sum of the subtotals", true})
	p.Fall, err = fall(walk, f).SVG()
	return err
}

func zoneBars(zones []evaluate.ZoneCost, f figures) draw.Bars {
	b := draw.Bars{Frame: draw.Frame{Title: "Repair money by zone"}, Format: f.format, Axis: "average repair cost"}
	var used [damage.ClassCount]bool
	for _, z := range zones {
		for c, x := range z.Classes {
			used[c] = used[c] || x > 0
		}
	}
	for _, c := range damage.Classes() {
		if used[c] {
			b.Parts = append(b.Parts, c.String())
		}
	}
	for _, z := range zones {
		row := draw.Bar{Label: z.Zone.String()}
		for c, x := range z.Classes {
			if used[c] {
				row.Parts = append(row.Parts, x)
			}
		}
		b.Rows = append(b.Rows, row)
	}
	return b
}

func repairCurve(r *evaluate.Result, s *evaluate.Assessment, f figures) (template.HTML, error) {
	line := draw.Line{}
	for _, q := range s.RepairCurve(curveSteps)[:curveSteps] {
		line.Points = append(line.Points, draw.Point{X: q.Amount, Y: q.Share})
	}
	return draw.Curve{
		Frame: draw.Frame{Title: "Chance that the repair stays under a cost"},
		X:     draw.Axis{Label: "repair cost", Format: f.format}, Y: draw.Axis{Label: "chance that it costs no more",
			Format: draw.Percent()},
		Lines: []draw.Line{line},
		Marks: []draw.Mark{{Label: "1 in 10", X: r.Repair.P10, Y: 0.1, Drop: true},
			{Label: "5 in 10", X: r.Repair.P50, Y: 0.5,
				Drop: true}, {Label: "8 in 10", X: r.Repair.P80, Y: 0.8, Drop: true}},
	}.SVG()
}

// along draws the margin and the chance of a loss against the hammer price.
func (p *panel) along(r *evaluate.Result, s *evaluate.Assessment, f figures, stops []money.Pence,
	breakEven money.Pence) (err error) {
	named := append([]money.Pence{r.HighestBid, breakEven, r.At}, stops...)
	top := 0.2 * r.Value.Pounds()
	for i, x := range named {
		top = max(top, []float64{1.4, 1.15, 1.35, 1.1, 1.1, 1.1}[i]*x.Pounds())
	}
	top = min(top, r.Value.Pounds())
	step := money.FromPounds(nice(top / priceSteps))
	var hammers []money.Pence
	for i := range priceSteps + 1 {
		hammers = append(hammers, money.Pence(i)*step)
	}
	curve, at := s.Along(hammers), s.Along(named)
	lines := []draw.Line{{Name: "average"}, {Name: "1 in 10 above"}, {Name: "1 in 10 below"}}
	loss := draw.Line{}
	for i, m := range curve {
		x := m.Hammer.Pounds()
		for k, y := range []float64{m.Mean, m.P90, m.P10} {
			lines[k].Points = append(lines[k].Points, draw.Point{X: x, Y: y})
		}
		loss.Points = append(loss.Points, draw.Point{X: x, Y: m.LossChance})
		if i%tableEvery == 0 {
			p.Prices = append(p.Prices, priceView{f.exact(m.Hammer), f.about(m.Mean), f.span(m.P10, m.P90),
				percent(m.LossChance)})
		}
	}
	var margins, losses []draw.Mark
	own := "guide"
	if r.Appraisal.At() > 0 {
		own = "expected"
	}
	for i, name := range []string{"stop at", "breaks even", own} {
		if named[i] > 0 {
			margins = append(margins, draw.Mark{Label: name, X: named[i].Pounds(), Y: at[i].Mean})
			if i != 1 {
				losses = append(losses, draw.Mark{Label: name, X: named[i].Pounds(), Y: at[i].LossChance})
			}
		}
	}
	for i, c := range stopChances {
		if stops[i] > 0 {
			losses = append(losses, draw.Mark{Label: c.Words, X: stops[i].Pounds(), Y: at[3+i].LossChance})
		}
	}
	hammer := draw.Axis{Label: "hammer price", Format: f.format}
	if p.Along, err = (draw.Curve{
		Frame: draw.Frame{Title: "Margin along the hammer price"}, X: hammer, Y: draw.Axis{Label: "margin", Format: f.format,
			Include: []float64{0}, Zero: true},
		Lines: lines, Marks: margins,
	}).SVG(); err != nil {
		return err
	}
	p.Loss, err = draw.Curve{
		Frame: draw.Frame{Title: "Chance of a loss along the hammer price"}, X: hammer,
		Y: draw.Axis{Label: "chance of a loss", Format: draw.Percent(),
			Include: []float64{0, 1}}, Lines: []draw.Line{loss}, Marks: losses,
	}.SVG()
	return err
}

// nice rounds up to 1, 2, 2.5 or 5 times a power of ten.
func nice(x float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8} {
		if k*unit >= x {
			return k * unit
		}
	}
	return 10 * unit
}

// partWords name the parts of a walk, in order.
var partWords = []struct {
	part  deal.Part
	words string
}{
	{deal.PartHammer, "hammer price"}, {deal.PartFees, "fees and transport"}, {deal.PartRepair, "repair"},
	{deal.PartOther, "tests and extras"}, {deal.PartTime, "holding and finance"}, {deal.PartSale, "sale price"},
	{deal.PartSelling, "selling"}, {deal.PartVAT, "VAT"}, {deal.PartStop, "sold on or broken"},
	{deal.PartWinning, "top-bidder allowance"},
}

// fall draws a walk, its lines summed by part.
func fall(walk *deal.Workings, f figures) draw.Waterfall {
	sums := map[deal.Part]money.Pence{}
	for _, x := range walk.Steps {
		if !x.Subtotal {
			sums[x.Part] += x.Amount
		}
	}
	w := draw.Waterfall{Frame: draw.Frame{Title: "From the hammer price to the margin"}, Format: f.format,
		Axis: "average, added up from the top", Plus: "money in", Minus: "money out"}
	for _, x := range partWords {
		if sums[x.part] != 0 {
			w.Steps = append(w.Steps, draw.Step{Label: x.words, Amount: sums[x.part].Pounds()})
		}
	}
	w.Steps = append(w.Steps, draw.Step{Label: "margin", Total: true})
	return w
}

// priceName names the hammer price at which a lot's margin stands.
func priceName(r *evaluate.Result) string {
	if r.Appraisal.At() > 0 {
		return "expected price"
	}
	return "guide price"
}
