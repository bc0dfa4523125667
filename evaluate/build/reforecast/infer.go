package reforecast

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// infer moves the chances of suspected damage that is still open by what it was
// expected to bring: where that was found, it is likelier, where not, less so
// (Bayes' rule, each spot by itself at the chances before anything was learned of
// the severity factor). It reports whether it moved any.
func (k *known) infer() (moved bool) {
	for _, spot := range openSpots(k.found) {
		odds, informed := k.odds(spot)
		sum := 0.0
		for _, x := range odds {
			sum += x
		}
		if !informed || !(sum > 0) {
			continue
		}
		moved = true
		k.suspect(spot, odds, sum)
	}
	return moved
}

// gradeOdds are relative chances, not summing to 1, that each grade is the highest coded one
// at a spot; 0 is none.
type gradeOdds [damage.GradeCount + 1]float64

// odds returns the odds of the grades at a spot, given which of the hidden damage that they
// were expected to bring was found. informed is false where nothing was looked at yet.
func (k *known) odds(spot damage.Spot) (odds gradeOdds, informed bool) {
	odds = k.codedShares(spot)
	for _, c := range k.chances {
		s := k.jobs[c.Spot.Index()]
		if s == nil || c.Kind != costs.Hidden || !slices.ContainsFunc(c.Triggers,
			func(t costs.Trigger) bool { return t.Spot == spot }) {
			continue
		}
		there, absent := s.decides(c)
		if !there && !absent {
			continue
		}
		informed = true
		for g := range odds {
			chance := k.hiddenChance(c, &spot, damage.Grade(g))
			if absent {
				chance = 1 - chance
			}
			odds[g] *= chance
		}
	}
	return odds, informed
}

// suspect sets the chance of each suspected finding at a spot from the odds of the grades,
// which sum to sum: from the worst down, each given that no worse one is there.
func (k *known) suspect(spot damage.Spot, odds gradeOdds, sum float64) {
	above := 0.0
	for g := damage.Grade(damage.GradeCount); g >= 1; g-- {
		for i := range k.found {
			if f := &k.found[i]; f.Spot == spot && f.Grade == g && f.State == damage.Suspected {
				f.Chance = 0
				if rest := 1 - above; rest > 1e-12 {
					f.Chance = min(1, odds[g]/sum/rest)
				}
				above += odds[g] / sum
			}
		}
	}
}

// openSpots returns the spots at which something coded is only suspected.
func openSpots(found []costs.Finding) (spots []damage.Spot) {
	for _, f := range found {
		if f.State == damage.Suspected && !slices.Contains(spots, f.Spot) {
			spots = append(spots, f.Spot)
		}
	}
	return spots
}

// codedShares returns the chance that each grade is the highest coded one at a
// spot.
func (k *known) codedShares(spot damage.Spot) (shares gradeOdds) {
	rest := 1.0
	for g := damage.Grade(damage.GradeCount); g >= 1; g-- {
		for _, f := range k.found {
			if f.Spot == spot && f.Grade == g && f.State != damage.Absent {
				shares[g] += rest * f.Chance
				rest *= 1 - f.Chance
			}
		}
	}
	shares[0] = rest
	return shares
}

// hiddenChance returns the chance of a hidden candidate, over what its triggers
// may turn out to be; with that at the spot fixed, where it is not nil, at that
// grade.
func (k *known) hiddenChance(c costs.Candidate, fixed *damage.Spot, grade damage.Grade) float64 {
	miss := 1.0
	for _, t := range c.Triggers {
		if fixed != nil && t.Spot == *fixed {
			miss *= 1 - t.Chance[grade]
			continue
		}
		chance := 0.0
		for g, share := range k.codedShares(t.Spot) {
			chance += share * t.Chance[g]
		}
		miss *= 1 - chance
	}
	return 1 - miss
}
