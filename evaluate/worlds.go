package evaluate

import (
	"math"
	"slices"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Held names inputs that are held still in every world. Nil is as it varies.
type Held struct {
	// Devaluation is the marker's share, ResaleScore the market's score.
	Devaluation, ResaleScore *float64
	// LabourRate is in pounds an hour.
	LabourRate *float64
	// LeadScale, where not nil, multiplies all lead times as they vary.
	LeadScale *float64
}

// Worlds are the outcomes of one lot, a number for each world. The slices are
// of equal length, in the same order of worlds.
type Worlds struct {
	// Repair is its cost and Resale the price of the car, in pounds; Hours own
	// hours; Days from the sale to the money.
	Repair, Hours, Days, Resale []float64
	// Other is the fixed items and extras, in pounds.
	Other []float64
	// Base is what is left before the outlay and what depends on it: resale,
	// less selling, repair, holding and other, with VAT taken back on them.
	Base []float64

	shop    *shop.Shop
	lot     *Lot
	buy     shop.Purchase
	finance float64 // share of the outlay, a day
	within  float64 // the VAT inside an amount that carries it; 0: nothing is due
	sorted  []float64
}

// Worlds returns the outcomes of a prospect whose damage the tally holds, with
// some inputs held still.
func (e *Evaluator) Worlds(p *Prospect, t *simulate.Tally, h Held) *Worlds {
	return e.compose(p, t, &bench{}, h)
}

func (e *Evaluator) worlds(p *Prospect, b *bench, h Held) *Worlds {
	return e.compose(p, &b.tally, b, h)
}

func (e *Evaluator) compose(p *Prospect, t *simulate.Tally, b *bench, h Held) *Worlds {
	s, n := &e.shop.Settings, e.opt.Points
	w := &b.worlds
	w.shop, w.lot, w.finance, w.within = e.shop, p.Lot, s.FinanceRate/365, 0
	w.buy = p.Lot.purchase(s.CollectDays)
	for _, v := range []*[]float64{&w.Repair, &w.Hours, &w.Days, &w.Resale, &w.Other, &w.Base} {
		*v = slices.Grow((*v)[:0], n)[:n]
	}
	e.others(p, t, b, w.Other)
	otherVAT := 0.0
	if s.VATRegistered {
		w.within = s.VATRate.Float() / (1 + s.VATRate.Float())
		otherVAT = w.within
	}

	labour := s.LabourRate
	if h.LabourRate != nil {
		labour = *h.LabourRate
	}
	drawn := e.inWorlds()
	stretch := drawn.stretch
	if h.LeadScale != nil {
		stretch = slices.Clone(stretch)
		for i := range stretch {
			stretch[i] *= *h.LeadScale
		}
	}
	unit := e.unitResale(p.category, p.segment).values
	zd, market := e.space.Score(simulate.DevaluationDim), e.space.Score(simulate.ResaleDim)
	value := p.Lot.Value.Pounds()
	for i := range n {
		hours := p.Segment.Hours * t.Sums[i].Hours
		spend := p.Segment.Spend * t.Sums[i].Spend
		repair := spend + labour*hours
		wait := max(t.Sums[i].LeadSeen*stretch[i], s.StripDays+t.Sums[i].LeadHidden*stretch[i])
		days := w.buy.Days + wait + hours/s.HoursPerDay + s.FinishDays + drawn.sale[i]
		price := value * unit[i]
		if h.Devaluation != nil || h.ResaleScore != nil {
			share, score := min(1, p.Category.Share.At(zd[i])), market[i]
			if h.Devaluation != nil {
				share = *h.Devaluation
			}
			if h.ResaleScore != nil {
				score = *h.ResaleScore
			}
			price = value * resale(share, p.Segment.ValueSpread, score)
		}
		selling := s.SellFixed + s.SellPercent*price
		holding := days * s.HoldingPerDay
		base := price - selling - repair - holding - w.Other[i]
		if w.within > 0 {
			back := s.SpendVATShare * spend
			if s.SellVAT {
				back += selling
			}
			if s.HoldingVAT {
				back += holding
			}
			base += w.within * back
			if p.Lot.Plus {
				base -= w.within * price
			}
		}
		w.Repair[i], w.Hours[i], w.Days[i], w.Resale[i], w.Base[i] = repair, hours, days, price, base
	}
	if otherVAT > 0 {
		e.othersVAT(p, t, b, otherVAT, w.Base)
	}
	return w
}

// others adds up fixed items and extras in each world.
func (e *Evaluator) others(p *Prospect, t *simulate.Tally, b *bench, out []float64) {
	copy(out, e.inWorlds().fixed)
	for _, a := range p.extras {
		if len(e.shop.Extras[a.extra].After) == 0 && a.sure {
			for i, x := range e.extra(a.extra).values {
				out[i] += x
			}
			continue
		}
		e.eachCharged(p, t, b, a, func(i int, x float64) { out[i] += x })
	}
}

// othersVAT adds the VAT inside fixed items and extras to out.
func (e *Evaluator) othersVAT(p *Prospect, t *simulate.Tally, b *bench, within float64, out []float64) {
	for i, x := range e.inWorlds().fixedVAT {
		out[i] += within * x
	}
	for _, a := range p.extras {
		if e.shop.Extras[a.extra].VAT {
			e.eachCharged(p, t, b, a, func(i int, x float64) { out[i] += within * x })
		}
	}
}

// eachCharged visits the worlds in which an extra is charged, with its amount.
func (e *Evaluator) eachCharged(p *Prospect, t *simulate.Tally, b *bench, a applied, visit func(i int, x float64)) {
	x := e.extra(a.extra)
	everywhere := true
	if after := e.shop.Extras[a.extra].After; len(after) > 0 {
		b.where = slices.Grow(b.where[:0], len(x.values))[:len(x.values)]
		clear(b.where)
		everywhere = t.ChargedAt(p.Case, matcher(after), b.where)
	}
	if !a.sure {
		for _, i := range x.unknown {
			if everywhere || b.where[i] {
				visit(int(i), x.values[i])
			}
		}
		return
	}
	for i, value := range x.values {
		if everywhere || b.where[i] {
			visit(i, value)
		}
	}
}

func (l *Lot) purchase(collectDays float64) shop.Purchase {
	buy := shop.Purchase{Site: l.Site, Miles: l.Miles, Days: collectDays, FreeDays: l.FreeDays, Plus: l.Plus}
	if l.CollectDays != nil {
		buy.Days = *l.CollectDays
	}
	return buy
}

// Outlay returns what is paid to have the car in the yard at a hammer price, the
// VAT in it, and the purchase price that the VAT margin scheme counts.
func (w *Worlds) Outlay(hammer money.Pence) (total, vat, purchase money.Pence) {
	return w.shop.Tariff.Sum(hammer, w.buy)
}

// margins calls visit with what is left in each world at a hammer price.
func (w *Worlds) margins(hammer money.Pence, visit func(i int, m float64)) {
	total, vat, purchase := w.Outlay(hammer)
	outlay, back, bought := total.Pounds(), 0.0, purchase.Pounds()
	if w.within > 0 {
		back = vat.Pounds()
	}
	scheme := w.within > 0 && !w.lot.Plus
	for i, base := range w.Base {
		m := base - outlay*(1+w.finance*w.Days[i]) + back
		if scheme {
			m -= w.within * max(0, w.Resale[i]-bought)
		}
		visit(i, m)
	}
}

// Margin returns what is left in each world at a hammer price, in out where it
// is large enough.
func (w *Worlds) Margin(hammer money.Pence, out []float64) []float64 {
	out = slices.Grow(out[:0], len(w.Base))[:len(w.Base)]
	w.margins(hammer, func(i int, m float64) { out[i] = m })
	return out
}

// Select returns the worlds in which where is want, as new slices. It is nil
// where there are none.
func (w *Worlds) Select(where []bool, want bool) *Worlds {
	part := *w
	part.sorted = nil
	pick := func(v []float64) []float64 {
		var out []float64
		for i, x := range v {
			if where[i] == want {
				out = append(out, x)
			}
		}
		return out
	}
	part.Repair, part.Hours, part.Days = pick(w.Repair), pick(w.Hours), pick(w.Days)
	part.Resale, part.Other, part.Base = pick(w.Resale), pick(w.Other), pick(w.Base)
	if len(part.Base) == 0 {
		return nil
	}
	return &part
}

// MeanMargin returns the function from the hammer price to the mean margin.
func (w *Worlds) MeanMargin() func(hammer money.Pence) float64 {
	if w.within > 0 {
		return func(hammer money.Pence) float64 {
			sum := 0.0
			w.margins(hammer, func(_ int, m float64) { sum += m })
			return sum / float64(len(w.Base))
		}
	}
	base, drag := mean(w.Base), 1+w.finance*mean(w.Days)
	return func(hammer money.Pence) float64 {
		total, _, _ := w.Outlay(hammer)
		return base - total.Pounds()*drag
	}
}

// Summary returns the distribution of the margin at a hammer price.
func (w *Worlds) Summary(hammer money.Pence) Margin {
	return marginOf(new(stats.Selector), w.Margin(hammer, nil))
}

// RepairSummary returns the distribution of the repair, without a confidence
// interval.
func (w *Worlds) RepairSummary() Repair { return repairOf(new(stats.Selector), w.Repair) }

// HighestBid returns the largest multiple of the bid step, up to the car's
// value, such that at it and at every lower multiple the mean margin reaches the
// target, the chance of a loss stays within its limit, and cash, where it is
// limited, covers the outlay and P80 of the repair; and which of these fails
// first one step higher.
func (w *Worlds) HighestBid(sel *stats.Selector) (money.Pence, Limit) {
	return highestBid(w.shop, w.lot, w.buy, w.test(sel))
}

// highestBid searches for the highest bid; fails says which limit a hammer price
// breaks, "" for none. Between two steps of the fees the outlay rises with the bid,
// so that a test once failed stays failed: each such stretch is searched by halves.
func highestBid(workshop *shop.Shop, lot *Lot, buy shop.Purchase, fails func(money.Pence) Limit) (money.Pence, Limit) {
	step := workshop.BidStep
	last := int64(lot.Value / step)
	from := int64(1)
	stretch := func(to int64) (money.Pence, Limit, bool) {
		if from > to {
			return 0, "", false
		}
		if fails(money.Pence(to)*step) == "" {
			from = to + 1
			return 0, "", false
		}
		low, high := from-1, to // low passes, high fails
		for high-low > 1 {
			if mid := (low + high) / 2; fails(money.Pence(mid)*step) == "" {
				low = mid
			} else {
				high = mid
			}
		}
		return money.Pence(low) * step, fails(money.Pence(high) * step), true
	}
	for _, edge := range workshop.Tariff.Steps(buy.Site) {
		below := min(last, int64((edge-1)/step))
		if bid, limit, found := stretch(below); found {
			return bid, limit
		}
	}
	if bid, limit, found := stretch(last); found {
		return bid, limit
	}
	return money.Pence(last) * step, NoLimit
}

// test returns the function that says which limit a hammer price breaks, "" for
// none.
func (w *Worlds) test(sel *stats.Selector) func(money.Pence) Limit {
	s, n := &w.shop.Settings, len(w.Base)
	meanRepair, p80 := mean(w.Repair), 0.0
	if s.Cash > 0 {
		var q [1]float64
		sel.Quantiles(w.Repair, []float64{0.8}, q[:])
		p80 = q[0]
	}
	allowed := int(math.Floor(s.LossLimit*float64(n) + 1e-9)) // worlds that may lose
	// Where no VAT is due, the outlay at which a world breaks even does not
	// depend on the bid, so that one order statistic judges every bid.
	meanBase, meanDrag, breakEven := 0.0, 0.0, math.Inf(1)
	if w.within == 0 {
		w.sorted = slices.Grow(w.sorted[:0], n)[:n]
		for i, base := range w.Base {
			drag := 1 + w.finance*w.Days[i]
			w.sorted[i] = base / drag
			meanBase += base
			meanDrag += drag
		}
		meanBase, meanDrag = meanBase/float64(n), meanDrag/float64(n)
		if allowed < n {
			breakEven = sel.Rank(w.sorted, allowed)
		}
	}
	return func(hammer money.Pence) Limit {
		total, _, _ := w.Outlay(hammer)
		outlay := total.Pounds()
		m, losing := meanBase-outlay*meanDrag, 0
		if w.within == 0 && outlay > breakEven {
			losing = allowed + 1
		} else if w.within > 0 {
			m = 0
			w.margins(hammer, func(_ int, x float64) {
				m += x
				if x < 0 {
					losing++
				}
			})
			m /= float64(n)
		}
		switch {
		case losing > allowed:
			return LossLimit
		case m < max(s.TargetMargin, s.TargetReturn*(outlay+meanRepair)):
			return MarginLimit
		case s.Cash > 0 && outlay+p80 > s.Cash:
			return CashLimit
		}
		return ""
	}
}
