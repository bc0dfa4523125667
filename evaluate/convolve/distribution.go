package convolve

import (
	"math"
	"math/cmplx"
	"sync/atomic"

	"gonum.org/v1/gonum/dsp/fourier"

	"wreckoner/evaluate/convolve/vector"
)

// A Distribution is that of one amount, as masses on the cells of a window.
type Distribution struct {
	// Mean and SD are exact: they do not come from the cells.
	Mean, SD float64
	// Zero is the chance that nothing is charged.
	Zero float64
	// Step is the width of a cell; At says where one stands.
	Step float64
	// Cells are masses, without Zero; none where the amount is Mean for certain.
	Cells []float64
	// Beyond is the mass past the last cell.
	Beyond float64
	// Blur is the standard deviation of a normal that was added where the frequencies
	// were cut off; SD does not have it.
	Blur float64

	margin int
	// fine is the lower part once more, on a narrower window, where a few dear things
	// that are seldom there make the window wide; it counts up to fineTo.
	fine   *Distribution
	fineTo float64
	raised float64 // by which the sum was, to be above zero in the window
}

// At returns the amount at the middle of a cell.
func (d *Distribution) At(cell int) float64 { return float64(cell-d.margin)*d.Step - d.raised }

// inverter turns so many frequencies back into masses. Cells below the margin, one in
// 16, stand for negative amounts, into which a blurred edge runs: what ran farther would
// come round to the window's end, where the damping is taken out most.
type inverter struct {
	cells  int
	undamp []float64    // what takes the damping out of each cell
	shift  []complex128 // what moves each frequency by the margin
}

func newInverter(cells int) *inverter {
	v := &inverter{cells, make([]float64, cells), make([]complex128, cells/2+1)}
	for i := range v.undamp {
		v.undamp[i] = math.Exp(damping*float64(i-v.margin())/float64(cells)) / float64(cells)
	}
	for j := range v.shift {
		v.shift[j] = cmplx.Exp(complex(0, -2*math.Pi*float64(j*v.margin())/float64(cells)))
	}
	return v
}

func (v *inverter) margin() int { return v.cells / marginOf }

// marginOf is the margin's part of the window: one in so many cells.
const marginOf = 16

// sizes are the numbers of cells, each for at most a third as many frequencies.
var sizes = [...]int{128, 256, 512}

// transforms is memory for one sum's transforms.
type transforms struct {
	fft               [len(sizes)]*fourier.FFT
	coeff             [maxChunks]vector.Double
	sequence          []complex128
	all, cluster, way []vector.Double // by node: the products so far
	parts             []vector.Part
	moved             [][]vector.Single
	zero              []float64 // chance at each node that nothing is charged
}

// negligible is the share of the whole below which frequencies are left out.
const negligible = 1e-4

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

// A Term is an independent amount that is one of several parts, each with its chance, or
// none of them: nothing.
type Term []Share

// A Share is a part with its chance. Shift, of either sign, is added to it.
type Share struct {
	*Part
	Chance, Shift float64
}

// Extra is what is added to a car's damage: independent terms, and Effects, as Sum.Effects
// has them. Mean and SD are those of the whole sum.
type Extra struct {
	Terms    []Term
	Effects  *Effects
	Mean, SD float64
	// Chunks bounds the frequencies, in chunks of 16: the finest detail is a seventieth
	// of the window over so many. 0 takes them all.
	Chunks int
	// Reach is how many standard deviations above the mean the window takes in at
	// least, 0 for as many as P95 needs.
	Reach float64
}

const (
	leastReach  = 2.2
	mostBeyond  = 0.045
	farthestOut = 0.001 // that may lie beyond a window of a reach that was asked for
)

// Distribution fills in that of a measure, numbered by Engine.Measure. Chunks and Reach
// are as Extra has them. The lower part is worked out again if it is all in a corner of
// the window. It keeps d's memory.
func (s *Sum) Distribution(measure, chunks int, reach float64, d *Distribution) {
	m := s.e.measures[measure]
	s.fill(m, d, Extra{Chunks: chunks, Reach: reach, Mean: s.moments.Mean(m.spend, m.hours), SD: math.Sqrt(s.moments.Var(m.spend, m.hours))})
}

// With is Distribution of a measure and what is added to it.
func (s *Sum) With(measure int, x Extra, d *Distribution) { s.fill(s.e.measures[measure], d, x) }

