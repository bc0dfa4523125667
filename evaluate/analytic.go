package evaluate

import (
	"errors"
	"math"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// An analytic is one lot worked out without drawing anything: by convolution and closed forms.
//
// Repair and hours are convolved (package convolve). The resale price has a closed form and is
// independent of everything else. All that is paid beside the repair is convolved with it: what
// is independent as such, the days for parts by the lead times of what is charged, extras that
// damage brings as if they were independent of it.
// The mean of the sum is exact, and its distribution is stretched to the exact variance.
type analytic struct {
	e   *Evaluator
	p   *ResolvedLot
	sum *convolve.Sum
	d   *deal.Deal

	repair, hours, spend convolve.Distribution
	// costs is the repair and all that is uncertain beside it, but the resale; only how
	// it lies about its mean counts.
	costs    convolve.Distribution
	workdays convolve.Distribution // hours and waiting, in hours
	terms    []convolve.Term
	waiting  []*waiting // at each of leads, the parts in pounds
	known    map[lead]*waiting
	parts    []*convolve.Part
	brought  []brought
	brings   []convolve.Brought // likewise, as convolve has them
	leads    []convolve.Lead
	likely   []convolve.CandidateChance
	extras   []extraCost
	market   *market
	value    float64    // of the car when it is sold, in pounds: what fades is gone
	fade     float64    // what is left of a pound of the sale price by then
	a        *Appraisal // what evidence says; nil: nothing
	whole    *analytic  // the lot as it stood before somebody looked at the car; nil: nobody has

	// Means, in pounds, hours and days; moments as convolve has them.
	m                convolve.Moments
	wait, days       float64
	forSale          float64 // of days, those for sale
	sellTimes        float64 // what the shop's days to sell are multiplied by
	bay              float64 // of days, those in the bay
	base             float64 // of the margin: deal.Deal.Base of the means without a sale
	other            float64 // fixed items and extras, VAT included
	netOther         float64 // fixed items and extras, less VAT
	netVaried        float64 // of netOther, what varies
	varWait, varSell float64
	varOther         float64 // of what is independent of the damage, less VAT
	waitSpend        float64 // covariances
	waitHours        float64
	extraSpend       float64 // of all extras after damage, less VAT
	extraHours       float64
	varExtra         float64
	varBrought       float64 // of what extras cost on average given the damage
	extraPairs       float64 // of it, the covariances of different extras
	waitExtra        float64 // covariance of the days for parts with what extras cost on average
	without          []float64
	points           []point // of the costs
	started          beforeSale
	workHours        [][len(dayShares)]float64 // in days, at each of leads
	hoursDone        bool                      // hours is this lot's

	beforeSale float64 // of other, what is paid before the car is sold
	way        stopWay // how a car may be left unfinished
}

// point is an amount with its chance.
type point struct{ amount, chance float64 }

// leastValue, in pounds, is taken for a value of 0: prices are read in units of it.
const leastValue = 1e-3

// convolve works out a resolved lot. It fails with convolve.ErrTangled or errHeavy.
func (e *Evaluator) convolve(p *ResolvedLot, r *analytic) error {
	if r.sum == nil {
		r.sum = e.shared.convolve.NewSum()
	}
	if err := p.addTo(r.sum); err != nil {
		return err
	}
	r.e, r.p, r.d, r.hoursDone = e, p, &p.Deal, false
	r.sum.Distribution(e.shared.repair[p.kind], 0, &r.repair)
	r.m = r.sum.Moments()
	r.time()
	r.appraise()
	r.others()
	r.base = r.d.Base(deal.Car{
		Spend: p.Segment.Spend * r.m.Spend, Hours: p.Segment.Hours * r.m.Hours,
		Days: r.days, ForSale: r.forSale, Items: r.netOther,
	})
	if err := r.addUp(); err != nil {
		return err
	}
	if r.d.MayStop() {
		r.way.reset(r)
	}
	return nil
}

// time works out the days, apart from their distribution.
func (r *analytic) time() {
	s, x := &r.e.shop.Settings, r.e.shared
	r.leads = r.sum.Leads(func(seen, hidden float64) bool {
		return s.StripDays+hidden*x.longest > seen*x.longest || s.StripDays+hidden*x.shortest > seen*x.shortest
	}, r.leads)
	square, spend, hours := 0.0, 0.0, 0.0
	r.wait, r.waiting = 0, r.waiting[:0]
	for _, l := range r.leads {
		w := r.waitingFor(lead{l.Seen, l.Hidden, r.e.shared.daily})
		r.waiting = append(r.waiting, w)
		r.wait += l.Chance * w.parts
		square += l.Chance * w.square
		spend += l.Spend * w.parts
		hours += l.Hours * w.parts
	}
	r.varWait = max(0, square-r.wait*r.wait)
	r.waitSpend, r.waitHours = spend-r.wait*r.m.Spend, hours-r.wait*r.m.Hours
	r.sellTimes = shop.SellTimes(&r.p.Category, &r.p.Segment)
	r.forSale = r.sellTimes * x.sellMean
	r.varSell = r.sellTimes * x.sellSD * r.sellTimes * x.sellSD
	r.bay = r.wait + r.p.Segment.Hours*r.m.Hours/s.DayHours() + s.FinishDays
	r.days = r.d.Buy.Days + r.wait + r.p.Segment.Hours*r.m.Hours/s.DayHours() + s.FinishDays + r.forSale
}

// others works out fixed items and extras.
func (r *analytic) others() {
	e, x := r.e, r.e.shared
	r.netOther, r.netVaried, r.varOther, r.other, r.beforeSale = 0, 0, 0, 0, 0
	r.terms, r.brought, r.brings = r.terms[:0], r.brought[:0], r.brings[:0]
	add := func(c *charged, chance float64) (variance float64) {
		variance = chance*(c.netSD*c.netSD+c.net*c.net) - chance*chance*c.net*c.net
		if variance > 0 { // what is certain moves the whole, which is known
			r.terms = append(r.terms, convolve.Term{Part: c.Part, Chance: chance})
			r.netVaried += chance * c.net
		}
		return variance
	}
	for i := range x.fixed {
		r.netOther += x.fixed[i].net
		r.count(e.shop.Fixed[i], x.fixed[i].mean)
		r.varOther += add(&x.fixed[i], 1)
	}
	r.extraSpend, r.extraHours, r.varExtra, r.waitExtra = 0, 0, 0, 0
	r.extras = r.extras[:0]
	for _, a := range r.p.extras {
		extra, c := &e.shop.Extras[a.extra], x.scaled(a.extra, a.times)
		chance := 1.0
		if !a.sure {
			chance = extra.UnknownChance
		}
		on := convolve.Event{Chance: 1}
		if len(extra.After) > 0 {
			on = r.sum.Charged(matcher(extra.After))
		}
		if on.Chance < 1-1e-9 {
			chance = r.after(extra, c, on, chance)
		} else {
			r.varOther += add(c, chance)
		}
		r.netOther += chance * c.net
		r.count(extra.Charge, chance*c.mean)
		r.extras = append(r.extras, extraCost{chance * c.mean, chance})
	}
}

// count adds what an item comes to on average, in pounds.
func (r *analytic) count(c shop.Charge, mean float64) {
	if r.other += mean; !c.AfterSale {
		r.beforeSale += mean
	}
}

// after takes up an extra that comes with a chance where what it comes after is
// charged, and returns the chance that it comes at all. Its mean, its variance and its
// covariances with the damage and with other such extras are exact; its shape is added
// as if it were independent.
func (r *analytic) after(extra *shop.Extra, c *charged, on convolve.Event, share float64) (chance float64) {
	r.extraSpend += c.net * share * (on.Spend - on.Chance*r.m.Spend)
	r.extraHours += c.net * share * (on.Hours - on.Chance*r.m.Hours)
	chance = share * on.Chance
	r.varExtra += chance*(c.netSD*c.netSD+c.net*c.net) - chance*chance*c.net*c.net
	r.netVaried += chance * c.net
	match := matcher(extra.After)
	r.waitExtra += r.waitsWith(match, c.net*share, on)
	r.brought = append(r.brought, brought{match, share * c.net, on.Chance})
	r.brings = append(r.brings, convolve.Brought{Part: c.Part, Match: match, Chance: share})
	return chance
}

// waitsWith returns the covariance of the days for parts with what an extra costs, amount pounds where
// something is charged for which match returns true. Where it can hardly matter it is taken to be what
// both owe to the damage.
func (r *analytic) waitsWith(match func(damage.Item) bool, amount float64, on convolve.Event) float64 {
	cost := r.e.shared.costs[r.p.kind]
	variance := r.m.Var(cost.spend, cost.hours)
	most := r.e.shared.daily * amount * math.Sqrt(r.varWait*on.Chance*(1-on.Chance))
	if variance > 0 && most < 1e-3*variance {
		waits := cost.spend*r.waitSpend + cost.hours*r.waitHours
		return amount * waits * (cost.spend*(on.Spend-on.Chance*r.m.Spend) +
			cost.hours*(on.Hours-on.Chance*r.m.Hours)) / variance
	}
	return amount * r.waitWith(match, on.Chance)
}

// waitWith returns the covariance of the days for parts with 1 where something is charged for which
// match returns true, and 0 where nothing is; chance is that of the former.
func (r *analytic) waitWith(match func(damage.Item) bool, chance float64) float64 {
	r.without = r.sum.LeadsWithout(match, r.without[:0])
	sum := 0.0
	for i, l := range r.leads {
		sum += r.waiting[i].parts * (l.Chance - r.without[i])
	}
	return sum - r.wait*chance
}

// brought is an extra's mean amount, in pounds, and the chance of the damage after which it
// comes.
type brought struct {
	match          func(damage.Item) bool
	amount, chance float64
}

func (b *brought) variance() float64 { return b.amount * b.amount * b.chance * (1 - b.chance) }

// bringing works out how far the damage that brings extras makes them vary: the sum of
// the variances of their means given the damage, and of the covariances between them.
// Pairs that cannot matter beside least, a variance, are left out.
func (r *analytic) bringing(least float64) {
	r.varBrought, r.extraPairs = 0, 0
	for i := range r.brought {
		a := &r.brought[i]
		r.varBrought += a.variance()
		for j := range r.brought[:i] {
			b := &r.brought[j]
			if a.variance()*b.variance() < 1e-8*least*least {
				continue
			}
			either := r.sum.ChargedChance(func(x damage.Item) bool { return a.match(x) || b.match(x) })
			both := a.chance + b.chance - either
			r.extraPairs += 2 * a.amount * b.amount * (both - a.chance*b.chance)
		}
	}
	r.varBrought += r.extraPairs
}

// addUp convolves the repair and all that is uncertain beside it, but the resale.
func (r *analytic) addUp() error {
	daily, forSale, cost := r.e.shared.daily, r.e.shared.forSale, r.e.shared.costs[r.p.kind]
	a, b := cost.spend, cost.hours
	x := convolve.Extra{Terms: r.terms, Brought: r.brings, Mean: r.m.Mean(a, b) + r.netVaried, Tail: true}
	variance := r.m.Var(a, b) + r.varOther + r.varExtra
	r.bringing(variance)
	variance += r.extraPairs + 2*(a*r.extraSpend+b*r.extraHours)
	if daily > 0 {
		r.parts = r.parts[:0]
		for _, w := range r.waiting {
			r.parts = append(r.parts, w.days)
		}
		x.Waits = r.parts
		x.Mean += daily * r.wait
		waits := daily * (a*r.waitSpend + b*r.waitHours)
		variance += daily*daily*r.varWait + 2*waits + 2*daily*r.waitExtra
	}
	if forSale > 0 && r.varSell > 0 {
		variance += forSale * forSale * r.varSell
		x.Terms = append(x.Terms, convolve.Term{Part: r.e.shared.selling(forSale * r.sellTimes), Chance: 1})
		x.Mean += forSale * r.forSale
	}
	r.terms = x.Terms
	x.SD = math.Sqrt(max(0, variance))
	r.sum.With(cost.measure, x, &r.costs)
	r.points = gather(&r.costs, r.d.MayStop(), r.points)
	if resale := r.d.Kept * r.market.sd * r.value; r.varBrought > heavy*(variance+resale*resale) {
		return errHeavy
	}
	return nil
}

// heavy is the share of the margin's variance, above which extras that damage brings are
// too large to be added as if their shape were independent of it.
const heavy = 0.02

var errHeavy = errors.New("extras that damage brings weigh too much beside it")

// mostPoints is how many points represent a distribution's window.
const mostPoints = 128

// gather lists the cells of a distribution, some together, and what lies past its window at two
// points that make mean and variance right; where far, at several.
func gather(d *convolve.Distribution, far bool, out []point) []point {
	out = out[:0]
	if len(d.Cells) == 0 {
		return append(out, point{d.Mean, 1})
	}
	chance, mean, square, last := d.Zero, 0.0, 0.0, 0.0
	if d.Zero > 0 {
		out = append(out, point{d.Base, d.Zero})
		mean, square = d.Base*d.Zero, d.Base*d.Base*d.Zero
	}
	size := (len(d.Cells) + mostPoints - 1) / mostPoints
	for at := 0; at < len(d.Cells); at += size {
		p, sum := 0.0, 0.0
		for i, y := range d.Cells[at:min(at+size, len(d.Cells))] {
			x := d.At(at + i)
			p += y
			sum += y * x
			square += y * x * x
		}
		if p < 1e-8 {
			continue
		}
		last = sum / p
		out = append(out, point{last, p})
		chance += p
		mean += sum
	}
	if rest := 1 - chance; rest > 1e-6 && d.Mean > mean {
		x := (d.Mean - mean) / rest
		sd := math.Sqrt(max(0, (d.SD*d.SD+d.Mean*d.Mean-square)/rest-x*x))
		if far && x > last && sd > 0 {
			out = beyond(out, d.At(len(d.Cells))-d.Step/2, x, sd, rest)
		} else if down := min(sd, x-last); down <= 0 { // not back into the window
			out = append(out, point{x, rest})
		} else {
			up := sd * sd / down
			out = append(out, point{x - down, rest * up / (up + down)}, point{x + up, rest * down / (up + down)})
		}
		chance, mean = 1, d.Mean
	}
	for i := range out {
		out[i].amount += d.Mean - mean/chance
		out[i].chance /= chance
	}
	return out
}

// beyond adds what lies past an edge, with a chance of rest, mean and standard deviation
// being known: its excess is taken to be lognormal, at equally likely points.
func beyond(out []point, edge, mean, sd, rest float64) []point {
	excess := max(mean-edge, 0.1*sd)
	s := math.Sqrt(math.Log1p(sd * sd / (excess * excess)))
	var at [len(sixtyFour) / 4]float64
	sum, square := 0.0, 0.0
	for i := range at {
		at[i] = math.Exp(s * (sixtyFour[4*i+1] + sixtyFour[4*i+2]) / 2)
		sum += at[i] / float64(len(at))
	}
	for _, x := range at {
		square += (x - sum) * (x - sum) / float64(len(at))
	}
	for _, x := range at {
		out = append(out, point{mean + (x-sum)*sd/math.Sqrt(square), rest / float64(len(at))})
	}
	return out
}

// An atPrice is the margin at one hammer price: what is left of the resale,
// plus constant, less stretch times what the costs differ from their mean by.
type atPrice struct {
	deal.Price
	r                 *analytic
	constant, stretch float64
	// mean and sd are those of the car finished, unless stop was called.
	mean, sd float64
	// spread is the standard deviation of what is left of the resale.
	spread  float64
	stopped *stopWay // nil: the car is finished whatever it costs
}

// at returns the margin at a hammer price.
func (r *analytic) at(hammer money.Pence) atPrice {
	t := atPrice{r: r, Price: r.d.At(hammer), stretch: 1}
	t.constant = t.Price.Margin(r.base, r.days, 0)
	variance := r.varianceAt(t.Day, t.ForSale)
	if r.costs.SD > 0 {
		t.stretch = math.Sqrt(variance) / math.Hypot(r.costs.SD, r.costs.Blur)
	}
	left, spread := t.left()
	t.mean, t.spread = left+t.constant, spread
	if shift := r.shift(hammer, t.mean); shift != 0 {
		t.constant += shift
		t.mean += shift
	}
	t.sd = math.Sqrt(spread*spread + variance)
	return t
}

// varianceAt returns the variance of all costs, net, where a day costs day, in pounds,
// while the car is being built, and forSale while it is for sale.
func (r *analytic) varianceAt(day, forSale float64) float64 {
	a, b := r.p.multipliers()
	a *= r.d.Spend
	// What is paid for damage, by the pound of spend and the hour, a day's cost for
	// the hours included.
	b += day * r.p.Segment.Hours / r.e.shop.DayHours()
	variance := r.m.Var(a, b) + day*day*r.varWait + 2*day*(a*r.waitSpend+b*r.waitHours)
	variance += r.varExtra + r.extraPairs + 2*(a*r.extraSpend+b*r.extraHours+day*r.waitExtra)
	return max(0, variance) + r.varOther + forSale*forSale*r.varSell
}

// left returns mean and standard deviation of what is left of the resale after
// selling and the VAT due on it.
func (t *atPrice) left() (mean, sd float64) {
	m, value := t.r.market, t.r.value
	if t.Scheme == 0 {
		return t.Kept * m.spread.Mean * value, t.Kept * m.sd * value
	}
	mean = t.Kept*m.spread.Mean*value - t.Scheme*t.r.above(t.Bought)
	// The variance by the table's cells.
	square, before := 0.0, 0.0
	if m.step == 0 {
		return mean, 0
	}
	for i, p := range m.below {
		x := value * (m.low + (float64(i)-0.5)*m.step)
		y := t.Kept*x - t.Scheme*max(0, x-t.Bought)
		square += (p - before) * (y - mean) * (y - mean)
		before = p
	}
	return mean, math.Sqrt(square)
}

// resale returns the chance that what is left of the resale is at most y, and the
// mean of what it falls short of y by.
func (t *atPrice) resale(y float64) (below, short float64) {
	m, value, keep := t.r.market, t.r.value, t.Kept
	if edge := keep * t.Bought; t.Scheme > 0 && y > edge {
		rest := keep - t.Scheme
		x := t.Bought + (y-edge)/rest
		p, s := m.at(x / value)
		_, first := m.at(t.Bought / value)
		return p, value * (keep*first + rest*(s-first))
	}
	p, s := m.at(y / keep / value)
	return p, keep * value * s
}

// below returns the chance that the margin is at most x.
func (t *atPrice) below(x float64) (chance float64) {
	points := t.r.points
	if t.stopped != nil {
		chance, points = t.stopped.below(x), t.stopped.finished
	}
	shift := x - t.constant - t.stretch*t.r.costs.Mean
	if t.Scheme > 0 {
		for _, p := range points {
			a, _ := t.resale(shift + t.stretch*p.amount)
			chance += p.chance * a
		}
		return chance
	}
	scale := 1 / (t.Kept * t.r.value)
	shift, stretch := shift*scale, t.stretch*scale
	for _, p := range points {
		chance += p.chance * t.r.market.chance(shift+stretch*p.amount)
	}
	return chance
}

// short returns the mean of what the margin falls short of x by.
func (t *atPrice) short(x float64) (short float64) {
	points := t.r.points
	if t.stopped != nil {
		short, points = t.stopped.short(x), t.stopped.finished
	}
	for _, p := range points {
		_, s := t.resale(x - t.constant + t.stretch*(p.amount-t.r.costs.Mean))
		short += p.chance * s
	}
	return short
}

// quantile returns the margin that is not exceeded with probability p.
func (t *atPrice) quantile(p float64) float64 {
	if t.sd == 0 {
		return t.mean
	}
	return quantile(p, t.mean, t.sd, t.below)
}

// above returns the mean of what the resale exceeds an amount by, where it does, in pounds.
func (r *analytic) above(amount float64) float64 {
	_, short := r.market.at(amount / r.value)
	return r.market.spread.Mean*r.value - amount + short*r.value
}

// cash returns what leaves the bank before the sale at a hammer price, in pounds.
func (r *analytic) cash(hammer money.Pence) float64 {
	p := r.d.At(hammer)
	return p.Cash(r.beforeSale, r.spendP80())
}

// spendP80 returns that of the spend on damage, in pounds.
func (r *analytic) spendP80() float64 {
	r.sum.Distribution(r.e.shared.spend[r.p.kind], 0, &r.spend)
	var q [1]float64
	r.spend.Quantiles([]float64{cashShare}, q[:])
	return q[0]
}

// margin returns the distribution of the margin at a hammer price.
func (r *analytic) margin(hammer money.Pence) Margin {
	t := r.at(hammer)
	m := Margin{LossFinished: t.loss()}
	t.stop()
	m.Mean, m.SD = t.mean, t.sd
	m.P10, m.P50, m.P90 = t.quantile(0.1), t.quantile(0.5), t.quantile(0.9)
	m.LossStopping, m.Stopped = m.LossFinished, 0
	if t.stopped != nil {
		m.LossStopping, m.Stopped = t.loss(), t.stopped.share
	}
	m.LossChance = min(m.LossFinished, m.LossStopping)
	m.Shortfall = m.P10 - t.short(m.P10)/0.1
	return m
}

// loss returns the chance that the margin is below zero.
func (t *atPrice) loss() float64 { return min(1, max(0, t.below(0))) }

// repairs returns the distribution of the repair.
func (r *analytic) repairs() Repair {
	out := Repair{Mean: r.repair.Mean, SD: r.repair.SD}
	var q [5]float64
	r.repair.Quantiles(repairShares, q[:])
	out.P10, out.P50, out.P80, out.P90, out.P95 = q[0], q[1], q[2], q[3], q[4]
	half := 1.96 * r.standardError()
	out.CILow, out.CIHigh = max(0, out.Mean-half), out.Mean+half
	return out
}

// repairCurve fills in the quantiles at even shares, the first and the last being those
// of a thousandth and of all but one.
func (r *analytic) repairCurve(out []Quantile) []Quantile {
	var d convolve.Distribution
	r.sum.Distribution(r.e.shared.repair[r.p.kind], 6, &d)
	shares, amounts := make([]float64, len(out)), make([]float64, len(out))
	for i := range out {
		out[i].Share = float64(i) / float64(len(out)-1)
		shares[i] = min(max(out[i].Share, 0.001), 0.999)
	}
	d.Quantiles(shares, amounts)
	for i := range out {
		out[i].Amount = amounts[i]
	}
	return out
}

// hoursKnown returns the distribution of the own hours, before the segment's multiplier, worked out once.
func (r *analytic) hoursKnown() *convolve.Distribution {
	if !r.hoursDone {
		r.sum.Distribution(r.e.shared.hours, 0, &r.hours)
		r.hoursDone = true
	}
	return &r.hours
}

// hoursSpread returns the distribution of the own hours.
func (r *analytic) hoursSpread() Spread {
	var q [3]float64
	r.hoursKnown().Quantiles(spreadShares, q[:])
	return Spread{r.hours.Mean, q[0], q[1], q[2]}.times(r.p.Segment.Hours)
}

// standardError is Evaluator.standardError without worlds.
func (r *analytic) standardError() float64 {
	r.likely = r.sum.Candidates(r.likely)
	return r.e.standardErrorOf(r.p, r.repair.Mean,
		func(i int) float64 { return r.likely[i].Charged }, r.sum.Coded,
		func(c *costs.Candidate) (mean, sd float64) {
			a, b := r.p.multipliers()
			m := r.e.shared.convolve.Job(c)
			return m.Mean(a, b), math.Sqrt(m.Var(a, b))
		})
}

// doubt returns the chance of a candidate, and its mean cost as Hidden has it; ok is
// false where it always or never occurs.
func (r *analytic) doubt(i int) (chance, cost float64, ok bool) {
	a, b := r.p.multipliers()
	x := r.likely[i]
	if x.Occurs <= 0 || x.Occurs >= 1-1e-12 {
		return x.Occurs, 0, false
	}
	with := a*x.Spend + b*x.Hours
	return x.Occurs, with/x.Occurs - (r.repair.Mean-with)/(1-x.Occurs), true
}

// hidden returns what nobody coded, after standardError.
func (r *analytic) hidden() []Hidden {
	var out []Hidden
	for i, c := range r.p.Case {
		if c.Kind == costs.Hidden {
			chance, cost, _ := r.doubt(i)
			out = append(out, Hidden{Item: c.Item, Chance: chance, MeanCost: cost})
		}
	}
	return out
}

// highestBid is Worlds.HighestBid without worlds.
func (r *analytic) highestBid(limits bid.Limits) (money.Pence, bid.Limit) {
	spend := 0.0
	if limits.Cash > 0 {
		spend = r.spendP80()
	}
	step := r.e.shop.BidStep
	// The chance of a loss takes longest: where the mean is too low anyway it is only asked for in the end, to say which
	// limit is broken first.
	broken := func(hammer money.Pence, first bool) bid.Limit {
		t := r.at(hammer)
		at := bid.Standing{Mean: t.mean, Outlay: t.Outlay, Repair: r.repair.Mean, Cash: t.Cash(r.beforeSale, spend)}
		if r.d.MayStop() {
			t.r.way.prepare(&t.Price)
		}
		if !first && at.Mean < limits.Target(&at) && (!r.d.MayStop() || at.Mean+t.most() < limits.Target(&at)) {
			return bid.MarginLimit
		}
		at.Loss = t.loss()
		if r.d.MayStop() {
			t.mayStop(&at, limits)
		}
		return limits.Broken(at)
	}
	stop, limit := bid.Stop(step, r.p.Value, r.a.edges(r.d.Steps(), step), func(hammer money.Pence) bid.Limit {
		return broken(hammer, false)
	})
	if limit == bid.MarginLimit {
		limit = broken(stop+step, true)
	}
	return stop, limit
}

// appraise finds the market and the value of the car.
func (r *analytic) appraise() {
	e, p := r.e, r.p
	r.fade = fadeOver(e.shop.Fade, r.days)
	if r.a = nil; e.prices == nil {
		r.market, r.value = e.shared.market(e.shop, p.category, p.segment), max(r.fade*p.Lot.Value.Pounds(), leastValue)
		return
	}
	if r.a = p.appraisal; r.a == nil {
		r.a = e.appraise(p, r.days, r.repair.Mean, r.repair.SD)
	}
	r.fade = r.a.fade(r.fade)
	r.market, r.value = e.shared.appraised(p, r.a), max(r.fade*r.a.Value.Mean, leastValue)
}

// shift is the top-bidder allowance at a hammer price where the mean margin before it is so much, in pounds. What is
// found out of a car says nothing of how far its value and its code may be off: it is the whole lot's (METHOD.md 13.4).
func (r *analytic) shift(hammer money.Pence, margin float64) float64 {
	if r.whole != nil && r.a != nil && r.a.Corrected {
		margin = r.whole.plainMargin(hammer.Pounds())
	}
	return r.a.shift(hammer, margin)
}

// plainMargin is the mean margin at a hammer price before the top-bidder allowance, both in pounds.
func (r *analytic) plainMargin(pounds float64) float64 {
	hammer := money.FromPounds(pounds)
	p := r.d.At(hammer)
	m := p.Margin(r.base, r.days, 0) + p.Kept*r.market.spread.Mean*r.value
	if p.Scheme > 0 {
		m -= p.Scheme * r.above(p.Bought)
	}
	return m
}
