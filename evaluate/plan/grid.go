package plan

import (
	"math"
)

// A rounding says how tied money is turned into cells: left as it is, with values
// read between cells, or rounded, which brackets the value.
type rounding uint8

const (
	between rounding = iota
	roundUp
	roundDown
)

// A space is the states that a grid covers.
type space struct {
	bays   int
	cash   float64 // pounds at hand, which lie on a cell
	cells  int     // up to cash
	most   float64 // the most pounds that there may ever be
	round  rounding
	growth []gain // what comes before each lot
}

// A gain is what comes on top before a lot.
type gain struct {
	bays int
	cash float64
}

// A grid holds what a sale earns from each lot on, over not bidding, in every
// state of free bays and money: Bellman (1957), Dynamic Programming.
// METHOD.md 19.9 to 19.14.
type grid struct {
	lots   []*ladder
	growth []gain
	bays   int     // the most that are told apart
	delta  float64 // pounds of a cell
	size   int     // cells of a row
	// value[i] is what lots from i on earn, in the state in which lot i closes, at
	// [bays*size + cell]; one value beyond the last is room to read between cells.
	value [][]float64
	// next[i] is value[i+1] as seen when lot i has closed: before what comes on
	// top ahead of lot i+1.
	next [][]float64
	// bought[i] is how many steps are bid, in each state.
	bought [][]int32
	off    [][]int32   // of each lot and step, whole cells that the money goes down
	part   [][]float64 // and the part of a cell that it stays above them
}

// newGrid works out the whole of it, from the last lot to the first.
func newGrid(lots []*ladder, s space) *grid {
	g := &grid{lots: lots, growth: s.growth, bays: s.bays, delta: 1}
	if s.cash > 0 && s.cells > 0 {
		g.delta = s.cash / float64(s.cells)
	} else if s.most > 0 && s.cells > 0 {
		g.delta = s.most / float64(s.cells)
	}
	g.size = int(math.Ceil(s.most/g.delta-1e-9)) + 2
	n := len(lots)
	g.value, g.next = make([][]float64, n+1), make([][]float64, n)
	g.bought, g.off, g.part = make([][]int32, n), make([][]int32, n), make([][]float64, n)
	g.value[n] = make([]float64, (g.bays+1)*g.size+1)
	for i := n - 1; i >= 0; i-- {
		g.next[i] = g.value[i+1]
		if i+1 < n {
			g.next[i] = g.grown(g.value[i+1], s.growth[i+1])
		}
		g.cut(i, s.round)
		g.lot(i)
	}
	return g
}

// cut turns what lot i ties up into cells.
func (g *grid) cut(i int, round rounding) {
	cost := g.lots[i].cost
	g.off[i], g.part[i] = make([]int32, len(cost)), make([]float64, len(cost))
	for j, t := range cost {
		need := t / g.delta
		switch round {
		case roundUp:
			need = math.Ceil(need - 1e-9)
		case roundDown:
			need = math.Floor(need + 1e-9)
		}
		whole := min(math.Ceil(need-1e-9), float64(g.size+1))
		g.off[i][j], g.part[i][j] = int32(whole), max(0, min(1, whole-need))
	}
}

// grown returns values as seen before something comes on top.
func (g *grid) grown(value []float64, by gain) []float64 {
	if by == (gain{}) {
		return value
	}
	out := make([]float64, len(value))
	for k := 0; k <= g.bays; k++ {
		for c := range g.size {
			out[k*g.size+c] = g.read(value, k+by.bays, float64(c)*g.delta+by.cash)
		}
	}
	return out
}

// read returns a value at any bays and money, linear between cells, the nearest
// state's beyond them.
func (g *grid) read(value []float64, bays int, cash float64) float64 {
	row := value[max(0, min(bays, g.bays))*g.size:]
	x := max(0, min(cash/g.delta, float64(g.size-1)))
	c := int(x)
	if w := x - float64(c); w > 0 {
		return row[c]*(1-w) + row[c+1]*w
	}
	return row[c]
}

// lot works out lot i from what follows it.
func (g *grid) lot(i int) {
	d, next := g.lots[i], g.next[i]
	g.bought[i] = make([]int32, len(next))
	if len(d.worth) == 0 {
		g.value[i] = next
		return
	}
	value := append([]float64(nil), next...)
	g.value[i] = value
	off, part := g.off[i], g.part[i]
	for k := 1; k <= g.bays; k++ {
		rest, pass := next[(k-1)*g.size:], next[k*g.size:]
		for c := range g.size {
			n, sum := 0, 0.0
			for ; n < len(off); n++ {
				at := c - int(off[n])
				if at < 0 {
					break
				}
				w := part[n]
				x := d.worth[n] + rest[at]*(1-w) + rest[at+1]*w - pass[c]
				if x < -tie {
					break
				}
				sum += d.chance[n] * x
			}
			value[k*g.size+c] += sum
			g.bought[i][k*g.size+c] = int32(n)
		}
	}
}

// at returns what lots from i on earn, in a state in which lot i closes.
func (g *grid) at(i, bays int, cash float64) float64 { return g.read(g.value[i], bays, cash) }

// after returns what the lots behind i earn, in the state in which it leaves us.
func (g *grid) after(i, bays int, cash float64) float64 { return g.read(g.next[i], bays, cash) }

// now returns what all lots earn, before anything comes on top.
func (g *grid) now(bays int, cash float64) float64 {
	if len(g.lots) == 0 {
		return 0
	}
	return g.at(0, bays+g.growth[0].bays, cash+g.growth[0].cash)
}

// gain returns by how much buying lot i at step j from 0 is better than passing.
func (g *grid) gain(i, j, bays int, cash float64) float64 {
	d := g.lots[i]
	return d.worth[j] + g.after(i, bays-1, cash-d.cost[j]) - g.after(i, bays, cash)
}

// stop returns how many steps are bid on lot i in any state, 0 for no bid: the
// most at which, and at every lower one, the money is there and buying is as good.
func (g *grid) stop(i, bays int, cash float64) int {
	d := g.lots[i]
	if bays < 1 {
		return 0
	}
	bays = min(bays, g.bays)
	for n := range d.worth {
		if d.cost[n] > cash+1e-9 || g.gain(i, n, bays, cash) < -tie {
			return n
		}
	}
	return len(d.worth)
}
