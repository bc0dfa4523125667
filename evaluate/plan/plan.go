// Package plan says how high to bid on each lot of a whole sale, with so many free
// bays and so much money.
//
// A lot's own limit pretends that money and bays have no end. Here each stop is
// set by what the pound and the bay would still earn in the lots to come: a
// dynamic programme over lots, free bays and money. It takes plain structs, reads no
// files and prints nothing. METHOD.md, chapter 19.
package plan

import (
	"fmt"
	"math"
	"time"
)

// moreCash is the pounds that the price of more money is quoted for.
const moreCash = 1000

// A Plan is a sale planned from where it stands.
type Plan struct {
	// Standing is where the sale stands.
	Standing Standing

	all       []Lot
	lots      []Lot // those to come
	sold      []Sold
	settings  Settings
	anyCash   bool
	bays      int // free now, as far as they can be used
	cash      float64
	most      float64 // the most pounds that there may be at hand
	mostBays  int     // the most bays that may be free
	ladders   []*ladder
	come      []gain // in sum, when each lot to come closes
	groups    []group
	in        []int // of each lot to come, the group it is in; -1
	grid      *grid
	wide      *grid       // covers moreCash on top
	table     *groupTable // bids of groups, for playing sales
	leaf      *groupTable // the same, for sheets
	decisions []Group
}

// New plans a sale. The lots are in closing order; sold are those that have
// closed, in any order. It says what is wrong with what it is given.
func New(lots []Lot, res Resources, sold []Sold, s Settings) (*Plan, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if err := res.check(); err != nil {
		return nil, err
	}
	for i := range lots {
		if err := lots[i].check(s.BidStep); err != nil {
			return nil, err
		}
		if i > 0 && !lots[i].Closes.IsZero() && lots[i].Closes.Before(lots[i-1].Closes) {
			return nil, fmt.Errorf("lot %s closes before lot %s, which is ahead of it", lots[i].Name, lots[i-1].Name)
		}
	}
	growth, err := growths(lots, res.Growth)
	if err != nil {
		return nil, err
	}
	now, err := standing(lots, res, growth, sold, &s)
	if err != nil {
		return nil, err
	}
	p := &Plan{
		Standing: now, all: lots, lots: lots[now.First:], sold: sold, settings: s, anyCash: res.Cash == NoLimit,
	}
	p.solve(growth[now.First:], res.Bays == NoLimit)
	return p, nil
}

// solve works out the grid.
func (p *Plan) solve(growth []gain, anyBays bool) {
	live, least, sum := 0, math.Inf(1), gain{}
	for i := range p.lots {
		d := newLadder(&p.lots[i], &p.settings, p.Standing.Common, p.anyCash)
		p.ladders = append(p.ladders, d)
		if len(d.cost) > 0 {
			live++
			least = min(least, d.cost[0])
		}
		sum = gain{sum.bays + growth[i].bays, sum.cash + growth[i].cash}
		p.come = append(p.come, sum)
	}
	p.cash, p.bays = p.Standing.Cash, p.Standing.Bays
	if p.anyCash {
		p.cash = 0
		growth = withoutCash(growth)
		p.come = withoutCash(p.come)
		sum.cash = 0
	}
	if anyBays {
		p.bays = live
	}
	p.most, p.mostBays = p.cash+sum.cash, p.bays+sum.bays
	useful := live // bays beyond this change nothing
	if !p.anyCash && least > 0 {
		useful = int(min(float64(useful), (p.most+moreCash)/least))
	}
	sp := space{bays: min(p.mostBays+1, useful), cash: p.cash, most: p.most, growth: growth}
	if !p.anyCash {
		cells := float64(p.settings.cells())
		sp.cells = int(cells)
		if p.cash > 0 {
			sp.cells = max(1, int(math.Ceil(cells*p.cash/p.most-1e-9)))
		}
		p.widen(sp)
	} else {
		p.grid = newGrid(p.ladders, sp)
		p.wide = p.grid
	}
	p.group()
}

