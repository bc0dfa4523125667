package convolve

import (
	"math"
	"math/cmplx"
	"sync/atomic"

	"gonum.org/v1/gonum/dsp/fourier"
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
	fft      [len(sizes)]*fourier.FFT
	coeff    []complex128
	re, im   [][chunkSize]float64 // by node: the product so far
	re2, im2 [][chunkSize]float64 // of a cluster
	zero     []float64            // chance at each node that nothing is charged
}

// negligible is the share of the whole below which frequencies are left out.
const negligible = 1e-4

// A Part is an independent amount, never negative, in the form of points, ascending,
// with their chances. It is safe for concurrent use.
type Part struct {
	Amounts, Chances []float64
	known            [rungs]atomic.Pointer[[maxChunks]atomic.Pointer[[chunkSize]complex128]]
}

// chunk returns part c of the transform.
func (p *Part) chunk(rung, c int) *[chunkSize]complex128 {
	if p.known[rung].Load() == nil {
		p.known[rung].CompareAndSwap(nil, new([maxChunks]atomic.Pointer[[chunkSize]complex128]))
	}
	at := &p.known[rung].Load()[c]
	if got := at.Load(); got != nil {
		return got
	}
	out := new([chunkSize]complex128)
	window := windowOf(rung)
	for i, x := range p.Amounts {
		step, y := turns(x/window, c)
		for j := range out {
			out[j] += complex(p.Chances[i], 0) * y
			y *= step
		}
	}
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
	if t := &s.trans; t.re == nil {
		nodes := len(s.e.central)
		t.coeff, t.zero = make([]complex128, sizes[len(sizes)-1]/2+1), make([]float64, len(s.e.nodes))
		for _, v := range []*[][chunkSize]float64{&t.re, &t.im, &t.re2, &t.im2} {
			*v = make([][chunkSize]float64, nodes)
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
		coeff := t.coeff[c*chunkSize:][:chunkSize]
		for j := range coeff {
			coeff[j] = 1
		}
		if d.raised > 0 {
			step, turn := turns(d.raised/window, c)
			for j := range coeff {
				coeff[j] = turn
				turn *= step
			}
		}
		x.apply(coeff, rung, c, window)
		if c > 0 && largest(coeff) < limit || s.product(m, rung, c, x.Effects, limit) {
			clear(coeff) // no factor is above 1
			faded = true
			break
		}
		for j := range coeff {
			var re, im float64
			for k, w := range s.e.central {
				re += w * t.re[k][j]
				im += w * t.im[k][j]
			}
			coeff[j] *= complex(re-d.Zero, im)
		}
		if c == 0 {
			whole = real(coeff[0])
		}
		faded = largest(coeff) < limit
	}
	size := 0
	for 3*chunks*chunkSize > sizes[size] {
		size++
	}
	if !faded { // blur it by a few cells, so that it fades
		d.Blur = window * blur(t.coeff[:chunks*chunkSize])
	} else {
		d.Blur = 0
	}
	v := s.e.inverters[size]
	for j := range chunks * chunkSize {
		t.coeff[j] = cmplx.Conj(t.coeff[j]) * v.shift[j]
	}
	clear(t.coeff[chunks*chunkSize : v.cells/2+1])
	if t.fft[size] == nil {
		t.fft[size] = fourier.NewFFT(v.cells)
	}
	if cap(d.Cells) < v.cells {
		d.Cells = make([]float64, v.cells)
	}
	d.Cells = t.fft[size].Sequence(d.Cells[:v.cells], t.coeff[:v.cells/2+1])
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

// largest returns the size of the largest part of any of the numbers.
func largest(numbers []complex128) float64 {
	most := 0.0
	for _, x := range numbers {
		most = max(most, math.Abs(real(x)), math.Abs(imag(x)))
	}
	return most
}

// apply multiplies one chunk of frequencies by the transforms of what is added.
func (x *Extra) apply(coeff []complex128, rung, c int, window float64) {
	for _, term := range x.Terms {
		var sum [chunkSize]complex128
		rest := 1.0
		for _, share := range term {
			step, turn := complex(1, 0), complex(1, 0)
			if share.Shift != 0 {
				step, turn = turns(share.Shift/window, c)
			}
			turn *= complex(share.Chance, 0)
			for j, y := range share.chunk(rung, c) {
				sum[j] += turn * y
				turn *= step
			}
			rest -= share.Chance
		}
		for j := range coeff {
			coeff[j] *= sum[j] + complex(rest, 0)
		}
	}
}

// blur multiplies frequencies by the transform of a normal that is so narrow that it
// has just faded at the last of them, and returns its standard deviation, in windows.
func blur(coeff []complex128) (sd float64) {
	sd = 4.24 / (2 * math.Pi * float64(len(coeff))) // of the window
	for j := range coeff {
		at := complex(-damping*sd, 2*math.Pi*float64(j)*sd)
		coeff[j] *= cmplx.Exp(at * at / 2)
	}
	return sd
}

// product multiplies the transforms of all clusters at the frequencies of one
// chunk. It reports whether the product is below a limit all over, and is then left
// unfinished.
func (s *Sum) product(m *measure, rung, c int, effects *Effects, limit float64) (faded bool) {
	t := &s.trans
	for k := range t.re {
		for j := range chunkSize {
			t.re[k][j], t.im[k][j] = 1, 0
		}
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
					s.times(m, rung, c, effects, set, t.re, t.im)
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
		for k := range t.re2 {
			t.re2[k], t.im2[k] = [chunkSize]float64{}, [chunkSize]float64{}
		}
		for n := x.from; n < x.to; n++ {
			s.variant(rung, c, effects, n)
		}
		for k := range t.re {
			multiply(&t.re[k], &t.im[k], &t.re2[k], &t.im2[k])
		}
	}
	return false
}

// within reports whether the product is below a limit at all nodes and frequencies.
func (t *transforms) within(limit float64) bool {
	for k := range t.re {
		for j := range chunkSize {
			if math.Abs(t.re[k][j]) > limit || math.Abs(t.im[k][j]) > limit {
				return false
			}
		}
	}
	return true
}

// multiply multiplies a by b.
func multiply(aRe, aIm, bRe, bIm *[chunkSize]float64) {
	for j := range chunkSize {
		aRe[j], aIm[j] = aRe[j]*bRe[j]-aIm[j]*bIm[j], aRe[j]*bIm[j]+aIm[j]*bRe[j]
	}
}

// block works out the transform of a block.
func (s *Sum) block(m *measure, rung, c int, effects *Effects, b *block) {
	if n := len(s.e.central); len(b.re) != n {
		b.re, b.im = make([][chunkSize]float64, n), make([][chunkSize]float64, n)
	}
	for k := range b.re {
		b.im[k] = [chunkSize]float64{}
		for j := range chunkSize {
			b.re[k][j] = 1
		}
	}
	for q := b.from; q < b.to; q++ {
		s.times(m, rung, c, effects, &s.states[q], b.re, b.im)
	}
}

// variant adds the transform of a variant, times its chance, to re2 and im2.
func (s *Sum) variant(rung, c int, effects *Effects, n int) {
	t, v := &s.trans, &s.variants[n]
	step, turn := complex(1, 0), complex(1, 0)
	if effects != nil {
		step, turn = turns(effects.variants[n]/windowOf(rung), c)
	}
	var re, im [chunkSize]float64
	for j := range chunkSize {
		re[j], im[j] = real(turn), imag(turn)
		turn *= step
	}
	refs := s.refs[v.from:v.to]
	for k := range t.re2 {
		p := v.chance[k+s.e.skip]
		x, y := re, im
		for _, b := range refs {
			multiply(&x, &y, &s.blocks[b].re[k], &s.blocks[b].im[k])
		}
		for j := range chunkSize {
			t.re2[k][j] += p * x[j]
			t.im2[k][j] += p * y[j]
		}
	}
}

// times multiplies re and im by the transform of what may be charged at a spot.
func (s *Sum) times(m *measure, rung, c int, effects *Effects, set *stateSet, re, im [][chunkSize]float64) {
	if effects != nil && set.moved(effects.charges) {
		s.timesMoved(m, rung, c, effects.charges, set, re, im)
		return
	}
	if set.sure {
		x := s.e.chunk(m, rung, s.charges[set.from].number, c)
		for k := range re {
			r, i := &re[k], &im[k]
			a, b := (*[chunkSize]float32)(x.re[k*chunkSize:]), (*[chunkSize]float32)(x.im[k*chunkSize:])
			for j := range chunkSize {
				fr, fi := float64(a[j]), float64(b[j])
				r[j], i[j] = r[j]*fr-i[j]*fi, r[j]*fi+i[j]*fr
			}
		}
		return
	}
	if set.to-set.from == 1 {
		x := &s.charges[set.from]
		t := s.e.chunk(m, rung, x.number, c)
		chance, nothing := x.chance[s.e.skip:], set.nothing[s.e.skip:]
		for k := range re {
			p, q := chance[k], nothing[k]
			r, i := &re[k], &im[k]
			a, b := (*[chunkSize]float32)(t.re[k*chunkSize:]), (*[chunkSize]float32)(t.im[k*chunkSize:])
			for j := range chunkSize {
				fr, fi := q+p*float64(a[j]), p*float64(b[j])
				r[j], i[j] = r[j]*fr-i[j]*fi, r[j]*fi+i[j]*fr
			}
		}
		return
	}
	charges := s.charges[set.from:set.to]
	var at [8]*chunk
	for n := range charges {
		at[n] = s.e.chunk(m, rung, charges[n].number, c)
	}
	for k := range re {
		var fr, fi [chunkSize]float64
		for j := range chunkSize {
			fr[j] = set.nothing[k+s.e.skip]
		}
		for n := range charges {
			p := charges[n].chance[k+s.e.skip]
			a, b := (*[chunkSize]float32)(at[n].re[k*chunkSize:]), (*[chunkSize]float32)(at[n].im[k*chunkSize:])
			for j := range chunkSize {
				fr[j] += p * float64(a[j])
				fi[j] += p * float64(b[j])
			}
		}
		multiply(&re[k], &im[k], &fr, &fi)
	}
}

// moved reports whether any effect moves what is charged.
func (set *stateSet) moved(effects []float64) bool {
	for _, x := range effects[set.from:set.to] {
		if x != 0 {
			return true
		}
	}
	return false
}

// timesMoved is times where each charge comes with its effect.
func (s *Sum) timesMoved(m *measure, rung, c int, effects []float64, set *stateSet, re, im [][chunkSize]float64) {
	charges := s.charges[set.from:set.to]
	var at [8]*chunk
	var turnRe, turnIm [8][chunkSize]float64
	window := windowOf(rung)
	for n := range charges {
		at[n] = s.e.chunk(m, rung, charges[n].number, c)
		x := effects[set.from+n] / window
		step, turn := turns(x, c)
		for j := range chunkSize {
			turnRe[n][j], turnIm[n][j] = real(turn), imag(turn)
			turn *= step
		}
	}
	for k := range re {
		var fr, fi [chunkSize]float64
		for j := range chunkSize {
			fr[j] = set.nothing[k+s.e.skip]
		}
		for n := range charges {
			p := charges[n].chance[k+s.e.skip]
			a, b := (*[chunkSize]float32)(at[n].re[k*chunkSize:]), (*[chunkSize]float32)(at[n].im[k*chunkSize:])
			tr, ti := &turnRe[n], &turnIm[n]
			for j := range chunkSize {
				x, y := p*float64(a[j]), p*float64(b[j])
				fr[j] += x*tr[j] - y*ti[j]
				fi[j] += x*ti[j] + y*tr[j]
			}
		}
		multiply(&re[k], &im[k], &fr, &fi)
	}
}

// turns returns the transform of the fixed amount x, in windows, at the first
// frequency of a chunk, and what takes it to the next.
func turns(x float64, c int) (step, first complex128) {
	sin, cos := math.Sincos(2 * math.Pi * x)
	step, first = complex(cos, sin), complex(math.Exp(-damping*x), 0)
	if c > 0 {
		x *= float64(c * chunkSize)
		sin, cos = math.Sincos(2 * math.Pi * (x - math.Floor(x)))
		first *= complex(cos, sin)
	}
	return step, first
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
