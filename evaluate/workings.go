package evaluate

import (
	"fmt"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// means are what the workings need of a lot.
type means struct {
	days, forSale, price float64
	fade                 float64
	// stop returns, for a hammer price, the chance that the car is not finished and what
	// that adds to the mean margin, in pounds.
	stop    func(money.Pence) (stopped, gain float64)
	places  []convolve.Place
	charged func(candidate int) float64
	extras  []extraCost
	// above is the mean of what the price exceeds an amount by, where it does.
	above func(float64) float64
	// appraisal is what evidence says; nil: nothing.
	appraisal *Appraisal
}

// extraCost is what an extra comes to on average and how often it is charged.
type extraCost struct{ mean, share float64 }

// Workings returns the sums from a hammer price to the margin of a coded lot, line by line.
func (e *Evaluator) Workings(lot *Lot, hammer money.Pence) (*deal.Workings, error) {
	s, err := e.Assess(lot)
	if err != nil {
		return nil, err
	}
	return s.Workings(hammer), nil
}

// meansOf returns those of worlds.
func (e *Evaluator) meansOf(p *ResolvedLot, b *scratch, w *Worlds) means {
	return means{
		appraisal: w.appraisal, days: stats.Mean(w.Days), forSale: w.forSale, price: stats.Mean(w.Resale), fade: w.Fade,
		stop: w.gain, places: e.placesOf(p, b), charged: b.totals.Charged,
		above: w.above, extras: e.extrasOf(p, b),
	}
}

// above returns the mean of what the resale exceeds an amount by, where it does, in
// pounds.
func (w *Worlds) above(amount float64) float64 {
	sum := 0.0
	for _, x := range w.Resale {
		sum += max(0, x-amount)
	}
	return sum / float64(len(w.Resale))
}

// extrasOf is what each extra comes to on average over the worlds.
func (e *Evaluator) extrasOf(p *ResolvedLot, b *scratch) []extraCost {
	out := make([]extraCost, 0, len(p.extras))
	for _, a := range p.extras {
		sum, count := 0.0, 0
		e.eachCharged(p, &b.totals, b, a, func(_ int, x float64) { sum += x; count++ })
		out = append(out, extraCost{sum / float64(e.opt.Points), float64(count) / float64(e.opt.Points)})
	}
	return out
}

// placesOf are what the spots cost on average over the worlds.
func (e *Evaluator) placesOf(p *ResolvedLot, b *scratch) []convolve.Place {
	spend, hours := make([]float64, e.opt.Points), make([]float64, e.opt.Points)
	var out []convolve.Place
	for _, spot := range b.totals.Spots() {
		b.totals.Spot(e.draws, p.Case, spot, spend, hours)
		out = append(out, convolve.Place{Spot: spot, Spend: stats.Mean(spend), Hours: stats.Mean(hours)})
	}
	return out
}

// means returns those of a lot that was convolved, after Candidates.
func (r *analytic) means() means {
	return means{
		appraisal: r.a, days: r.days, forSale: r.forSale, price: r.market.spread.Mean * r.value, fade: r.fade, stop: r.gain,
		places: r.sum.Places(), extras: r.extras,
		charged: func(i int) float64 { return r.likely[i].Charged },
		above:   r.above,
	}
}

// workings returns the lines from a hammer price to the mean margin.
func (e *Evaluator) workings(p *ResolvedLot, m means, hammer money.Pence) *deal.Workings {
	out := deal.Means{Days: m.days, ForSale: m.forSale, Value: p.Lot.Value, Price: m.price, Fade: m.fade, Above: m.above}
	out.Stopped, out.Gain = m.stop(hammer)
	if m.appraisal != nil {
		out.Sale, out.Won = m.appraisal.sale(p, m.price, m.days, m.fade), m.appraisal.winning
	}
	for _, at := range m.places {
		out.Repairs = append(out.Repairs, deal.RepairMean{
			Spot: at.Spot, Spend: p.Segment.Spend * at.Spend, Hours: p.Segment.Hours * at.Hours, How: describe(p, &m,
				at.Spot), Doubtful: !seenAt(p, at.Spot),
		})
	}
	for i, c := range e.shop.Fixed {
		out.Items = append(out.Items, deal.ItemMean{Charge: c, Mean: e.fixedMean(i), How: "every car"})
	}
	for i, a := range p.extras {
		x := m.extras[i]
		out.Items = append(out.Items, deal.ItemMean{
			Charge: e.shop.Extras[a.extra].Charge, Mean: x.mean, How: chargedWords(x.share), Doubtful: x.share < 0.5,
		})
	}
	return p.Deal.Workings(hammer, out)
}

// seenAt reports whether something is coded as seen at a spot.
func seenAt(p *ResolvedLot, spot damage.Spot) bool {
	return slices.ContainsFunc(p.Case, func(c costs.Candidate) bool { return c.Spot == spot && c.Kind == costs.Seen })
}

// describe lists the grades that may be charged at a spot with their chances.
func describe(p *ResolvedLot, m *means, spot damage.Spot) string {
	text := ""
	for i, c := range p.Case {
		if c.Spot != spot || m.charged(i) == 0 {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += fmt.Sprintf("%s%d %s", spot.Class.Letter(), c.Grade, c.Kind)
		if share := m.charged(i); share < 1-1e-9 {
			text += fmt.Sprintf(", chance %.1f%%", 100*share)
		}
	}
	return text
}

// chargedWords says how often an extra is charged.
func chargedWords(share float64) string {
	if share >= 1-1e-9 {
		return "always"
	}
	return fmt.Sprintf("chance %.1f%%", 100*share)
}

// fixedMean is that of a fixed item, as lots are evaluated.
func (e *Evaluator) fixedMean(i int) float64 {
	if e.shared != nil {
		return e.shared.fixed[i].mean
	}
	return stats.Mean(e.read(e.shop.Fixed[i].Amount, e.FixedStream(i)))
}
