package plan

import (
	"math"
	"slices"

	"wreckoner/evaluate/stats"
)

// A Result is all that a plan says. Amounts are pounds.
type Result struct {
	Standing Standing
	// Cash and Bays are what is free now; Cash NoLimit where money is not limited, Bays
	// those that can be used where they are not.
	Cash float64
	Bays int
	// Independent is what the sale earns with prices taken as independent and lots
	// one by one: the plan's own value.
	Independent float64
	// Gain, Cars, Tied and Hours are means, prices linked: what it makes over
	// not bidding, cars bought, money tied up, own hours.
	Gain, Cars, Tied, Hours float64
	// P10, P50, P90 of what the sale makes, with errors that all cars share, the
	// chance that it makes a loss, that nothing is bought.
	P10, P50, P90, LossChance, NoneChance float64
	// Simulated is the mean of the simulated sales, SimulatedSE its standard
	// error.
	Simulated, SimulatedSE float64
	// BayMore is what one more bay adds, ThousandMore what 1,000 more does.
	BayMore, ThousandMore float64
	// OwnLimits is what bidding each lot to its own limit makes of the same sales,
	// FixedRule wanting FixedShare of the money tied up, SheetGain going by the sheet of 6 levels,
	// TableGain by the table of 24 by bays.
	OwnLimits, FixedRule, FixedShare, SheetGain, TableGain float64
	// MoneyShort is the share of sales in which the money does not last, as spend
	// turns out. Nil: not known, or money is not limited.
	MoneyShort *float64
	Lots       []LotPlan
	Groups     []Group
	Sheet6     Sheet // for a screen
	Sheet8     Sheet // for paper
	Table      Table // 24 levels by bays
	Facts      Facts
}

// A LotPlan is what a plan says of one lot to come.
type LotPlan struct {
	Lot   int     // number in the list of lots
	Stop  float64 // as things stand, pounds; 0: no bid
	Needs float64 // money that it ties up at the stop
	// WinChance is the chance to win at the stop if it comes to that lot as things
	// stand, BuyChance of buying it as seen from now; both where Known.
	WinChance, BuyChance float64
	Known                bool
	Gain                 float64 // what it is expected to make, seen from now
	// BayPrice and MoneyPrice are what the bay, and the money tied up at the stop, would
	// still earn in the lots behind; where the stop is 0, at the first step.
	BayPrice, MoneyPrice float64
	Holds                Hold
	// Behind are the lots behind with most expected gain, two at most.
	Behind []int
	Group  int     // number in Groups; -1: none
	After  []After // after 0, 1, 2 ... bought
	Never  bool    // no bid, whatever is left
	Hardly bool    // a stop, but a chance under 1 in 100
}

// A Hold says what holds a stop.
type Hold string

// What may hold a stop: the lot's own limit, to a step; or what the bay, or the
// money, earns in other lots.
const (
	HeldByLimit Hold = "limit"
	HeldByBay   Hold = "bay"
	HeldByMoney Hold = "money"
)

// Work works all of it out. The same plan gives the same bytes, whatever the
// workers.
func (p *Plan) Work() Result {
	g := p.grid
	r := Result{
		Standing: p.Standing, Cash: p.cash, Bays: p.bays, Independent: p.Value(),
		BayMore:      g.now(p.bays+1, p.cash) - g.now(p.bays, p.cash),
		ThousandMore: p.wide.now(p.bays, p.cash+moreCash) - p.wide.now(p.bays, p.cash),
		Groups:       p.decisions,
	}
	if p.anyCash {
		r.Cash = NoLimit
	}
	seen := p.sight()
	r.Sheet6, r.Sheet8, r.Table = p.sheet(seen, 6), p.sheet(seen, 8), p.byBays(24)
	flows := p.simulated(&r)
	if len(p.groups) == 0 {
		flows = g.expected(p.bays, p.cash, p.Standing.Common, p.settings.Workers)
	}
	for i, f := range flows {
		r.Gain += f.margin
		r.Cars += f.buy
		r.Tied += f.tied
		r.Hours += f.buy * p.lots[i].Hours
	}
	for i := range p.lots {
		r.Lots = append(r.Lots, p.lot(i, flows, seen.after[i], &r))
	}
	r.Facts = p.facts(&r)
	return r
}

