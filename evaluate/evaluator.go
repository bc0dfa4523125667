package evaluate

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"

	"wreckoner/damage"
	"wreckoner/damage/book"
	"wreckoner/evaluate/amount"
	"wreckoner/evaluate/world"
)

// DefaultPoints is the number of worlds per lot where Options name none: half
// of all lots then have their P90 within 0.4 %, the mean within 0.1 %.
const DefaultPoints = 8192

// Options say how lots are evaluated. The zero value is ready to use.
type Options struct {
	// Points is the number of worlds per lot, a power of two. Zero means
	// DefaultPoints.
	Points int
	// Seed picks the worlds; any number will do.
	Seed uint64
	// Workers bounds the lots evaluated at once. Zero means GOMAXPROCS. It never
	// changes a result.
	Workers int
	// Factor maps a share in (0,1) to the severity factor of that rank. Nil is
	// the standard normal.
	Factor func(p float64) float64
}

// An Evaluator judges lots by one shop. It is safe for concurrent use.
type Evaluator struct {
	shop  *Shop
	opt   Options
	space *world.Space

	fixed, fixedVAT []float64   // all fixed items, and the VAT-carrying of them
	stretch, sale   []float64   // factor on lead times, days to sell
	extras          []lazyExtra // amount of each extra
	resale          [][]unit    // by category row and segment
}

// lazyExtra is what an extra costs in each world, and in which it is charged
// where the lot's column says nothing.
type lazyExtra struct {
	once    sync.Once
	values  []float64
	unknown []int32
}

// unit is the resale price of a car worth one pound before the damage.
type unit struct {
	once   sync.Once
	values []float64
	spread Spread
}

// New returns an evaluator for the shop, or says what in the shop or the
// options cannot be computed with.
func New(shop *Shop, opt Options) (*Evaluator, error) {
	if opt.Points == 0 {
		opt.Points = DefaultPoints
	}
	if opt.Workers <= 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	if err := shop.check(); err != nil {
		return nil, err
	}
	space, err := world.New(world.Settings{
		Points: opt.Points, Seed: opt.Seed, Factor: opt.Factor,
		SeverityLink: shop.SeverityLink, HiddenLink: shop.HiddenLink,
	}, shop.Book)
	if err != nil {
		return nil, err
	}
	e := &Evaluator{
		shop: shop, opt: opt, space: space,
		fixed: make([]float64, opt.Points), fixedVAT: make([]float64, opt.Points),
		extras: make([]lazyExtra, len(shop.Extras)),
		resale: make([][]unit, len(shop.Categories)),
	}
	e.stretch, e.sale = e.read(shop.LeadSpread, world.LeadDim), e.read(shop.SellDays, world.SaleDim)
	for i, c := range shop.Fixed {
		for w, x := range e.read(c.Amount, e.fixedDim(i)) {
			e.fixed[w] += x
			if c.VAT {
				e.fixedVAT[w] += x
			}
		}
	}
	for i := range e.resale {
		e.resale[i] = make([]unit, len(shop.Segments))
	}
	return e, nil
}

// Shop returns the shop that the evaluator judges by.
func (e *Evaluator) Shop() *Shop { return e.shop }

// Options returns the options, with their defaults filled in.
func (e *Evaluator) Options() Options { return e.opt }

// Space returns the worlds.
func (e *Evaluator) Space() *world.Space { return e.space }

// fixedDim is the coordinate of a fixed item's amount.
func (e *Evaluator) fixedDim(i int) int { return world.ShopDim + i }

// extraDim is the coordinate of an extra's amount; the next is that of its
// being charged at all.
func (e *Evaluator) extraDim(i int) int { return world.ShopDim + len(e.shop.Fixed) + 2*i }

func (e *Evaluator) extra(i int) *lazyExtra {
	x := &e.extras[i]
	x.once.Do(func() {
		extra := e.shop.Extras[i]
		x.values = e.read(extra.Amount, e.extraDim(i))
		x.unknown = e.space.Lottery(e.extraDim(i)+1, extra.UnknownChance)
	})
	return x
}

// read returns the amount in each world, by the score of one coordinate.
func (e *Evaluator) read(a amount.Amount, dim int) []float64 {
	values := make([]float64, e.opt.Points)
	for w, z := range e.space.Score(dim) {
		values[w] = a.At(z)
	}
	return values
}

// unitResale returns the resale price per pound of value in each world.
func (e *Evaluator) unitResale(category, segment int) *unit {
	u := &e.resale[category][segment]
	u.once.Do(func() {
		u.values = make([]float64, e.opt.Points)
		share, spread := e.shop.Categories[category].Share, e.shop.Segments[segment].ValueSpread
		zd, w := e.space.Score(world.DevaluationDim), e.space.Score(world.ResaleDim)
		for i := range u.values {
			u.values[i] = resale(min(1, share.At(zd[i])), spread, w[i])
		}
		var sel amount.Selector
		u.spread = spreadOf(&sel, u.values)
	})
	return u
}

