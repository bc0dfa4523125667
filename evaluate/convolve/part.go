package convolve

import (
	"math"
	"sync/atomic"

	"wreckoner/evaluate/convolve/vector"
)

// A Part is an independent amount, never negative, in the form of points, ascending,
// with their chances. It is safe for concurrent use.
type Part struct {
	Amounts, Chances []float64
	known            [rungs]atomic.Pointer[[maxChunks]atomic.Pointer[vector.Double]]
}

// chunk returns part c of the transform.
func (p *Part) chunk(rung, c int) *vector.Double {
	if p.known[rung].Load() == nil {
		p.known[rung].CompareAndSwap(nil, new([maxChunks]atomic.Pointer[vector.Double]))
	}
	at := &p.known[rung].Load()[c]
	if got := at.Load(); got != nil {
		return got
	}
	waves := wavesOf(len(p.Amounts))
	defer wavesPool.Put(waves)
	for i, x := range p.Amounts {
		fixed(x/windowOf(rung), c, &(*waves)[i])
	}
	out := new(vector.Double)
	vector.Sum(out, p.Chances, *waves)
	at.CompareAndSwap(nil, out)
	return at.Load()
}

// A Term is a part that is added with a chance.
type Term struct {
	*Part
	Chance float64
}

// Extra is what is added to a car's damage. Mean and SD are those of the whole sum.
type Extra struct {
	// Terms are independent of all else.
	Terms []Term
	// Waits are what is added for each of the lead times that Sum.Leads last returned;
	// none, or one for each.
	Waits []*Part
	// Effects are as Sum.Effects has them, or nil.
	Effects  *Effects
	Mean, SD float64
	// Chunks bounds the frequencies, in chunks of 16: the finest detail is a seventieth
	// of the window over so many. 0 takes them all.
	Chunks int
	// Reach is how many standard deviations above the mean the window takes in at
	// least, 0 for as many as P95 needs.
	Reach float64
}

// alone reports whether nothing is added.
func (x *Extra) alone() bool { return len(x.Terms) == 0 && len(x.Waits) == 0 && x.Effects == nil }

// terms sets out to the transform of the terms at one chunk of frequencies.
func (x *Extra) terms(rung, c int, out *vector.Double) {
	*out = one
	for _, term := range x.Terms {
		var sum vector.Double
		sum.Add(term.Chance, term.chunk(rung, c))
		for j := range sum.Re {
			sum.Re[j] += 1 - term.Chance
		}
		out.Times(&sum)
	}
}

// one is 1 at every frequency: the transform of nothing.
var one = func() (x vector.Double) {
	x.Powers(1, 1, 0)
	return x
}()

// fixed sets out to the transform of the fixed amount x, in windows, at the frequencies
// of a chunk.
func fixed(x float64, c int, out *vector.Double) {
	sin, cos := math.Sincos(2 * math.Pi * x)
	out.Powers(math.Exp(-damping*x), complex(cos, sin), c)
}