// widen works out the grid, and one that covers moreCash on top: the same, but
// where its cells are so small that another is as well.
func (p *Plan) widen(sp space) {
	delta := p.most / float64(sp.cells)
	if p.cash > 0 {
		delta = p.cash / float64(sp.cells)
	}
	if delta > 0 && moreCash/delta <= 2*float64(p.settings.cells()) {
		sp.most += moreCash
		p.grid = newGrid(p.ladders, sp)
		p.wide = p.grid
		return
	}
	p.grid = newGrid(p.ladders, sp)
	sp.most += moreCash
	sp.cash, sp.cells = sp.most, p.settings.cells()
	p.wide = newGrid(p.ladders, sp)
}

func withoutCash(growth []gain) []gain {
	out := make([]gain, len(growth))
	for i, g := range growth {
		out[i].bays = g.bays
	}
	return out
}

// group finds the lots that close together, and decides on them as things stand.
func (p *Plan) group() {
	p.groups = groupsOf(p.lots, time.Duration(p.settings.Together*float64(time.Minute)))
	p.in = make([]int, len(p.lots))
	for i := range p.in {
		p.in[i] = -1
	}
	p.table = newGroupTable(p.grid, p.groups, p.most, saleLevels)
	p.leaf = newGroupTable(p.grid, p.groups, p.most, leafLevels)
	p.decisions = make([]Group, len(p.groups))
	for a, of := range p.groups {
		for _, i := range of.lots {
			p.in[i] = a
		}
	}
	parallel(len(p.groups), p.settings.Workers, func(a int) {
		bays, cash := p.at(p.groups[a].lots[0])
		p.decisions[a] = p.decide(p.groups[a], bays, cash)
	})
}

// Value returns what the sale earns over not bidding, in pounds, prices taken as
// independent and lots one by one.
func (p *Plan) Value() float64 { return p.grid.now(p.bays, p.cash) }

// Stop returns the price in pounds to stop at on a lot, by its number in the list
// of lots, with so many bays free and so much money left when it closes; 0: no bid.
// In a group it is the group's first closing that counts.
func (p *Plan) Stop(lot, bays int, cash float64) float64 {
	i := lot - p.Standing.First
	if g := p.in[i]; g >= 0 {
		return p.decide(p.groups[g], bays, cash).Stops[p.groups[g].place(i)]
	}
	return p.ladders[i].price(p.grid.stop(i, bays, cash))
}

// steps returns how many steps are bid on lot i of those to come, in a group by a table.
func (p *Plan) steps(table *groupTable, i, bays int, cash float64) int {
	if g := p.in[i]; g >= 0 {
		return table.bids(g, bays, cash)[p.groups[g].place(i)]
	}
	return p.grid.stop(i, bays, cash)
}

// at returns what is free when lot i of those to come closes, as things stand.
func (p *Plan) at(i int) (bays int, cash float64) {
	return p.bays + p.come[i].bays, p.cash + p.come[i].cash
}

// now returns how many steps are bid on lot i of those to come, as things stand.
func (p *Plan) now(i int) int {
	if g := p.in[i]; g >= 0 {
		return int(math.Round(p.decisions[g].Stops[p.groups[g].place(i)] / p.settings.BidStep))
	}
	bays, cash := p.at(i)
	return p.grid.stop(i, bays, cash)
}

// A Group is lots that close together, decided as things stand.
type Group struct {
	Lots  []int     // numbers in the list of lots
	Stops []float64 // pounds; 0: no bid
	// SpokenFor is what the bids hold until all are known, in pounds.
	SpokenFor float64
	// Value is what the group and all behind it earn, in pounds.
	Value float64
}

// decide decides on a group in a state.
func (p *Plan) decide(of group, bays int, cash float64) Group {
	bids, value := newBidding(p.grid, of, bays, cash, lowerStops).decide()
	out := Group{Value: value, Stops: make([]float64, len(of.lots))}
	for _, i := range of.lots {
		out.Lots = append(out.Lots, p.Standing.First+i)
	}
	for _, x := range bids {
		out.Stops[of.place(x.lot)] = p.ladders[x.lot].price(x.step + 1)
		out.SpokenFor += p.ladders[x.lot].tied[x.step]
	}
	return out
}