// resale is the price of a car worth one pound, less the marker's share, in a
// market that stands at score w. Its mean over w is 1 - share.
func resale(share, spread, w float64) float64 {
	return (1 - share) * math.Exp(spread*w-spread*spread/2)
}

// A Prospect is a lot with all that the shop says of it looked up.
type Prospect struct {
	Lot      *Lot
	Segment  Segment
	Category Category
	Case     book.Case
	Warnings []Warning

	category, segment int
	extras            []applied
}

// applied is an extra that is charged, surely or where the unknown turns out so.
type applied struct {
	extra int
	sure  bool
}

// Prospect looks up what the shop says of a coded lot. It fails where the shop
// has no such category or segment, or no book row for what may be wrong.
func (e *Evaluator) Prospect(lot *Lot) (*Prospect, error) {
	p := &Prospect{Lot: lot}
	var ok bool
	if p.segment, ok = e.shop.Segment(lot.Segment); !ok {
		return nil, fmt.Errorf("lot %s: the shop has no segment %q", lot.Number, lot.Segment)
	}
	p.Segment = e.shop.Segments[p.segment]
	if p.category, ok = e.shop.Category(lot.Category, p.Segment.Name); !ok {
		return nil, fmt.Errorf("lot %s: the shop has no category %q for the segment %s", lot.Number, lot.Category, p.Segment.Name)
	}
	p.Category = e.shop.Categories[p.category]
	found := book.Findings(lot.Code, e.shop.SuspectedChance)
	found = append(found, p.doubts(found, e.shop.UncodedStructure)...)
	var err error
	if p.Case, err = e.shop.Book.Case(p.Segment.Name, found); err != nil {
		return nil, err
	}
	for i, x := range e.shop.Extras {
		if chance := x.chance(p); chance > 0 {
			p.extras = append(p.extras, applied{i, chance >= 1})
		}
	}
	p.thin(e.shop.Book)
	return p, nil
}

// chance returns that of the extra for a lot.
func (x Extra) chance(p *Prospect) float64 {
	if x.Column == "" {
		return 1
	}
	cell := ""
	switch x.Column {
	case "category":
		cell = p.Category.Name
	case "segment":
		cell = p.Segment.Name
	case "site":
		cell = p.Lot.Site
	default:
		cell = p.Lot.Cells[x.Column]
	}
	switch cell = strings.TrimSpace(cell); {
	case strings.EqualFold(cell, x.Value):
		return 1
	case cell == "" || strings.EqualFold(cell, "unknown"):
		return x.UnknownChance
	}
	return 0
}

// doubts warns where category and code do not fit each other, and returns the
// structural damage that a category S car must have somewhere.
func (p *Prospect) doubts(found []book.Finding, uncoded float64) (more []book.Finding) {
	var structural, heavy, restraint, impact bool
	whole := [damage.ClassCount]bool{}
	for _, f := range found {
		if f.State == damage.Absent {
			continue
		}
		structural = structural || f.Class == damage.Structural
		heavy = heavy || f.Class == damage.Structural && f.Grade >= 2 && f.State == damage.Seen
		restraint = restraint || f.Class == damage.Restraint
		impact = impact || f.Zone.Impact()
		whole[f.Class] = whole[f.Class] || f.Zone == damage.Whole
		if f.State == damage.Suspected {
			p.warn("suspected", fmt.Sprintf("%s %.0f %%", f.Item, 100*f.Chance), "%s is suspected, counted at %.0f %%", f.Item, 100*f.Chance)
		}
	}
	for _, f := range found {
		if f.State != damage.Absent && f.Zone != damage.Whole && whole[f.Class] {
			p.warn("whole", fmt.Sprintf("%s of %s", f.Class, f.Zone), "%s damage is coded for the whole car and for the %s: both are charged", f.Class, f.Zone)
		}
	}
	switch {
	case strings.EqualFold(p.Category.Name, "S") && !structural:
		text, short := "category S means structural damage, and none is coded", "S without structural damage"
		if worst, ok := worstZone(found); ok && uncoded > 0 {
			item := damage.Item{Spot: damage.Spot{Zone: worst, Class: damage.Structural}, Grade: 2}
			more = append(more, book.Finding{Item: item, State: damage.Suspected, Chance: uncoded})
			text += fmt.Sprintf("; %s is counted at %.0f %%", item, 100*uncoded)
			short += fmt.Sprintf(": %s counted at %.0f %%", item, 100*uncoded)
		}
		p.warn("category", short, "%s", text)
	case strings.EqualFold(p.Category.Name, "N") && heavy:
		p.warn("category", "N with structural damage: ask why", "category N means no structural damage, but some is coded: ask why")
	}
	if restraint && !impact {
		p.warn("restraint", "", "restraint damage with no outside zone hit: ask what fired it")
	}
	return more
}

