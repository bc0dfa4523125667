// Package convolve adds up a car's damage without drawing anything.
//
// All jobs on one car depend on one severity factor, and on nothing else in common:
// given the factor they are independent, and the distribution of a sum is then
// the product of the jobs' transforms. So the factor is taken at a few
// nodes; at each the transforms of all jobs are multiplied, frequency by
// frequency; the mixture over the nodes is turned back into a distribution. What
// a book row's transform is depends on no lot, and is remembered.
//
// The one-factor Gaussian copula is that of Li (2000), Journal of Fixed Income
// 9; sums by their transforms given the factor are those of Laurent and Gregory
// (2005), Journal of Risk 7; the damping that keeps what lies beyond the window
// from coming round again is exponential tilting (Grübel and Hermesmeier 1999,
// ASTIN Bulletin 29). All three from memory.
package convolve

import (
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve/vector"
)

// MaxLink is the largest correlation of scores that the nodes can follow.
const MaxLink = 0.95

// An Engine holds what is the same for every car of one shop. It is safe for
// concurrent use.
type Engine struct {
	book             *costs.Table
	severity, hidden float64
	// nodes of the severity factor, and their weights, which add up to 1.
	nodes, weights []float64
	// skip is how many nodes at either end weigh too little for a transform; central are
	// the weights of the others.
	skip      int
	central   []float64
	rows      []row
	measures  []*measure
	spectra   atomic.Pointer[spectra]
	manyYoung int
	most      int // chunks of a sum
	grids     [gridCount]grid
	nothing   vector.Packed   // a transform that has died away
	ones      []vector.Single // the transform of nothing charged
	always    vector.Packed   // likewise
	// sure and never are chances of 1 and 0 at each of the nodes that have transforms.
	sure, never []float64
	inverters   [maxChunks]*inverter
}

// Nodes of the factor, half of them either side of 0, stand for it this far out, and stand so close
// where the links are not above a quarter.
const (
	reach    = 4.5
	nodeStep = 0.9
)

// New returns the engine of a book. The links, 0 to MaxLink, are the correlation
// of the scores of two jobs on one car, and of what occurs.
func New(b *costs.Table, severity, hidden float64) (*Engine, error) {
	for _, link := range []float64{severity, hidden} {
		if !(link >= 0 && link <= MaxLink) {
			return nil, fmt.Errorf("a link of %v: the nodes follow correlations from 0 to %v", link, MaxLink)
		}
	}
	e := &Engine{book: b, severity: severity, hidden: hidden, rows: make([]row, len(b.Rows())), manyYoung: manyYoung,
		most: maxChunks}
	for i := range e.inverters {
		e.inverters[i] = newInverter(i + 1)
	}
	// The trapezoidal rule, which is spectrally accurate on what is smooth and
	// dies away: the closer the links tie the jobs to the factor, the finer.
	step := nodeStep * math.Min(1, math.Sqrt((1-max(severity, hidden))/0.75))
	n := int(math.Ceil(reach / step))
	total := 0.0
	for i := -n; i < n; i++ {
		z := (float64(i) + 0.5) * step
		w := distuv.UnitNormal.Prob(z)
		e.nodes, e.weights = append(e.nodes, z), append(e.weights, w)
		total += w
	}
	for i := range e.weights {
		e.weights[i] /= total
	}
	for e.weights[e.skip] < 1e-4 {
		e.skip++
	}
	e.central = slices.Clone(e.weights[e.skip : len(e.weights)-e.skip])
	total = 0
	for _, w := range e.central {
		total += w
	}
	for i := range e.central {
		e.central[i] /= total
	}
	e.ones, e.sure, e.never = e.memory(), make([]float64, len(e.central)), make([]float64, len(e.central))
	for k := range e.ones {
		e.ones[k], e.sure[k] = one.Single(), 1
	}
	e.nothing, e.always = vector.Pack(nil, e.ones, 0, false), vector.Pack(nil, e.ones, 1, false)
	for i := range e.grids {
		e.grids[i] = e.grid(i)
	}
	return e, nil
}