func (s *Sum) fill(m *measure, d *Distribution, x Extra) {
	d.Mean, d.SD, d.Zero, d.Beyond, d.Blur, d.Step, d.fineTo, d.raised = x.Mean, x.SD, 0, 0, 0, 0, 0, 0
	if d.SD <= 1e-7*d.Mean { // what rounding leaves of a variance of 0
		d.Cells = d.Cells[:0]
		return
	}
	if t := &s.trans; t.all == nil {
		t.sequence, t.zero = make([]complex128, sizes[len(sizes)-1]/2+1), make([]float64, len(s.e.nodes))
		for _, v := range []*[]vector.Double{&t.all, &t.cluster, &t.way} {
			*v = make([]vector.Double, len(s.e.central))
		}
	}
	if len(x.Terms) == 0 && x.Effects == nil { // else nothing charged is not yet nothing
		s.nothing(m, s.trans.zero)
		for k, w := range s.e.central { // as the transforms have it
			d.Zero += w * s.trans.zero[k+s.e.skip]
		}
	}
	reach, beyond := leastReach, mostBeyond
	if x.Reach > 0 {
		reach, beyond = x.Reach, farthestOut
	}
	least := x.least()
	for width := (x.Mean + reach*x.SD) * marginOf / (marginOf - 1); ; { // the margin takes its part
		n, window := rung(width)
		// What is below the margin comes round to the top, and undamping makes it
		// exp(damping) times as much.
		if d.raised = 0; least < -window/marginOf {
			d.raised = -least
			n, window = rung(width + d.raised)
		}
		s.window(m, n, window, d, &x)
		if d.Beyond < beyond || n == rungs-1 {
			if d.Blur > 0 && len(x.Terms) == 0 {
				s.refine(m, n, d)
			}
			return
		}
		width = 2 * window
	}
}

// refined bounds the chunks of the lower part.
const refined = 2

// refine works out the lower part again where the window could not tell its details
// apart. What lies beyond a narrower window comes round again, but damped.
func (s *Sum) refine(m *measure, wide int, d *Distribution) {
	var low [1]float64
	d.Quantiles([]float64{d.Zero + 0.1*(1-d.Zero)}, low[:]) // of what costs anything
	if d.Blur < 0.08*low[0] {
		return // P10 is moved by a hundredth at most
	}
	n, window := rung(2*low[0] + 4*d.Blur)
	if n >= wide {
		return
	}
	if d.fine == nil {
		d.fine = &Distribution{}
	}
	d.fine.Mean, d.fine.SD, d.fine.Zero = d.Mean, d.SD, d.Zero
	s.window(m, n, window, d.fine, &Extra{Chunks: refined})
	d.fineTo = 0.6 * window
}

// nothing finds the chance at each node that nothing is charged that costs
// anything.
func (s *Sum) nothing(m *measure, out []float64) {
	for k := range out {
		out[k] = 1
	}
	free := func(x *charge) bool { return (m.spend == 0 || x.row.noSpend) && (m.hours == 0 || x.row.noHours) }
	for i := range s.clusters {
		c := &s.clusters[i]
		for n := c.first; n < c.last; n++ {
			b := &s.blocks[n]
			b.none = s.constant(1)
			for j := b.from; j < b.to; j++ {
				set := &s.states[j]
				nothing := s.arena.take()
				copy(nothing, set.nothing)
				for q := set.from; q < set.to; q++ {
					if x := &s.charges[q]; free(x) {
						for k, p := range x.chance {
							nothing[k] += p
						}
					}
				}
				for k, p := range nothing {
					b.none[k] *= p
				}
			}
		}
		for k, p := range s.noneOf(c) {
			out[k] *= p
		}
	}
}

// noneOf returns the chance at each node of what every block of a cluster has in none.
func (s *Sum) noneOf(c *cluster) []float64 {
	all := s.constant(0)
	for n := c.from; n < c.to; n++ {
		v := &s.variants[n]
		for k, p := range v.chance {
			for _, b := range s.refs[v.from:v.to] {
				p *= s.blocks[b].none[k]
			}
			all[k] += p
		}
	}
	return all
}

