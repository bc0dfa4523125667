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

// Frequencies are computed in chunks, two at a time, as far as the sum needs them.
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
	e.spectra.Store(&spectra{young: e.newGeneration(), old: e.newGeneration()})
	return len(e.measures) - 1
}

// rung returns the ladder's first window that is at least so wide.
func rung(width float64) (int, float64) {
	n := min(max(int(math.Ceil(math.Log2(width)))-lowestRung, 0), rungs-1)
	return n, windowOf(n)
}

// windowOf returns the width of a rung.
func windowOf(rung int) float64 { return math.Ldexp(1, rung+lowestRung) }

// spectra are those that were worked out: the young, and the old, of which those live on
// that are asked for again. When the young are many, they become the old.
type spectra struct {
	young, old *generation
	full       atomic.Bool // the young are many
}

// Bytes of transforms that a generation has: all that a long list asks for, or fewer where memory is dear, of which a
// tenth are then worked out again.
const (
	manyYoung = 90 << 20
	fewYoung  = 24 << 20
)

// KeepFew makes the engine keep fewer transforms, in less memory: for lists without an end. It is not for concurrent
// use.
func (e *Engine) KeepFew() { e.manyYoung = fewYoung }

// generation is spectra by measure and rung, by row, and by their numbers; nil where there is none yet.
type generation struct {
	pages []atomic.Pointer[page]
	count atomic.Int64 // of bytes
}

type page [][maxChunks / 2]atomic.Pointer[spectrum]

// spectrum is two chunks of a row's transform, E[exp((i w - damping) cost)], each at every central node. Where the
// first has faded, the second is left out; where either has, so have all that follow.
type spectrum struct {
	values vector.Packed
	faded  bool
}

func (e *Engine) newGeneration() *generation {
	return &generation{pages: make([]atomic.Pointer[page], len(e.measures)*rungs)}
}

// page returns the spectra of a measure and a rung.
func (g *generation) page(e *Engine, m *measure, rung int) page {
	at := &g.pages[m.number*rungs+rung]
	if at.Load() == nil {
		p := make(page, len(e.rows))
		at.CompareAndSwap(nil, &p)
	}
	return *at.Load()
}

// chunk returns chunk c of a row's transform, which is one of two that are known: nothing once it has died away.
func (e *Engine) chunk(known *spectrum, c int) vector.Packed {
	n := len(e.central)
	if from := c % 2 * n; from < known.values.Len() {
		return known.values.Blocks(from, from+n)
	}
	return e.nothing
}

// spectrum returns two chunks of a row's transform from memory.
func (e *Engine) spectrum(m *measure, rung, row, number int) *spectrum {
	known := e.spectra.Load()
	at := &known.young.page(e, m, rung)[row][number]
	if s := at.Load(); s != nil {
		return s
	}
	var got *spectrum
	if p := known.old.pages[m.number*rungs+rung].Load(); p != nil {
		got = (*p)[row][number].Load()
	}
	if got == nil {
		got = e.newSpectrum(m, rung, row, number)
	}
	if at.CompareAndSwap(nil, got) { // unless somebody else did
		n := int64(len(got.values.Bytes))
		if known.young.count.Add(n) >= int64(e.manyYoung) && !known.full.Swap(true) {
			e.spectra.Store(&spectra{young: e.newGeneration(), old: known.young})
		}
	}
	return got
}

// newSpectrum works out two chunks of a row's transform.
func (e *Engine) newSpectrum(m *measure, rung, row, number int) *spectrum {
	if number > 0 && e.spectrum(m, rung, row, number-1).faded {
		return &spectrum{faded: true}
	}
	spend, hours := m.of(row)
	return e.transformOf(spend, hours, 0, rung, row, 2*number, 2)
}

// From chunk narrowFrom on, transforms of which no part is larger than mostNarrow are kept in 8 bits a part: that
// rounds off a two-thousandth at most, which moves a distribution by as much over the number of its frequency.
const (
	narrowFrom = 2
	mostNarrow = 0.125
)

// faded is the size below which a transform is taken to have died away for good.
const faded = 1e-3

// level returns the grid of scores that the transform of a row's spend and hours, at so much each, takes up
// to chunk c.
func (e *Engine) level(a, b float64, rung, n, c int) (level int) {
	if above := e.row(n).above; above > 0 {
		return above
	}
	// The sum over scores comes round again where the phase turns by more than one whole
	// turn from one score to the next, less what the normal is wide; in the long tail
	// the amount changes two or three times as fast as its standard deviation says. An
	// amount with a corner needs close scores anyhow.
	turn := 2 * math.Pi * float64((c+1)*chunkSize) / windowOf(rung) * math.Sqrt(e.row(n).marginal.Var(a, b))
	for level = momentLevel; level < gridLevels-1 && 2*turn > 4*math.Pi*float64(int(1)<<level)-4.5; {
		level++
	}
	return level
}

