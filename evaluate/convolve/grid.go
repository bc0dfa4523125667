package convolve

import (
	"math"
	"math/cmplx"

	"wreckoner/evaluate/stats"
)

// Grids on the real line: the coarsest has two scores to a standard deviation of a job given the
// factor, which is enough for the trapezoidal rule on a normal, and each has twice as many as the
// one before. Moments, which an amount's cut at zero disturbs, take a finer one. Two more grids
// lie above the real line.
const (
	gridLevels  = 6
	momentLevel = 2
	gridCount   = gridLevels + 2
)

// A grid is scores of a job, and at each node of the factor the chance of each.
//
// Those above the real line have an imaginary part. What is analytic in the score has the same
// integral along any line beside the real one (Cauchy's theorem), and above it exp(i w cost) dies
// away where it turns fast: it is exp(-w Im cost) in size, and the imaginary part of a cost grows as
// fast as the cost. So two or four scores to a standard deviation will do for all frequencies, which on
// the real line come round again where the phase turns too far from one score to the next. The trapezoidal
// rule on such lines is that of Trefethen and Weideman (2014), SIAM Review 56, from memory.
type grid struct {
	scores  []float64
	weights [][]float64 // by node; those of one node add up to 1
	singles [][]float32 // the same
	// from and to bound the scores with any weight at a node.
	from, to []int
	// above is the imaginary part of the scores. The normal density there is that on the real line
	// turned back by each score's lag, in whole turns, and times each node's turn, with which
	// the chances of all scores add up to 1.
	above float64
	lags  []float64
	turns []complex64
}

// shiftOfStep is how far above the real line a grid lies, in standard deviations, where it has two
// scores to each; grids that are finer lie as much lower.
const shiftOfStep = 0.75

// grid returns that of a number. Scores reach 4.2 standard deviations beyond the last node.
func (e *Engine) grid(number int) grid {
	spread, tie := math.Sqrt(1-e.severity), math.Sqrt(e.severity)
	level, wide, g := number, 4.2, grid{}
	if number == momentLevel {
		wide = 5.5
	}
	if number >= gridLevels {
		level -= gridLevels
		g.above = shiftOfStep * spread / float64(int(1)<<level)
	}
	step := 0.5 * spread / float64(int(1)<<level)
	far := tie*e.nodes[len(e.nodes)-1] + wide*spread
	n := int(math.Ceil(far / step))
	lag := g.above / (spread * spread) // in radians a score
	for i := -n; i <= n; i++ {
		u := float64(i) * step
		g.scores, g.lags = append(g.scores, u), append(g.lags, lag*u/(2*math.Pi))
	}
	for _, z := range e.nodes {
		g.node(tie*z, spread, wide)
	}
	return g
}

// node adds a node at which scores have this mean and spread.
func (g *grid) node(mean, spread, wide float64) {
	w, total := make([]float64, len(g.scores)), 0.0
	from, to := len(w), 0
	for i, u := range g.scores {
		x := (u - mean) / spread
		if math.Abs(x) > wide {
			continue
		}
		w[i] = math.Exp(-x * x / 2)
		total += w[i]
		from, to = min(from, i), i+1
	}
	singles := make([]float32, len(w))
	for i := range w {
		w[i] /= total
		singles[i] = float32(w[i])
	}
	g.weights, g.singles = append(g.weights, w), append(g.singles, singles)
	g.from, g.to = append(g.from, from), append(g.to, to)
	var whole complex128
	for i, x := range w {
		whole += complex(x, 0) * cmplx.Exp(complex(0, -2*math.Pi*g.lags[i]))
	}
	g.turns = append(g.turns, complex64(1/whole))
}

// rareCut is how likely an amount may be cut at zero and yet be followed below: by little, as a rule.
const rareCut = 0.002

// gridAbove returns the number of the coarsest grid above the real line that follows a row's
// amounts; 0: none does.
func (e *Engine) gridAbove(n int) int {
	r, bend := &e.book.Rows()[n], 0.0
	for _, a := range []stats.Amount{r.Spend, r.Hours} {
		_, rate, cut := a.Continued()
		if cut > rareCut {
			return 0
		}
		bend = max(bend, rate)
	}
	// Damping is exp(-cost), which falls faster than any power where a cost has turned by a
	// quarter: the grid must stay below that.
	spread := math.Sqrt(1 - e.severity)
	for number := gridLevels; number < gridCount; number++ {
		if bend*spread <= 1.05*float64(int(1)<<(number-gridLevels)) {
			return number
		}
	}
	return 0
}

// scored is spend and hours at the scores of a grid.
type scored struct{ spend, hours []complex128 }

func (e *Engine) scoredAt(n, grid int) *scored {
	at := &e.row(n).costs[grid]
	if c := at.Load(); c != nil {
		return c
	}
	at.CompareAndSwap(nil, e.newScored(n, grid))
	return at.Load()
}

func (e *Engine) newScored(n, grid int) *scored {
	r, g := e.book.Rows()[n], &e.grids[grid]
	return &scored{g.amounts(r.Spend), g.amounts(r.Hours)}
}

// amounts returns an amount at each score.
func (g *grid) amounts(a stats.Amount) []complex128 {
	out := make([]complex128, len(g.scores))
	continued, _, _ := a.Continued()
	for i, u := range g.scores {
		if g.above > 0 {
			out[i] = continued(complex(u, g.above))
		} else {
			out[i] = complex(a.At(u), 0)
		}
	}
	return out
}
