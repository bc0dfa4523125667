// Package probe says what one lot's margin hangs on: which of the things that
// cannot be seen would sink it, and which would be worth finding out before
// bidding.
package probe

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Conditional figures are taken over more worlds than the lot's own, so that a
// rare item is still met often: as many as it takes until the standard error of
// each mean margin is within errorShare of the margin's standard deviation, at
// least minPoints and at most maxPoints. The error is told from batches of
// batchSize points.
const (
	errorShare = 0.015
	minPoints  = 1 << 15
	maxPoints  = 1 << 17
	batchSize  = 1 << 13
)

// An Outcome is how a lot stands where something is so.
type Outcome struct {
	// Margin is the mean at the price, in pounds, Error its standard error.
	Margin, Error float64
	LossChance    float64
	HighestBid    money.Pence
	BidLimit      bid.Limit
}

// An Unknown is a suspected or hidden item.
type Unknown struct {
	costs.Candidate
	// Own says that the list's own code suspects it.
	Own bool
	// Chance of occurring at all; OwnCost is what its own job costs in this car on
	// average, and MeanCost the average repair of the whole car with it less that without
	// it, in pounds.
	Chance, OwnCost, MeanCost float64
	// Present and Absent are nil where it always or never occurs.
	Present, Absent *Outcome
	// BreakEvenChance is the chance of it at which the average margin is zero, by
	// working the lot out again; NaN where no chance makes it so, and Pays then says
	// whether money is made however likely it is.
	BreakEvenChance float64
	Pays            bool
	// VarianceShare is the part of the margin's variance that its occurrence
	// explains: the first-order index of Sobol' (1993).
	VarianceShare float64
	// Worth is what is gained on average by knowing before bidding, in pounds, where the
	// hammer price varies about the guide and each answer is bid on as far as the
	// workshop's limits allow at that answer. It may be below zero: an answer can forbid
	// a car that would have paid on average, which is what limits are for.
	//
	// WorthAtGuide ignores the limits and takes the guide as the price: the expected
	// value of perfect information (Raiffa and Schlaifer 1961; Howard 1966), walking away
	// being worth nothing.
	Worth, WorthAtGuide float64
}

// Rest is how much dearer the rest of the car is, on average, where the item is there:
// see evaluate.Doubt.
func (u *Unknown) Rest() float64 { return u.MeanCost - u.OwnCost }

// An Input is one uncertain number, held at its P10 and its P90.
type Input struct {
	Name string
	// Low and High are the values, in the unit of Unit.
	Low, High float64
	Unit      string
	// MarginAtLow and MarginAtHigh are the mean margins there, in pounds.
	MarginAtLow, MarginAtHigh float64
}

// Swing is the difference that the input makes.
func (i Input) Swing() float64 { return math.Abs(i.MarginAtHigh - i.MarginAtLow) }

// An Odds is the lot with all suspected and hidden chances at a factor of their
// odds.
type Odds struct {
	Factor float64
	Outcome
}

// OddsFactors are those of the sweep.
var OddsFactors = []float64{0, 0.5, 1, 1.5, 2, 3}

// A Probe is all that is said of one lot.
type Probe struct {
	// Result is that of a screen at the same number of points, by Evaluator.
	*evaluate.Result
	// Assessment is the lot, to be looked at again where something of its damage is shown.
	Assessment *evaluate.Assessment
	// Price is the hammer price of the margins: the guide price, or where there
	// is none the highest bid.
	Price money.Pence
	// Margin at the price.
	Margin evaluate.Margin
	// Points is how many worlds the conditional figures are taken over.
	Points int
	// Unknowns: those that the code suspects first, then by falling worth.
	Unknowns []Unknown
	// Everything is what it would be worth to know everything, in pounds, by the
	// workshop's limits.
	Everything float64
	// Inputs by falling swing.
	Inputs []Input
	Odds   []Odds
	// Inspections by falling gain.
	Inspections []InspectionWorth
	// Chosen are the inspections to pay for together; nil where none is, or where nothing
	// that needs a trip to the sale has a price for it.
	Chosen *ChosenSet
	// Inspected is what was found at the car; nil where nobody has looked.
	Inspected *Inspected
}

