package source

import (
	"cmp"
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"wreckoner/evaluate/stats"
)

// Points is the number of points at which amounts, and the outcomes of a large
// network, are read.
const Points = 4096

// shuffled returns the middles of Points equal strata of (0,1) in an order that
// hangs on the name alone. Coordinates of different names make up a Latin
// hypercube: McKay, Beckman and Conover (1979), Technometrics 21.
func shuffled(name string) []float64 {
	h := fnv.New64a()
	h.Write([]byte(name)) // never fails, says hash.Hash
	rng := rand.New(rand.NewPCG(h.Sum64(), 1))
	out := make([]float64, Points)
	for i, k := range rng.Perm(Points) {
		out[i] = (float64(k) + 0.5) / Points
	}
	return out
}

// sample returns the amount at the points of the coordinate of that name.
func sample(a stats.Amount, name string) []float64 {
	out := make([]float64, Points)
	if a.Certain() {
		for i := range out {
			out[i] = a.Mid
		}
		return out
	}
	for i, u := range shuffled(name) {
		out[i] = a.Quantile(u)
	}
	return out
}

// A weighted is a value with its probability.
type weighted struct{ value, weight float64 }

// quantiles returns for each of the shares ps, ascending, the least value that
// is not exceeded with that probability. It sorts the values.
func quantiles(values []weighted, ps ...float64) []float64 {
	slices.SortFunc(values, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	total := 0.0
	for _, v := range values {
		total += v.weight
	}
	out := make([]float64, len(ps))
	k, sum := 0, values[0].weight
	for i, p := range ps {
		for k < len(values)-1 && sum < total*p-1e-9 { // the weights carry rounding
			k++
			sum += values[k].weight
		}
		out[i] = values[k].value
	}
	return out
}
