package probe

import (
	"math"
	"slices"

	"wreckoner/damage/costs"
	"wreckoner/evaluate"
)

// always stands for odds beyond which an item is there whatever its chance was.
const always = 1e9

// breakEven finds, for each unknown, the chance of it at which the average margin at the
// price is zero, by changing the chance and working the lot out again.
func (p *Probe) breakEven(e *evaluate.Evaluator, resolved *evaluate.ResolvedLot) error {
	for k := range p.Unknowns {
		u := &p.Unknowns[k]
		i := slices.IndexFunc(resolved.Case, func(c costs.Candidate) bool { return c.Item == u.Item })
		at := func(odds float64) (margin, chance float64, err error) {
			moved := *resolved
			moved.Case = withItemOdds(resolved.Case, i, odds)
			s, err := e.AssessResolved(&moved)
			if err != nil {
				return 0, 0, err
			}
			return s.MeanMargin(p.Price), s.Chance(i), nil
		}
		var err error
		if u.BreakEvenChance, u.Pays, err = zeroChance(at); err != nil {
			return err
		}
	}
	return nil
}

// zeroChance finds the chance at which at returns a margin of zero, among odds from 0 on;
// NaN where none does, and pays then says whether the margin is above zero throughout.
// It goes by odds since an item may have several triggers, whose chances combine, and its
// chance as a whole is read off: by the Illinois method (Dowell and Jarratt 1971), in the
// chance that those odds would give a single trigger, along which the margin is nearly
// straight, to a penny or 20 steps.
func zeroChance(at func(odds float64) (margin, chance float64, err error)) (zero float64, pays bool, err error) {
	least, none, err := at(0)
	if err != nil {
		return 0, false, err
	}
	most, all, err := at(always)
	if err != nil {
		return 0, false, err
	}
	if (least < 0) == (most < 0) || none == all {
		return math.NaN(), least >= 0 && most >= 0, nil
	}
	_, usual, err := at(1)
	if err != nil || usual <= 0 || usual >= 1 {
		return math.NaN(), least >= 0, err
	}
	bracket := illinois{high: 1, atLow: least, atHigh: most}
	chance := usual
	for range 20 {
		x := bracket.next()
		var y float64
		if y, chance, err = at(x / (1 - x) * (1 - usual) / usual); err != nil {
			return 0, false, err
		}
		if math.Abs(y) < 0.01 || bracket.narrow(x, y) < 1e-9 {
			break
		}
	}
	return chance, false, nil
}

// illinois brackets a zero of a function whose values at low and high differ in sign.
type illinois struct {
	low, high, atLow, atHigh float64
	side                     int // which end moved last: -1 low, 1 high
}

// next is where to look next.
func (b *illinois) next() float64 {
	return (b.low*b.atHigh - b.high*b.atLow) / (b.atHigh - b.atLow)
}

// narrow takes in that the function is y at x, and returns the width that is left.
func (b *illinois) narrow(x, y float64) float64 {
	if (y < 0) == (b.atLow < 0) {
		b.low, b.atLow = x, y
		if b.side == -1 {
			b.atHigh /= 2
		}
		b.side = -1
	} else {
		b.high, b.atHigh = x, y
		if b.side == 1 {
			b.atLow /= 2
		}
		b.side = 1
	}
	return b.high - b.low
}

// withItemOdds returns the case with the chance of one suspected or hidden candidate at so
// many times its odds.
func withItemOdds(c costs.Case, i int, k float64) costs.Case {
	moved := slices.Clone(c)
	moved[i] = costs.Case{c[i]}.WithOdds(k)[0]
	return moved
}