// Run probes a lot. It fails as Evaluate does, and where the lot has neither a
// guide price nor a bid that pays, or no repair to judge.
func Run(workshop *shop.Shop, opt evaluate.Options, lot *evaluate.Lot) (*Probe, error) {
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		return nil, err
	}
	r, err := e.Evaluate(lot)
	if err != nil {
		return nil, err
	}
	if !r.Evaluated() {
		return nil, fmt.Errorf("lot %s: %s", lot.Number, r.Reason)
	}
	p := &Probe{Result: r, Price: priceLooked(r, workshop.BidStep), Margin: r.Margin}
	resolved, err := e.Resolve(lot)
	if err != nil {
		return nil, err
	}
	if p.Assessment, err = e.AssessResolved(resolved); err != nil {
		return nil, err
	}
	var totals simulate.Totals
	totals.Sum(e.Draws(), resolved.Case)
	base := e.Worlds(resolved, &totals, evaluate.Overrides{})
	if r.At == 0 {
		p.Margin = p.Assessment.Along([]money.Pence{p.Price})[0].Margin
	}
	if err := p.coding(e, lot, p.Margin.Mean-base.MeanMargin()(p.Price)); err != nil {
		return nil, err
	}
	p.inputs(e, resolved, &totals, base)
	if err := p.odds(e, resolved); err != nil {
		return nil, err
	}
	if err := p.conditional(workshop, opt, lot); err != nil {
		return nil, err
	}
	return p, p.breakEven(e, resolved)
}

// outcome sums up worlds at a price.
func outcome(w *evaluate.Worlds, price money.Pence) *Outcome {
	margin := w.Margin(price, nil)
	o := &Outcome{}
	for _, m := range margin {
		o.Margin += m / float64(len(margin))
	}
	o.LossChance = w.LossChance(price, margin)
	o.HighestBid, o.BidLimit = w.HighestBid(new(stats.Selector))
	return o
}

// largerRun is a run with more worlds.
type largerRun struct {
	e      *evaluate.Evaluator
	p      *evaluate.ResolvedLot
	totals simulate.Totals
	worlds *evaluate.Worlds
	margin []float64
	sd     float64
	bid    money.Pence // highest, where nothing more is known
}

func newLargerRun(workshop *shop.Shop, opt evaluate.Options, lot *evaluate.Lot, price money.Pence) (*largerRun, error) {
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		return nil, err
	}
	s := &largerRun{e: e}
	if s.p, err = e.Resolve(lot); err != nil {
		return nil, err
	}
	s.totals.Sum(e.Draws(), s.p.Case)
	s.worlds = e.Worlds(s.p, &s.totals, evaluate.Overrides{})
	s.margin = s.worlds.Margin(price, nil)
	s.sd = s.worlds.Summary(price).SD
	s.bid, _ = s.worlds.HighestBid(new(stats.Selector))
	return s, nil
}

// mask returns in which worlds candidate i occurs, or something worse at its spot, and in how
// many.
func (s *largerRun) mask(i int) (mask []bool, count int) {
	mask = s.totals.Where(s.p.Case, costs.Show(nil, s.p.Case[i].Item, true))
	for _, there := range mask {
		if there {
			count++
		}
	}
	return mask, count
}

// errorOf is the standard error of the mean margin over the worlds where mask
// is want, from the scatter of its batches. All batches share one scrambling, so
// that it does not see what is wrong with all of them alike.
func (s *largerRun) errorOf(mask []bool, want bool) float64 {
	batches := len(s.margin) / batchSize
	var means []float64
	for b := range batches {
		sum, n := 0.0, 0
		for i := b * batchSize; i < (b+1)*batchSize; i++ {
			if mask[i] == want {
				sum += s.margin[i]
				n++
			}
		}
		if n > 0 {
			means = append(means, sum/float64(n))
		}
	}
	if len(means) < 2 {
		return s.sd
	}
	center, square := 0.0, 0.0
	for _, m := range means {
		center += m / float64(len(means))
	}
	for _, m := range means {
		square += (m - center) * (m - center)
	}
	return math.Sqrt(square / float64(len(means)-1) / float64(len(means)))
}

