//go:build !amd64

package vector

import "unsafe"

const avx2 = false

func mixAVX2(*Single, *Single, *float64, *Part, int, int)  {}
func mulAVX2(*Single, *Single, *Single, int)               {}
func addAVX2(*Single, *float64, *Single, int)              {}
func meanAVX2(*Double, *float64, *Single, int)             {}
func timesAVX2(*Double, *Double)                           {}
func sumAVX2(*Double, *float64, *Double, int)              {}
func powersAVX2(*Double, *[4]complex128, complex128)       {}
func wavesAVX2(*Single, *Wave, int, int)                   {}
func weighAVX2(*Single, complex64, *float32, *Single, int) {}
func largestAVX2(*Single, int) float32                     { return 0 }
func prefetch(unsafe.Pointer, int)                         {}
func packAVX2(*byte, *Single, float32, int, bool)          {}
