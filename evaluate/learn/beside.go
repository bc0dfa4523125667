package learn

import (
	"math"
	"slices"

	"wreckoner/damage"
)

// Of spend beside hours (METHOD.md 16.24): prior standard deviations, on the log scale, of how far the whole table, a
// class and a row have spend over hours wrong; of the drift, wide enough to say nothing; and of how much a year a
// workshop may itself become quicker or slower, which looks like a drift of prices and is not one.
const (
	mixSD, mixClassSD, mixRowSD = 0.3, 0.15, 0.2
	anyDriftSD, paceSD          = 1.0, 0.015
)

// How far the spend and the hours of one job scatter apart, and how much of that a build's jobs share, are not known:
// both are summed over, the first with a lognormal prior.
var (
	apartGrid               = grid(math.Log(0.02), math.Log(1.28), 12)
	apartMedian, apartLogSD = 0.3, 1.0
	apartLinks              = []float64{0, 0.2, 0.4, 0.6, 0.8}
)

// fewestBeside is from how many builds on spend beside hours is asked.
const fewestBeside = 3

// besideRounds is how often scores are worked out anew at the drift that was found: a drift that costs alone do not
// show would else count as jobs running dearer from year to year.
const besideRounds = 3

// askBeside returns what spend beside hours says of the drift.
func (f *fit) askBeside() (out Figure) {
	beta, r := slices.Clone(f.beta), make([]float64, len(f.jobs))
	for range besideRounds {
		if out = f.spendBesideHours(f.ease(beta, math.Exp(f.scatter.Mean), r)); out.SD == 0 {
			break
		}
		beta[colDrift] = out.Mean
	}
	return out
}

// A score is held within mostScore, and an amount at it is taken as at least leastOfMid of its mid, so that a row that
// reaches down to nothing makes no ratio without bounds.
const mostScore, leastOfMid = 2.5, 0.1

// spendBesideHours says how much spend has risen a year beyond `inflation`, by what jobs cost over how long they
// took: hours do not inflate, and a job that runs dear runs long, so that the ratio is free of the hit, of a level
// that is off and of jobs that ran away. The standard deviation is 0 where too few builds have both.
func (f *fit) spendBesideHours(scores []float64) Figure {
	c := &costs{prior: make([]float64, colRow)}
	column := map[int]int{}
	var r []float64
	car, builds := -1, 0
	for i := range f.jobs {
		j := &f.jobs[i]
		if j.beside == nil {
			continue
		}
		if j.car != car {
			car, builds = j.car, builds+1
		}
		if column[j.row] == 0 {
			column[j.row] = len(c.prior)
			c.prior = append(c.prior, mixRowSD*mixRowSD)
		}
		c.jobs = append(c.jobs, cost{car: builds - 1, class: j.class, column: column[j.row], drift: j.age,
			curve: &curve{spread: 1}})
		r = append(r, j.beside(scores[i]))
	}
	if builds < fewestBeside {
		return Figure{}
	}
	c.cars, c.mean, c.vari = builds, make([]float64, builds), make([]float64, builds)
	for i := range c.vari {
		c.vari[i] = 1
	}
	c.prior[colLevel], c.prior[colDrift] = mixSD*mixSD, anyDriftSD*anyDriftSD
	for k := range damage.ClassCount {
		c.prior[colClass+k] = mixClassSD * mixClassSD
	}
	all := make([]int, len(c.prior))
	for i := range all {
		all[i] = i
	}
	var weights, means, variances []float64
	for _, apart := range apartGrid {
		d := (apart - math.Log(apartMedian)) / apartLogSD
		for _, link := range apartLinks {
			s := c.equations(r, link, math.Exp(apart)).solve(c.prior, all)
			weights = append(weights, s.evidence-0.5*d*d)
			means = append(means, s.beta[colDrift])
			variances = append(variances, s.variance(colDrift))
		}
	}
	normalize(weights)
	out := Figure{Builds: builds}
	square := 0.0
	for i, w := range weights {
		out.Mean += w * means[i]
		square += w * (means[i]*means[i] + variances[i])
	}
	out.SD = math.Sqrt(square - out.Mean*out.Mean + paceSD*paceSD)
	return out
}

// spendOverHours returns what cost.beside holds. What the car's multipliers do is taken off.
func spendOverHours(j *Job, r *Row, risen float64) func(score float64) float64 {
	if j.NoHours || j.Spend <= 0 || j.Hours <= 0 || j.SpendFactor <= 0 || j.HoursFactor <= 0 ||
		r.Spend.Certain() || r.Hours.Certain() {
		return nil
	}
	ratio := math.Log(j.Spend/j.SpendFactor) - math.Log(j.Hours/j.HoursFactor) - risen
	return func(u float64) float64 {
		u = min(max(u, -mostScore), mostScore)
		spend, hours := max(r.Spend.At(u), leastOfMid*r.Spend.Mid), max(r.Hours.At(u), leastOfMid*r.Hours.Mid)
		return ratio - math.Log(spend/hours)
	}
}
