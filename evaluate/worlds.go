package evaluate

import (
	"math"
	"slices"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Overrides are the inputs that have one value in every world. Nil leaves an input to vary.
type Overrides struct {
	// Devaluation is the marker's share, ResaleScore the market's score.
	Devaluation, ResaleScore *float64
	// LabourRate is in pounds an hour.
	LabourRate *float64
	// SellDays are the shop's days to sell, Brings the score of what an unfinished car
	// brings.
	SellDays, Brings *float64
	// LeadScale, where not nil, multiplies all lead times as they vary.
	LeadScale *float64
}

// Worlds are the outcomes of one lot, a number for each world. The slices are
// of equal length, in the same order of worlds.
type Worlds struct {
	// Repair is its cost and Resale the price of the car, in pounds; Hours own
	// hours; Days from the sale to the money.
	Repair, Hours, Days, Resale []float64
	// Spend is what of the repair is paid to others, in pounds.
	Spend []float64
	// Other is the fixed items and extras, in pounds, and OtherBack the VAT of it that
	// is taken back, nil where the shop is not registered.
	Other, OtherBack []float64
	// Base is what is left before the outlay and what depends on it: resale,
	// less selling, repair, holding and other, with VAT taken back on them.
	Base []float64

	// Fade is what is left of a pound of the sale price by the time the car is sold; it
	// is in Resale.
	Fade float64

	// afterSale is the mean of Other that is paid after the sale, shown what the strip
	// shows of the costs, brought the score of what an unfinished car brings; both nil
	// where the car is always finished.
	afterSale      float64
	left           []float64 // what an unfinished car brings in each world by leftBy; nil: not worked out
	leftBy         stats.Amount
	gone           float64 // what is spent already, finished or not, in pounds, net
	forSale        float64 // mean of the days for sale
	shown, brought []float64
	stripped       struct { // mean and standard deviation of the costs, of n worlds
		n        int
		mean, sd float64
	}

	deal      *deal.Deal
	appraisal *Appraisal // what evidence says; nil: nothing
	// plain is the whole lot's mean margin at a hammer price before the top-bidder allowance, in pounds, which that is
	// told
	// by; nil: that of these worlds.
	plain  func(hammer money.Pence) float64
	limits bid.Limits
	step   money.Pence // of bids
	value  money.Pence // of the car, above which nobody bids
	sorted []float64
}

// Worlds returns the outcomes of a resolved lot whose damage the totals hold, with
// some inputs held still.
func (e *Evaluator) Worlds(p *ResolvedLot, t *simulate.Totals, h Overrides) *Worlds {
	return e.compose(p, t, &scratch{}, h)
}

func (e *Evaluator) worlds(p *ResolvedLot, b *scratch, h Overrides) *Worlds {
	return e.compose(p, &b.totals, b, h)
}

func (e *Evaluator) compose(p *ResolvedLot, t *simulate.Totals, b *scratch, h Overrides) *Worlds {
	s, n := &e.shop.Settings, e.opt.Points
	w := &b.worlds
	w.deal, w.limits, w.step, w.value = &p.Deal, e.limits, e.shop.BidStep, p.Value
	if h.LabourRate != nil {
		held := p.Deal
		held.Labour = *h.LabourRate
		w.deal = &held
	}
	for _, v := range []*[]float64{&w.Repair, &w.Spend, &w.Hours, &w.Days, &w.Resale, &w.Other, &w.Base} {
		*v = slices.Grow((*v)[:0], n)[:n]
	}
	w.afterSale = e.inWorlds().afterSale + e.others(p, t, b, w.Other)
	if w.OtherBack = w.OtherBack[:0]; w.deal.Registered() {
		w.OtherBack = slices.Grow(w.OtherBack, n)[:n]
		e.othersVAT(p, t, b, w.deal.VAT, w.OtherBack)
	}
	drawn := e.inWorlds()
	stretch, sale := drawn.stretch, drawn.sale
	if h.SellDays != nil {
		sale = slices.Repeat([]float64{*h.SellDays}, n)
	}
	if h.LeadScale != nil {
		stretch = slices.Clone(stretch)
		for i := range stretch {
			stretch[i] *= *h.LeadScale
		}
	}
	sellTimes := shop.SellTimes(&p.Category, &p.Segment)
	perDay := s.DayHours()
	for i := range n {
		w.Hours[i], w.Spend[i] = p.Segment.Hours*t.Sums[i].Hours, p.Segment.Spend*t.Sums[i].Spend
		wait := max(t.Sums[i].LeadSeen*stretch[i], s.StripDays+t.Sums[i].LeadHidden*stretch[i])
		w.Days[i] = w.deal.Buy.Days + wait + w.Hours[i]/perDay + s.FinishDays + sellTimes*sale[i]
		w.Repair[i] = w.deal.Repair(w.Spend[i], w.Hours[i])
	}
	w.forSale = sellTimes * stats.Mean(sale)
	w.appraisal, w.plain = e.appraiseWorlds(p, w), nil
	w.Fade = w.appraisal.fade(fadeOver(s.Fade, stats.Mean(w.Days)))
	e.sell(p, w, h)
	for i := range n {
		items := w.Other[i]
		if len(w.OtherBack) > 0 {
			items -= w.OtherBack[i]
		}
		w.Base[i] = w.deal.Base(deal.Car{
			Spend: w.Spend[i], Hours: w.Hours[i], Days: w.Days[i], ForSale: sellTimes * sale[i], Items: items, Sale: w.Resale[i],
		})
	}
	w.shown, w.brought, w.left, w.stripped.n, w.gone = w.shown[:0], nil, nil, 0, 0
	if w.deal.MayStop() {
		shown, brought := e.stripScores()
		if h.Brings != nil {
			brought = slices.Repeat([]float64{*h.Brings}, n)
		}
		w.strip(shown, brought)
	}
	return w
}

// sell fills in what the car brings in each world.
func (e *Evaluator) sell(p *ResolvedLot, w *Worlds, h Overrides) {
	value, taken, spread := p.Lot.Value.Pounds(), p.Category.Share, p.Segment.ValueSpread
	if a := w.appraisal; a != nil {
		value, taken, spread = a.Value.Mean, a.share, a.spread
	}
	value *= w.Fade
	if w.appraisal.usual(p) && h.Devaluation == nil && h.ResaleScore == nil {
		for i, x := range e.unitResale(p.category, p.segment).values {
			w.Resale[i] = value * x
		}
		return
	}
	zd, market := e.draws.Score(simulate.DevaluationDim), e.draws.Score(simulate.ResaleDim)
	for i := range w.Resale {
		share, score := min(1, taken.At(zd[i])), market[i]
		if h.Devaluation != nil {
			share = *h.Devaluation
		}
		if h.ResaleScore != nil {
			score = *h.ResaleScore
		}
		w.Resale[i] = value * resale(share, spread, score)
	}
}

// others adds up fixed items and extras in each world, and returns the mean of those
// extras that are paid after the sale.
func (e *Evaluator) others(p *ResolvedLot, t *simulate.Totals, b *scratch, out []float64) (afterSale float64) {
	copy(out, e.inWorlds().fixed)
	for _, a := range p.extras {
		sum := 0.0
		if len(e.shop.Extras[a.extra].After) == 0 && a.sure {
			for i, x := range e.extra(a.extra).values {
				out[i] += a.times * x
				sum += a.times * x
			}
		} else {
			e.eachCharged(p, t, b, a, func(i int, x float64) { out[i] += x; sum += x })
		}
		if e.shop.Extras[a.extra].AfterSale {
			afterSale += sum / float64(len(out))
		}
	}
	return afterSale
}

// othersVAT writes the VAT inside fixed items and extras to out.
func (e *Evaluator) othersVAT(p *ResolvedLot, t *simulate.Totals, b *scratch, within float64, out []float64) {
	for i, x := range e.inWorlds().fixedVAT {
		out[i] = within * x
	}
	for _, a := range p.extras {
		if e.shop.Extras[a.extra].VAT {
			e.eachCharged(p, t, b, a, func(i int, x float64) { out[i] += within * x })
		}
	}
}

// eachCharged visits the worlds in which an extra is charged, with its amount.
func (e *Evaluator) eachCharged(p *ResolvedLot, t *simulate.Totals, b *scratch, a applied,
	visit func(i int, x float64)) {
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
				visit(int(i), a.times*x.values[i])
			}
		}
		return
	}
	for i, value := range x.values {
		if everywhere || b.where[i] {
			visit(i, a.times*value)
		}
	}
}