// window fills in the cells for one rung of the ladder.
func (s *Sum) window(m *measure, rung int, window float64, d *Distribution, x *Extra) {
	t := &s.trans
	whole, chunks, faded := 0.0, 0, false
	most := maxChunks
	if x.Chunks > 0 {
		most = min(most, x.Chunks)
	}
	for chunks < most && !faded {
		c := chunks
		chunks++
		limit := negligible * whole
		if len(x.Terms) == 0 { // costs are read where the damping is least, these are not
			limit *= 10
		}
		coeff := &t.coeff[c]
		fixed(d.raised/window, c, coeff)
		x.apply(coeff, rung, c, window)
		if c > 0 && coeff.Largest() < limit || s.product(m, rung, c, x.Effects, limit) {
			*coeff = vector.Double{} // no factor is above 1
			faded = true
			break
		}
		var mean vector.Double
		vector.Sum(&mean, s.e.central, t.all)
		for j := range mean.Re {
			mean.Re[j] -= d.Zero
		}
		coeff.Times(&mean)
		if c == 0 {
			whole = coeff.Re[0]
		}
		faded = coeff.Largest() < limit
	}
	size := 0
	for 3*chunks*chunkSize > sizes[size] {
		size++
	}
	if !faded { // blur it by a few cells, so that it fades
		d.Blur = window * blurs[chunks-1].sd
		vector.Mul(t.coeff[:chunks], blurs[chunks-1].values)
	} else {
		d.Blur = 0
	}
	v := s.e.inverters[size]
	for c := range chunks {
		x := &t.coeff[c]
		for j := range x.Re {
			at := c*chunkSize + j
			t.sequence[at] = complex(x.Re[j], -x.Im[j]) * v.shift[at]
		}
	}
	clear(t.sequence[chunks*chunkSize : v.cells/2+1])
	if t.fft[size] == nil {
		t.fft[size] = fourier.NewFFT(v.cells)
	}
	if cap(d.Cells) < v.cells {
		d.Cells = make([]float64, v.cells)
	}
	d.Cells = t.fft[size].Sequence(d.Cells[:v.cells], t.sequence[:v.cells/2+1])
	d.Step, d.margin = window/float64(v.cells), v.margin()
	// Where ripples would make the distribution function fall it stands still, so that
	// they do not add up; and it ends at 1.
	sum, highest := d.Zero, d.Zero
	for i, y := range d.Cells {
		sum += y * v.undamp[i]
		d.Cells[i] = max(0, min(1, sum)-highest)
		highest = max(highest, min(1, sum))
	}
	d.Beyond = 1 - highest
}

// least returns what the terms come to at the least. Shares so rare that they do not
// matter even where they come round to the top of a window do not count.
func (x *Extra) least() (sum float64) {
	const rare = 1e-6
	for _, term := range x.Terms {
		least, rest := math.Inf(1), 1.0
		for _, share := range term {
			if share.Chance > rare {
				least = min(least, share.Shift+share.Amounts[0])
			}
			rest -= share.Chance
		}
		if rest > rare { // nothing may be added
			least = min(least, 0)
		}
		sum += least
	}
	return sum
}

// apply multiplies one chunk of frequencies by the transforms of what is added.
func (x *Extra) apply(coeff *vector.Double, rung, c int, window float64) {
	for _, term := range x.Terms {
		var sum vector.Double
		rest := 1.0
		for _, share := range term {
			values := share.chunk(rung, c)
			if share.Shift != 0 {
				var moved vector.Double
				fixed(share.Shift/window, c, &moved)
				moved.Times(values)
				values = &moved
			}
			sum.Add(share.Chance, values)
			rest -= share.Chance
		}
		for j := range sum.Re {
			sum.Re[j] += rest
		}
		coeff.Times(&sum)
	}
}

// blurs are the transforms, at the frequencies of so many chunks, of a normal that is so
// narrow that it has just faded at the last of them, with its standard deviation, in
// windows.
var blurs = func() (out [maxChunks]struct {
	sd     float64
	values []vector.Double
}) {
	for n := range out {
		x := &out[n]
		x.sd = 4.24 / (2 * math.Pi * float64((n+1)*chunkSize))
		x.values = make([]vector.Double, n+1)
		for j := range (n + 1) * chunkSize {
			at := complex(-damping*x.sd, 2*math.Pi*float64(j)*x.sd)
			y := cmplx.Exp(at * at / 2)
			x.values[j/chunkSize].Re[j%chunkSize], x.values[j/chunkSize].Im[j%chunkSize] = real(y), imag(y)
		}
	}
	return out
}()

// product multiplies the transforms of all clusters at the frequencies of one
// chunk. It reports whether the product is below a limit all over, and is then left
// unfinished.
func (s *Sum) product(m *measure, rung, c int, effects *Effects, limit float64) (faded bool) {
	t := &s.trans
	for k := range t.all {
		t.all[k] = one
	}
	// What is certain fades first: no other factor is above 1.
	for _, sure := range []bool{true, false} {
		for i := range s.clusters {
			x := &s.clusters[i]
			if !x.single() {
				continue
			}
			for n := s.blocks[x.first].from; n < s.blocks[x.last-1].to; n++ {
				if set := &s.states[n]; set.sure == sure {
					s.times(m, rung, c, effects, set, t.all)
				}
			}
		}
		if c > 0 && t.within(limit) {
			return true
		}
	}
	for i := range s.clusters {
		x := &s.clusters[i]
		if x.single() {
			continue
		}
		for n := x.first; n < x.last; n++ {
			s.block(m, rung, c, effects, &s.blocks[n])
		}
		clear(t.cluster)
		for n := x.from; n < x.to; n++ {
			s.variant(rung, c, effects, n)
		}
		vector.Mul(t.all, t.cluster)
	}
	return false
}

