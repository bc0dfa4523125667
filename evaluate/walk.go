package evaluate

import (
	"fmt"

	"wreckoner/damage"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A Part is what sort of money a step is.
type Part string

// The parts. VAT is what a registered shop owes and takes back, beside the VAT
// within the other parts.
const (
	PartHammer  Part = "hammer"
	PartFees    Part = "fees"
	PartRepair  Part = "repair"
	PartOther   Part = "other"
	PartTime    Part = "time"
	PartSale    Part = "sale"
	PartSelling Part = "selling"
	PartVAT     Part = "vat"
)

// A Step is one line of the way from the hammer price to the margin.
type Step struct {
	Name string
	Part Part
	// How says with what numbers the amount was reached.
	How string
	// Amount is signed: money out is negative.
	Amount money.Pence
	// Spot is where repair money goes; nil for the other lines.
	Spot *damage.Spot
	// Subtotal says that the line repeats the sum of the lines since the last
	// subtotal, and adds nothing.
	Subtotal bool
}

// A Walk is the whole way from the hammer price to the margin, in means over the
// worlds, each line rounded once. Total is the sum of the lines that are no
// subtotals.
type Walk struct {
	Hammer money.Pence
	Steps  []Step
	Total  money.Pence

	part Part        // of the steps that are added next
	sum  money.Pence // since the last subtotal
}

func (w *Walk) add(s Step) {
	s.Part = w.part
	w.Steps = append(w.Steps, s)
	w.Total += s.Amount
	w.sum += s.Amount
}

func (w *Walk) cost(pounds float64, name, how string, args ...any) {
	if p := money.FromPounds(pounds); p != 0 {
		w.add(Step{Name: name, How: fmt.Sprintf(how, args...), Amount: -p})
	}
}

func (w *Walk) subtotal(name string) {
	w.Steps = append(w.Steps, Step{Name: name, Part: w.part, Amount: w.sum, Subtotal: true})
	w.sum = 0
}

// means are what the walk needs of a lot.
type means struct {
	days, price float64
	places      []convolve.Place
	charged     func(candidate int) float64
	extras      []extraCost
	// above is the mean of what the price exceeds an amount by, where it does.
	above func(float64) float64
	// within is the VAT inside an amount that carries it; 0: nothing is due.
	within float64
}

// extraCost is what an extra comes to on average and how often it is charged.
type extraCost struct{ mean, share float64 }

// Walk returns the way from a hammer price to the margin of a coded lot.
func (e *Evaluator) Walk(lot *Lot, hammer money.Pence) (*Walk, error) {
	s, err := e.Study(lot)
	if err != nil {
		return nil, err
	}
	return s.Walk(hammer), nil
}

// meansOf returns those of worlds.
func (e *Evaluator) meansOf(p *Prospect, b *bench, w *Worlds) means {
	m := means{
		days: mean(w.Days), price: mean(w.Resale), places: e.placesOf(p, b), charged: b.tally.Charged, within: w.within,
		above: func(bought float64) float64 {
			sum := 0.0
			for _, x := range w.Resale {
				sum += max(0, x-bought)
			}
			return sum / float64(len(w.Resale))
		},
	}
	for _, a := range p.extras {
		sum, count := 0.0, 0
		e.eachCharged(p, &b.tally, b, a, func(_ int, x float64) { sum += x; count++ })
		m.extras = append(m.extras, extraCost{sum / float64(e.opt.Points), float64(count) / float64(e.opt.Points)})
	}
	return m
}

// placesOf are what the spots cost on average over the worlds.
func (e *Evaluator) placesOf(p *Prospect, b *bench) []convolve.Place {
	spend, hours := make([]float64, e.opt.Points), make([]float64, e.opt.Points)
	var out []convolve.Place
	for _, spot := range b.tally.Spots() {
		b.tally.Spot(e.space, p.Case, spot, spend, hours)
		out = append(out, convolve.Place{Spot: spot, Spend: mean(spend), Hours: mean(hours)})
	}
	return out
}

// means returns those of a reckoning, after Candidates.
func (r *reckoning) means() means {
	return means{
		days: r.days, price: r.market.spread.Mean * r.value, places: r.sum.Places(), extras: r.extras, within: r.within,
		charged: func(i int) float64 { return r.likely[i].Charged },
		above: func(bought float64) float64 {
			_, short := r.market.at(bought / r.value)
			return r.market.spread.Mean*r.value - bought + short*r.value
		},
	}
}

func (e *Evaluator) walk(p *Prospect, m means, buy shop.Purchase, hammer money.Pence) *Walk {
	s := &e.shop.Settings
	walk := &Walk{Hammer: hammer, part: PartHammer}
	outlay := e.shop.Tariff.Outlay(hammer, buy)
	for _, l := range outlay.Lines {
		walk.cost(l.Amount.Pounds(), l.Name, "%s", l.How)
		walk.part = PartFees // the hammer price comes first
		walk.cost(l.VAT.Pounds(), "VAT on "+l.Name, "%s %% of %s", s.VATRate.Percent(), l.Amount)
	}
	walk.subtotal("outlay")

	walk.part = PartRepair
	carried := e.repairSteps(walk, p, &m)
	walk.subtotal("repair")

	walk.part = PartOther
	carriedOther := e.otherSteps(walk, p, &m)
	walk.subtotal("tests, fixed items and extras")

	walk.part = PartTime
	days, price := m.days, m.price
	holding := days * s.HoldingPerDay
	walk.cost(holding, "holding", "%.2f days at %.2f", days, s.HoldingPerDay)
	walk.cost(s.FinanceRate/365*outlay.Total.Pounds()*days, "finance", "%g %% a year of %s for %.2f days", 100*s.FinanceRate, outlay.Total, days)
	walk.subtotal("time")

	walk.part = PartSale
	walk.cost(-price, "sale", "%s before the damage, less %.2f %% for the marker", p.Lot.Value, 100*(1-price/p.Lot.Value.Pounds()))
	selling := s.SellFixed + s.SellPercent*price
	walk.part = PartSelling
	walk.cost(selling, "selling", "%.2f and %g %% of the sale", s.SellFixed, 100*s.SellPercent)
	walk.part = PartVAT
	if m.within > 0 {
		rate := s.VATRate.Percent() + "/" + (s.VATRate + 1e6).Percent()
		if p.Lot.Plus {
			walk.cost(m.within*price, "VAT due on the sale", "%s of %.2f", rate, price)
		} else {
			due := m.within * m.above(outlay.PurchasePrice.Pounds())
			walk.cost(due, "VAT due under the margin scheme", "mean of %s of what the sale exceeds the purchase price of %s by, where it does", rate, outlay.PurchasePrice)
		}
		walk.cost(-outlay.VAT.Pounds(), "VAT taken back on the outlay", "as shown above")
		carriedOther += carried * s.SpendVATShare
		if s.SellVAT {
			carriedOther += selling
		}
		if s.HoldingVAT {
			carriedOther += holding
		}
		walk.cost(-m.within*carriedOther, "VAT taken back on the rest", "%s of %.2f that carries VAT", rate, carriedOther)
	}
	walk.subtotal("sale and its VAT")
	return walk
}

// repairSteps adds two lines for each spot, and returns the mean spend.
func (e *Evaluator) repairSteps(walk *Walk, p *Prospect, m *means) float64 {
	total := 0.0
	for _, at := range m.places {
		first, spot := len(walk.Steps), at.Spot
		parts, time := p.Segment.Spend*at.Spend, p.Segment.Hours*at.Hours
		walk.cost(parts, spot.Zone.String()+" "+spot.Class.String()+": parts and trades", "%s", describe(p, m, spot))
		walk.cost(e.shop.LabourRate*time, spot.Zone.String()+" "+spot.Class.String()+": own work", "%.2f hours at %.2f", time, e.shop.LabourRate)
		for i := first; i < len(walk.Steps); i++ {
			walk.Steps[i].Spot = &spot
		}
		total += parts
	}
	return total
}

// describe lists the grades that may be charged at a spot with their chances.
func describe(p *Prospect, m *means, spot damage.Spot) string {
	text := ""
	for i, c := range p.Case {
		if c.Spot != spot || m.charged(i) == 0 {
			continue
		}
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf("%s%d %s", spot.Class.Letter(), c.Grade, c.Kind)
		if share := m.charged(i); share < 1-1e-9 {
			text += fmt.Sprintf(" in %.1f %%", 100*share)
		}
	}
	return text
}

// otherSteps adds a line for each fixed item and extra, and returns what of them
// carries VAT.
func (e *Evaluator) otherSteps(walk *Walk, p *Prospect, m *means) float64 {
	carried := 0.0
	for i, c := range e.shop.Fixed {
		x := e.fixedMean(i)
		walk.cost(x, c.Name, "every lot")
		if c.VAT {
			carried += x
		}
	}
	for i, a := range p.extras {
		extra, x := e.shop.Extras[a.extra], m.extras[i]
		walk.cost(x.mean, extra.Name, "charged in %.1f %%", 100*x.share)
		if extra.VAT {
			carried += x.mean
		}
	}
	return carried
}

// fixedMean is that of a fixed item, as lots are evaluated.
func (e *Evaluator) fixedMean(i int) float64 {
	if e.exact != nil {
		return e.exact.fixed[i].mean
	}
	return mean(e.read(e.shop.Fixed[i].Amount, e.fixedDim(i)))
}
