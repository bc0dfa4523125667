package plan

import (
	"slices"
	"sort"
	"sync"
	"time"
)

// Bids out at a time, rounds of setting all of them anew, bands of a bid's prices,
// up to how many bids they are told apart, and lower stops tried. METHOD.md 19.20.
const (
	mostBids   = 12
	sweeps     = 3
	bands      = 3
	bandedBids = 5
	lowerStops = 24
	saleLevels = 100 // of money, where sales are played
	leafLevels = 24  // on a sheet: 6, 8 and 24 levels are among them
)

// A group is lots that close together: bids on all of them are out before any
// result is known.
type group struct{ lots []int }

// place returns where in the group a lot is.
func (g group) place(lot int) int { return slices.Index(g.lots, lot) }

// groupsOf returns the groups of two lots and more, in closing order: lots that close
// within so long of the group's first.
func groupsOf(lots []Lot, within time.Duration) []group {
	var out []group
	for i := 0; i < len(lots); {
		end := i + 1
		for end < len(lots) && closeTogether(&lots[i], &lots[end], within) {
			end++
		}
		if end > i+1 {
			var g group
			for j := i; j < end; j++ {
				g.lots = append(g.lots, j)
			}
			out = append(out, g)
		}
		i = end
	}
	return out
}

func closeTogether(a, b *Lot, within time.Duration) bool {
	if a.Closes.IsZero() || b.Closes.IsZero() || a.DayOnly || b.DayOnly {
		return false
	}
	return b.Closes.Sub(a.Closes) <= within
}

// A bid of a group: a lot and the step, from 0, that it stops at.
type bid struct{ lot, step int }

// A bidding decides a group's bids in one state.
type bidding struct {
	g     *grid
	lots  []int // those that a bid on can add to
	last  int   // the group's last lot
	bays  int
	cash  float64
	lower int       // how many lower stops are tried, 0 for none
	most  []float64 // of each lot that can be bid on, the most that a bid can add
	rays  []ray     // room for what follows
	pass  float64
}

// An outcome is what some bids may win.
type outcome struct {
	chance float64
	bays   int
	cash   float64
}

// newBidding readies a decision on a group.
func newBidding(g *grid, of group, bays int, cash float64, lower int) *bidding {
	b := &bidding{g: g, last: of.lots[len(of.lots)-1], bays: min(bays, g.bays), cash: cash, lower: lower}
	for _, i := range of.lots {
		if most := g.lots[i].potential(); most > tie {
			b.lots, b.most = append(b.lots, i), append(b.most, most)
		}
	}
	sort.Sort(b)
	return b
}

// By falling promise, then by closing order.
func (b *bidding) Len() int { return len(b.lots) }

func (b *bidding) Less(i, j int) bool {
	return b.most[i] > b.most[j] || b.most[i] == b.most[j] && b.lots[i] < b.lots[j]
}

func (b *bidding) Swap(i, j int) {
	b.lots[i], b.lots[j] = b.lots[j], b.lots[i]
	b.most[i], b.most[j] = b.most[j], b.most[i]
}

// outcomes returns all that the bids may win, each bid's prices in bands of
// equal chance, by their mean.
func (b *bidding) outcomes(bids []bid) []outcome {
	out := []outcome{{1, 0, 0}}
	parts := bands
	if len(bids) > bandedBids {
		parts = 1
	}
	for _, x := range bids {
		one := b.banded(x, parts)
		next := make([]outcome, 0, len(out)*len(one))
		for _, p := range out {
			for _, q := range one {
				next = append(next, outcome{p.chance * q.chance, p.bays + q.bays, p.cash + q.cash})
			}
		}
		out = next
	}
	return out
}

func (b *bidding) banded(x bid, parts int) []outcome {
	d := b.g.lots[x.lot]
	all := 0.0
	for _, p := range d.chance[:x.step+1] {
		all += p
	}
	one := []outcome{{1 - all, 0, 0}}
	if all <= 1e-12 {
		return one
	}
	for a := range parts {
		low, high := all*float64(a)/float64(parts), all*float64(a+1)/float64(parts)
		sum, cost, cum := 0.0, 0.0, 0.0
		for j, p := range d.chance[:x.step+1] {
			in := max(0, min(cum+p, high)-max(cum, low))
			cum += p
			sum += in
			cost += in * d.cost[j]
		}
		one = append(one, outcome{sum, 1, cost / sum})
	}
	return one
}

// best returns the stop of a lot given the other bids, -1 for no bid, and what it adds.
func (b *bidding) best(lot int, others []bid) (int, float64) {
	d := b.g.lots[lot]
	free := b.cash
	for _, o := range others {
		free -= b.g.lots[o.lot].cost[o.step]
	}
	b.rows(b.outcomes(others))
	adds := 0.0
	for j := range d.worth {
		if d.cost[j] > free+1e-9 {
			return j - 1, adds
		}
		gain := d.worth[j] + b.passing(d.cost[j]/b.g.delta)
		if gain < -tie {
			return j - 1, adds
		}
		adds += d.chance[j] * gain
	}
	return len(d.worth) - 1, adds
}

// A ray is what follows an outcome, where one lot more is bought: its chance, a row of
// the grid, and the cell that the money is at before that lot is paid for.
type ray struct {
	chance float64
	row    []float64
	cell   float64
}

// rows readies what follows each outcome.
func (b *bidding) rows(outcomes []outcome) {
	b.rays, b.pass = b.rays[:0], 0
	next := b.g.next[b.last]
	for _, o := range outcomes {
		b.pass += o.chance * b.g.after(b.last, b.bays-o.bays, b.cash-o.cash)
		if o.chance > 0 {
			row := next[max(0, b.bays-o.bays-1)*b.g.size:]
			b.rays = append(b.rays, ray{o.chance, row, (b.cash - o.cash) / b.g.delta})
		}
	}
}

