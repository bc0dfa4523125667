package source

import (
	"math"
	"slices"
)

// A Flip says from which chance on an uncertain option is worth trying at all.
type Flip struct {
	Option int
	// From is the chance of working from which the cheapest plan with the option
	// costs no more than the cheapest without it; NaN where not even a certain
	// one would be worth it. In a network the plans of the other jobs stay.
	From float64
}

// flips returns the flip of each uncertain option of a job that has a certain one.
// A plan's cost is linear in the chance of each option, so that it equals that of
// the best plan without the option at one chance at most.
func (t *task) flips(h *hold, r Rates) []Flip {
	if len(t.plans) == 0 || t.left(t.plans[0]) > 0 {
		return nil
	}
	cost := func(order []int, which int, chance float64) float64 {
		money, held := t.expect(order, h, which, chance)
		return money + r.Holding*held
	}
	var out []Flip
	for o := range t.Options {
		if t.Options[o].Certain() {
			continue
		}
		without := math.Inf(1)
		for _, order := range t.plans {
			if !slices.Contains(order, o) {
				without = min(without, cost(order, -1, 0))
			}
		}
		from := math.Inf(1)
		for _, order := range t.plans {
			if !slices.Contains(order, o) {
				continue
			}
			never, always := cost(order, o, 0), cost(order, o, 1)
			switch {
			case never <= without:
				from = 0
			case always <= without:
				from = min(from, (never-without)/(never-always))
			}
		}
		if math.IsInf(from, 1) {
			from = math.NaN()
		}
		out = append(out, Flip{o, from})
	}
	return out
}

// A Straight says at which holding cost going straight to a certain option costs
// no more than any other plan, in pounds a day: from From up to To, which may be
// infinite. Never: at none. In a network the plans of the other
// jobs are chosen anew for each holding cost; by Descent they stay.
type Straight struct {
	Option   int
	From, To float64
	Never    bool
}

// straights returns those of the certain options, where there is another plan. A
// plan's cost is linear in the holding cost.
func (t *task) straights(h *hold) []Straight {
	if len(t.plans) < 2 {
		return nil
	}
	var out []Straight
	for o := range t.Options {
		if !t.Options[o].Certain() {
			continue
		}
		money, held := t.expect([]int{o}, h, -1, 0)
		s := Straight{Option: o, To: math.Inf(1)}
		for _, order := range t.plans {
			m, d := t.expect(order, h, -1, 0)
			dearer, quicker := money-m, d-held
			switch {
			case quicker > 1e-9:
				s.From = max(s.From, dearer/quicker)
			case quicker < -1e-9:
				s.To = min(s.To, dearer/quicker)
			case dearer > 1e-9:
				s.Never = true
			}
		}
		if s.From > s.To+1e-9 {
			s.Never = true
		}
		if s.Never {
			s.From, s.To = math.NaN(), math.NaN()
		}
		out = append(out, s)
	}
	return out
}
