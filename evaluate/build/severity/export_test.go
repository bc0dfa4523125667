package severity

import "gonum.org/v1/gonum/stat/distuv"

// Density returns the density of Z at z, 0 beyond the grid.
func (f *Factor) Density(z float64) float64 {
	if f.z == nil {
		return distuv.UnitNormal.Prob(z)
	}
	at := (z - f.z[0]) / f.step
	if !(at >= 0 && at <= cells) {
		return 0
	}
	i := min(int(at), cells-1)
	share := at - float64(i)
	return f.density[i]*(1-share) + f.density[i+1]*share
}
