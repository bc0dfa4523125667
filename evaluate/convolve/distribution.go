package convolve

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve/vector"
)

// A Distribution is that of one amount, as masses on the cells of a window.
type Distribution struct {
	// Mean and SD are exact: they do not come from the cells.
	Mean, SD float64
	// Base is what is charged for certain and costs the same whatever happens: jobs with a quote.
	// Zero is the chance that nothing is charged beside it.
	Base, Zero float64
	// Step is the width of a cell; At returns the amount at the middle of one.
	Step float64
	// Cells are masses, without Zero; none where the amount is Mean for certain.
	Cells []float64
	// Beyond is the mass past the last cell.
	Beyond float64
	// Blur is the standard deviation of a normal that was added where the frequencies
	// were cut off; SD does not have it.
	Blur float64

	// Atoms are the amounts that may be, rising, where they are few; Cells then are blurred.
	Atoms []Atom

	margin int
	// fine is the lower part once more, on a narrower window, where a few dear things
	// that are seldom there make the window wide; it counts up to fineTo.
	fine   *Distribution
	fineTo float64
}

// At returns the amount at the middle of a cell.
func (d *Distribution) At(cell int) float64 { return d.Base + float64(cell-d.margin)*d.Step }

// inverter turns the frequencies of so many chunks back into masses, on three times as
// many cells. Cells below the margin, one in 16, are negative amounts, into which a
// blurred edge runs: what ran farther would come round to the window's end, where the
// damping is taken out most.
type inverter struct {
	cells  int
	undamp []float64       // what takes the damping out of each cell
	shift  []vector.Double // what moves each frequency by the margin
	// What blurs, so that the last frequency has faded: the transform of a normal with
	// this standard deviation, in windows.
	blur []vector.Double
	sd   float64
}

func newInverter(chunks int) *inverter {
	v := &inverter{cells: 3 * chunks * chunkSize, shift: make([]vector.Double, chunks), blur: make([]vector.Double,
		chunks)}
	for i := range v.cells {
		v.undamp = append(v.undamp, math.Exp(damping*float64(i-v.margin())/float64(v.cells))/float64(v.cells))
	}
	v.sd = 4.24 / (2 * math.Pi * float64(chunks*chunkSize))
	for j := range chunks * chunkSize {
		set := func(x []vector.Double, y complex128) {
			x[j/chunkSize].Re[j%chunkSize], x[j/chunkSize].Im[j%chunkSize] = real(y), imag(y)
		}
		set(v.shift, cmplx.Exp(complex(0, 2*math.Pi*float64(j)/marginOf)))
		at := complex(-damping*v.sd, 2*math.Pi*float64(j)*v.sd)
		set(v.blur, cmplx.Exp(at*at/2))
	}
	return v
}

func (v *inverter) margin() int { return v.cells / marginOf }

// marginOf is the margin's part of the window: one in so many cells.
const marginOf = 16

// transforms is memory for one sum's transforms.
type transforms struct {
	fft      [maxChunks]*fourier.FFT
	coeff    [maxChunks]vector.Double
	sequence []complex128
	all, way []vector.Single // by node
	// Transforms of the clusters that can change the longest lead time of what was seen (seen),
	// of what was not (hidden), and of either (pair).
	seen, pair []vector.Single
	hidden     []known
	sums       []vector.Double // over the nodes, of each pair of bounds
	parts      []vector.Part
	waits      [][]vector.Single // of Extra.Waits, at the window's rung
	zero       []float64         // chance at each node that nothing is charged
}

// negligible is the share of the whole below which frequencies are left out.
const negligible = 3e-3

const (
	leastReach  = 2.2
	mostBeyond  = 0.045
	farthestOut = 0.001 // that may lie beyond a window of a reach that was asked for
)