// mean returns the expected value, over the severity factor, of something with these values at
// the factor's nodes.
func (e *Engine) mean(values []float64) float64 {
	sum := 0.0
	for k, w := range e.weights {
		sum += w * values[k]
	}
	return sum
}

// occurs fills out with the chance, at each node of the factor, of something whose chance over
// all nodes is chance, in (0,1): the one-factor Gaussian copula.
func (e *Engine) occurs(chance float64, out []float64) {
	tie, spread := math.Sqrt(e.hidden), math.Sqrt(1-e.hidden)
	limit := distuv.UnitNormal.Quantile(1 - chance)
	for k, z := range e.nodes {
		out[k] = distuv.UnitNormal.CDF((tie*z - limit) / spread)
	}
}

// row is what is known of a book row once it was needed.
type row struct{ known atomic.Pointer[rowKnown] }

type rowKnown struct {
	costs [gridCount]atomic.Pointer[scored] // on each grid
	above int                               // the grid above the real line that will do for all frequencies; 0: none
	nodal
	marginal         Moments
	lead             float64
	noSpend, noHours bool
}

// nodal are moments of spend and hours at each node.
type nodal struct {
	spend, hours, spend2, both, hours2 []float64
}

func (e *Engine) row(n int) *rowKnown {
	if r := e.rows[n].known.Load(); r != nil {
		return r
	}
	r := &rowKnown{lead: e.book.Rows()[n].LeadDays, above: e.gridAbove(n)}
	g, cost := &e.grids[momentLevel], e.newScored(n, momentLevel)
	r.costs[momentLevel].Store(cost)
	nodes, room := len(e.nodes), make([]float64, 5*len(e.nodes)) // side by side, as they are read
	r.nodal = nodal{room[:nodes], room[nodes : 2*nodes], room[2*nodes : 3*nodes], room[3*nodes : 4*nodes], room[4*nodes:]}
	for k := range e.nodes {
		var s, h, ss, sh, hh float64
		for i := g.from[k]; i < g.to[k]; i++ {
			w, x, y := g.weights[k][i], real(cost.spend[i]), real(cost.hours[i])
			s += w * x
			h += w * y
			ss += w * x * x
			sh += w * x * y
			hh += w * y * y
		}
		r.spend[k], r.hours[k], r.spend2[k], r.both[k], r.hours2[k] = s, h, ss, sh, hh
	}
	m := &r.marginal
	m.Spend, m.Hours = e.mean(r.spend), e.mean(r.hours)
	m.SpendSpend = e.mean(r.spend2) - m.Spend*m.Spend
	m.SpendHours = e.mean(r.both) - m.Spend*m.Hours
	m.HoursHours = e.mean(r.hours2) - m.Hours*m.Hours
	r.noSpend, r.noHours = m.Spend == 0, m.Hours == 0
	e.rows[n].known.CompareAndSwap(nil, r)
	return e.rows[n].known.Load()
}

// Moments are means, variances and the covariance of spend, in pounds, and
// hours, before a segment's multipliers.
type Moments struct {
	Spend, Hours                       float64
	SpendSpend, SpendHours, HoursHours float64
}

// Mean returns that of spend times a plus hours times b.
func (m Moments) Mean(a, b float64) float64 { return a*m.Spend + b*m.Hours }

// Var returns the variance of spend times a plus hours times b.
func (m Moments) Var(a, b float64) float64 {
	return max(0, a*a*m.SpendSpend+2*a*b*m.SpendHours+b*b*m.HoursHours)
}

// Job returns the moments of a candidate's job on its car, before the segment's
// multipliers.
func (e *Engine) Job(c *costs.Candidate) Moments {
	m := e.row(c.Row).marginal
	if c.AsRow() {
		return m
	}
	m.Spend, m.Hours = c.At(m.Spend, m.Hours)
	k := c.Times()
	if c.Quote != nil {
		k = 0
		if c.Quote.HasHours {
			m.HoursHours = 0
		}
	}
	m.SpendSpend *= k * k
	m.SpendHours *= k
	return m
}
