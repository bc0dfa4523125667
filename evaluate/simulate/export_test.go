package simulate

// Sobol returns an unscrambled coordinate, for the test against SciPy's.
func Sobol(dimension int, index uint32) uint32 { return sobol(&directions()[dimension], index) }
