package stats

// Mean returns the arithmetic mean of values, in their unit; NaN without values.
func Mean(values []float64) float64 {
	sum := 0.0
	for _, x := range values {
		sum += x
	}
	return sum / float64(len(values))
}