// Deal returns the lot as a shop can buy it.
func (l *Lot) Deal(s *shop.Shop) deal.Deal {
	d := deal.New(s, deal.TermsOf(&s.Settings), l.purchase(s.CollectDays), l.Guide, l.Value)
	d.WithParts(l.PartsValue)
	return d
}

func (l *Lot) purchase(collectDays float64) shop.Purchase {
	buy := shop.Purchase{Site: l.Site, Miles: l.Miles, Days: collectDays, FreeDays: l.FreeDays, Plus: l.Plus}
	if l.CollectDays != nil {
		buy.Days = *l.CollectDays
	}
	return buy
}

// bayDays returns the days in the bay, on average.
func (w *Worlds) bayDays() float64 { return stats.Mean(w.Days) - w.deal.Buy.Days - w.forSale }

// Deal returns the deal that the worlds were worked out for.
func (w *Worlds) Deal() *deal.Deal { return w.deal }

// margins calls visit with what is left in each world at a price.
func (w *Worlds) margins(p *deal.Price, visit func(i int, m float64)) {
	shift := w.shift(p)
	for i, base := range w.Base {
		visit(i, p.Margin(base, w.Days[i], w.Resale[i])+shift)
	}
}

// WonAs makes the top-bidder allowance of these worlds that of the whole lot. What is found out of a car says nothing
// of
// how far its value and its code may be off, so that it moves the margin by as much as it costs.
func (w *Worlds) WonAs(whole *Worlds) *Worlds {
	if w.plain = whole.plain; w.plain == nil && whole.corrected() {
		plain := whole.plainMargin()
		w.plain = func(hammer money.Pence) float64 { return plain(hammer.Pounds()) }
	}
	return w
}

