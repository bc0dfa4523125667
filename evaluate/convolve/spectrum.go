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
	number       int
	spend, hours float64
	// scales multiply each row's spend besides; nil: they are all 1.
	scales []float64
}

// of returns what the measure counts a row's spend and hours.
func (m *measure) of(row int) (spend, hours float64) {
	if m.scales == nil {
		return m.spend, m.hours
	}
	return m.spend * m.scales[row], m.hours
}

// Windows stand on a ladder of octaves.
const (
	rungs      = 48
	lowestRung = -16 // 2^-16
)

// Frequencies are computed in chunks, as far as the sum needs them.
const (
	chunkSize = vector.Size
	maxChunks = 10
)

// damping times the window: what lies beyond the window comes back times
// exp(-damping).
const damping = 6

// Measure returns the number by which Sum knows spend times a plus hours times
// b. scales, nil where they are all 1, multiply each row's spend besides: they are the
// Scale of the candidates of every car that is summed by it. It is not for concurrent use:
// measures are named before the first lot.
func (e *Engine) Measure(a, b float64, scales []float64) int {
	e.measures = append(e.measures, &measure{len(e.measures), a, b, scales})
	e.chunks.Store(&chunks{young: e.newGeneration(), old: e.newGeneration()})
	return len(e.measures) - 1
}

// rung returns the ladder's first window that is at least so wide.
func rung(width float64) (int, float64) {
	n := min(max(int(math.Ceil(math.Log2(width)))-lowestRung, 0), rungs-1)
	return n, windowOf(n)
}

// windowOf returns the width of a rung.
func windowOf(rung int) float64 { return math.Ldexp(1, rung+lowestRung) }

// chunks are those that were worked out: the young, and the old, of which those live on
// that are asked for again. When the young are many, they become the old.
type chunks struct {
	young, old *generation
	full       atomic.Bool // the young are many
}

// manyYoung is how many blocks, a chunk at one node in 128 bytes, a generation has.
const manyYoung = 540_000

// generation is chunks by measure and rung, by row, and by their numbers.
type generation struct {
	pages []atomic.Pointer[page]
	count atomic.Int64 // of blocks
}

type page []atomic.Pointer[rowSpectrum]

// rowSpectrum is a row's transform: E[exp((i w - damping) cost)].
type rowSpectrum [maxChunks]chunk

// chunk is a row's transform at chunkSize frequencies, for each node. It is there once it
// is known.
type chunk struct {
	taken, known atomic.Bool
	spectrum
}

// spectrum is what a chunk is. Where it has faded, so have all that follow.
type spectrum struct {
	values []vector.Single
	faded  bool
}

func (e *Engine) newGeneration() *generation {
	return &generation{pages: make([]atomic.Pointer[page], len(e.measures)*rungs)}
}

// place returns where the chunk of a row is or will be.
func (g *generation) place(e *Engine, m *measure, rung, row, c int) *chunk {
	at := &g.pages[m.number*rungs+rung]
	if at.Load() == nil {
		p := make(page, len(e.rows))
		at.CompareAndSwap(nil, &p)
	}
	r := &(*at.Load())[row]
	if r.Load() == nil {
		r.CompareAndSwap(nil, new(rowSpectrum))
	}
	return &r.Load()[c]
}

// find returns the chunk of a row, nil if it is not known.
func (g *generation) find(m *measure, rung, row, c int) *chunk {
	if p := g.pages[m.number*rungs+rung].Load(); p != nil {
		if r := (*p)[row].Load(); r != nil && r[c].known.Load() {
			return &r[c]
		}
	}
	return nil
}

// chunk returns part c of a row's transform.
func (e *Engine) chunk(m *measure, rung, row, c int) spectrum {
	known := e.chunks.Load()
	at := known.young.place(e, m, rung, row, c)
	if at.known.Load() {
		return at.spectrum
	}
	var got spectrum
	if old := known.old.find(m, rung, row, c); old != nil {
		got = old.spectrum
	} else if c > 0 && e.chunk(m, rung, row, c-1).faded {
		got = e.nothing
	} else {
		got = e.transform(m, rung, row, c)
	}
	if at.taken.CompareAndSwap(false, true) {
		at.spectrum = got
		at.known.Store(true)
		if n := int64(len(got.values)); known.young.count.Add(n) >= int64(e.manyYoung) && !known.full.Swap(true) {
			e.chunks.Store(&chunks{young: e.newGeneration(), old: known.young})
		}
	}
	return got
}

// faded is the size below which a transform is taken to have died away for good.
const faded = 1e-3

func (e *Engine) transform(m *measure, rung, n, c int) spectrum {
	spend, hours := m.of(n)
	return e.transformOf(spend, hours, 0, rung, n, c)
}

// transformOf is the transform of a row's spend and hours at so much each, and of a fixed
// amount.
func (e *Engine) transformOf(a, b, more float64, rung, n, c int) spectrum {
	window := windowOf(rung)
	r := e.row(n)
	// The sum over scores comes round again where the phase turns by more than one whole
	// turn from one score to the next, less what the normal is wide; in the long tail
	// the amount changes two or three times as fast as its standard deviation says.
	turn := 2 * math.Pi * float64((c+1)*chunkSize) / window * math.Sqrt(r.marginal.Var(a, b))
	level := 0
	for level < gridLevels-1 && 2*turn > 4*math.Pi*float64(int(1)<<level)-4.5 {
		level++
	}
	g, cost := &e.grids[level], e.scoredAt(n, level)
	waves := wavesOf(len(g.scores))
	defer wavesPool.Put(waves)
	for i, x := range cost.spend {
		fixed((a*x+b*cost.hours[i]+more)/window, c, &(*waves)[i])
	}
	out := spectrum{make([]vector.Single, len(e.central)), true}
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