func (p *Prospect) warn(kind, short, format string, args ...any) {
	p.Warnings = append(p.Warnings, Warning{Kind: kind, Text: fmt.Sprintf(format, args...), Short: short})
}

// worstZone returns the zone hit worst in which structural damage is not ruled
// out: the highest grade, then the largest sum of grades, then the first. Zones
// that a collision can hit come before the others.
func worstZone(found []book.Finding) (damage.Zone, bool) {
	best, bestZone := 0, damage.Zone(0)
	for _, z := range damage.Zones() {
		top, sum, ruledOut := 0, 0, false
		for _, f := range found {
			switch {
			case f.Zone != z:
			case f.State == damage.Absent:
				ruledOut = ruledOut || f.Class == damage.Structural && f.Grade <= 2
			default:
				top, sum = max(top, int(f.Grade)), sum+int(f.Grade)
			}
		}
		if top == 0 || ruledOut {
			continue
		}
		score := 1000*top + sum
		if z.Impact() {
			score += 100000
		}
		if score > best {
			best, bestZone = score, z
		}
	}
	return bestZone, best > 0
}

// ThinBuilds is the experience below which a book row is called thin.
const ThinBuilds = 3

// thin warns of book rows with little behind them.
func (p *Prospect) thin(b *book.Book) {
	var names []string
	for _, c := range p.Case {
		if row := b.Rows()[c.Row]; c.Kind != book.Hidden && row.Builds < ThinBuilds {
			names = append(names, c.Item.String())
		}
	}
	if len(names) > 0 {
		p.warn("thin", strings.Join(names, ", "), "fewer than %d builds stand behind the book's figure for %s", ThinBuilds, strings.Join(names, ", "))
	}
}

// Evaluate judges one lot. It fails only as Prospect does.
func (e *Evaluator) Evaluate(lot *Lot) (*Result, error) { return e.Bench().Evaluate(lot) }

// A Bench judges one lot after the other with memory of its own. It is not for
// concurrent use.
type Bench struct {
	e *Evaluator
	bench
}

// Bench returns a bench for one goroutine.
func (e *Evaluator) Bench() *Bench { return &Bench{e: e} }

// Evaluate is Evaluator.Evaluate.
func (b *Bench) Evaluate(lot *Lot) (*Result, error) { return b.e.evaluate(lot, &b.bench) }

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
			var b bench
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

// bench is one worker's memory.
type bench struct {
	tally  world.Tally
	worlds Worlds
	sel    amount.Selector
	margin []float64
	where  []bool
}

var (
	repairShares = []float64{0.1, 0.5, 0.8, 0.9, 0.95}
	spreadShares = []float64{0.1, 0.5, 0.9}
)

func (e *Evaluator) evaluate(lot *Lot, b *bench) (*Result, error) {
	r := &Result{Lot: lot, Guide: lot.Guide}
	if i, ok := e.shop.Category(lot.Category, lot.Segment); ok && !e.shop.Categories[i].Rebuild {
		r.Status, r.Reason = Excluded, e.shop.Categories[i].Note
		if r.Reason == "" {
			r.Reason = "may not return to the road"
		}
		return r, nil
	}
	if !lot.Code.Coded() {
		r.Status, r.Reason = Uncoded, "no damage code: nobody has said what is damaged"
		return r, nil
	}
	p, err := e.Prospect(lot)
	if err != nil {
		return nil, err
	}
	r.Warnings = p.Warnings
	if r.Guide == 0 && p.Category.GuideShare > 0 {
		r.Guide, r.GuideGuessed = amountOf(lot, p.Category.GuideShare), true
		r.warn("no-guide", "no guide price: %s, %.0f %% of the value, is assumed", r.Guide, 100*p.Category.GuideShare)
	}
	if r.Status = Ranked; r.Guide == 0 {
		r.Status, r.Reason = Unpriced, "no guide price, so no margin"
	}
	if lot.Site == "" {
		r.warn("no-site", "no site: only the fees of every site are counted")
	}
	e.vatWarning(r, p)

	b.tally.Sum(e.space, p.Case)
	w := e.worlds(p, b, Held{})
	r.Repair = repairOf(&b.sel, w.Repair)
	half := 1.96 * e.standardError(p, &b.tally, r.Repair.Mean)
	r.Repair.CILow, r.Repair.CIHigh = max(0, r.Repair.Mean-half), r.Repair.Mean+half
	r.Hours, r.Days = spreadOf(&b.sel, w.Hours), spreadOf(&b.sel, w.Days)
	r.Resale = e.unitResale(p.category, p.segment).spread.times(lot.Value.Pounds())
	r.Hidden = hiddenOf(p.Case, &b.tally, r.Repair, w.Repair)
	r.HighestBid, r.BidLimit = w.HighestBid(&b.sel)
	if r.Status == Ranked {
		r.Outlay, _, _ = w.Outlay(r.Guide)
		b.margin = w.Margin(r.Guide, b.margin)
		r.Margin = marginOf(&b.sel, b.margin)
	}
	return r, nil
}