// corrected says that there is a top-bidder allowance.
func (w *Worlds) corrected() bool { return w.appraisal != nil && w.appraisal.Corrected }

// shift is the top-bidder allowance at a price.
func (w *Worlds) shift(p *deal.Price) float64 {
	if !w.corrected() {
		return 0
	}
	if w.plain != nil {
		return w.appraisal.shift(p.Hammer, w.plain(p.Hammer))
	}
	sum := 0.0
	for i, base := range w.Base {
		sum += p.Margin(base, w.Days[i], w.Resale[i])
	}
	return w.appraisal.shift(p.Hammer, sum/float64(len(w.Base)))
}

// appraiseWorlds is appraise by worlds, whose days and repair costs are known; nil without
// evidence.
func (e *Evaluator) appraiseWorlds(p *ResolvedLot, w *Worlds) *Appraisal {
	if e.prices == nil {
		return nil
	}
	repair, sd := meanSD(w.Repair)
	return e.appraise(p, stats.Mean(w.Days), repair, sd)
}

// plainMargin returns the function from a hammer price to the mean margin of the car finished, before the top-bidder
// allowance, both in pounds.
func (w *Worlds) plainMargin() func(float64) float64 {
	plain := *w
	plain.appraisal, plain.sorted = nil, nil
	margin := plain.meanFinished()
	return func(pounds float64) float64 { return margin(money.FromPounds(pounds)) }
}

// marginsTo is analytic.marginsTo by worlds.
func (w *Worlds) marginsTo(money.Pence) func(pounds float64) float64 {
	margin := w.MeanMargin()
	return func(pounds float64) float64 { return margin(money.FromPounds(pounds)) }
}

// Margin returns what is left in each world at a hammer price, in out where it
// is large enough.
func (w *Worlds) Margin(hammer money.Pence, out []float64) []float64 {
	return w.MarginAt(w.deal.At(hammer), out)
}

// MarginAt is Margin at a price of the deal.
func (w *Worlds) MarginAt(p deal.Price, out []float64) []float64 {
	out = slices.Grow(out[:0], len(w.Base))[:len(w.Base)]
	w.margins(&p, func(i int, m float64) { out[i] = m })
	if len(w.shown) > 0 {
		w.leave(&p, stats.Mean(out), func(i int, m float64) { out[i] = m })
	}
	return out
}

// Select returns the worlds in which where is want, as new slices. It is nil
// where there are none.
func (w *Worlds) Select(where []bool, want bool) *Worlds {
	part := *w
	part.sorted, part.stripped.n = nil, 0
	chosen := make([]int32, 0, len(w.Base))
	for i, yes := range where {
		if yes == want {
			chosen = append(chosen, int32(i))
		}
	}
	pick := func(v []float64) []float64 {
		if len(chosen) == 0 {
			return nil
		}
		out := make([]float64, len(chosen))
		for to, i := range chosen {
			out[to] = v[i]
		}
		return out
	}
	part.Repair, part.Spend, part.Hours, part.Days = pick(w.Repair), pick(w.Spend), pick(w.Hours), pick(w.Days)
	part.Resale, part.Other, part.Base = pick(w.Resale), pick(w.Other), pick(w.Base)
	part.OtherBack = nil
	if len(w.OtherBack) > 0 {
		part.OtherBack = pick(w.OtherBack)
	}
	if len(w.shown) > 0 {
		part.shown, part.brought = pick(w.shown), pick(w.brought)
		if len(w.left) > 0 {
			part.left = pick(w.left)
		}
	}
	if len(part.Base) == 0 {
		return nil
	}
	return part.WonAs(w)
}

// MeanMargin returns the function from the hammer price to the mean margin.
func (w *Worlds) MeanMargin() func(hammer money.Pence) float64 {
	finished := w.meanFinished()
	if len(w.shown) == 0 {
		return finished
	}
	return func(hammer money.Pence) float64 {
		p := w.deal.At(hammer)
		m := finished(hammer)
		return m + w.leave(&p, m, nil)
	}
}

