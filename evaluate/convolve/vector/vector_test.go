package vector

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
)

// at returns one number, in scales.
func (p *Packed) at(k, j int) complex128 {
	return complex(float64(p.part(k, j)), float64(p.part(k, Size+j)))
}

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
func each[T any](t *testing.T, n int, do func() []T, at func([]T, int, int) complex128,
	want func(k, j int) complex128) {
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
			if cmplx.Abs(x-z) > 4e-6*(1+cmplx.Abs(z)) {
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
		x, y, p := singles(r, n), singles(r, n), chances(r, n)
		start := func() []Single { return slices.Clone(x) }
		for count := range 5 {
			var parts []Part
			for range count {
				parts = append(parts, Part{chances(r, n+1), Pack(nil, singles(r, n+2), 5, r.IntN(2) == 0)})
			}
			each(t, n, func() []Single { out := start(); Mix(out, y, p, parts); return out }, ofSingle,
				func(k, j int) complex128 {
					f := complex(p[k], 0)
					for _, part := range parts {
						f += complex(part.Chance[k]*float64(part.Scale), 0) * part.at(k, j)
					}
					return y[k].at(j) * f
				})
		}
		product := func(k, j int) complex128 { return x[k].at(j) * y[k].at(j) }
		each(t, n, func() []Single { out := make([]Single, n); Mul(out, x, y); return out }, ofSingle, product)
		each(t, n, func() []Single { out := start(); Mul(out, out, y); return out }, ofSingle, product)
		each(t, n, func() []Single { out := start(); Add(out, p, y); return out }, ofSingle,
			func(k, j int) complex128 { return x[k].at(j) + complex(p[k], 0)*y[k].at(j) })
		mean := func(at func(int, int) complex128) func(int, int) complex128 {
			return func(_, j int) (sum complex128) {
				for k, p := range p {
					sum += complex(p, 0) * at(k, j)
				}
				return sum
			}
		}
		each(t, 1, func() []Double { out := doubles(r, 1); Mean(&out[0], p, x); return out }, ofDouble,
			mean(func(k, j int) complex128 { return x[k].at(j) }))
		weights := make([]float32, n)
		for k := range weights {
			weights[k] = float32(p[k])
		}
		each(t, 1, func() []Single { out := singles(r, 1); Weigh(&out[0], 0.6-0.8i, weights, x); return out }, ofSingle,
			mean(func(k, j int) complex128 { return (0.6 - 0.8i) * x[k].at(j) }))
	}
	two := doubles(r, 2)
	each(t, 1, func() []Double { out := slices.Clone(two); out[0].Times(&two[1]); return out }, ofDouble,
		func(_, j int) complex128 { return two[0].at(j) * two[1].at(j) })
	each(t, 1, func() []Double { out := slices.Clone(two); out[0].Add(-0.3, &two[1]); return out }, ofDouble,
		func(_, j int) complex128 { return two[0].at(j) - 0.3*two[1].at(j) })
}

func TestPowers(t *testing.T) {
	step := cmplx.Exp(complex(0, 0.7))
	for n := range 7 {
		each(t, 1, func() []Double { var x Double; x.Powers(0.3, step, n); return []Double{x} },
			func(x []Double, _, j int) complex128 { return x[0].at(j) },
			func(_, j int) complex128 { return complex(0.3, 0) * cmplx.Pow(step, complex(float64(Size*n+j), 0)) })
	}
}

// What is packed is what it was to half a scale; where one part is cut, to a whole one.
func TestPack(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 1))
	const most = 3
	for n := range 5 {
		for _, narrow := range []bool{false, true} {
			x := singles(r, n)
			cut := func(x float32) float64 { return max(-most, min(float64(x), most)) }
			numbers := func() []Single {
				p, out := Pack(nil, x, most, narrow), make([]Single, n)
				if p.Len() != n || n > 0 && math.Abs(float64(p.Most()-most)) > 1e-6 {
					t.Fatalf("%d blocks within %v, want %d within %v", p.Len(), p.Most(), n, most)
				}
				for k := range n {
					for j := range Size {
						got := complex(float64(p.Scale), 0) * p.at(k, j)
						out[k].Re[j], out[k].Im[j] = float32(real(got)), float32(imag(got))
						want := complex(cut(x[k].Re[j]), cut(x[k].Im[j]))
						off, room := got-want, 0.501*float64(p.Scale)
						if want != x[k].at(j) {
							room *= 2
						}
						if max(math.Abs(real(off)), math.Abs(imag(off))) > room {
							t.Errorf("%v packed is %v, narrow: %v", want, got, narrow)
						}
					}
				}
				return out
			}
			each(t, n, numbers, func(x []Single, k, j int) complex128 { return x[k].at(j) },
				func(k, j int) complex128 { return numbers()[k].at(j) })
		}
	}
}

func TestLargest(t *testing.T) {
	had := avx2
	defer setAVX2(had)
	for _, on := range []bool{had, false} {
		setAVX2(on)
		for j := range Size {
			for _, x := range []float32{-2, 2} {
				s := []Single{{}, {}}
				if s[1].Im[j] = x; Largest(s) != 2 {
					t.Errorf("the largest of %v is %v", s, Largest(s))
				}
				if s[0].Re[Size-1-j] = -3; Largest(s) != 3 {
					t.Errorf("the largest of %v is %v", s, Largest(s))
				}
			}
		}
		if Largest(nil) != 0 {
			t.Error("of nothing something is the largest")
		}
	}
}

func TestWaves(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	for n := range 6 {
		waves := make([]Wave, n)
		for i := range waves {
			step := cmplx.Exp(complex(-0.02*r.Float64(), 7*r.Float64()))
			waves[i] = Wave{float32(r.NormFloat64()), float32(r.NormFloat64()), float32(real(step)), float32(imag(step))}
		}
		for parts := range 4 {
			each(t, n*parts, func() []Single { out := make([]Single, n*parts); Waves(out, waves); return out },
				func(x []Single, k, j int) complex128 { return x[k].at(j) }, func(k, j int) complex128 {
					w := waves[k%n]
					z := complex(float64(w.Re), float64(w.Im))
					for range k/n*Size + j {
						z *= complex(float64(w.StepRe), float64(w.StepIm))
					}
					return z
				})
		}
	}
}

func TestWithin(t *testing.T) {
	for j := range Size {
		for _, x := range []float64{-2, 2} {
			var d Double
			if d.Im[j] = x; d.Within(1.9) || !d.Within(2.1) {
				t.Errorf("number %d of %v is not within 2 or is within 1.9", j, d)
			}
			s := []Single{{}, {}}
			if s[1].Re[j] = float32(x); Within(s, 1.9) || !Within(s, 2.1) {
				t.Errorf("number %d of %v is not within 2 or is within 1.9", j, s)
			}
		}
	}
}

func TestTooShort(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a value of fewer blocks than asked for was read")
		}
	}()
	two := Pack(nil, make([]Single, 2), 1, false)
	Mix(make([]Single, 3), make([]Single, 3), make([]float64, 3), []Part{{make([]float64, 3), two}})
}

func BenchmarkMix(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	const n = 7
	out, rest, parts := singles(r, n), chances(r, n), []Part{{chances(r, n), Pack(nil, make([]Single, n), 1, false)}}
	for k := range out {
		out[k] = Single{} // so that it neither grows nor fades
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
