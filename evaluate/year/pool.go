package year

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// LeastGroups are needed to pool, LeastCars in a group to be advised on.
	LeastGroups = 4
	LeastCars   = 5
)

// A Mean is a group's mean with the variance that it has by chance.
type Mean struct{ Y, Variance float64 }

// A Pooled is what is believed of a group beside the others.
type Pooled struct {
	// Mean and SD of the group's true mean; Kept is the share of the group's departure from
	// the common mean that is kept; Above is the chance that the true mean is above it, where
	// how well the common mean is known counts too.
	Mean, SD, Kept, Above float64
}

// Pool draws the means of groups toward their common mean mu, the less the better each is
// known: with y about theta, variance s^2, and theta ~ N(mu, t^2),
//
//	posterior mean = mu + (1 - w) (y - mu)     w = (k - 3) / (k - 1) x s^2 / (s^2 + t^2)
//
// for k groups, t^2 by restricted maximum likelihood (C. N. Morris, 1983, "Parametric
// empirical Bayes inference", J. Am. Stat. Assoc. 78). The posterior variance is
// s^2 (1 - (k - 1)/k w) + 2/(k - 3) w^2 (y - mu)^2 x (mean s^2 + t^2)/(s^2 + t^2), Morris's
// too, from memory. All variances are above 0. ok is false, and there is nothing to
// pool, with fewer than LeastGroups groups.
func Pool(groups []Mean) (out []Pooled, mu, t2 float64, ok bool) {
	k := float64(len(groups))
	if len(groups) < LeastGroups {
		return nil, 0, 0, false
	}
	t2 = reml(groups)
	mu = common(groups, t2)
	average, weight := 0.0, 0.0
	for _, g := range groups {
		average += g.Variance / k
		weight += 1 / (g.Variance + t2)
	}
	for _, g := range groups {
		w := (k - 3) / (k - 1) * g.Variance / (g.Variance + t2)
		off := g.Y - mu
		v := g.Variance*(1-(k-1)/k*w) + 2/(k-3)*w*w*off*off*(average+t2)/(g.Variance+t2)
		p := Pooled{Mean: mu + (1-w)*off, SD: math.Sqrt(v), Kept: 1 - w}
		p.Above = distuv.UnitNormal.CDF((p.Mean - mu) / math.Sqrt(v+(1-w)*(1-w)/weight))
		out = append(out, p)
	}
	return out, mu, t2, true
}

// common is the mean of the groups, each by how well it is known.
func common(groups []Mean, t2 float64) float64 {
	sum, weight := 0.0, 0.0
	for _, g := range groups {
		w := 1 / (g.Variance + t2)
		sum, weight = sum+w*g.Y, weight+w
	}
	return sum / weight
}

// slope is the derivative of the restricted log likelihood by t^2, twice: with weights
// w = 1/(s^2 + t^2), sum w^2 (y - mu)^2 - sum w + sum w^2 / sum w.
func slope(groups []Mean, t2 float64) float64 {
	mu := common(groups, t2)
	square, sum, squares := 0.0, 0.0, 0.0
	for _, g := range groups {
		w := 1 / (g.Variance + t2)
		square += w * w * (g.Y - mu) * (g.Y - mu)
		sum += w
		squares += w * w
	}
	return square - sum + squares/sum
}

// reml returns the t^2 >= 0 at which the restricted likelihood is largest. Where it has
// several hills, the best of those is taken that a fine scan finds.
func reml(groups []Mean) float64 {
	spread, least := 0.0, math.Inf(1)
	mu := common(groups, 0)
	for _, g := range groups {
		spread += (g.Y - mu) * (g.Y - mu)
		least = min(least, g.Variance)
	}
	top := 4*spread + least // no hill lies beyond
	best, most := 0.0, likelihood(groups, 0)
	const steps = 200
	low := 0.0
	for i := 1; i <= steps; i++ {
		x := float64(i) / steps
		high := top * x * x * x
		if slope(groups, low) > 0 && slope(groups, high) <= 0 {
			at := root(groups, low, high)
			if l := likelihood(groups, at); l > most {
				best, most = at, l
			}
		}
		low = high
	}
	return best
}

func root(groups []Mean, low, high float64) float64 {
	for range 200 {
		mid := (low + high) / 2
		if slope(groups, mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// likelihood is the restricted log likelihood, but for a constant, twice.
func likelihood(groups []Mean, t2 float64) float64 {
	mu := common(groups, t2)
	l, sum := 0.0, 0.0
	for _, g := range groups {
		v := g.Variance + t2
		l -= math.Log(v) + (g.Y-mu)*(g.Y-mu)/v
		sum += 1 / v
	}
	return l - math.Log(sum)
}