// lot gathers what is said of lot i of those to come.
func (p *Plan) lot(i int, flows []flow, after []After, r *Result) LotPlan {
	d, n := p.ladders[i], p.now(i)
	out := LotPlan{
		Lot: p.Standing.First + i, Stop: d.price(n), Known: d.known, Gain: flows[i].margin,
		WinChance: d.winChance(n), BuyChance: flows[i].buy, Group: p.in[i], After: after, Behind: p.behind(i, flows),
	}
	if n > 0 {
		out.Needs = d.tied[n-1]
	}
	out.Hardly = d.known && n > 0 && out.WinChance < 0.01
	out.Never = n == 0 && !slices.ContainsFunc(r.Table.Stops[i], func(row []float64) bool {
		return slices.ContainsFunc(row, func(x float64) bool { return x > 0 })
	})
	if len(d.cost) == 0 {
		return out
	}
	last := i
	bays, cash := p.at(i)
	if k := p.in[i]; k >= 0 {
		last = p.groups[k].lots[len(p.groups[k].lots)-1]
	}
	left := cash - d.cost[max(n-1, 0)]
	rest := p.grid.after(last, bays, left)
	out.BayPrice = rest - p.grid.after(last, bays-1, left)
	out.MoneyPrice = p.grid.after(last, bays, cash) - rest
	switch {
	case n >= len(d.cost)-1:
		out.Holds = HeldByLimit
	case out.BayPrice > out.MoneyPrice:
		out.Holds = HeldByBay
	default:
		out.Holds = HeldByMoney
	}
	return out
}

// behind returns the two lots behind lot i, and its group, with most expected gain.
func (p *Plan) behind(i int, flows []flow) []int {
	from := i + 1
	if g := p.in[i]; g >= 0 {
		from = p.groups[g].lots[len(p.groups[g].lots)-1] + 1
	}
	var out []int
	for range 2 {
		best := -1
		for j := from; j < len(flows); j++ {
			if flows[j].margin > 0 && (best < 0 || flows[j].margin > flows[best].margin) &&
				!slices.Contains(out, p.Standing.First+j) {
				best = j
			}
		}
		if best >= 0 {
			out = append(out, p.Standing.First+best)
		}
	}
	return out
}

// fixedShares is how many shares of the money tied up are tried, 0.05 apart.
const fixedShares = 31

// An ending is how one simulated sale ends.
type ending struct {
	gain, made, limits, sheet, table, fixed float64
	none, short                             bool
}

// simulated plays the sales, fills in what they say, and returns each lot's
// share in them.
func (p *Plan) simulated(r *Result) []flow {
	m := &simulator{
		lots: p.ladders, groups: p.groups, in: p.in, bays: p.bays, cash: p.cash, come: p.come, common: p.Standing.Common,
	}
	for i := range p.lots {
		m.lucks = append(m.lucks, newLuck(&p.lots[i], &p.settings))
	}
	r.FixedShare = p.bestShare(m)
	draws := p.settings.draws()
	ends, flows := make([]ending, draws), make([][]flow, (draws+block-1)/block)
	rules := p.rules(m, r)
	parallel(len(flows), p.settings.Workers, func(b int) {
		flows[b] = make([]flow, len(p.lots))
		var s sale
		var what []bought
		for n := b * block; n < min(draws, (b+1)*block); n++ {
			m.draw(p.settings.Seed, n, true, &s)
			what = m.run(&s, rules.plan, what)
			ends[n] = m.ending(&s, what, flows[b])
			ends[n].limits = m.earned(&s, rules.limits, &what)
			ends[n].sheet = m.earned(&s, rules.sheet, &what)
			ends[n].table = m.earned(&s, rules.table, &what)
			ends[n].fixed = m.earned(&s, rules.fixed, &what)
		}
	})
	p.summarise(r, ends)
	return meanFlows(flows, len(p.lots), draws)
}

// block is how many sales are played in one go.
const block = 64

// playedRules are the rules that are played on the same sales.
type playedRules struct{ plan, limits, sheet, table, fixed *rule }

