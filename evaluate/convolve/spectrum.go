package convolve

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"wreckoner/evaluate/convolve/vector"
)

// A measure is what is added up: so many times the spend and so many times the
// hours.
type measure struct {
	spend, hours float64
	pages        [rungs]atomic.Pointer[page]
}

// Windows stand on a ladder of octaves.
const (
	rungs      = 48
	lowestRung = -16 // 2^-16
)

// page is the transforms of all rows for one measure and window.
type page struct{ rows []rowSpectrum }

type rowSpectrum struct {
	chunks [maxChunks]atomic.Pointer[chunk]
}

// Frequencies are computed in chunks, as far as the sum needs them.
const (
	chunkSize = vector.Size
	maxChunks = 12
)

// chunk is a row's transform at chunkSize frequencies, for each node: E[exp((i w
// - damping) cost)]. Single precision serves: the products are added up in double.
type chunk struct {
	values []vector.Single
	faded  bool // so are all that follow
}

// damping times the window: what lies beyond the window comes back times
// exp(-damping).
const damping = 6

// Measure returns the number by which Sum knows spend times a plus hours times
// b. It is not for concurrent use: measures are named before the first lot.
func (e *Engine) Measure(a, b float64) int {
	e.measures = append(e.measures, &measure{spend: a, hours: b})
	return len(e.measures) - 1
}

// rung returns the ladder's first window that is at least so wide.
func rung(width float64) (int, float64) {
	n := min(max(int(math.Ceil(math.Log2(width)))-lowestRung, 0), rungs-1)
	return n, windowOf(n)
}

// windowOf returns the width of a rung.
func windowOf(rung int) float64 { return math.Ldexp(1, rung+lowestRung) }

// chunk returns part c of a row's transform.
func (e *Engine) chunk(m *measure, rung, n, c int) *chunk {
	p := m.pages[rung].Load()
	if p == nil {
		m.pages[rung].CompareAndSwap(nil, &page{rows: make([]rowSpectrum, len(e.rows))})
		p = m.pages[rung].Load()
	}
	at := &p.rows[n].chunks[c]
	if got := at.Load(); got != nil {
		return got
	}
	if c > 0 && e.chunk(m, rung, n, c-1).faded {
		at.CompareAndSwap(nil, e.nothing)
	} else {
		at.CompareAndSwap(nil, e.transform(m, rung, n, c))
	}
	return at.Load()
}

// faded is the size below which a transform is taken to have died away for good.
const faded = 1e-3

func (e *Engine) transform(m *measure, rung, n, c int) *chunk {
	window := windowOf(rung)
	r := e.row(n)
	// The sum over scores comes round again where the phase turns by more than one whole
	// turn from one score to the next, less what the normal is wide; in the long tail
	// the amount changes two or three times as fast as its standard deviation says.
	turn := 2 * math.Pi * float64((c+1)*chunkSize) / window * math.Sqrt(r.marginal.Var(m.spend, m.hours))
	level := 0
	for level < gridLevels-1 && 2*turn > 4*math.Pi*float64(int(1)<<level)-4.5 {
		level++
	}
	g, cost := &e.grids[level], e.costs(n, level)
	waves := wavesOf(len(g.scores))
	defer wavesPool.Put(waves)
	for i, x := range cost.spend {
		fixed((m.spend*x+m.hours*cost.hours[i])/window, c, &(*waves)[i])
	}
	out := &chunk{values: make([]vector.Single, len(e.central)), faded: true}
	for k := range out.values {
		from, to := g.from[k+e.skip], g.to[k+e.skip]
		var sum vector.Double
		vector.Sum(&sum, g.weights[k+e.skip][from:to], (*waves)[from:to])
		out.values[k] = sum.Single()
		out.faded = out.faded && sum.Within(faded)
	}
	return out
}

// wavesPool holds memory for the transforms of fixed amounts at the frequencies of a
// chunk.
var wavesPool = sync.Pool{New: func() any { return new([]vector.Double) }}

// wavesOf returns memory for so many amounts from the pool, to which it goes back.
func wavesOf(amounts int) *[]vector.Double {
	waves := wavesPool.Get().(*[]vector.Double)
	*waves = slices.Grow((*waves)[:0], amounts)[:amounts]
	return waves
}
