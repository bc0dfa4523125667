package plan

import "sort"

// tie is how many pounds buying may be worse than passing and still counts as
// good: rounding errors must not move a stop.
const tie = 1e-6

// A ladder is a lot at each bid step up to its own limit.
type ladder struct {
	step   float64
	score  []float64 // of winning below this price, as things stand
	chance []float64 // that this is the price to pay
	margin []float64
	tied   []float64
	worth  []float64 // margin less what a bay and the money tied up are worth after the sale
	cost   []float64 // tied, or zeros where money is not limited
	known  bool
	uneven bool // the worth rises somewhere with the price
}

// newLadder returns a lot's ladder as prices stand.
func newLadder(l *Lot, s *Settings, common Common, anyCash bool) *ladder {
	n := steps(s.BidStep, l.Limit)
	d := &ladder{step: s.BidStep, margin: l.Margin[:n], tied: l.Tied[:n], cost: l.Tied[:n], known: l.Hammer.Known()}
	d.score, d.worth = make([]float64, n), make([]float64, n)
	rivals := Rivals{Hammer: l.Hammer, Gap: s.Gap, Opening: l.Opening}
	for j := range n {
		d.score[j] = common.of(rivals.Score(s.BidStep * float64(j+1)))
		d.worth[j] = l.Margin[j] - s.BayValue - s.MoneyValue*l.Tied[j]
		d.uneven = d.uneven || j > 0 && d.worth[j] > d.worth[j-1]+tie
	}
	if anyCash {
		d.cost = make([]float64, n)
	}
	d.chance = make([]float64, n)
	d.chances(Common{Var: 1}, d.chance)
	return d
}

// chances writes the chance of each price as the one to pay, the scores moved by
// what is known of the sale.
func (d *ladder) chances(common Common, out []float64) {
	last := 0.0
	for j, z := range d.score {
		p := below(common.of(z))
		out[j], last = p-last, p
	}
}

// price returns the price of the nth step from 1, 0 for none.
func (d *ladder) price(n int) float64 { return d.step * float64(n) }

// winChance returns the chance that a stop of n steps wins.
func (d *ladder) winChance(n int) float64 {
	if n == 0 {
		return 0
	}
	return below(d.score[n-1])
}

// paid returns the step, from 0, that is paid where the rivals' score is z; the
// number of steps where they go beyond the limit.
func (d *ladder) paid(z float64) int {
	n := len(d.score)
	if n == 0 || z >= d.score[n-1] {
		return n
	}
	return sort.Search(n, func(j int) bool { return d.score[j] > z })
}

// potential returns the most that bidding can add: what it is worth where bays
// and money cost nothing.
func (d *ladder) potential() float64 {
	sum := 0.0
	for j, p := range d.chance {
		sum += p * max(0, d.worth[j])
	}
	return sum
}

// covered returns how many of n steps can be bid with so much money.
func (d *ladder) covered(n int, cash float64) int {
	n = min(n, len(d.cost))
	if n == 0 || d.cost[n-1] <= cash+1e-9 {
		return n
	}
	// Fees may make what is tied up fall at a step: hence the loop.
	n = sort.Search(n, func(j int) bool { return d.cost[j] > cash+1e-9 })
	for n > 0 && d.cost[n-1] > cash+1e-9 {
		n--
	}
	return n
}
