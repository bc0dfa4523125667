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
		var next spectrum
		if got, next = e.transform(m, rung, row, c); next.values != nil && !got.faded {
			e.keep(known, known.young.place(e, m, rung, row, c+1), next)
		}
	}
	e.keep(known, at, got)
	return got
}

// keep puts a chunk where it belongs, unless somebody else did.
func (e *Engine) keep(known *chunks, at *chunk, got spectrum) {
	if at.taken.CompareAndSwap(false, true) {
		at.spectrum = got
		at.known.Store(true)
		if n := int64(len(got.values)); known.young.count.Add(n) >= int64(e.manyYoung) && !known.full.Swap(true) {
			e.chunks.Store(&chunks{young: e.newGeneration(), old: known.young})
		}
	}
}

// faded is the size below which a transform is taken to have died away for good.
const faded = 1e-3

// transform returns part c of a row's transform and, where the same scores will do for it, part c + 1:
// who asks for the one soon asks for the other, as a rule, and half of the work is the same.
func (e *Engine) transform(m *measure, rung, n, c int) (got, next spectrum) {
	spend, hours := m.of(n)
	level := e.level(spend, hours, rung, n, c)
	out := [2]spectrum{}
	parts := 1
	if c%2 == 0 && c+1 < maxChunks && e.level(spend, hours, rung, n, c+1) == level {
		parts = 2
	}
	e.transformOf(spend, hours, 0, rung, n, c, level, out[:parts])
	return out[0], out[1]
}

// level returns the grid of scores that part c of the transform of a row's spend and hours takes, at so
// much each.
func (e *Engine) level(a, b float64, rung, n, c int) (level int) {
	// The sum over scores comes round again where the phase turns by more than one whole
	// turn from one score to the next, less what the normal is wide; in the long tail
	// the amount changes two or three times as fast as its standard deviation says.
	turn := 2 * math.Pi * float64((c+1)*chunkSize) / windowOf(rung) * math.Sqrt(e.row(n).marginal.Var(a, b))
	for level < gridLevels-1 && 2*turn > 4*math.Pi*float64(int(1)<<level)-4.5 {
		level++
	}
	return level
}

// negligibleAt, in windows, is an amount that is damped to 2e-9: nothing comes of it.
const negligibleAt = 20.0 / damping

// transformOf sets out to parts c and following of the transform of a row's spend and hours at so much
// each, and of a fixed amount, all at the scores of one grid.
func (e *Engine) transformOf(a, b, more float64, rung, n, c, level int, out []spectrum) {
	window := windowOf(rung)
	g, cost := &e.grids[level], e.scoredAt(n, level)
	count := len(g.scores)
	waves := wavesOf(count * len(out))
	defer wavesPool.Put(waves)
	last := 0 // the amounts rise with the score
	for i, x := range cost.spend {
		amount := (a*x + b*cost.hours[i] + more) / window
		if amount > negligibleAt {
			break
		}
		sin, cos := math.Sincos(2 * math.Pi * amount)
		damped := math.Exp(-damping * amount)
		for part := range out {
			(*waves)[part*count+i].Powers(damped, complex(cos, sin), c+part)
		}
		last = i + 1
	}
	for part := range out {
		values, all := make([]vector.Single, len(e.central)), true
		for k := range values {
			from, to := g.from[k+e.skip], min(last, g.to[k+e.skip])
			if from >= to {
				continue
			}
			var sum vector.Double
			vector.Sum(&sum, g.weights[k+e.skip][from:to], (*waves)[part*count+from:part*count+to])
			values[k] = sum.Single()
			all = all && sum.Within(faded)
		}
		out[part] = spectrum{values, all}
	}
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
