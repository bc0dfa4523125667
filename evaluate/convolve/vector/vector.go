// Package vector multiplies and adds complex numbers, Size at a time.
//
// Real and imaginary parts lie apart, so that the processor's vector instructions
// take them as they are: AVX2 where it is to be had, plain Go elsewhere. Both do the
// same operations in the same order, without fused multiply-add, and so come to the
// same bits.
package vector

import "unsafe"

// Size is how many numbers a Single or Double holds.
const Size = 16

// Single is Size complex numbers in single precision.
type Single struct{ Re, Im [Size]float32 }

// Double is Size complex numbers in double precision.
type Double struct{ Re, Im [Size]float64 }

// The conversions below keep the compiler from fusing a product with the sum it goes
// into.

// A Part is one of several values that may come, as many as there are chances.
type Part struct {
	Chance []float64
	Value  []Single
}

// Mix sets each out to x times its rest plus the parts' values times their chances:
// out[k] = x[k] (rest[k] + sum of Chance[k] Value[k]). All must be as long as out, at
// least; out may be x.
func Mix(out, x []Single, rest []float64, parts []Part) {
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
	for k := range out {
		var sum Single
		for j := range Size {
			sum.Re[j] = float32(rest[k])
		}
		for i := range parts {
			sum.add(float32(parts[i].Chance[k]), &parts[i].Value[k])
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

// Sum sets out to the sum of each x, of which there are as many, times its weight.
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
