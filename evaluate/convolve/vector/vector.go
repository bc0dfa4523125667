// Package vector multiplies and adds complex numbers, Size at a time.
//
// Real and imaginary parts lie apart, so that the processor's vector instructions
// take them as they are: AVX2 where it is to be had, plain Go elsewhere. Both do the
// same operations in the same order, without fused multiply-add, and so come to the
// same bits.
package vector

import "unsafe"

// Size is how many numbers a Double or Single holds.
const Size = 16

// Double is Size complex numbers.
type Double struct{ Re, Im [Size]float64 }

// Single is Size complex numbers in single precision, for what is stored.
type Single struct{ Re, Im [Size]float32 }

// Single returns x in single precision.
func (x *Double) Single() (y Single) {
	for j := range Size {
		y.Re[j], y.Im[j] = float32(x.Re[j]), float32(x.Im[j])
	}
	return y
}

// Largest returns the size of the largest part of any of the numbers.
func (x *Double) Largest() (most float64) {
	for j := range Size {
		most = max(most, abs(x.Re[j]), abs(x.Im[j]))
	}
	return most
}

func abs(x float64) float64 { return max(x, -x) }

// A Part is one of several values that may come, as many as there are chances.
type Part struct {
	Chance []float64
	Value  []Single
}

// Mix sets each out to x times its rest plus the parts' values times their chances:
// out[k] = x[k] (rest[k] + sum of Chance[k] Value[k]). All must be as long as out, at
// least; out may be x.
func Mix(out, x []Double, rest []float64, parts []Part) {
	n := len(out)
	if n == 0 {
		return
	}
	_, _ = x[n-1], rest[n-1]
	for i := range parts {
		_, _ = parts[i].Chance[n-1], parts[i].Value[n-1]
	}
	if avx2 {
		mixAVX2(&out[0], &x[0], &rest[0], unsafe.SliceData(parts), len(parts), n)
		return
	}
	mix(out, x, rest, parts)
}

// The conversions keep the compiler from fusing a product with the sum it goes into.

func mix(out, x []Double, rest []float64, parts []Part) {
	for k := range out {
		var f Double
		for j := range Size {
			f.Re[j] = rest[k]
		}
		for i := range parts {
			p, y := parts[i].Chance[k], &parts[i].Value[k]
			for j := range Size {
				f.Re[j] += float64(p * float64(y.Re[j]))
				f.Im[j] += float64(p * float64(y.Im[j]))
			}
		}
		out[k].product(&x[k], &f)
	}
}

// Times multiplies x by y.
func (x *Double) Times(y *Double) {
	if avx2 {
		mulAVX2(x, x, y, 1)
		return
	}
	x.product(x, y)
}

func (x *Double) product(y, z *Double) {
	for j := range Size {
		a, b, c, d := y.Re[j], y.Im[j], z.Re[j], z.Im[j]
		x.Re[j] = float64(a*c) - float64(b*d)
		x.Im[j] = float64(a*d) + float64(b*c)
	}
}

// Add adds y times p to x.
func (x *Double) Add(p float64, y *Double) {
	if avx2 {
		addAVX2(x, &p, y, 1)
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

// Mul sets each out to its x times its y, of which there are as many; out may be either.
func Mul(out, x, y []Double) {
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

// Add adds to each out its x times its p.
func Add(out []Double, p []float64, x []Double) {
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
		out[k].add(p[k], &x[k])
	}
}

// Sum sets out to the sum of each x times its weight; there are as many.
func Sum(out *Double, weights []float64, x []Double) {
	n := len(weights)
	*out = Double{}
	if n == 0 {
		return
	}
	_ = x[n-1]
	if avx2 {
		sumAVX2(out, &weights[0], &x[0], n)
		return
	}
	for i, w := range weights {
		out.add(w, &x[i])
	}
}

// Turn sets each out to its x times the numbers of turn.
func Turn(out, x []Single, turn *Double) {
	n := len(out)
	if n == 0 {
		return
	}
	_ = x[n-1]
	if avx2 {
		turnAVX2(&out[0], &x[0], turn, n)
		return
	}
	for k := range out {
		for j := range Size {
			re, im := float64(x[k].Re[j]), float64(x[k].Im[j])
			out[k].Re[j] = float32(float64(re*turn.Re[j]) - float64(im*turn.Im[j]))
			out[k].Im[j] = float32(float64(re*turn.Im[j]) + float64(im*turn.Re[j]))
		}
	}
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
