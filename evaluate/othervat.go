package evaluate

import (
	"math"

	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// OtherVAT returns what the mean margin would be at a hammer price if the shop were
// registered for VAT, where it is not, or were not, where it is, in pounds.
func (s *Assessment) OtherVAT(hammer money.Pence) float64 {
	if s.k != nil {
		return s.k.average().otherVAT(s.e, s.p, hammer)
	}
	return s.e.averageOf(s.p, &s.b, s.worlds).otherVAT(s.e, s.p, hammer)
}

// average is the averages of a lot that VAT is computed from, in pounds, hours and days.
type average struct {
	car    deal.Car // without its fixed items and extras
	extras []extraCost
	price  float64 // of the car
	// above is the mean of what the price exceeds an amount by, where it does.
	above func(float64) float64
	// unfinished returns what leaving cars unfinished adds to the mean margin by a choice,
	// where the costs come to that many times what they come to, and finishing or not
	// leaves so much on average, in pounds.
	unfinished func(c deal.Choice, times, finished, stopped float64) float64
	// costs and sd are mean and standard deviation of the costs, net, in pounds.
	costs, sd float64
}

func (r *analytic) average() average {
	return average{
		car: deal.Car{
			Spend: r.p.Segment.Spend * r.m.Spend, Hours: r.p.Segment.Hours * r.m.Hours, Days: r.days, ForSale: r.forSale,
		},
		extras: r.extras, price: r.market.spread.Mean * r.value, above: r.above,
		unfinished: r.unfinished, costs: r.way.costs, sd: r.way.sd,
	}
}

func (e *Evaluator) averageOf(p *ResolvedLot, b *scratch, w *Worlds) average {
	a := average{
		car: deal.Car{Spend: stats.Mean(w.Spend), Hours: stats.Mean(w.Hours), Days: stats.Mean(w.Days),
			ForSale: w.forSale},
		extras: e.extrasOf(p, b), price: stats.Mean(w.Resale), above: w.above, unfinished: w.unfinished,
	}
	if len(w.shown) > 0 {
		w.weigh()
		a.costs, a.sd = w.stripped.mean, w.stripped.sd
	}
	return a
}

// otherVAT is Assessment.OtherVAT from the averages of a lot. How far the costs vary is taken in
// proportion to their mean; that matters only to the choice whether to finish the car.
func (m average) otherVAT(e *Evaluator, p *ResolvedLot, hammer money.Pence) float64 {
	d := p.Deal.As(e.other)
	car := m.car
	for i, c := range e.shop.Fixed {
		car.Items += e.fixedMean(i) * d.Item(c)
	}
	for i, a := range p.extras {
		car.Items += m.extras[i].mean * d.Item(e.shop.Extras[a.extra].Charge)
	}
	base, price := d.Base(car), d.At(hammer)
	finished := price.Margin(base, car.Days, 0) + d.Kept*m.price
	if d.Scheme > 0 {
		finished -= d.Scheme * m.above(price.Bought)
	}
	if !d.MayStop() || m.costs <= 0 {
		return finished
	}
	times := (-base - d.SellFixed*(1-d.SellBack)) / m.costs
	_, _, brings := price.Brings()
	stopped := price.Stopped(brings)
	c := deal.Choose(times*m.costs, times*m.sd, finished, stopped, d.Stop.Error)
	return finished + m.unfinished(c, times, finished, stopped)
}

// unfinished is that of means.
func (r *analytic) unfinished(c deal.Choice, times, finished, stopped float64) (gain float64) {
	w := &r.way
	shift := math.Log(times / c.Limit)
	for i, x := range w.at {
		cost := times * x
		var chance float64
		if c.Error > 0 && c.Most > 0 && cost > 0 {
			chance = chanceBelow((w.logs[i] + shift) / c.Error)
		} else {
			chance = c.Chance(cost)
		}
		gain += r.points[i].chance * chance * (stopped - finished + cost - times*w.costs)
	}
	return gain
}

// unfinished is that of means.
func (w *Worlds) unfinished(c deal.Choice, times, finished, stopped float64) (gain float64) {
	average := w.stripped.mean
	for i := range w.Base {
		cost := w.cost(i)
		shown := w.shown[i]
		if c.Error == 0 {
			shown = cost
		}
		if c.Shown(times * shown) {
			gain += stopped - finished + times*(cost-average)
		}
	}
	return gain / float64(len(w.Base))
}
