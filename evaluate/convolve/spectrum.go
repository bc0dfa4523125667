package convolve

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"
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
	chunkSize = 16
	maxChunks = 6
)

// chunk is a row's transform at chunkSize frequencies, for each node: E[exp((i w
// - damping) cost)]. Single precision serves: the products are added up in double.
type chunk struct {
	re, im []float32
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
	waves := wavesPool.Get().(*waves)
	defer wavesPool.Put(waves)
	waves.fill(m, cost, window, c)
	out := &chunk{re: make([]float32, len(e.central)*chunkSize), im: make([]float32, len(e.central)*chunkSize), faded: true}
	for k := range e.central {
		from, to := g.from[k+e.skip], g.to[k+e.skip]
		weights := g.weights[k+e.skip][from:to]
		for j := 0; j < chunkSize; j += 2 { // two at once, in registers
			a, b := waves.re[j][from:to], waves.im[j][from:to]
			c, d := waves.re[j+1][from:to], waves.im[j+1][from:to]
			a, b, c, d = a[:len(weights)], b[:len(weights)], c[:len(weights)], d[:len(weights)]
			var re, im, re2, im2 float64
			for i, w := range weights {
				re += w * a[i]
				im += w * b[i]
				re2 += w * c[i]
				im2 += w * d[i]
			}
			at := k*chunkSize + j
			out.re[at], out.im[at], out.re[at+1], out.im[at+1] = float32(re), float32(im), float32(re2), float32(im2)
			out.faded = out.faded && max(math.Abs(re), math.Abs(im), math.Abs(re2), math.Abs(im2)) < faded
		}
	}
	return out
}

// waves are exp((i w - damping) cost) at the frequencies of a chunk, for each score of
// a grid.
type waves struct{ re, im [chunkSize][]float64 }

var wavesPool = sync.Pool{New: func() any { return new(waves) }}

func (v *waves) fill(m *measure, cost *costs, window float64, c int) {
	n := len(cost.spend)
	for j := range v.re {
		v.re[j] = slices.Grow(v.re[j][:0], n)[:n]
		v.im[j] = slices.Grow(v.im[j][:0], n)[:n]
	}
	for i := range n {
		step, at := turns((m.spend*cost.spend[i]+m.hours*cost.hours[i])/window, c)
		for j := range v.re {
			v.re[j][i], v.im[j][i] = real(at), imag(at)
			at *= step
		}
	}
}
