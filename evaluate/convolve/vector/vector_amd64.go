package vector

import (
	"unsafe"

	"golang.org/x/sys/cpu"
)

var avx2 = cpu.X86.HasAVX2

// In vector_amd64.s; n is how many blocks of Size there are, one at least.

//go:noescape
func mixAVX2(out, x *Single, rest *float64, parts *Part, count, n int)

//go:noescape
func mulAVX2(out, x, y *Single, n int)

//go:noescape
func addAVX2(out *Single, p *float64, x *Single, n int)

//go:noescape
func meanAVX2(out *Double, weights *float64, x *Single, n int)

//go:noescape
func timesAVX2(x, y *Double)

//go:noescape
func sumAVX2(out *Double, weights *float64, x *Double, n int)

//go:noescape
func powersAVX2(out *Double, at *[4]complex128, leap complex128)

//go:noescape
func wavesAVX2(out *Single, waves *Wave, n, parts int)

//go:noescape
func weighAVX2(out *Single, turn complex64, weights *float32, x *Single, n int)

//go:noescape
func prefetch(x unsafe.Pointer, lines int)

//go:noescape
func largestAVX2(x *Single, n int) float32

//go:noescape
func packAVX2(out *byte, x *Single, times float32, n int, narrow bool)
