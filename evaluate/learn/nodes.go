package learn

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

// nodeCount is how many values of a build's severity Z are summed over.
const nodeCount = 15

// nodes and weights integrate over a standard normal Z: the Gauss-Hermite rule, rescaled (METHOD.md 16.7).
var nodes, weights = hermite()

func hermite() (x, w [nodeCount]float64) {
	quad.Hermite{}.FixedLocations(x[:], w[:], math.Inf(-1), math.Inf(1))
	for i := range x {
		// gonum's rule is for the weight exp(-x^2).
		w[i] /= math.Sqrt(math.Pi)
		x[i] *= math.Sqrt2
	}
	return x, w
}

// logNormalCDF returns the log of the standard normal distribution function, with full relative precision in the lower
// tail, where it falls back on the asymptotic series (Abramowitz and Stegun 1964, 26.2.12).
func logNormalCDF(x float64) float64 {
	if x > -30 {
		return math.Log(0.5 * math.Erfc(-x/math.Sqrt2))
	}
	i := 1 / (x * x)
	return -0.5*x*x - math.Log(-x) - 0.5*math.Log(2*math.Pi) + math.Log1p(-i+3*i*i)
}

// conditional writes, for each node of Z, the log chance that something of chance p happened, or did not (METHOD.md
// 16.6; Vasicek 1987). link is the correlation of what brings it with Z.
func conditional(p, link float64, happened bool, out *[nodeCount]float64) {
	score := mathext.NormalQuantile(min(max(p, 1e-9), 1-1e-9))
	for k := range out {
		q := (score + math.Sqrt(link)*nodes[k]) / math.Sqrt(1-link)
		if !happened {
			q = -q
		}
		out[k] = logNormalCDF(q)
	}
}

// logSum returns the log of a sum of exponentials, none of which overflows.
func logSum(x []float64) float64 {
	top := math.Inf(-1)
	for _, v := range x {
		top = max(top, v)
	}
	if math.IsInf(top, -1) {
		return top
	}
	sum := 0.0
	for _, v := range x {
		sum += math.Exp(v - top)
	}
	return top + math.Log(sum)
}

// normalize turns logs of weights into weights that sum to 1, in place.
func normalize(logs []float64) {
	total := logSum(logs)
	for i := range logs {
		logs[i] = math.Exp(logs[i] - total)
	}
}

// moments returns mean and standard deviation of values under weights that sum to 1.
func moments(values, weights []float64) (mean, sd float64) {
	for i, w := range weights {
		mean += w * values[i]
	}
	for i, w := range weights {
		sd += w * (values[i] - mean) * (values[i] - mean)
	}
	return mean, math.Sqrt(sd)
}

// grid returns n+1 values from low to high in equal steps.
func grid(low, high float64, n int) []float64 {
	all := make([]float64, n+1)
	for i := range all {
		all[i] = low + (high-low)*float64(i)/float64(n)
	}
	return all
}

// A mix is a prior of two normals about 0: most likely as the workshop says, else anywhere.
type mix [2]struct{ weight, sd float64 }

// log returns the log density but for a constant.
func (m mix) log(x float64) float64 {
	sum := 0.0
	for _, c := range m {
		sum += c.weight / c.sd * math.Exp(-0.5*(x/c.sd)*(x/c.sd))
	}
	return math.Log(sum)
}

// odds multiplies the odds of a chance by exp(w).
func odds(p, w float64) float64 {
	o := p / max(1-p, 1e-12) * math.Exp(w)
	return o / (1 + o)
}
