package evaluate

import "gonum.org/v1/gonum/stat/distuv"

// normalFar and normalStep are how far either side of 0 the standard normal is tabulated, and how closely.
const (
	normalFar  = 8
	normalStep = 1.0 / 64
)

// normals are the standard normal's distribution function and its density, times the step, at each score of the table.
var normals = func() (t [2*normalFar/normalStep + 2][2]float64) {
	for i := range t {
		z := float64(i)*normalStep - normalFar
		t[i] = [2]float64{distuv.UnitNormal.CDF(z), distuv.UnitNormal.Prob(z) * normalStep}
	}
	return t
}()

// normalBelow returns the chance that a standard normal is at most z, from the table: between two scores the cubic with
// their chances and densities, within 1e-9 of it.
func normalBelow(z float64) float64 {
	t := (z + normalFar) * (1 / normalStep)
	switch {
	case t <= 0:
		return 0
	case t >= 2*normalFar/normalStep:
		return 1
	}
	i := int(t)
	t -= float64(i)
	a, b := &normals[i], &normals[i+1]
	rise := b[0] - a[0]
	return a[0] + t*(a[1]+t*(3*rise-2*a[1]-b[1]+t*(a[1]+b[1]-2*rise)))
}