// meanFinished is MeanMargin of the car finished whatever it costs.
func (w *Worlds) meanFinished() func(hammer money.Pence) float64 {
	if w.deal.Scheme > 0 { // VAT is due on gains only
		stand := w.finished()
		return func(hammer money.Pence) float64 {
			p := w.deal.At(hammer)
			return stand(&p).Mean
		}
	}
	base, days := stats.Mean(w.Base), stats.Mean(w.Days)
	return func(hammer money.Pence) float64 {
		p := w.deal.At(hammer)
		m := p.Margin(base, days, 0)
		if w.plain != nil {
			return m + w.shift(&p)
		}
		return m + w.appraisal.shift(hammer, m)
	}
}

// Summary returns the distribution of the margin at a hammer price.
func (w *Worlds) Summary(hammer money.Pence) Margin {
	return w.marginOf(new(stats.Selector), hammer, nil)
}

// RepairSummary returns the distribution of the repair, without a confidence
// interval.
func (w *Worlds) RepairSummary() Repair { return repairOf(new(stats.Selector), w.Repair) }

// cashShare is the share of a quantity that cash must cover: P80.
const cashShare = 0.8

// Cash returns what leaves the bank before the sale at a hammer price, in pounds.
func (w *Worlds) Cash(sel *stats.Selector, hammer money.Pence) float64 {
	p := w.deal.At(hammer)
	return p.Cash(stats.Mean(w.Other)-w.afterSale, w.spendP80(sel))
}

// spendP80 returns that of the spend on damage, in pounds.
func (w *Worlds) spendP80(sel *stats.Selector) float64 {
	var q [1]float64
	sel.Quantiles(w.Spend, []float64{cashShare}, q[:])
	return q[0]
}

// HighestBid returns the price to stop at, as bid.Stop has it, and the limit that is
// broken first one step higher.
func (w *Worlds) HighestBid(sel *stats.Selector) (money.Pence, bid.Limit) {
	return w.stop(sel, w.limits)
}

func (w *Worlds) stop(sel *stats.Selector, limits bid.Limits) (money.Pence, bid.Limit) {
	return bid.Stop(w.step, w.value, w.appraisal.edges(w.deal.Steps(), w.step), w.broken(sel, limits))
}

// broken returns the function that says which limit a hammer price breaks, "" for none.
func (w *Worlds) broken(sel *stats.Selector, limits bid.Limits) func(money.Pence) bid.Limit {
	n := len(w.Base)
	meanRepair, items, spend := stats.Mean(w.Repair), 0.0, 0.0
	if limits.Cash > 0 {
		items, spend = stats.Mean(w.Other)-w.afterSale, w.spendP80(sel)
	}
	stand := w.finished()
	if !w.deal.Registered() && !w.corrected() {
		stand = w.standingAtOnce(sel, limits.MayLose(n))
	}
	return func(hammer money.Pence) bid.Limit {
		p := w.deal.At(hammer)
		at := stand(&p)
		at.Outlay, at.Repair, at.Cash = p.Outlay, meanRepair, p.Cash(items, spend)
		if len(w.shown) > 0 {
			w.mayStop(&p, &at, limits)
		}
		return limits.Broken(at)
	}
}

// finished returns the function that gives chance of a loss and mean margin at a price.
func (w *Worlds) finished() func(*deal.Price) bid.Standing {
	n := float64(len(w.Base))
	return func(p *deal.Price) bid.Standing {
		sum, losing := 0.0, 0
		w.margins(p, func(_ int, x float64) {
			sum += x
			if x < 0 {
				losing++
			}
		})
		return bid.Standing{Loss: float64(losing) / n, Mean: sum / n}
	}
}

// standingAtOnce is standing where no VAT is due: the outlay at which a world breaks
// even then does not depend on the bid, so that one order statistic judges every bid.
// The chance of a loss is only right as to whether more than so many worlds may lose.
func (w *Worlds) standingAtOnce(sel *stats.Selector, mayLose int) func(*deal.Price) bid.Standing {
	n := len(w.Base)
	w.sorted = slices.Grow(w.sorted[:0], n)[:n]
	for i, base := range w.Base {
		w.sorted[i] = base / (1 + w.deal.Finance*w.Days[i])
	}
	breakEven := math.Inf(1)
	if mayLose < n {
		breakEven = sel.Rank(w.sorted, mayLose)
	}
	base, days := stats.Mean(w.Base), stats.Mean(w.Days)
	return func(p *deal.Price) bid.Standing {
		s := bid.Standing{Mean: p.Margin(base, days, 0)}
		if p.Outlay > breakEven {
			s.Loss = float64(mayLose+1) / float64(n)
		}
		return s
	}
}