// conditional fills in what is so with and without each unknown, and the looks.
func (p *Probe) conditional(workshop *shop.Shop, opt evaluate.Options, lot *evaluate.Lot) error {
	opt.Points = max(opt.Points, evaluate.DefaultPoints, minPoints)
	for {
		s, err := newLargerRun(workshop, opt, lot, p.Price)
		if err != nil {
			return err
		}
		worst := 0.0
		for i, c := range s.p.Case {
			if c.Kind == costs.Seen || c.Certain() {
				continue
			}
			if mask, n := s.mask(i); n > 0 && n < len(s.margin) {
				worst = max(worst, s.errorOf(mask, true), s.errorOf(mask, false))
			}
		}
		if worst <= errorShare*s.sd || 2*opt.Points > maxPoints {
			p.Points = opt.Points
			if !p.Assessment.Exact() { // the same cars as the other figures
				if p.Assessment, err = s.e.AssessResolved(s.p); err != nil {
					return err
				}
			}
			return p.unknowns(s)
		}
		// An error falls at least as fast as the root of the number of worlds.
		ratio := worst / (errorShare * s.sd)
		needed := float64(opt.Points) * ratio * ratio
		for opt.Points *= 2; 2*opt.Points <= maxPoints && !(needed < float64(2*opt.Points)); {
			opt.Points *= 2
		}
	}
}

func (p *Probe) unknowns(s *largerRun) error {
	prices := pricesAbout(p.Result, p.Price, s.e.Shop(), priceSteps)
	whole := s.worlds.MeanMargin()
	own := ownMarks(p.Lot)
	for i, c := range s.p.Case {
		if c.Kind == costs.Seen || c.Certain() {
			continue
		}
		u, err := p.unknown(s, i, prices, whole)
		if err != nil {
			return err
		}
		_, u.Own = own[u.Item]
		p.Unknowns = append(p.Unknowns, u)
	}
	slices.SortStableFunc(p.Unknowns, func(a, b Unknown) int { return a.standing().compare(b.standing()) })
	p.Everything = everything(s, prices, whole)
	for _, l := range s.e.Shop().Inspections {
		if w, ok := p.look(s, l, prices, whole); ok {
			p.Inspections = append(p.Inspections, w)
		}
	}
	slices.SortStableFunc(p.Inspections, func(a, b InspectionWorth) int { return cmp.Compare(b.Gain(), a.Gain()) })
	p.choose(s, prices, whole)
	return nil
}

// priceSteps is how many hammer prices stand for the spread about the guide.
const priceSteps = 64

// pricesAbout returns n equally likely hammer prices: of the price to beat where past lots are
// known, else about a price.
func pricesAbout(r *evaluate.Result, price money.Pence, workshop *shop.Shop, n int) []money.Pence {
	if a := r.Appraisal; a != nil && a.Priced {
		out := make([]money.Pence, n)
		for i, x := range a.Price.Grid(n) {
			out[i] = money.FromPounds(x)
		}
		return out
	}
	if workshop.GuideSpread.Certain() {
		return []money.Pence{money.FromPounds(price.Pounds() * workshop.GuideSpread.Mid)}
	}
	out := make([]money.Pence, n)
	for i := range out {
		out[i] = money.FromPounds(price.Pounds() * workshop.GuideSpread.Quantile((float64(i)+0.5)/float64(n)))
	}
	return out
}

