package vector

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func doubles(r *rand.Rand, n int) []Double {
	x := make([]Double, n)
	for k := range x {
		for j := range Size {
			x[k].Re[j], x[k].Im[j] = r.NormFloat64(), r.NormFloat64()
		}
	}
	return x
}

func singles(r *rand.Rand, n int) []Single {
	x := make([]Single, n)
	for k, y := range doubles(r, n) {
		x[k] = y.Single()
	}
	return x
}

func chances(r *rand.Rand, n int) []float64 {
	p := make([]float64, n)
	for k := range p {
		p[k] = r.Float64()
	}
	return p
}

func (x *Double) at(j int) complex128 { return complex(x.Re[j], x.Im[j]) }
func (x *Single) at(j int) complex128 { return complex(float64(x.Re[j]), float64(x.Im[j])) }

// each runs an operation with the processor's vectors and without, and wants the same
// bits, and what complex128 comes to.
func each[T any](t *testing.T, n int, do func() []T, at func([]T, int, int) complex128, want func(k, j int) complex128) {
	t.Helper()
	had := avx2
	defer setAVX2(had)
	fast := do()
	setAVX2(false)
	plain := do()
	for k := range n {
		for j := range Size {
			x, y, z := at(fast, k, j), at(plain, k, j), want(k, j)
			if math.Float64bits(real(x)) != math.Float64bits(real(y)) || math.Float64bits(imag(x)) != math.Float64bits(imag(y)) {
				t.Fatalf("block %d of %d, number %d: %v with vectors, %v without", k, n, j, x, y)
			}
			if cmplx.Abs(x-z) > 1e-6*(1+cmplx.Abs(z)) {
				t.Fatalf("block %d of %d, number %d: %v, want %v", k, n, j, x, z)
			}
		}
	}
}

func TestBothWaysAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 26))
	ofDouble := func(x []Double, k, j int) complex128 { return x[k].at(j) }
	ofSingle := func(x []Single, k, j int) complex128 { return x[k].at(j) }
	for n := range 12 {
		out, x, p := doubles(r, n), doubles(r, n), chances(r, n)
		clone := func() []Double { return append([]Double(nil), out...) }
		for count := range 5 {
			var parts []Part
			for range count {
				parts = append(parts, Part{chances(r, n+1), singles(r, n+2)})
			}
			each(t, n, func() []Double { y := clone(); Mix(y, y, p, parts); return y }, ofDouble, func(k, j int) complex128 {
				f := complex(p[k], 0)
				for _, part := range parts {
					f += complex(part.Chance[k], 0) * part.Value[k].at(j)
				}
				return out[k].at(j) * f
			})
		}
		each(t, n, func() []Double { y := clone(); Mul(y, y, x); return y }, ofDouble, func(k, j int) complex128 { return out[k].at(j) * x[k].at(j) })
		each(t, n, func() []Double { y := clone(); Add(y, p, x); return y }, ofDouble, func(k, j int) complex128 { return out[k].at(j) + complex(p[k], 0)*x[k].at(j) })
		each(t, 1, func() []Double { y := doubles(r, 1); Sum(&y[0], p, x); return y }, ofDouble, func(_, j int) (sum complex128) {
			for k := range x {
				sum += complex(p[k], 0) * x[k].at(j)
			}
			return sum
		})
		in, turn := singles(r, n), doubles(r, 1)[0]
		each(t, n, func() []Single { y := make([]Single, n); Turn(y, in, &turn); return y }, ofSingle, func(k, j int) complex128 { return in[k].at(j) * turn.at(j) })
	}
}

func TestPowers(t *testing.T) {
	var x Double
	step := cmplx.Exp(complex(0, 0.7))
	for n := range 7 {
		each(t, 1, func() []Double { x.Powers(0.3, step, n); return []Double{x} }, func(y []Double, _, j int) complex128 { return y[0].at(j) },
			func(_, j int) complex128 { return complex(0.3, 0) * cmplx.Pow(step, complex(float64(Size*n+j), 0)) })
	}
	x.Im[3] = -7
	if x.Largest() != 7 {
		t.Errorf("largest part of %v: %v", x, x.Largest())
	}
}

func TestTooShort(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a value of fewer blocks than asked for was read")
		}
	}()
	Mix(make([]Double, 3), make([]Double, 3), make([]float64, 3), []Part{{make([]float64, 3), make([]Single, 2)}})
}

func BenchmarkMix(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	const n = 7
	out, rest, parts := doubles(r, n), chances(r, n), []Part{{chances(r, n), singles(r, n)}}
	for k := range out {
		out[k] = Double{} // so that it neither grows nor fades
	}
	had := avx2
	defer setAVX2(had)
	for name, on := range map[string]bool{"vectors": had, "plain": false} {
		b.Run(name, func(b *testing.B) {
			setAVX2(on)
			for b.Loop() {
				Mix(out, out, rest, parts)
			}
		})
	}
}
