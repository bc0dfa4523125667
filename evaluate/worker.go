package evaluate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Evaluate evaluates one lot. It fails only as Resolve does.
func (e *Evaluator) Evaluate(lot *Lot) (*Result, error) { return e.Worker().Evaluate(lot) }

// A Worker evaluates one lot after the other in memory of its own, which it uses again. It is
// not for concurrent use.
type Worker struct {
	e *Evaluator
	scratch
}

// Worker returns a worker for one goroutine.
func (e *Evaluator) Worker() *Worker { return &Worker{e: e} }

// Evaluate is Evaluator.Evaluate in the worker's own memory.
func (b *Worker) Evaluate(lot *Lot) (*Result, error) { return b.e.evaluate(lot, &b.scratch) }

// All judges lots, several at once, each into its own place of the results; a
// lot that cannot be judged has nil there and its error in errs. done is called
// after each lot, from any goroutine, where it is not nil. A cancelled context
// ends the work early with its error.
func (e *Evaluator) All(ctx context.Context, lots []*Lot, done func()) (results []*Result, errs []error, err error) {
	results, errs = make([]*Result, len(lots)), make([]error, len(lots))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(e.opt.Workers, len(lots)) {
		wait.Go(func() {
			var b scratch
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(lots) {
					return
				}
				results[i], errs[i] = e.evaluate(lots[i], &b)
				if done != nil {
					done()
				}
			}
		})
	}
	wait.Wait()
	return results, errs, ctx.Err()
}

// scratch is the memory that one worker uses again for each lot.
type scratch struct {
	totals simulate.Totals
	worlds Worlds
	sel    stats.Selector
	margin []float64
	where  []bool

	analytic analytic
}

var (
	repairShares = []float64{0.1, 0.5, 0.8, 0.9, 0.95}
	spreadShares = []float64{0.1, 0.5, 0.9}
)

func (e *Evaluator) evaluate(lot *Lot, b *scratch) (*Result, error) {
	r := &Result{Lot: lot, Guide: lot.Guide}
	if i, ok := e.shop.Category(lot.Category, lot.Segment); ok && !e.shop.Categories[i].Rebuild {
		r.Status, r.Reason = bid.Excluded, e.shop.Categories[i].Note
		if r.Reason == "" {
			r.Reason = "may not return to the road"
		}
		return r, nil
	}
	if !lot.Code.Coded() {
		r.Status, r.Reason = bid.Uncoded, "no damage code: say what is damaged first"
		return r, nil
	}
	p, err := e.Resolve(lot)
	if err != nil {
		return nil, err
	}
	r.Warnings, r.Priced = p.Warnings, p.Priced(e.shop)
	e.guide(r, p)
	if p.Deal.Assumed {
		short := p.Deal.Buy.Site + "'s fees, the dearest, are included"
		r.Warnings = append(r.Warnings, Warning{Kind: "no-site", Text: "no site named: " + short, Short: short})
	}
	e.vatWarning(r, p)

	if exact, err := e.convolved(p, b); err != nil {
		return nil, err
	} else if exact {
		b.analytic.fill(r)
		return r, nil
	}
	e.draw(r, p, b)
	return r, nil
}

// guide finds the hammer price at which a lot stands before past lots say more, and whether there
// is one.
func (e *Evaluator) guide(r *Result, p *ResolvedLot) {
	r.Value = p.Value
	priced := e.prices != nil && e.prices.HasResults()
	if r.Guide == 0 && p.Category.GuideShare > 0 && !priced {
		r.Guide, r.GuideGuessed = amountOf(p.Value, p.Category.GuideShare), true
		r.warn("no-guide", "no guide price: %s is taken, the usual %.0f%% of the value", e.shop.Money(r.Guide.String()),
			100*p.Category.GuideShare)
	}
	r.At = r.Guide
	if r.Status = bid.Ranked; r.Guide == 0 && !priced {
		r.Status, r.Reason = bid.Unpriced, "no guide price, so no margin"
	}
	if r.Guide > p.Value {
		r.warn("guide", "the guide price is above the value before the damage: is one of them mistyped?")
	}
}

// draw writes the figures of worlds to the result.
func (e *Evaluator) draw(r *Result, p *ResolvedLot, b *scratch) {
	b.totals.Sum(e.draws, p.Case)
	w := e.worlds(p, b, Overrides{})
	r.appraised(w.appraisal)
	r.Repair = repairOf(&b.sel, w.Repair)
	half := 1.96 * e.standardError(p, &b.totals, r.Repair.Mean)
	r.Repair.CILow, r.Repair.CIHigh = max(0, r.Repair.Mean-half), r.Repair.Mean+half
	r.Hours, r.Days = spreadOf(&b.sel, w.Hours), spreadOf(&b.sel, w.Days)
	r.BayDays = w.bayDays()
	if r.Resale = spreadOf(&b.sel, w.Resale); w.appraisal.usual(p) {
		r.Resale = e.unitResale(p.category, p.segment).spread.times(w.Fade * w.appraisal.worth(p))
	}
	r.Hidden = hiddenOf(p.Case, &b.totals, r.Repair, w.Repair)
	r.HighestBid, r.BidLimit = w.HighestBid(&b.sel)
	if r.Status == bid.Ranked {
		r.Outlay = p.Deal.Outlay(r.At).Total
		r.Margin = w.marginOf(&b.sel, r.At, &b.margin)
		r.judged(p.Deal.Labour)
		r.MarginOtherVAT = e.averageOf(p, b, w).otherVAT(e, p, r.At)
	}
	r.won(w.plainMargin(), w.marginsTo, &e.shop.Settings)
	r.Errors = errorsOf(r.Repair, e.opt.Points)
}

