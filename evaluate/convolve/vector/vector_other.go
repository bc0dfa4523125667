//go:build !amd64

package vector

const avx2 = false

func mixAVX2(*Double, *Double, *float64, *Part, int, int) {}
func mulAVX2(*Double, *Double, *Double, int)              {}
func addAVX2(*Double, *float64, *Double, int)             {}
func sumAVX2(*Double, *float64, *Double, int)             {}
func turnAVX2(*Single, *Single, *Double, int)             {}
func powersAVX2(*Double, *[4]complex128, complex128)      {}