// Distribution fills in that of a measure, numbered by Engine.Measure. Its window reaches
// so many standard deviations above the mean, at least; 0: as many as P95 needs. The lower part is worked out again if
// it is all in a corner of
// the window. It keeps d's memory.
func (s *Sum) Distribution(measure int, reach float64, d *Distribution) {
	m := s.e.measures[measure]
	s.fill(m, d, reach, Extra{Mean: s.moments.Mean(m.spend, m.hours), SD: math.Sqrt(s.moments.Var(m.spend, m.hours))})
}

// With is Distribution of a measure and what is added to it.
func (s *Sum) With(measure int, x Extra, d *Distribution) { s.fill(s.e.measures[measure], d, 0, x) }

func (s *Sum) fill(m *measure, d *Distribution, reach float64, x Extra) {
	d.Mean, d.SD, d.Zero, d.Beyond, d.Blur, d.Step, d.fineTo = x.Mean, x.SD, 0, 0, 0, 0, 0
	d.Base, d.Atoms = s.base(m), nil
	if d.SD <= 1e-7*d.Mean { // what rounding leaves of a variance of 0
		d.Cells = d.Cells[:0]
		return
	}
	if t := &s.trans; t.all == nil {
		t.sequence, t.zero = make([]complex128, 3*maxChunks*chunkSize/2+1), make([]float64, len(s.e.nodes))
		t.all, t.way, t.seen, t.pair = s.e.memory(), s.e.memory(), s.e.memory(), s.e.memory()
	}
	if x.alone() { // else nothing charged is not yet nothing
		s.nothing(m, s.trans.zero)
		for k, w := range s.central { // as the transforms have it
			d.Zero += w * s.trans.zero[k+s.e.skip]
		}
		d.Atoms = s.atoms(m)
	}
	s.bring(x.Brought)
	beyond := farthestOut
	if reach == 0 {
		reach, beyond = leastReach, mostBeyond
	}
	for width := (max(0, x.Mean-d.Base) + reach*x.SD) * marginOf / (marginOf - 1); ; { // the margin takes its part
		n, window := rung(width)
		s.window(m, n, window, d, &x)
		if d.Beyond < beyond || n == rungs-1 {
			if d.Blur > 0 && !x.Tail {
				s.refine(m, n, d, &x)
			}
			return
		}
		width = 2 * window
	}
}

// refine works out the lower part again where the window could not tell its details
// apart. What lies beyond a narrower window comes round again, but damped.
func (s *Sum) refine(m *measure, wide int, d *Distribution, x *Extra) {
	var low [1]float64
	d.Quantiles([]float64{d.Zero + 0.1*(1-d.Zero)}, low[:]) // of what costs anything
	most := 0.08
	if !x.alone() || s.anyQuoted() { // several at one amount: the blur moves more than P10
		most = 0.02
	}
	if d.Blur < most*low[0] {
		return // P10 is moved by a hundredth at most
	}
	n, window := rung(2*(low[0]-d.Base) + 4*d.Blur)
	if n >= wide {
		return
	}
	if d.fine == nil {
		d.fine = &Distribution{}
	}
	d.fine.Mean, d.fine.SD, d.fine.Base, d.fine.Zero = d.Mean, d.SD, d.Base, d.Zero
	s.window(m, n, window, d.fine, x)
	d.fineTo = d.Base + 0.6*window
}

// base returns what is charged for certain and costs the same whatever happens, by a measure; it marks
// those charges.
func (s *Sum) base(m *measure) (sum float64) {
	for i := range s.states {
		set := &s.states[i]
		if !set.sure {
			continue
		}
		x := &s.charges[set.from]
		q := s.c[x.candidate].Quote
		if x.base = q != nil && x.chance[0] == 1 && (q.HasHours || m.hours == 0 || x.row.noHours); x.base {
			if sum += m.spend * q.Spend; q.HasHours {
				sum += m.hours * q.Hours
			}
		}
	}
	return sum
}

// anyQuoted reports whether any job has a quote.
func (s *Sum) anyQuoted() bool {
	return slices.ContainsFunc(s.c, func(c costs.Candidate) bool { return c.Quote != nil })
}

