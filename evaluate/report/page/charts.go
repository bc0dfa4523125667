package page

import (
	"html/template"
	"math"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
)

// The charts of one lot of a sale. Those of the other pages are with their page: probe.go, reforecast.go, review.go,
// floor.go, year.go, and evidence.go for adverts and past lots.

const (
	curveSteps = 50 // of a repair curve, of which the last is left out
	priceSteps = 24 // of a curve along the hammer price
	tableEvery = 3  // steps between the prices of the table
)

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
