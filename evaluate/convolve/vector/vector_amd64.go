package vector

import "golang.org/x/sys/cpu"

var avx2 = cpu.X86.HasAVX2

// In vector_amd64.s; n is how many blocks there are.

//go:noescape
func mixAVX2(out, x *Double, rest *float64, parts *Part, count, n int)

//go:noescape
func mulAVX2(out, x, y *Double, n int)

//go:noescape
func addAVX2(out *Double, p *float64, x *Double, n int)

//go:noescape
func sumAVX2(out *Double, weights *float64, x *Double, n int)

//go:noescape
func turnAVX2(out, x *Single, turn *Double, n int)

//go:noescape
func powersAVX2(out *Double, at *[4]complex128, leap complex128)
