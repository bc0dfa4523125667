package plan

import (
	"math"
	"math/rand/v2"
)

// A sale is one simulated sale: the lots that the others leave below our limits.
type sale struct {
	table, market float64
	lots          []offer
}

// An offer is a lot that can be had in a simulated sale.
type offer struct {
	lot  int
	step int // what is paid for it, from 0
	luck float64
	cash float64 // the score of what is spent
}

// A bought lot of a simulated sale.
type bought struct {
	offer
	cost float64
}

// A rule says how to bid.
type rule struct {
	// pays says whether lot i is bought at step j, in a state that allows it.
	pays func(i, j, bays int, cash float64) bool
	// bids returns how many steps are bid on each lot of a group, 0 for no bid.
	bids func(group, bays int, cash float64) []int
}

// A simulator runs sales.
type simulator struct {
	lots   []*ladder
	groups []group
	in     []int // of each lot, the group it is in, -1 for none
	bays   int
	cash   float64
	come   []gain // of each lot, what has come on top when it closes
	common Common
	lucks  []luck
}

// draw makes sale number n. The scores of all lots are drawn, whatever their
// limits, so that the same sale comes back with other limits.
func (m *simulator) draw(seed uint64, n int, withLuck bool, out *sale) {
	prices := rand.New(rand.NewPCG(seed, uint64(n)))
	turns := rand.New(rand.NewPCG(^seed, uint64(n)))
	w := m.common.Mean + math.Sqrt(m.common.Var)*prices.NormFloat64()
	out.table, out.market = turns.NormFloat64(), turns.NormFloat64()
	out.lots = out.lots[:0]
	// The ladders' scores have been moved by what is known of w: so are these.
	link, own := math.Sqrt(m.common.Link), math.Sqrt(1-m.common.Link)
	for i, d := range m.lots {
		z := m.common.of(link*w + own*prices.NormFloat64())
		o := offer{lot: i}
		if withLuck {
			o.luck, o.cash = turns.NormFloat64(), turns.NormFloat64()
		}
		if o.step = d.paid(z); o.step < len(d.score) {
			out.lots = append(out.lots, o)
		}
	}
}

// run plays a sale by a rule. What is bought goes to out.
func (m *simulator) run(s *sale, r *rule, out []bought) []bought {
	out = out[:0]
	spent, at := 0.0, -1
	var bids []int
	for _, o := range s.lots {
		here := o.lot
		if g := m.in[here]; g >= 0 {
			here = m.groups[g].lots[0]
		}
		bays, cash := m.bays+m.come[here].bays-len(out), m.cash+m.come[here].cash-spent
		cost := m.lots[o.lot].cost[o.step]
		if g := m.in[o.lot]; g < 0 {
			if bays < 1 || cost > cash+1e-9 || !r.pays(o.lot, o.step, bays, cash) {
				continue
			}
		} else {
			if g != at {
				at, bids = g, r.bids(g, bays, cash)
			}
			if o.step >= bids[m.groups[g].place(o.lot)] {
				continue
			}
		}
		out = append(out, bought{o, cost})
		spent += cost
	}
	return out
}

// margin returns the mean margin of what was bought.
func (m *simulator) margin(what []bought) float64 {
	sum := 0.0
	for _, b := range what {
		sum += m.lots[b.lot].margin[b.step]
	}
	return sum
}

// byPlan buys up to the plan's stop. Where the worth falls with the price, that
// is where buying is as good as passing; elsewhere the steps below are looked at too.
func (m *simulator) byPlan(g *grid, table *groupTable) *rule {
	return &rule{
		pays: func(i, j, bays int, cash float64) bool {
			if m.lots[i].uneven {
				return j < g.stop(i, bays, cash)
			}
			return g.gain(i, j, min(bays, g.bays), cash) >= -tie
		},
		bids: table.bids,
	}
}

// byStops buys up to a number of steps for each lot, in a state; in a group, bids
// go out in the list's order while bays and money for them last.
func (m *simulator) byStops(stop func(i, bays int, cash float64) int) *rule {
	return &rule{
		pays: func(i, j, bays int, cash float64) bool { return j < stop(i, bays, cash) },
		bids: func(number, bays int, cash float64) []int {
			out := make([]int, len(m.groups[number].lots))
			left := cash
			for a, i := range m.groups[number].lots {
				if bays < 1 {
					break
				}
				if n := m.lots[i].covered(stop(i, bays, cash), left); n > 0 {
					out[a] = n
					left -= m.lots[i].cost[n-1]
					bays--
				}
			}
			return out
		},
	}
}

// byLimit buys every lot up to its own limit.
func (m *simulator) byLimit() *rule {
	return m.byStops(func(i, _ int, _ float64) int { return len(m.lots[i].score) })
}

// byShare buys where the margin is at least a share of the money tied up.
func (m *simulator) byShare(share float64) *rule {
	good := func(i, j int) bool { return m.lots[i].margin[j] >= share*m.lots[i].tied[j] }
	stops := make([]int, len(m.lots))
	for i, d := range m.lots {
		for stops[i] < len(d.score) && good(i, stops[i]) {
			stops[i]++
		}
	}
	r := m.byStops(func(i, _ int, _ float64) int { return stops[i] })
	r.pays = func(i, j, _ int, _ float64) bool { return good(i, j) }
	return r
}