// one is 1 at every frequency: the transform of nothing.
var one = func() (x vector.Double) {
	x.Powers(1, 1)
	return x
}()

// within reports whether the product is below a limit at all nodes and frequencies.
func (t *transforms) within(limit float64) bool {
	for k := range t.all {
		if t.all[k].Largest() > limit {
			return false
		}
	}
	return true
}

// block works out the transform of a block.
func (s *Sum) block(m *measure, rung, c int, effects *Effects, b *block) {
	if n := len(s.e.central); len(b.values) != n {
		b.values = make([]vector.Double, n)
	}
	for k := range b.values {
		b.values[k] = one
	}
	for q := b.from; q < b.to; q++ {
		s.times(m, rung, c, effects, &s.states[q], b.values)
	}
}

// variant adds the transform of a variant, times its chance, to that of its cluster.
func (s *Sum) variant(rung, c int, effects *Effects, n int) {
	t, v := &s.trans, &s.variants[n]
	turn := one
	if effects != nil {
		fixed(effects.variants[n]/windowOf(rung), c, &turn)
	}
	for k := range t.way {
		t.way[k] = turn
	}
	for _, b := range s.refs[v.from:v.to] {
		vector.Mul(t.way, s.blocks[b].values)
	}
	vector.Add(t.cluster, v.chance[s.e.skip:], t.way)
}

// times multiplies out by the transform of what may be charged at a spot.
func (s *Sum) times(m *measure, rung, c int, effects *Effects, set *stateSet, out []vector.Double) {
	t := &s.trans
	t.parts = t.parts[:0]
	for n := set.from; n < set.to; n++ {
		x := &s.charges[n]
		values := s.e.chunk(m, rung, x.number, c).values
		if effects != nil && effects.charges[n] != 0 { // it comes with its effect
			for len(t.moved) <= len(t.parts) {
				t.moved = append(t.moved, make([]vector.Single, len(values)))
			}
			var turn vector.Double
			fixed(effects.charges[n]/windowOf(rung), c, &turn)
			vector.Turn(t.moved[len(t.parts)], values, &turn)
			values = t.moved[len(t.parts)]
		}
		t.parts = append(t.parts, vector.Part{Chance: x.chance[s.e.skip:], Value: values})
	}
	vector.Mix(out, set.nothing[s.e.skip:], t.parts)
}

// fixed sets out to the transform of the fixed amount x, in windows, at the frequencies
// of a chunk.
func fixed(x float64, c int, out *vector.Double) {
	sin, cos := math.Sincos(2 * math.Pi * x)
	step, first := complex(cos, sin), complex(math.Exp(-damping*x), 0)
	if c > 0 {
		x *= float64(c * chunkSize)
		sin, cos = math.Sincos(2 * math.Pi * (x - math.Floor(x)))
		first *= complex(cos, sin)
	}
	out.Powers(first, step)
}

// Quantiles writes the amounts that are not exceeded with the probabilities ps,
// ascending, to out. They are drawn together about the mean by as much as the blur has
// widened the distribution.
func (d *Distribution) Quantiles(ps, out []float64) {
	if len(d.Cells) == 0 {
		for n := range ps {
			out[n] = d.Mean
		}
		return
	}
	if d.fineTo > 0 { // while it holds
		d.fine.Quantiles(ps, out)
	}
	sum, i := d.Zero, 0
	drawn := d.SD / math.Hypot(d.SD, d.Blur)
	for n, p := range ps {
		if p <= d.Zero {
			out[n] = 0
			continue
		}
		if d.fineTo > 0 && out[n] <= d.fineTo {
			continue
		}
		for i < len(d.Cells) && sum+d.Cells[i] < p {
			sum += d.Cells[i]
			i++
		}
		if i == len(d.Cells) {
			out[n] = d.Mean + drawn*(d.At(i)-d.Step/2-d.Mean)
			continue
		}
		x := d.At(i) + ((p-sum)/d.Cells[i]-0.5)*d.Step
		if out[n] = max(0, d.Mean+drawn*(x-d.Mean)); n > 0 {
			out[n] = max(out[n], out[n-1]) // where the lower part ends
		}
	}
}