// transformOf returns so many chunks, from chunk c on, of the transform of a row's spend and hours at so much
// each, and of a fixed amount.
func (e *Engine) transformOf(a, b, more float64, rung, n, c, chunks int) *spectrum {
	out := &spectrum{}
	perWindow := 1 / windowOf(rung)
	spend, hours, fixed := complex(a*perWindow, 0), complex(b*perWindow, 0), complex(more*perWindow, 0)
	level := e.level(a, b, rung, n, c+chunks-1)
	g, cost := &e.grids[level], e.scoredAt(n, level)
	t := tracesPool.Get().(*traces)
	defer tracesPool.Put(t)
	t.starts = t.starts[:0]
	for i, x := range cost.spend {
		wave, some := waveOf(spend*x+hours*cost.hours[i]+fixed, g.lags[i], c)
		if !some { // the amounts rise with the score
			break
		}
		t.starts = append(t.starts, wave)
	}
	last, nodes := len(t.starts), len(e.central)
	t.waves = slices.Grow(t.waves[:0], last*chunks)[:last*chunks]
	vector.Waves(t.waves, t.starts)
	t.values = slices.Grow(t.values[:0], chunks*nodes)[:chunks*nodes]
	for chunk := range chunks {
		values := t.values[chunk*nodes : (chunk+1)*nodes]
		for k := range values {
			values[k] = vector.Single{}
			if from, to := g.from[k+e.skip], min(last, g.to[k+e.skip]); from < to {
				vector.Weigh(&values[k], g.turns[k+e.skip], g.singles[k+e.skip][from:to], t.waves[chunk*last+from:chunk*last+to])
			}
		}
		if out.faded = vector.Within(values, faded); out.faded {
			t.values = t.values[:(chunk+1)*nodes]
			break
		}
	}
	most := vector.Largest(t.values)
	out.values = vector.Pack(nil, t.values, most, c >= narrowFrom && most < mostNarrow)
	return out
}

// traces is memory for the transforms of fixed amounts at the frequencies of some chunks.
type traces struct {
	starts        []vector.Wave
	waves, values []vector.Single
}

var tracesPool = sync.Pool{New: func() any { return new(traces) }}

// waveOf returns the transform of a fixed amount, in windows, turned back by so many whole turns, as it
// runs through the frequencies from chunk c on; some is false where nothing is left of it.
func waveOf(amount complex128, lag float64, c int) (wave vector.Wave, some bool) {
	x, y, first := real(amount), 2*math.Pi*imag(amount), float64(c*chunkSize)
	fall := damping*x + first*y
	if fall > mostDamped {
		return wave, false
	}
	size := dampedBy(fall)
	sin, cos := sincosTurns(first*x - damping/(4*math.Pi*math.Pi)*y - lag)
	wave.Re, wave.Im = float32(size*cos), float32(size*sin)
	size = dampedBy(min(y, mostDamped))
	sin, cos = sincosTurns(x)
	wave.StepRe, wave.StepIm = float32(size*cos), float32(size*sin)
	return wave, true
}

// Tables of the circle, and of what damps, are followed between their entries by series.
const (
	turnSteps = 256 // to a turn
	dampSteps = 16  // to damping by 1/e
	// mostDamped is damping to 2e-9, of which nothing comes; leastDamped is that of amounts below zero,
	// where those are followed.
	mostDamped  = 20
	leastDamped = -1
)

var circle, dampings = func() (circle [turnSteps]struct{ sin, cos float64 }, dampings []float64) {
	for i := range circle {
		circle[i].sin, circle[i].cos = math.Sincos(2 * math.Pi * float64(i) / turnSteps)
	}
	for i := range (mostDamped-leastDamped)*dampSteps + 1 {
		dampings = append(dampings, math.Exp(-leastDamped-float64(i)/dampSteps))
	}
	return circle, dampings
}()

// sincosTurns returns the sine and the cosine of so many whole turns, above -4096, to 1e-9.
func sincosTurns(turns float64) (sin, cos float64) {
	steps := (turns + 4096) * turnSteps
	whole := int(steps + 0.5)
	x := (steps - float64(whole)) * (2 * math.Pi / turnSteps)
	at := &circle[whole%turnSteps]
	square := x * x
	s, c := x-x*square/6, 1-square/2+square*square/24
	return at.sin*c + at.cos*s, at.cos*c - at.sin*s
}

// dampedBy returns exp(-x), for x from leastDamped to mostDamped, to 1e-9 of itself.
func dampedBy(x float64) float64 {
	steps := (max(x, leastDamped) - leastDamped) * dampSteps
	whole := int(steps + 0.5)
	rest := (float64(whole) - steps) / dampSteps
	return dampings[whole] * (1 + rest*(1+rest*(1./2+rest*(1./6+rest/24))))
}