func (p *Plan) rules(m *simulator, r *Result) playedRules {
	stepsOf := func(price float64) int { return int(math.Round(price / p.settings.BidStep)) }
	return playedRules{
		plan:   m.byPlan(p.grid, p.table),
		limits: m.byLimit(),
		fixed:  m.byShare(r.FixedShare),
		sheet: m.byStops(func(i, _ int, cash float64) int {
			return stepsOf(r.Sheet6.Stops[i][nearest(r.Sheet6.Levels, cash)])
		}),
		table: m.byStops(func(i, bays int, cash float64) int { return stepsOf(r.Table.Stop(i, bays, cash)) }),
	}
}

func (m *simulator) earned(s *sale, r *rule, room *[]bought) float64 {
	*room = m.run(s, r, *room)
	return m.margin(*room)
}

// ending reads how a sale ends by the plan, and adds its lots to flows.
func (m *simulator) ending(s *sale, what []bought, flows []flow) ending {
	e := ending{gain: m.margin(what), none: len(what) == 0}
	e.made = e.gain
	over, left := 0.0, m.cash
	if n := len(m.come); n > 0 {
		left += m.come[n-1].cash
	}
	for _, b := range what {
		u, d := &m.lucks[b.lot], m.lots[b.lot]
		e.made += u.draw(s.market, s.table, b.luck)
		over += u.over(s.table, b.cash)
		left -= b.cost
		flows[b.lot].buy++
		flows[b.lot].tied += d.tied[b.step]
		flows[b.lot].margin += d.margin[b.step]
	}
	e.short = over > left+1e-9
	return e
}

func meanFlows(blocks [][]flow, lots, draws int) []flow {
	out := make([]flow, lots)
	for _, flows := range blocks {
		for i, f := range flows {
			out[i].buy += f.buy / float64(draws)
			out[i].tied += f.tied / float64(draws)
			out[i].margin += f.margin / float64(draws)
		}
	}
	return out
}

// summarise fills in the means, quantiles and chances of the sales.
func (p *Plan) summarise(r *Result, ends []ending) {
	n := float64(len(ends))
	made, square, loss, none, short := make([]float64, len(ends)), 0.0, 0, 0, 0
	for a, e := range ends {
		made[a] = e.made
		r.Simulated += e.gain / n
		square += e.gain * e.gain / n
		r.OwnLimits += e.limits / n
		r.SheetGain += e.sheet / n
		r.TableGain += e.table / n
		r.FixedRule += e.fixed / n
		loss += one(e.made < 0)
		none += one(e.none)
		short += one(e.short)
	}
	r.SimulatedSE = math.Sqrt(max(0, square-r.Simulated*r.Simulated) / n)
	r.LossChance, r.NoneChance = float64(loss)/n, float64(none)/n
	slices.Sort(made)
	r.P10, r.P50, r.P90 = stats.Sorted(made, 0.1), stats.Sorted(made, 0.5), stats.Sorted(made, 0.9)
	if !p.anyCash && !slices.ContainsFunc(p.lots, func(l Lot) bool { return l.Limit > 0 && !l.SpendKnown }) {
		share := float64(short) / n
		r.MoneyShort = &share
	}
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// bestShare returns the share of the money tied up that makes most as a fixed rule,
// on other sales than those that it is judged on.
func (p *Plan) bestShare(m *simulator) float64 {
	rules := make([]*rule, fixedShares)
	for a := range rules {
		rules[a] = m.byShare(float64(a) / 20)
	}
	draws := p.settings.draws()
	sums := make([][fixedShares]float64, (draws+block-1)/block)
	parallel(len(sums), p.settings.Workers, func(b int) {
		var s sale
		var what []bought
		for n := b * block; n < min(draws, (b+1)*block); n++ {
			m.draw(p.settings.Seed+1, n, false, &s)
			for a, r := range rules {
				sums[b][a] += m.earned(&s, r, &what)
			}
		}
	})
	best, most := 0, math.Inf(-1)
	for a := range rules {
		sum := 0.0
		for b := range sums {
			sum += sums[b][a]
		}
		if sum >= most {
			best, most = a, sum
		}
	}
	return float64(best) / 20
}