// nothing finds the chance at each node that nothing is charged that costs
// anything.
func (s *Sum) nothing(m *measure, out []float64) {
	for k := range out {
		out[k] = 1
	}
	free := func(x *charge) bool {
		return x.base || (m.spend == 0 || s.noSpend(x)) && (m.hours == 0 || s.noHours(x))
	}
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

func (s *Sum) noSpend(x *charge) bool {
	if q := s.c[x.candidate].Quote; q != nil {
		return q.Spend == 0
	}
	return x.row.noSpend
}

func (s *Sum) noHours(x *charge) bool {
	if q := s.c[x.candidate].Quote; q != nil && q.HasHours {
		return q.Hours == 0
	}
	return x.row.noHours
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
	t.waits = t.waits[:0]
	for _, part := range x.Waits {
		t.waits = append(t.waits, part.at(rung))
	}
	whole, chunks, faded := 0.0, 0, false
	for chunks < s.e.most && !faded {
		c := chunks
		chunks++
		limit := negligible * whole
		if x.Tail { // which is read where the damping is least
			limit /= 10
		}
		coeff := &t.coeff[c]
		x.terms(frequencies{m, rung, c}, coeff)
		var sum vector.Double
		if c > 0 && coeff.Within(limit) || s.product(frequencies{m, rung, c}, x, limit, &sum) {
			*coeff = vector.Double{} // factors are hardly above 1
			faded = true
			break
		}
		for j := range sum.Re {
			sum.Re[j] -= d.Zero
		}
		coeff.Times(&sum)
		if c == 0 {
			whole = coeff.Re[0]
		}
		faded = coeff.Within(limit)
	}
	v := s.e.inverters[chunks-1]
	if d.Blur = 0; !faded {
		d.Blur = window * v.sd
		for c := range v.blur {
			t.coeff[c].Times(&v.blur[c])
		}
	}
	v.invert(t, d)
	d.Step, d.margin = window/float64(v.cells), v.margin()
}

// invert fills in the cells.
func (v *inverter) invert(t *transforms, d *Distribution) {
	chunks := len(v.shift)
	for c := range v.shift {
		x := &t.coeff[c]
		x.Times(&v.shift[c])
		for j := range x.Re {
			t.sequence[c*chunkSize+j] = complex(x.Re[j], -x.Im[j])
		}
	}
	sequence := t.sequence[:v.cells/2+1]
	clear(sequence[chunks*chunkSize:])
	if t.fft[chunks-1] == nil {
		t.fft[chunks-1] = fourier.NewFFT(v.cells)
	}
	if cap(d.Cells) < v.cells {
		d.Cells = make([]float64, v.cells)
	}
	d.Cells = t.fft[chunks-1].Sequence(d.Cells[:v.cells], sequence)
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
	if len(d.Atoms) > 0 {
		atQuantiles(d.Atoms, ps, out)
		return
	}
	if d.fineTo > 0 { // while it holds
		d.fine.Quantiles(ps, out)
	}
	sum, i := d.Zero, 0
	drawn := d.SD / math.Hypot(d.SD, d.Blur)
	for n, p := range ps {
		if p <= d.Zero {
			out[n] = d.Base
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
		x := d.At(i) + (d.into(i, p-sum)-0.5)*d.Step
		if out[n] = max(d.Base, d.Mean+drawn*(x-d.Mean)); n > 0 {
			out[n] = max(out[n], out[n-1]) // where the lower part ends
		}
	}
}

// into returns how far into a cell so much of its mass lies, from 0 to 1: the density
// rises or falls evenly, as from the cell before to the one after.
func (d *Distribution) into(cell int, mass float64) float64 {
	m, before, after := d.Cells[cell], 0.0, 0.0
	if cell > 0 {
		before = d.Cells[cell-1]
	}
	if cell < len(d.Cells)-1 {
		after = d.Cells[cell+1]
	}
	slope := max(-2*m, min((after-before)/2, 2*m)) // and is nowhere negative
	b := m - slope/2
	return 2 * mass / (b + math.Sqrt(max(0, b*b+2*slope*mass)))
}
