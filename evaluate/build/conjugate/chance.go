package conjugate

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Chance is a belief about a chance: beta distributed with mean Mean, worth
// Seen cases, that is Beta(Mean Seen, (1 - Mean) Seen). Its variance is
// Mean (1 - Mean) / (Seen + 1). The uniform belief is Mean 0.5, Seen 2.
type Chance struct{ Mean, Seen float64 }

// NewChance returns the belief of a chance between 0 and 1 that rests on so many
// cases. A belief that rests on fewer than one is taken as worth one, so that a
// single case never settles the matter. It fails on any other chance, or a
// number of cases below 0.
func NewChance(chance, seen float64) (Chance, error) {
	if !(chance >= 0 && chance <= 1) {
		return Chance{}, fmt.Errorf("chance %v is not between 0 and 1", chance)
	}
	if !(seen >= 0) || math.IsInf(seen, 0) {
		return Chance{}, fmt.Errorf("%v cases seen; write 0 or more", seen)
	}
	return Chance{chance, max(1, seen)}, nil
}

// Update returns the belief after found of looked further cases. It fails where
// found is not between 0 and looked.
//
// Gelman et al. (2013), Bayesian Data Analysis, section 2.4.
func (c Chance) Update(found, looked int) (Chance, error) {
	if found < 0 || found > looked {
		return c, fmt.Errorf("found in %d of %d; count between none and all", found, looked)
	}
	seen := c.Seen + float64(looked)
	return Chance{(c.Mean*c.Seen + float64(found)) / seen, seen}, nil
}

// SD returns the standard deviation of the belief.
func (c Chance) SD() float64 { return math.Sqrt(c.Mean * (1 - c.Mean) / (c.Seen + 1)) }

// Quantile returns the chance below which the true one lies with probability p
// in (0,1). A belief in 0 or 1 is that, whatever p.
func (c Chance) Quantile(p float64) float64 {
	if c.Mean == 0 || c.Mean == 1 {
		return c.Mean
	}
	return distuv.Beta{Alpha: c.Mean * c.Seen, Beta: (1 - c.Mean) * c.Seen}.Quantile(p)
}

// UpdateLikely is Update where it is known only how likely each of looked cases
// was one: found is the sum of those chances, from 0 to looked. It is the step of
// expectation-maximisation: Dempster, Laird and Rubin (1977), Journal of the Royal
// Statistical Society B 39, 1-38.
func (c Chance) UpdateLikely(found float64, looked int) (Chance, error) {
	if !(found >= 0 && found <= float64(looked)) {
		return c, fmt.Errorf("found %v of %d", found, looked)
	}
	seen := c.Seen + float64(looked)
	return Chance{(c.Mean*c.Seen + found) / seen, seen}, nil
}
