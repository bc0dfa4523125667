package plan

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// A flow is what a forward pass says of one lot.
type flow struct {
	buy    float64 // chance of buying it
	tied   float64 // mean pounds tied up by it
	margin float64 // mean pounds that it makes
}

// A mass is the chance of every state, as value in a grid.
type mass []float64

// forward carries the chance of each state from the first lot to the last: the
// transpose of the recursion, so that with the plan's own chances the margins,
// less what bays and money are worth after the sale, add up to its value. chances
// gives those of each lot's prices. seen, where not nil, is shown the states before
// each lot; it must not keep them. METHOD.md 19.15.
func (g *grid) forward(bays int, cash float64, chances func(i int) []float64, seen func(i int, m mass)) []flow {
	rows := make([]flow, len(g.lots))
	now, then := make(mass, (g.bays+1)*g.size+1), make(mass, (g.bays+1)*g.size+1)
	g.drop(now, min(bays, g.bays), cash, 1)
	for i, d := range g.lots {
		if by := g.growth[i]; by != (gain{}) {
			clear(then)
			for k := 0; k <= g.bays; k++ {
				for c := range g.size {
					if p := now[k*g.size+c]; p > 0 {
						g.drop(then, min(k+by.bays, g.bays), float64(c)*g.delta+by.cash, p)
					}
				}
			}
			now, then = then, now
		}
		if seen != nil {
			seen(i, now)
		}
		if len(d.worth) == 0 || !d.known {
			continue
		}
		copy(then, now)
		rows[i] = g.pass(i, chances(i), now, then)
		now, then = then, now
	}
	return rows
}

// drop puts a chance on the two cells about an amount of money.
func (g *grid) drop(m mass, bays int, cash, p float64) {
	x := max(0, min(cash/g.delta, float64(g.size-1)))
	c := int(x + 1e-9)
	w := max(0, x-float64(c))
	m[bays*g.size+c] += p * (1 - w)
	m[bays*g.size+c+1] += p * w
}

// rare is a chance below which prices and states are passed over.
const rare = 1e-14

// pass moves the chances of states over one lot.
func (g *grid) pass(i int, chance []float64, now, then mass) flow {
	d, off, part := g.lots[i], g.off[i], g.part[i]
	first := 0
	for first < len(chance) && chance[first] < rare {
		first++
	}
	var f flow
	for k := 1; k <= g.bays; k++ {
		rest := then[(k-1)*g.size:]
		for c := range g.size {
			s := k*g.size + c
			p, n := now[s], int(g.bought[i][s])
			if p <= rare {
				continue
			}
			buy := 0.0
			for j := first; j < n; j++ {
				q := p * chance[j]
				at, part := c-int(off[j]), q*part[j]
				rest[at] += q - part
				rest[at+1] += part
				buy += q
				f.tied += q * d.tied[j]
				f.margin += q * d.margin[j]
			}
			then[s] -= buy
			f.buy += buy
		}
	}
	return f
}

// nodes are the nine points and weights of the mean over a standard normal
// number (Gauss-Hermite).
func nodes() (x, w []float64) {
	x, w = make([]float64, 9), make([]float64, 9)
	quad.Hermite{}.FixedLocations(x, w, math.Inf(-1), math.Inf(1))
	for i := range x { // from the weight exp(-x^2) to the normal's
		x[i], w[i] = x[i]*math.Sqrt2, w[i]/math.Sqrt(math.Pi)
	}
	return x, w
}

// expected returns the mean of forward passes over what is known of the sale's
// score, the stops as they are: given the score, prices are independent.
// common is what the grid's chances were made with. METHOD.md 19.16.
func (g *grid) expected(bays int, cash float64, common Common, workers int) []flow {
	if common.Link == 0 {
		return g.forward(bays, cash, func(i int) []float64 { return g.lots[i].chance }, nil)
	}
	x, weight := nodes()
	rows := make([][]flow, len(x))
	parallel(len(x), workers, func(a int) {
		longest := 0
		for _, d := range g.lots {
			longest = max(longest, len(d.score))
		}
		room := make([]float64, longest)
		rows[a] = g.forward(bays, cash, func(i int) []float64 {
			out := room[:len(g.lots[i].score)]
			g.lots[i].chances(common.within(x[a]), out)
			return out
		}, nil)
	})
	mean := make([]flow, len(g.lots))
	for a, w := range weight {
		for i, f := range rows[a] {
			mean[i].buy += w * f.buy
			mean[i].tied += w * f.tied
			mean[i].margin += w * f.margin
		}
	}
	return mean
}
