package sale

import (
	"fmt"
	"math"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
)

// A bridge turns evaluated lots into lots of a plan. This file alone knows how a margin, a
// limit and a hammer price are found.
type bridge struct{ e *evaluate.Evaluator }

// entry evaluates one lot. One that may not be rebuilt, or that nobody has coded, is never
// bid on; what it goes for still says how dear the sale runs.
func (b *bridge) entry(bench *evaluate.Worker, lot *evaluate.Lot) (Entry, error) {
	r, err := bench.Evaluate(lot)
	if err != nil {
		return Entry{}, err
	}
	p := plan.Lot{Name: lot.Number, Site: lot.Site, Guide: lot.Guide.Pounds(), Opening: lot.Opening.Pounds()}
	p.Closes, p.DayOnly = closes(lot)
	if a := r.Appraisal; a != nil && a.Priced {
		rivals, err := a.Rivals()
		if err != nil {
			return Entry{}, err
		}
		p.Hammer = rivals.Hammer // what past lots say comes before the list's guide
	} else if p.Hammer, err = b.hammer(lot); err != nil {
		return Entry{}, err
	}
	if r.Evaluated() {
		err = b.fill(r, &p)
	}
	return Entry{r, p}, err
}

// hammer returns the distribution of the hammer price without us: the guide with the list's
// own low and high, or those that the shop's guide_spread makes of it.
func (b *bridge) hammer(lot *evaluate.Lot) (plan.Hammer, error) {
	g := lot.Guide.Pounds()
	if g == 0 {
		return plan.Hammer{}, nil
	}
	spread := b.e.Shop().GuideSpread
	low, mid, high := g*spread.Low, g*spread.Mid, g*spread.High
	if lot.GuideLow > 0 {
		low, mid, high = lot.GuideLow.Pounds(), g, lot.GuideHigh.Pounds()
	}
	h, err := plan.ThreePointHammer(low, mid, high)
	if err != nil {
		return h, fmt.Errorf("guide_spread %v, %v, %v in shop.toml makes %w", spread.Low, spread.Mid, spread.High, err)
	}
	return h, nil
}

var held = map[bid.Limit]plan.Held{
	bid.LossLimit: plan.HeldByRisk, bid.MarginLimit: plan.HeldByTarget,
	bid.CashLimit: plan.HeldByCash, bid.NoLimit: plan.HeldByValue,
}

// fill works out what the plan needs of a lot that has a margin.
func (b *bridge) fill(r *evaluate.Result, p *plan.Lot) error {
	assessed, err := b.e.Assess(r.Lot)
	if err != nil {
		return err
	}
	p.Limit, p.Held = r.HighestBid.Pounds(), held[r.BidLimit]
	p.BreakEven = assessed.BreakEven().Pounds()
	p.Repair, p.Resale, p.Hours = r.Repair.Mean, r.Resale.Mean, r.Hours.Mean
	spend := assessed.Spend()
	p.Spend, p.Reserved, p.SpendKnown = [3]float64{spend.P10, spend.P50, spend.P90}, spend.P80, true

	// Beside the outlay, cash does not hang on the price. Money tied up is whole pence, as it is paid.
	first := b.e.Shop().BidStep
	before := assessed.Cash(first) - assessed.Outlay(first).Pounds()
	at := func(price float64) (margin, tied float64) {
		hammer := money.FromPounds(price)
		return assessed.MeanMargin(hammer), math.Round(100*(assessed.Outlay(hammer).Pounds()+before)) / 100
	}
	p.Margin, p.Tied = plan.Ladder(b.e.Shop().BidStep.Pounds(), reach(r), at)

	m, known := r.Margin, r.Status == bid.Ranked && !r.GuideGuessed
	if !known && r.HighestBid > 0 {
		m, known = assessed.Along([]money.Pence{r.HighestBid})[0].Margin, true
	}
	if known {
		p.Score, p.SD = [3]float64{m.P10 - m.Mean, m.P50 - m.Mean, m.P90 - m.Mean}, m.SD
	}
	return nil
}

// reach returns up to which price a lot's money is worked out, in pounds: its own limit; or of a
// lot never bid on, which somebody may buy all the same, its guide.
func reach(r *evaluate.Result) float64 {
	if r.HighestBid > 0 {
		return r.HighestBid.Pounds()
	}
	return min(r.At, r.Value).Pounds()
}