// convolved works out a resolved lot without drawing anything, if that can be done.
func (e *Evaluator) convolved(p *ResolvedLot, b *scratch) (bool, error) {
	if e.shared == nil {
		return false, nil
	}
	switch err := e.convolve(p, &b.analytic); {
	case err == nil:
		return true, nil
	case errors.Is(err, convolve.ErrTangled), errors.Is(err, errHeavy):
		return false, nil
	default:
		return false, err
	}
}

// fill writes the figures of a lot that was convolved to the result.
func (k *analytic) fill(r *Result) {
	r.appraised(k.a)
	r.Repair = k.repairs()
	r.Hours, r.Days = k.hoursSpread(), k.daysSpread()
	r.BayDays = k.bay
	r.Resale = k.market.spread.times(k.value)
	r.Hidden = k.hidden()
	r.HighestBid, r.BidLimit = k.highestBid(k.e.limits)
	if r.Status == bid.Ranked {
		r.Outlay = k.d.Outlay(r.At).Total
		r.Margin = k.margin(r.At)
		r.judged(k.d.Labour)
		r.MarginOtherVAT = k.average().otherVAT(k.e, k.p, r.At)
	}
	r.won(k.plainMargin, k.marginsTo, &k.e.shop.Settings)
	r.Errors = errorsOf(r.Repair, 0)
}

func (r *Result) warn(kind, format string, args ...any) {
	r.Warnings = append(r.Warnings, Warning{Kind: kind, Text: fmt.Sprintf(format, args...)})
}

// nearThreshold is the share of the VAT registration threshold from which a
// workshop is told to take advice.
const nearThreshold = 0.85

func (e *Evaluator) vatWarning(r *Result, p *ResolvedLot) {
	s := &e.shop.Settings
	if s.VATRegistered || s.Turnover == 0 || s.VATThreshold == 0 {
		return
	}
	if s.Turnover+(1-p.Category.Share.Mean())*p.Value.Pounds() > nearThreshold*s.VATThreshold {
		r.warn("vat", "this sale brings your turnover near the VAT registration threshold: take advice")
	}
}

// standardError is that of the mean repair, as far as it is due to how well the
// book is known: for each row, the standard deviation of its cost at the chance
// that it is charged, over the root of its builds; for each rule, its chance's
// binomial error times the mean cost of what it brings; and what the whole book
// may be off by.
func (e *Evaluator) standardError(p *ResolvedLot, t *simulate.Totals, mean float64) float64 {
	return e.standardErrorOf(p, mean, t.Charged, t.CodedShares, func(c *costs.Candidate) (mean, sd float64) {
		m := e.draws.MomentsOf(c)
		a, b := p.multipliers()
		return m.Mean(a, b), m.SD(a, b)
	})
}

// standardErrorOf is standardError of what was summed in whatever way: charged is
// the chance that a candidate is, coded that of each grade being the highest coded one
// at a spot, and cost that of an item.
func (e *Evaluator) standardErrorOf(p *ResolvedLot, mean float64, charged func(int) float64,
	coded func(damage.Spot) [damage.GradeCount + 1]float64, cost func(*costs.Candidate) (mean, sd float64)) float64 {
	var rowRoom, ruleRoom [32]weighed // enough for most
	rows, rules := rowRoom[:0], ruleRoom[:0]
	for i := range p.Case {
		c := &p.Case[i]
		center, sd := cost(c)
		rows = weigh(rows, c.Row, charged(i)*sd)
		for _, tr := range c.Triggers {
			shares := coded(tr.Spot)
			for g, n := range tr.Rule {
				if n < 0 || shares[g] == 0 {
					continue
				}
				rules = weigh(rules, n, shares[g]*center)
			}
		}
	}
	square := e.shop.CostBias * mean * e.shop.CostBias * mean
	for _, x := range rows {
		square += x.weight * x.weight / e.shop.Costs.Rows()[x.number].Builds
	}
	for _, x := range rules {
		r := e.shop.Costs.Rules()[x.number]
		square += x.weight * x.weight * r.Chance * (1 - r.Chance) / (r.Seen + 1)
	}
	return math.Sqrt(square)
}

// weighed is the number of a row or rule, with what it weighs.
type weighed struct {
	number int
	weight float64
}

// weigh adds to the weight of a number.
func weigh(all []weighed, number int, weight float64) []weighed {
	for i := range all {
		if all[i].number == number {
			all[i].weight += weight
			return all
		}
	}
	return append(all, weighed{number, weight})
}

func hiddenOf(c costs.Case, t *simulate.Totals, r Repair, repair []float64) []Hidden {
	var out []Hidden
	n := float64(len(repair))
	for i, x := range c {
		if x.Kind != costs.Hidden {
			continue
		}
		worlds, _ := t.Occurs(i)
		with := 0.0
		for _, w := range worlds {
			with += repair[w]
		}
		k := float64(len(worlds))
		h := Hidden{Item: x.Item, Chance: k / n}
		if k > 0 && k < n {
			h.MeanCost = with/k - (n*r.Mean-with)/(n-k)
		}
		out = append(out, h)
	}
	return out
}