// passing returns by how much what follows is better where one lot more is bought
// for so many cells of money, over not buying it.
func (b *bidding) passing(need float64) float64 {
	sum, last := 0.0, float64(b.g.size-1)
	for a := range b.rays {
		r := &b.rays[a]
		x := max(0, min(r.cell-need, last))
		c := int(x)
		low := r.row[c]
		sum += r.chance * (low + (x-float64(c))*(r.row[c+1]-low))
	}
	return sum - b.pass
}

// worth returns what bids earn with all that follows.
func (b *bidding) worth(bids []bid) float64 {
	sum := 0.0
	for _, o := range b.outcomes(bids) {
		sum += o.chance * b.g.after(b.last, b.bays-o.bays, b.cash-o.cash)
	}
	for _, x := range bids {
		d := b.g.lots[x.lot]
		for j, p := range d.chance[:x.step+1] {
			sum += p * d.worth[j]
		}
	}
	return sum
}

// add appends the bid that adds most, and says what it adds.
func (b *bidding) add(bids []bid, barred int) ([]bid, float64) {
	most, pick := 0.0, bid{-1, -1}
	if len(bids) < min(b.bays, mostBids) {
		for a, i := range b.lots {
			if b.most[a] <= most { // nor can any behind it: what follows is never better with less left
				break
			}
			if i == barred || has(bids, i) {
				continue
			}
			if j, adds := b.best(i, bids); adds > most {
				most, pick = adds, bid{i, j}
			}
		}
	}
	if most <= tie {
		return bids, 0
	}
	return append(bids, pick), most
}

func has(bids []bid, lot int) bool {
	return slices.ContainsFunc(bids, func(x bid) bool { return x.lot == lot })
}

func without(bids []bid, lot int) []bid {
	return slices.DeleteFunc(slices.Clone(bids), func(x bid) bool { return x.lot == lot })
}

// settle adds the bid that adds most and sets every bid anew given the others, but
// the pinned lot's, until none adds.
func (b *bidding) settle(bids []bid, pinned, barred int) []bid {
	settled := false // setting all anew would change nothing
	for range 2*len(b.lots) + 1 {
		more, adds := b.add(bids, barred)
		bids, settled = more, settled && adds <= tie
		for a := 0; a < sweeps && !settled; a++ {
			bids, settled = b.sweep(bids, pinned)
		}
		if adds <= tie {
			break
		}
	}
	return bids
}

// sweep sets every bid anew given the others, but the pinned lot's. It is true where
// none has moved.
func (b *bidding) sweep(bids []bid, pinned int) ([]bid, bool) {
	still := true
	for _, o := range slices.Clone(bids) {
		if o.lot == pinned {
			continue
		}
		step, _ := b.best(o.lot, without(bids, o.lot))
		still = still && step == o.step
		if step < 0 {
			bids = without(bids, o.lot)
			continue
		}
		bids[slices.IndexFunc(bids, func(x bid) bool { return x.lot == o.lot })].step = step
	}
	return bids, still
}

// decide returns the bids and what they earn with all that follows.
func (b *bidding) decide() ([]bid, float64) {
	bids := b.settle(nil, -1, -1)
	value := b.worth(bids)
	if b.lower == 0 {
		return bids, value
	}
	for _, o := range slices.Clone(bids) { // let one bid go, or hold less, so that others can hold more
		rest, trials := without(bids, o.lot), [][]bid(nil)
		trials = append(trials, b.settle(slices.Clone(rest), -1, o.lot))
		if at := slices.IndexFunc(bids, func(x bid) bool { return x.lot == o.lot }); at >= 0 {
			for _, j := range spaced(bids[at].step, b.lower) {
				trials = append(trials, b.settle(append(slices.Clone(rest), bid{o.lot, j}), o.lot, -1))
			}
		}
		for _, t := range trials {
			if v := b.worth(t); v > value+tie {
				bids, value = t, v
			}
		}
	}
	return bids, value
}

// spaced returns count whole numbers, evenly from 0 to top, each once.
func spaced(top, count int) []int {
	var out []int
	for a := range count {
		out = append(out, int(float64(top)*float64(a)/float64(count-1)))
	}
	return slices.Compact(out)
}

// A groupTable holds the bids of groups by bays and levels of money, worked out
// when first asked for.
type groupTable struct {
	g      *grid
	groups []group
	most   float64 // pounds of the highest level
	levels int
	cells  []cell
}

type cell struct {
	once sync.Once
	bids []int
}

func newGroupTable(g *grid, groups []group, most float64, levels int) *groupTable {
	cells := make([]cell, len(groups)*(g.bays+1)*(levels+1))
	return &groupTable{g: g, groups: groups, most: most, levels: levels, cells: cells}
}

// bids returns how many steps are bid on each lot of a group: at the level at or below the
// money, so that no more is spoken for than there is.
func (t *groupTable) bids(number, bays int, cash float64) []int {
	level := t.levels
	if t.most > 0 {
		level = max(0, min(t.levels, int(cash/t.most*float64(t.levels)+1e-9)))
	}
	bays = max(0, min(bays, t.g.bays))
	c := &t.cells[(number*(t.g.bays+1)+bays)*(t.levels+1)+level]
	c.once.Do(func() {
		of := t.groups[number]
		c.bids = make([]int, len(of.lots))
		bids, _ := newBidding(t.g, of, bays, t.most*float64(level)/float64(t.levels), 0).decide()
		for _, b := range bids {
			c.bids[of.place(b.lot)] = b.step + 1
		}
	})
	return c.bids
}
