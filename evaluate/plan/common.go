package plan

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// maxScore is where the score of a closed lot is cut, so that one wild guide
// does not move the whole sale.
const maxScore = 2.5

// A Common is what is known of the score w that all prices of a sale share: w is
// normal with this mean and variance. Before the sale they are 0 and 1.
//
// One-factor Gaussian copula, METHOD.md 19.5 to 19.7.
type Common struct {
	// Link is the share of a score's variance that the sale shares, from 0 to
	// below 1.
	Link      float64
	Mean, Var float64
}

// of returns the score at which a price stands now, from the score z at which it
// stood before anything was known of the sale.
func (c Common) of(z float64) float64 {
	if c.Mean == 0 && c.Var == 1 {
		return z
	}
	return (z - math.Sqrt(c.Link)*c.Mean) / math.Sqrt(1-c.Link+c.Link*c.Var)
}

// within returns the same for scores that stand as of has moved them, where w
// turns out at x of its standard deviations above its mean.
func (c Common) within(x float64) Common {
	return Common{Link: c.Link * c.Var / (1 - c.Link + c.Link*c.Var), Mean: x}
}

// learn returns what is known of w after lots with these scores have closed:
// the conjugate normal posterior of a standard normal prior.
func learn(link float64, scores []float64) Common {
	sum := 0.0
	for _, z := range scores {
		sum += max(-maxScore, min(maxScore, z))
	}
	rest := 1 - link + float64(len(scores))*link
	return Common{Link: link, Mean: math.Sqrt(link) * sum / rest, Var: (1 - link) / rest}
}

// closedScore returns the score at which a lot closed at hammer pounds. A lot of
// ours was sold in the step that ends at the hammer, another's at the price that
// the gap lies above. It is false where the lot teaches nothing: nothing was known of
// its hammer, or it was certain. METHOD.md 19.8.
func closedScore(r Rivals, step, hammer float64, won bool) (float64, bool) {
	if !r.Hammer.Known() || r.Hammer.Certain() {
		return 0, false
	}
	if !won {
		return r.Hammer.Score(hammer), true
	}
	if r.Opening > 0 && hammer-step < r.Opening {
		// Bidding opened here: all that is known is that nobody went this far.
		return distuv.UnitNormal.Quantile(below(r.Score(max(hammer, r.Opening))) / 2), true
	}
	return r.Hammer.Score((hammer - step/2) * math.Exp(-r.Gap)), true
}
