package evaluate

import (
	"math"
	"testing"

	"wreckoner/evaluate/deal"
)

// The chance that a car is not finished, as the comparison of VAT has it, is that of the choice, whatever the costs are
// multiplied by.
func TestUnfinishedByTheChoice(t *testing.T) {
	r := &analytic{points: []point{{900, 0.2}, {2500, 0.5}, {6000, 0.25}, {14_000, 0.05}}}
	for _, p := range r.points {
		r.way.at, r.way.logs = append(r.way.at, p.amount), append(r.way.logs, math.Log(p.amount))
		r.way.costs += p.chance * p.amount
	}
	const finished, stopped = 1200.0, -700.0
	for _, times := range []float64{0.6, 1, 1.2} {
		for _, stripError := range []float64{0, 0.25} {
			c, want := deal.Choose(times*r.way.costs, times*3000, finished, stopped, stripError), 0.0
			for _, p := range r.points {
				cost := times * p.amount
				want += p.chance * c.Chance(cost) * (stopped - (finished - (cost - times*r.way.costs)))
			}
			if got := r.unfinished(c, times, finished, stopped); want < 1 || math.Abs(got-want) > 1e-3*want {
				t.Errorf("times %v, error %v: leaving cars unfinished adds %.3f, want %.3f", times, stripError, got, want)
			}
		}
	}
}
