package evaluate

import (
	"errors"
	"slices"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/shop"
)

// ErrRare is the error for what too few simulated cars are like to say anything of it.
var ErrRare = errors.New("too few simulated cars are like that")

// ErrContradiction is the error for a spot that was shown to be worse and better at once.
var ErrContradiction = errors.New("these answers can't all be right: worse damage is there and lesser damage at " +
	"the same " +
	"spot is not")

// leastGiven is how many simulated cars must be as a car was shown to be.
const leastGiven = 256

// Given returns the assessment of the same lot where looking at it has shown something of its
// damage: what was found is charged, what is not there is not, and how hard the car was hit is
// learned from both, so that all that is left in doubt costs more or less. Damage that was
// hidden brings no more damage (METHOD.md 4.3). What the market thinks of the lot stays as it
// was: others did not see what you saw.
//
// It fails with ErrContradiction, with ErrRare where cars are simulated and too few are so, and
// with convolve.ErrImpossible where by the rules for hidden damage none is. Doubts, Zones and Workings are not for such an
// assessment.
func (s *Assessment) Given(shown []costs.Shown) (*Assessment, error) {
	if len(shown) == 0 {
		return s, nil
	}
	if slices.ContainsFunc(shown, func(x costs.Shown) bool { return !x.Possible() }) {
		return nil, ErrContradiction
	}
	p := *s.p
	p.shown = shown
	g := &Assessment{e: s.e, p: &p}
	if s.k != nil {
		p.appraisal = s.k.a
		exact, err := s.e.convolved(&p, &g.b)
		if err != nil {
			return nil, err
		}
		if exact {
			g.k = &g.b.analytic
			if g.k.whole = s.k.whole; g.k.whole == nil {
				g.k.whole = s.k
			}
			return g, nil
		}
	}
	all := s.worlds
	if all == nil {
		s.b.totals.Sum(s.e.draws, s.p.Case)
		all = s.e.worlds(s.p, &s.b, Overrides{})
	}
	where := s.b.totals.Where(s.p.Case, shown)
	if g.worlds = all.Select(where, true); g.worlds == nil || len(g.worlds.Base) < leastGiven {
		return nil, ErrRare
	}
	return g, nil
}

// Exact reports whether no car was simulated for the assessment.
func (s *Assessment) Exact() bool { return s.k != nil }

// Shop is the workshop that the lot is judged for.
func (s *Assessment) Shop() *shop.Shop { return s.e.shop }
