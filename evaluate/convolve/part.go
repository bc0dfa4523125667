package convolve

import (
	"math"
	"math/cmplx"
	"slices"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/dsp/fourier"

	"wreckoner/evaluate/convolve/vector"
)

// A Part is an independent amount, never negative: what At makes, never falling, of an
// amount that Spread describes. It is safe for concurrent use.
type Part struct {
	*Spread
	At    func(float64) float64
	known [rungs]atomic.Pointer[[]vector.Single]
}

// A Spread is an amount with its chances.
type Spread struct {
	// Edges ascend; Chances are those of lying between one edge and the next. One edge
	// alone is a certain amount.
	Edges, Chances []float64
}

// at returns the transform at a rung, chunk by chunk as far as it has not died away.
func (p *Part) at(rung int) []vector.Single {
	at := &p.known[rung]
	if at.Load() == nil {
		x := p.transform(windowOf(rung))
		at.CompareAndSwap(nil, &x)
	}
	return *at.Load()
}

// single returns the transform at a band.
func (p *Part) single(b frequencies) (x vector.Single) {
	if known := p.at(b.rung); b.c < len(known) {
		x = known[b.c]
	}
	return x
}

// add adds the transform at a band, times a chance, to out.
func (p *Part) add(b frequencies, chance float64, out *vector.Double) {
	if x := p.at(b.rung); b.c < len(x) {
		x[b.c].AddTo(out, chance)
	}
}

// transform returns that of a window, as far as it has not died away.
func (p *Part) transform(window float64) []vector.Single {
	out := make([]vector.Single, maxChunks)
	first, last := p.At(p.Edges[0]), p.At(p.Edges[len(p.Edges)-1])
	if last-first < 1e-6*window {
		for c := range out {
			var x vector.Double
			fixed((first+last)/2/window, c, &x)
			out[c] = x.Single()
		}
		return out
	}
	l := lattices.Get().(*lattice)
	defer lattices.Put(l)
	clear(l.mass[:])
	from := first / window
	for i, chance := range p.Chances {
		to := min(p.At(p.Edges[i+1])/window, 2*farthestBeyond)
		l.add(from*latticeCells, to*latticeCells, chance)
		if from = to; from > farthestBeyond {
			break
		}
	}
	for k, x := range l.fft.Coefficients(l.transform[:], l.mass[:])[:maxChunks*chunkSize] {
		x = cmplx.Conj(x) * evened[k]
		y := &out[k/chunkSize]
		y.Re[k%chunkSize], y.Im[k%chunkSize] = float32(real(x)), float32(imag(x))
	}
	n := len(out)
	for n > 0 && vector.Within(out[n-1:n], faded/100) {
		n--
	}
	return slices.Clone(out[:n])
}

// farthestBeyond is how many windows away an amount is damped to nothing.
const farthestBeyond = 4

// lattice is masses on the cells of a window, each damped as in the middle of its cell.
type lattice struct {
	mass      [latticeCells]float64
	transform [latticeCells/2 + 1]complex128
	fft       *fourier.FFT
}

// latticeCells is four times as many as frequencies.
const latticeCells = 4 * maxChunks * chunkSize

var lattices = sync.Pool{New: func() any { return &lattice{fft: fourier.NewFFT(latticeCells)} }}

// add spreads a chance evenly from one point of the lattice to another. What is beyond the
// window comes round again, and damped.
func (l *lattice) add(from, to, chance float64) {
	first, last := int(from), int(to)
	round := math.Exp(-damping * float64(first/latticeCells))
	if to-from < 1e-9 {
		l.mass[first%latticeCells] += chance * round * damped[first%latticeCells]
		return
	}
	density := chance / (to - from)
	for i := first; i <= last; i++ {
		n := i % latticeCells
		if n == 0 && i > first {
			round *= math.Exp(-damping)
		}
		share := density * (min(to, float64(i+1)) - max(from, float64(i)))
		l.mass[n] += share * round * damped[n]
	}
}

// damped is by how much the middle of each cell is damped; evened what makes of a
// transform of points in the middle of the first cell one of even masses.
var damped, evened = func() (damped [latticeCells]float64, evened [maxChunks * chunkSize]complex128) {
	for n := range damped {
		damped[n] = math.Exp(-damping * (float64(n) + 0.5) / latticeCells)
	}
	for k := range evened {
		half := complex(-damping/2, math.Pi*float64(k)) / latticeCells
		middle := cmplx.Exp(complex(0, imag(half)))
		evened[k] = middle * cmplx.Sinh(half) / half
	}
	return damped, evened
}()

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
	Waits    []*Part
	Brought  []Brought
	Mean, SD float64
	// Tail asks for what lies far out, beyond P95, as well.
	Tail bool
}

// alone reports whether nothing is added.
func (x *Extra) alone() bool { return len(x.Terms) == 0 && len(x.Waits) == 0 && len(x.Brought) == 0 }

// terms sets out to the transform of the terms at a band.
func (x *Extra) terms(b frequencies, out *vector.Double) {
	*out = one
	for _, term := range x.Terms {
		var sum vector.Double
		term.add(b, term.Chance, &sum)
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
