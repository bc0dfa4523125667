package reforecast

import (
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/severity"
	"wreckoner/evaluate/simulate"
)

// ownEvidence is what is believed for one open job: for what it will still cost by all but its
// hours, and for how long it will still take by all but its spend, since buying the last part
// says nothing of the work that is left.
type ownEvidence struct {
	// bySpend and byHours are the severity factor in each world, habit the habit.
	bySpend, byHours, habit []float64
	// others is what all but the job itself says.
	others *belief
	// charged is the place, at the spot, of what is charged in each world by all but the job
	// itself; nil where nothing worse may come out there.
	charged []int
}

// ownEvidence works it out for each open job that money or hours went to, of the case that is
// believed now.
func (s *state) ownEvidence(now *evaluate.ResolvedLot) error {
	for _, j := range s.known.jobs {
		if j == nil || j.Done || j.Spend <= 0 && j.Hours <= 0 {
			continue
		}
		var by [3]*severity.Factor
		for i, but := range []func(*Job){
			func(j *Job) { j.Hours = 0 }, func(j *Job) { j.Spend = 0 }, func(j *Job) { j.Spend, j.Hours = 0, 0 },
		} {
			var err error
			if by[i], err = severity.New(s.known.evidenceBut(&s.shop.Settings, s.Forecaster.price, j, but)); err != nil {
				return err
			}
		}
		if err := s.own(j, now, by[0], by[1], by[2]); err != nil {
			return err
		}
	}
	return nil
}

// own fills in what is believed for one open job.
func (s *state) own(j *settled, now *evaluate.ResolvedLot, bySpend, byHours, others *severity.Factor) error {
	draws := s.e.Draws()
	j.own = &ownEvidence{
		bySpend: draws.SeverityBy(bySpend.Quantile), byHours: draws.SeverityBy(byHours.Quantile),
		habit:  slices.Clone(draws.Score(draws.Stream("habit of the open jobs"))),
		others: believe(others, min(s.shop.SeverityLink, furthestLink)),
	}
	for w, z := range j.own.habit {
		j.own.habit[w] = bySpend.Habit(j.own.bySpend[w], distuv.UnitNormal.CDF(z))
	}
	here := now.Case.AtSpot(j.Spot)
	if len(here) < 2 {
		return nil
	}
	opt := s.opt
	opt.Factor = others.Quantile
	e, err := evaluate.New(s.shop, opt)
	if err != nil {
		return err
	}
	var t simulate.Totals
	t.Sum(e.Draws(), now.Case)
	from := slices.IndexFunc(now.Case, func(c costs.Candidate) bool { return c.Spot == j.Spot })
	j.own.charged = make([]int, s.opt.Points)
	worst(&t, from, here, j.own.charged)
	return nil
}