func (p *Probe) unknown(s *largerRun, i int, prices []money.Pence, whole func(money.Pence) float64) (Unknown, error) {
	u := Unknown{Candidate: s.p.Case[i], BreakEvenChance: math.NaN(), OwnCost: s.e.OwnCost(s.p, s.p.Case[i])}
	n := float64(len(s.margin))
	u.Chance = float64(s.totals.Count(i)) / n
	mask, count := s.mask(i)
	with, without := s.worlds.Select(mask, true), s.worlds.Select(mask, false)
	var err error
	if with != nil {
		if u.Present, err = p.given(s, with, mask, u.Item, true); err != nil {
			return u, err
		}
	}
	if without != nil {
		if u.Absent, err = p.given(s, without, mask, u.Item, false); err != nil {
			return u, err
		}
	}
	if with == nil || without == nil {
		return u, nil
	}
	u.MeanCost = stats.Mean(with.Repair) - stats.Mean(without.Repair)
	u.VarianceShare = varianceShare(s.margin, 2, func(i int) int {
		if mask[i] {
			return 1
		}
		return 0
	})
	there := float64(count) / n
	present, absent := with.MeanMargin(), without.MeanMargin()
	// The mix is the whole but for rounding, and so the worth without limits never
	// negative.
	a, b := there*present(p.Price), (1-there)*absent(p.Price)
	u.WorthAtGuide = max(a, 0) + max(b, 0) - max(a+b, 0)
	sel := new(stats.Selector)
	bidPresent, _ := with.HighestBid(sel)
	bidAbsent, _ := without.HighestBid(sel)
	answers := []answer{{there, bidPresent, present}, {1 - there, bidAbsent, absent}}
	u.Worth = worthOf(answers, answer{1, s.bid, whole}, prices)
	return u, nil
}

// given is how the lot stands where an item was found, or was not: as the page at the car has
// it. w are the worlds in which it is so, for what is too rare to be worked out from fewer.
func (p *Probe) given(s *largerRun, w *evaluate.Worlds, mask []bool, item damage.Item, found bool) (*Outcome, error) {
	o, err := p.Given(costs.Show(nil, item, found))
	if errors.Is(err, evaluate.ErrRare) || errors.Is(err, convolve.ErrImpossible) {
		o, err = outcome(w, p.Price), nil
	} else if err != nil {
		return nil, err
	} else if p.Assessment.Exact() {
		return o, nil
	}
	o.Error = s.errorOf(mask, found)
	return o, nil
}

// Given is how the lot stands at the price where looking has shown something of its damage. It
// fails as evaluate.Assessment.Given does.
func (p *Probe) Given(shown []costs.Shown) (*Outcome, error) {
	s, err := p.Assessment.Given(shown)
	if err != nil {
		return nil, err
	}
	return p.outcomeOf(s), nil
}

// outcomeOf is how the lot stands by its assessment, at the price.
func (p *Probe) outcomeOf(s *evaluate.Assessment) *Outcome {
	m := s.Along([]money.Pence{p.Price})[0]
	o := &Outcome{Margin: m.Mean, LossChance: m.LossChance}
	o.HighestBid, o.BidLimit = s.HighestBid()
	return o
}

// An answer is one way that looking may turn out.
type answer struct {
	chance float64
	// bid is the highest that the limits allow at this answer; margin the average at a
	// hammer price, in pounds.
	bid    money.Pence
	margin func(money.Pence) float64
}

// worth is what the answer brings at a price: its chance times the margin where the
// limits allow the price, else nothing.
func (a *answer) worth(price money.Pence) float64 {
	if a.chance == 0 || price > a.bid {
		return 0
	}
	return a.chance * a.margin(price)
}

// worthOf is what is gained by bidding on the answers rather than on what is known
// without them, on average over the prices.
func worthOf(answers []answer, without answer, prices []money.Pence) float64 {
	total := 0.0
	for _, price := range prices {
		for i := range answers {
			total += answers[i].worth(price)
		}
		total -= without.worth(price)
	}
	return total / float64(len(prices))
}

