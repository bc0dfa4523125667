// Package vector multiplies and adds complex numbers, Size at a time.
//
// Real and imaginary parts lie apart, so that the processor's vector instructions
// take them as they are: AVX2 where it is to be had, plain Go elsewhere. Both do the
// same operations in the same order, without fused multiply-add, and so come to the
// same bits.
package vector

import (
	"encoding/binary"
	"math"
	"slices"
	"unsafe"
)

// Size is how many numbers a Single or Double holds.
const Size = 16

// Single is Size complex numbers in single precision.
type Single struct{ Re, Im [Size]float32 }

// Double is Size complex numbers in double precision.
type Double struct{ Re, Im [Size]float64 }

// The conversions below keep the compiler from fusing a product with the sum it goes
// into.

// Packed are blocks of Size complex numbers in 16 bits a part, or 8 where that is enough, times a scale: half or a
// quarter of the memory that would have to be fetched.
type Packed struct {
	Bytes  []byte // of each block the real parts, then the imaginary ones, low byte first
	Scale  float32
	Narrow bool // 8 bits a part
}

// A Part is one of several values that may come, as many as there are chances.
type Part struct {
	Chance []float64
	Packed
}

// Pack returns x packed, in the memory of room if there is enough. most is as large as any part of x may be; what is
// larger is cut.
func Pack(room []byte, x []Single, most float32, narrow bool) Packed {
	p := Packed{Narrow: narrow}
	p.Bytes = slices.Grow(room[:0], len(x)*p.width())[:len(x)*p.width()]
	if len(x) == 0 || most == 0 {
		clear(p.Bytes)
		return p
	}
	p.Scale = most / p.largest()
	times := p.largest() / most
	if avx2 {
		packAVX2(&p.Bytes[0], &x[0], times, len(x), narrow)
		return p
	}
	for k := range x {
		for j := range Size {
			p.set(k, j, whole(x[k].Re[j]*times))
			p.set(k, Size+j, whole(x[k].Im[j]*times))
		}
	}
	return p
}

// width is how many bytes a block has.
func (p *Packed) width() int {
	if p.Narrow {
		return 2 * Size
	}
	return 4 * Size
}

// largest is the largest part, in scales.
func (p *Packed) largest() float32 {
	if p.Narrow {
		return math.MaxInt8
	}
	return math.MaxInt16
}

// Most returns how large any part may be.
func (p *Packed) Most() float32 { return p.Scale * p.largest() }

// Len returns how many blocks there are.
func (p *Packed) Len() int { return len(p.Bytes) / p.width() }

// Blocks returns the blocks from one to another.
func (p *Packed) Blocks(from, to int) Packed {
	return Packed{p.Bytes[from*p.width() : to*p.width()], p.Scale, p.Narrow}
}

// whole returns the nearest whole number, the even one of two.
func whole(x float32) int {
	return int(math.RoundToEven(max(math.MinInt16, min(float64(x), math.MaxInt16))))
}

// set sets one part of a block: the real ones come first.
func (p *Packed) set(block, part, x int) {
	if p.Narrow {
		p.Bytes[2*Size*block+part] = byte(int8(max(math.MinInt8, min(x, math.MaxInt8))))
		return
	}
	binary.LittleEndian.PutUint16(p.Bytes[4*Size*block+2*part:], uint16(int16(x)))
}

// part returns what set has set.
func (p *Packed) part(block, part int) float32 {
	if p.Narrow {
		return float32(int8(p.Bytes[2*Size*block+part]))
	}
	return float32(int16(binary.LittleEndian.Uint16(p.Bytes[4*Size*block+2*part:])))
}

// Largest returns the size of the largest part.
func Largest(x []Single) float32 {
	most := float32(0)
	if len(x) > 0 && avx2 {
		return largestAVX2(&x[0], len(x))
	}
	for k := range x {
		for j := range Size {
			most = max(most, abs(x[k].Re[j]), abs(x[k].Im[j]))
		}
	}
	return most
}

func abs(x float32) float32 { return math.Float32frombits(math.Float32bits(x) &^ (1 << 31)) }

