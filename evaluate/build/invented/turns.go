// Package invented draws how invented cars turn out, for tests.
package invented

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
)

// Turns draws how cars turn out where a workshop's tables and settings are true.
type Turns struct {
	e      *evaluate.Evaluator
	random *rand.Rand
}

// NewTurns returns the turns of a seed; each car is one of so many simulated ones. It fails where the workshop or the
// number of points is not valid.
func NewTurns(workshop *shop.Shop, points int, seed uint64) (*Turns, error) {
	e, err := evaluate.New(workshop, evaluate.Options{Points: points, Seed: 1000 + seed})
	if err != nil {
		return nil, err
	}
	return &Turns{e: e, random: rand.New(rand.NewPCG(seed, 1))}, nil
}

// Evaluator is that of the simulated cars which are drawn from.
func (r *Turns) Evaluator() *evaluate.Evaluator { return r.e }

// Build draws how a lot turns out and returns what a ledger would say of it: each job done at its grade, all else
// looked for and clear. It fails where a lot cannot be judged.
func (r *Turns) Build(lot *evaluate.Lot, name string) (*build.Build, error) {
	p, err := r.e.Resolve(lot)
	if err != nil {
		return nil, err
	}
	var totals simulate.Totals
	totals.Sum(r.e.Draws(), p.Case)
	n := r.e.Options().Points
	w := r.random.IntN(n)
	b := &build.Build{Name: name}
	spend, hours := make([]float64, n), make([]float64, n)
	for _, spot := range totals.Spots() {
		j := &build.Job{Spot: spot, Grade: charged(&totals, p.Case, spot, int32(w)), State: build.JobDone}
		state := build.JobDone
		if j.Grade == 0 {
			j.State, j.ClearFrom, state = build.JobClear, 1, build.JobClear
		} else {
			totals.Spot(r.e.Draws(), p.Case, spot, spend, hours)
			j.Spend, j.Paid = money.FromPounds(p.Segment.Spend*spend[w]), true
			j.Hours, j.Worked = math.Round(100*p.Segment.Hours*hours[w])/100, true
		}
		j.Entries = []build.Entry{{Kind: build.ZoneEntry, Spot: spot, Grade: j.Grade, Spend: j.Spend, Paid: j.Paid,
			Hours: j.Hours, Worked: j.Worked, State: state}}
		b.Jobs = append(b.Jobs, j)
	}
	worlds := r.e.Worlds(p, &totals, evaluate.Overrides{})
	b.Sale = build.Money{Pence: money.FromPounds(worlds.Resale[w]), Given: true}
	b.Bought = time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC)
	b.Sold = b.Bought.AddDate(0, 0, int(worlds.Days[w]))
	return b, nil
}

// charged returns the grade that is charged at a spot in a world, 0 for none.
func charged(totals *simulate.Totals, c costs.Case, spot damage.Spot, w int32) (g damage.Grade) {
	for i, x := range c {
		if x.Spot != spot {
			continue
		}
		if worlds, certain := totals.Occurs(i); certain || slices.Contains(worlds, w) {
			g = max(g, x.Grade)
		}
	}
	return g
}
