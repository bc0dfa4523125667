package vector

func setAVX2(on bool) { avx2 = on }