// varianceShare is the part of the variance of values that is between groups,
// numbered from 0 to k-1: the correlation ratio, which is the first-order index
// of Sobol' of what the groups are made by. For two groups of shares p and 1 - p
// and means m1 and m0 it is p (1 - p) (m1 - m0)^2 over the variance.
func varianceShare(values []float64, k int, group func(i int) int) float64 {
	sums, counts := make([]float64, k), make([]float64, k)
	for i, x := range values {
		g := group(i)
		sums[g] += x
		counts[g]++
	}
	center, whole, between := stats.Mean(values), 0.0, 0.0
	for _, x := range values {
		whole += (x - center) * (x - center)
	}
	for g, n := range counts {
		if n > 0 {
			between += n * (sums[g]/n - center) * (sums[g]/n - center)
		}
	}
	if whole == 0 {
		return 0
	}
	return between / whole
}

// everything is what it would be worth to know each car's outcome before bidding: it is
// then bought where its margin reaches the target, no loss, and the cash lasts.
func everything(s *largerRun, prices []money.Pence, whole func(money.Pence) float64) float64 {
	limits := bid.LimitsOf(&s.e.Shop().Settings)
	without := answer{1, s.bid, whole}
	total := 0.0
	var margin []float64
	for _, price := range prices {
		at := s.worlds.Deal().At(price)
		margin = s.worlds.MarginAt(at, margin)
		best := 0.0
		for i, m := range margin {
			standing := bid.Standing{Mean: m, Outlay: at.Outlay, Repair: s.worlds.Repair[i], Cash: at.Cash(0, s.worlds.Spend[i])}
			if m < 0 {
				standing.Loss = 1
			}
			if price <= s.p.Value && limits.Broken(standing) == "" {
				best += m
			}
		}
		total += best/float64(len(margin)) - without.worth(price)
	}
	return total / float64(len(prices))
}