// Mix sets each out to x times its rest plus the parts' values times their chances:
// out[k] = x[k] (rest[k] + sum of Chance[k] times the value's block k). All must be as long as out, at
// least; out may be x.
func Mix(out, x []Single, rest []float64, parts []Part) {
	n := len(out)
	if n == 0 {
		return
	}
	_, _ = x[n-1], rest[n-1]
	for i := range parts {
		_, _ = parts[i].Chance[n-1], parts[i].Bytes[n*parts[i].width()-1]
	}
	if avx2 {
		mixAVX2(&out[0], &x[0], &rest[0], unsafe.SliceData(parts), len(parts), n)
		return
	}
	for k := range out {
		var sum Single
		for j := range Size {
			sum.Re[j] = float32(rest[k])
		}
		for i := range parts {
			p, y := float32(float32(parts[i].Chance[k])*parts[i].Scale), &parts[i].Packed
			for j := range Size {
				sum.Re[j] += float32(p * y.part(k, j))
				sum.Im[j] += float32(p * y.part(k, Size+j))
			}
		}
		out[k].product(&x[k], &sum)
	}
}

func (x *Single) add(p float32, y *Single) {
	for j := range Size {
		x.Re[j] += float32(p * y.Re[j])
		x.Im[j] += float32(p * y.Im[j])
	}
}

// product sets x, which may be y or z, to their product.
func (x *Single) product(y, z *Single) {
	for j := range Size {
		a, b, c, d := y.Re[j], y.Im[j], z.Re[j], z.Im[j]
		x.Re[j] = float32(a*c) - float32(b*d)
		x.Im[j] = float32(a*d) + float32(b*c)
	}
}

// Prefetch says that x will be read soon.
func Prefetch[T any](x *T) {
	if avx2 {
		prefetch(unsafe.Pointer(x), (int(unsafe.Sizeof(*x))+line-1)/line)
	}
}

// Prefetch says that the bytes of p will be read soon.
func (p *Packed) Prefetch() {
	if avx2 && len(p.Bytes) > 0 {
		prefetch(unsafe.Pointer(&p.Bytes[0]), (len(p.Bytes)+line-1)/line)
	}
}

// line is how many bytes the processor fetches at once.
const line = 64

// Mul sets each out to its x times its y, of which there are as many; out may be either.
func Mul(out, x, y []Single) {
	n := len(out)
	if n == 0 {
		return
	}
	_, _ = x[n-1], y[n-1]
	if avx2 {
		mulAVX2(&out[0], &x[0], &y[0], n)
		return
	}
	for k := range out {
		out[k].product(&x[k], &y[k])
	}
}

// Add adds to each out its x times its p, of which there are as many.
func Add(out []Single, p []float64, x []Single) {
	n := len(out)
	if n == 0 {
		return
	}
	_, _ = p[n-1], x[n-1]
	if avx2 {
		addAVX2(&out[0], &p[0], &x[0], n)
		return
	}
	for k := range out {
		out[k].add(float32(p[k]), &x[k])
	}
}

// Mean sets out to the sum of each x, of which there are as many, times its weight.
func Mean(out *Double, weights []float64, x []Single) {
	n := len(weights)
	*out = Double{}
	if n == 0 {
		return
	}
	_ = x[n-1]
	if avx2 {
		meanAVX2(out, &weights[0], &x[0], n)
		return
	}
	for k, w := range weights {
		x[k].AddTo(out, w)
	}
}

// Within reports whether no part of any of the numbers is larger than a limit.
func Within(x []Single, limit float64) bool {
	most := float32(limit)
	for k := range x {
		for j := range Size {
			if re, im := x[k].Re[j], x[k].Im[j]; re > most || re < -most || im > most || im < -most {
				return false
			}
		}
	}
	return true
}

// AddTo adds x times p to out.
func (x *Single) AddTo(out *Double, p float64) {
	if avx2 {
		meanAVX2(out, &p, x, 1)
		return
	}
	y := x.Double()
	out.add(p, &y)
}

// Double returns x in double precision.
func (x *Single) Double() (y Double) {
	for j := range Size {
		y.Re[j], y.Im[j] = float64(x.Re[j]), float64(x.Im[j])
	}
	return y
}

// Single returns x in single precision.
func (x *Double) Single() (y Single) {
	for j := range Size {
		y.Re[j], y.Im[j] = float32(x.Re[j]), float32(x.Im[j])
	}
	return y
}

// Within reports whether no part of any of the numbers is larger than a limit.
func (x *Double) Within(limit float64) bool {
	for j := range Size {
		if re, im := x.Re[j], x.Im[j]; re > limit || re < -limit || im > limit || im < -limit {
			return false
		}
	}
	return true
}

// Times multiplies x by y.
func (x *Double) Times(y *Double) {
	if avx2 {
		timesAVX2(x, y)
		return
	}
	for j := range Size {
		a, b, c, d := x.Re[j], x.Im[j], y.Re[j], y.Im[j]
		x.Re[j] = float64(a*c) - float64(b*d)
		x.Im[j] = float64(a*d) + float64(b*c)
	}
}