func (r *Result) warn(kind, format string, args ...any) {
	r.Warnings = append(r.Warnings, Warning{Kind: kind, Text: fmt.Sprintf(format, args...)})
}

// nearThreshold is the share of the VAT registration threshold from which a
// shop is told to take advice.
const nearThreshold = 0.85

func (e *Evaluator) vatWarning(r *Result, p *Prospect) {
	s := &e.shop.Settings
	if s.VATRegistered || s.Turnover == 0 || s.VATThreshold == 0 {
		return
	}
	if s.Turnover+(1-p.Category.Share.Mean())*p.Lot.Value.Pounds() > nearThreshold*s.VATThreshold {
		r.warn("vat", "with this sale the shop's turnover comes near the VAT registration threshold: take advice")
	}
}

// standardError is that of the mean repair, as far as it is due to how well the
// book is known: for each row, the standard deviation of its cost at the chance
// that it is charged, over the root of its builds; for each rule, its chance's
// binomial error times the mean cost of what it brings; and what the whole book
// may be off by.
func (e *Evaluator) standardError(p *Prospect, t *world.Tally, mean float64) float64 {
	rows, rules := map[int]float64{}, map[int]float64{}
	var rowOrder, ruleOrder []int // sums in a fixed order, so that they are the same bytes
	for i, c := range p.Case {
		m := e.space.Moments(c.Item)
		spend, labour := p.Segment.Spend, e.shop.LabourRate*p.Segment.Hours
		if _, ok := rows[c.Row]; !ok {
			rowOrder = append(rowOrder, c.Row)
		}
		rows[c.Row] += t.Charged(i) * m.SD(spend, labour)
		for _, tr := range c.Triggers {
			shares := t.CodedShares(tr.Spot)
			for g, n := range tr.Rule {
				if n < 0 || shares[g] == 0 {
					continue
				}
				if _, ok := rules[n]; !ok {
					ruleOrder = append(ruleOrder, n)
				}
				rules[n] += shares[g] * m.Mean(spend, labour)
			}
		}
	}
	square := e.shop.BookBias * mean * e.shop.BookBias * mean
	for _, n := range rowOrder {
		square += rows[n] * rows[n] / e.shop.Book.Rows()[n].Builds
	}
	for _, n := range ruleOrder {
		r := e.shop.Book.Rules()[n]
		square += rules[n] * rules[n] * r.Chance * (1 - r.Chance) / (r.Seen + 1)
	}
	return math.Sqrt(square)
}

func hiddenOf(c book.Case, t *world.Tally, r Repair, repair []float64) []Hidden {
	var out []Hidden
	n := float64(len(repair))
	for i, x := range c {
		if x.Kind != book.Hidden {
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

func repairOf(sel *amount.Selector, repair []float64) Repair {
	var r Repair
	r.Mean, r.SD = meanSD(repair)
	var q [5]float64
	sel.Quantiles(repair, repairShares, q[:])
	r.P10, r.P50, r.P80, r.P90, r.P95 = q[0], q[1], q[2], q[3], q[4]
	return r
}

func marginOf(sel *amount.Selector, margin []float64) Margin {
	var m Margin
	m.Mean, m.SD = meanSD(margin)
	var q [3]float64
	m.Shortfall = sel.QuantilesAndWorst(margin, spreadShares, q[:], 0.1)
	m.P10, m.P50, m.P90 = q[0], q[1], q[2]
	m.LossChance = lossChance(margin)
	return m
}

func lossChance(margin []float64) float64 {
	below := 0
	for _, x := range margin {
		if x < 0 {
			below++
		}
	}
	return float64(below) / float64(len(margin))
}

func spreadOf(sel *amount.Selector, values []float64) Spread {
	var q [3]float64
	sel.Quantiles(values, spreadShares, q[:])
	return Spread{mean(values), q[0], q[1], q[2]}
}

func (s Spread) times(k float64) Spread { return Spread{k * s.Mean, k * s.P10, k * s.P50, k * s.P90} }

func mean(values []float64) float64 {
	sum := 0.0
	for _, x := range values {
		sum += x
	}
	return sum / float64(len(values))
}

// meanSD goes over the values twice, as a one-pass sum of squares loses digits.
func meanSD(values []float64) (m, sd float64) {
	m = mean(values)
	square := 0.0
	for _, x := range values {
		square += (x - m) * (x - m)
	}
	return m, math.Sqrt(square / float64(len(values)))
}