// inputs holds one uncertain number after the other at its P10 and its P90.
func (p *Probe) inputs(e *evaluate.Evaluator, resolved *evaluate.ResolvedLot, t *simulate.Totals,
	base *evaluate.Worlds) {
	workshop := e.Shop()
	at := base.MeanMargin()(p.Price)
	// What an input does is told from worlds; where the lot itself was not, it is put
	// upon the lot's margin.
	move := p.Margin.Mean - at
	add := func(name, unit string, low, high, atLow, atHigh float64) {
		if low != high {
			p.Inputs = append(p.Inputs, Input{name, low, high, unit, atLow + move, atHigh + move})
		}
	}
	held := func(h evaluate.Overrides) float64 { return e.Worlds(resolved, t, h).WonAs(base).MeanMargin()(p.Price) }
	n := e.Draws().Points()
	spend, hours := make([]float64, n), make([]float64, n)
	for _, spot := range t.Spots() {
		t.Spot(e.Draws(), resolved.Case, spot, spend, hours)
		// A registered shop takes back the VAT in the spend, so that a dear job
		// costs it less than it seems.
		back := resolved.Deal.SpendBack
		cost, net, sum := make([]float64, n), make([]float64, n), 0.0
		for i := range cost {
			paid := resolved.Segment.Spend * spend[i]
			cost[i] = paid + workshop.LabourRate*resolved.Segment.Hours*hours[i]
			net[i] = cost[i] - back*paid
			sum += net[i]
		}
		each := slices.Clone(net)
		slices.Sort(cost)
		slices.Sort(net)
		add(spot.Zone.String()+" "+spot.Class.String(), workshop.Currency, stats.Sorted(cost, 0.1), stats.Sorted(cost, 0.9),
			p.fixedAt(e, base, each, sum/float64(n), stats.Sorted(net, 0.1)), p.fixedAt(e, base, each, sum/float64(n),
				stats.Sorted(net, 0.9)))
	}
	share, v, worth := resolved.Category.Share, resolved.Segment.ValueSpread, p.Lot.Value.Pounds()
	a := p.Result.Appraisal
	if a != nil {
		share, v, worth = a.Share(), a.Spread(), a.Value.Mean
	}
	worth *= base.Fade * (1 - share.Mean())
	low, high := share.Quantile(0.1), share.Quantile(0.9)
	add("devaluation by the marker", "share", low, high, held(evaluate.Overrides{Devaluation: &low}),
		held(evaluate.Overrides{Devaluation: &high}))
	// resale holds the part of the log sale price that has standard deviation sd, the rest varying.
	resale := func(name string, sd float64) {
		if !(sd > 0) {
			return
		}
		down, up := -stats.Z90*sd-sd*sd/2, stats.Z90*sd-sd*sd/2
		scoreDown, scoreUp := (down+v*v/2)/v, (up+v*v/2)/v
		if sd == v {
			scoreDown, scoreUp = -stats.Z90, stats.Z90
		}
		add(name, workshop.Currency, worth*math.Exp(down), worth*math.Exp(up),
			held(evaluate.Overrides{ResaleScore: &scoreDown}), held(evaluate.Overrides{ResaleScore: &scoreUp}))
	}
	if a == nil {
		resale("resale value", v)
	} else {
		resale("what the car is worth", math.Sqrt(min(a.Value.CarVar, v*v)))
		resale("luck of the sale", math.Sqrt(max(0, v*v-a.Value.CarVar)))
	}
	cheap, dear := 0.8*workshop.LabourRate, 1.25*workshop.LabourRate
	add("labour rate", workshop.Currency+" an hour", cheap, dear, held(evaluate.Overrides{LabourRate: &cheap}),
		held(evaluate.Overrides{LabourRate: &dear}))
	half, double := 0.5, 2.0
	add("lead time", "times", half, double, held(evaluate.Overrides{LeadScale: &half}),
		held(evaluate.Overrides{LeadScale: &double}))
	if days := workshop.SellDays; workshop.Fade > 0 || workshop.HoldingForSale != nil {
		short, long := days.Quantile(0.1), days.Quantile(0.9)
		times := shop.SellTimes(&resolved.Category, &resolved.Segment)
		add("days to sell", "days", times*short, times*long, held(evaluate.Overrides{SellDays: &short}),
			held(evaluate.Overrides{SellDays: &long}))
	}
	if resolved.Deal.MayStop() {
		down, up := -stats.Z90, stats.Z90
		price := resolved.Deal.At(p.Price)
		amount, times, _ := price.Brings()
		add("what it brings unfinished", workshop.Currency, times*amount.At(down), times*amount.At(up),
			held(evaluate.Overrides{Brings: &down}), held(evaluate.Overrides{Brings: &up}))
	}
	less, more := money.FromPounds(0.8*p.Price.Pounds()), money.FromPounds(1.2*p.Price.Pounds())
	if a != nil && a.Priced {
		less, more = money.FromPounds(a.Price.Quantile(0.1)), money.FromPounds(a.Price.Quantile(0.9))
	}
	add("hammer price", workshop.Currency, less.Pounds(), more.Pounds(), base.MeanMargin()(less), base.MeanMargin()(more))
	slices.SortStableFunc(p.Inputs, func(a, b Input) int { return cmp.Compare(b.Swing(), a.Swing()) })
}

// fixedAt returns the mean margin where what one place costs, net in each world, is always
// so much instead, in pounds; mean is what it costs on average.
func (p *Probe) fixedAt(e *evaluate.Evaluator, base *evaluate.Worlds, cost []float64, mean, held float64) float64 {
	if !base.Deal().MayStop() {
		return base.MeanMargin()(p.Price) + mean - held
	}
	return base.Moved(e, func(i int) float64 { return cost[i] - held }).MeanMargin()(p.Price)
}

// odds moves all suspected and hidden chances together.
func (p *Probe) odds(e *evaluate.Evaluator, resolved *evaluate.ResolvedLot) error {
	for _, k := range OddsFactors {
		moved := *resolved
		moved.Case = resolved.Case.WithOdds(k)
		s, err := e.AssessResolved(&moved)
		if err != nil {
			return err
		}
		m := s.Along([]money.Pence{p.Price})[0]
		o := Odds{Factor: k, Outcome: Outcome{Margin: m.Mean, LossChance: m.LossChance}}
		o.HighestBid, o.BidLimit = s.HighestBid()
		p.Odds = append(p.Odds, o)
	}
	return nil
}