// Add adds y times p to x.
func (x *Double) Add(p float64, y *Double) {
	if avx2 {
		sumAVX2(x, &p, y, 1)
		return
	}
	x.add(p, y)
}

func (x *Double) add(p float64, y *Double) {
	for j := range Size {
		x.Re[j] += float64(p * y.Re[j])
		x.Im[j] += float64(p * y.Im[j])
	}
}

// Weigh sets out to the sum of each x, of which there are as many, times its weight, and all that times turn.
func Weigh(out *Single, turn complex64, weights []float32, x []Single) {
	n := len(weights)
	if n == 0 {
		*out = Single{}
		return
	}
	_ = x[n-1]
	if avx2 {
		weighAVX2(out, turn, &weights[0], &x[0], n)
		return
	}
	var sum Single
	for i, w := range weights {
		sum.add(w, &x[i])
	}
	for j := range Size {
		out.set(j, sum.pair(j).times(pair{real(turn), imag(turn)}))
	}
}

// A Wave is a start, and a step by which it is multiplied from one number to the next.
type Wave struct{ Re, Im, StepRe, StepIm float32 }

// Waves sets the blocks of out, a whole number to each wave, to what the waves run through:
// block p n + i, where n waves are given, to numbers Size p to Size (p+1) of wave i.
func Waves(out []Single, waves []Wave) {
	n := len(waves)
	if n == 0 {
		return
	}
	parts := len(out) / n
	if parts == 0 {
		return
	}
	if avx2 {
		wavesAVX2(&out[0], &waves[0], n, parts)
		return
	}
	for i := range waves {
		waves[i].run(out, i, n)
	}
}

// run sets every nth block of out from one on.
func (w *Wave) run(out []Single, at, n int) {
	// Each number is the start times those of the step's powers to 1, 2, 4 and 8 that are in its place's number.
	power, x := pair{w.StepRe, w.StepIm}, &out[at]
	for j := range Size / 2 {
		x.Re[j], x.Im[j] = 1, 0
		if j&1 > 0 {
			x.Re[j], x.Im[j] = power.re, power.im
		}
	}
	for bit := 2; bit < Size/2; bit *= 2 {
		power = power.square()
		for j := range Size / 2 {
			by := pair{1, 0}
			if j&bit > 0 {
				by = power
			}
			x.set(j, x.pair(j).times(by))
		}
	}
	power = power.square()
	for j := range Size / 2 {
		x.set(j, x.pair(j).times(pair{w.Re, w.Im}))
		x.set(j+Size/2, x.pair(j).times(power))
	}
	power = power.square()
	for last := at; last+n < len(out); last += n {
		for j := range Size {
			out[last+n].set(j, out[last].pair(j).times(power))
		}
	}
}

// pair is a complex number, whose products are rounded as vectors round them.
type pair struct{ re, im float32 }

func (x *Single) pair(j int) pair   { return pair{x.Re[j], x.Im[j]} }
func (x *Single) set(j int, y pair) { x.Re[j], x.Im[j] = y.re, y.im }

func (x pair) times(y pair) pair {
	return pair{float32(x.re*y.re) - float32(x.im*y.im), float32(x.re*y.im) + float32(x.im*y.re)}
}

func (x pair) square() pair {
	both := float32(x.re * x.im)
	return pair{float32(x.re*x.re) - float32(x.im*x.im), both + both}
}

// Powers sets x to scale times the powers of step from Size times n on.
func (x *Double) Powers(scale float64, step complex128, n int) {
	// Four chains side by side, each of every fourth number.
	square := times(step, step)
	leap := times(square, square)
	at := [4]complex128{0: complex(scale, 0)}
	if n > 0 {
		far := times(leap, leap)
		far = times(far, far)
		for ; n > 0; n >>= 1 {
			if n&1 == 1 {
				at[0] = times(at[0], far)
			}
			far = times(far, far)
		}
	}
	at[1], at[2] = times(at[0], step), times(at[0], square)
	at[3] = times(at[1], square)
	if avx2 {
		powersAVX2(x, &at, leap)
		return
	}
	for j := 0; j < Size; j += len(at) {
		for i, y := range at {
			x.Re[j+i], x.Im[j+i] = real(y), imag(y)
			at[i] = times(y, leap)
		}
	}
}

func times(x, y complex128) complex128 {
	return complex(float64(real(x)*real(y))-float64(imag(x)*imag(y)), float64(real(x)*imag(y))+float64(imag(x)*real(y)))
}
