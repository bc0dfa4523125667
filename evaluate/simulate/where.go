package simulate

import (
	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// Where returns in which worlds the car that was summed is as it was shown to be. c is its
// case.
func (t *Totals) Where(c costs.Case, shown []costs.Shown) []bool {
	where := make([]bool, len(t.Sums))
	for w := range where {
		where[w] = true
	}
	worst := make([]uint8, len(where))
	for _, x := range shown {
		clear(worst)
		for i := range c { // grades ascend
			if c[i].Spot != x.Spot {
				continue
			}
			if t.cands[i].certain {
				worst = fill(worst, len(where), uint8(c[i].Grade))
			}
			for _, w := range t.cands[i].worldsUncertain() {
				worst[w] = uint8(c[i].Grade)
			}
		}
		for w, grade := range worst {
			where[w] = where[w] && x.Allows(damage.Grade(grade))
		}
	}
	return where
}
