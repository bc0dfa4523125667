// Package conjugate turns a belief and what was seen into the next belief: a
// normal mean and variance, a whole table of three-point amounts that share
// habitual errors, and a chance. It takes plain numbers and knows nothing of
// what they measure.
package conjugate

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// z90 is the standard normal quantile of 0.9.
const z90 = 1.2815515655446004

// A Normal is a belief about a normal distribution whose mean and variance are
// both unknown: normal-inverse-chi-squared. The mean is normal about Mean, worth
// Kappa observations; the variance is scaled inverse chi-squared about Variance,
// worth Nu observations. Kappa, Nu and Variance are above 0.
//
// Gelman et al. (2013), Bayesian Data Analysis, section 3.3; Hoff (2009), A First
// Course in Bayesian Statistical Methods, section 5.3.
type Normal struct{ Mean, Kappa, Variance, Nu float64 }

// NewNormal returns the belief worth so many observations under which the next
// value is below low with chance 0.1 and above high with chance 0.1. It fails
// where low is not below high or worth is not above 0.
func NewNormal(low, high, worth float64) (Normal, error) {
	if !(low < high) || math.IsInf(high-low, 0) {
		return Normal{}, fmt.Errorf("low %v is not below high %v; spread them", low, high)
	}
	if !(worth > 0) || math.IsInf(worth, 0) {
		return Normal{}, fmt.Errorf("a worth of %v observations teaches nothing; write a number above 0", worth)
	}
	scale := (high - low) / 2 / t90(worth)
	return Normal{
		Mean:     low + (high-low)/2,
		Kappa:    worth,
		Variance: scale * scale / (1 + 1/worth),
		Nu:       worth,
	}, nil
}

// Update returns the belief after observations.
//
// Gelman et al. (2013), section 3.3; Hoff (2009), section 5.3.
func (b Normal) Update(observations ...float64) Normal {
	n := float64(len(observations))
	if n == 0 {
		return b
	}
	mean := 0.0
	for _, y := range observations {
		mean += y
	}
	mean /= n
	squares := 0.0
	for _, y := range observations {
		squares += (y - mean) * (y - mean)
	}
	return b.UpdateSummary(n, mean, squares)
}

// UpdateSummary returns the belief after n observations with a mean and a sum of
// squares about it.
func (b Normal) UpdateSummary(n, mean, squares float64) Normal {
	kappa, nu := b.Kappa+n, b.Nu+n
	off := mean - b.Mean
	return Normal{
		Mean:     (b.Kappa*b.Mean + n*mean) / kappa,
		Kappa:    kappa,
		Variance: (b.Nu*b.Variance + squares + b.Kappa*n/kappa*off*off) / nu,
		Nu:       nu,
	}
}

// Predictive returns the distribution of the next value: Student's t with Nu
// degrees of freedom. Gelman et al. (2013), section 3.3.
func (b Normal) Predictive() distuv.StudentsT {
	return distuv.StudentsT{Mu: b.Mean, Sigma: math.Sqrt(b.Variance * (1 + 1/b.Kappa)), Nu: b.Nu}
}

// t90 returns the quantile of 0.9 of Student's t. Above a million degrees of
// freedom it is the normal's, to nine digits.
func t90(nu float64) float64 {
	if nu > 1e6 {
		return z90
	}
	return distuv.StudentsT{Sigma: 1, Nu: nu}.Quantile(0.9)
}
