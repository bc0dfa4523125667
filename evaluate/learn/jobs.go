package learn

import (
	"math"

	"wreckoner/damage"
)

// Priors of what is learned of costs, on the log scale (METHOD.md 16.11).
const (
	levelSD, classSD, driftSD = 0.2, 0.15, 0.04
	linkWorth                 = 10
)

// Columns of the model: level, one per class, drift, then one per row that was used.
const (
	colLevel = 0
	colClass = 1
	colDrift = colClass + damage.ClassCount
	colRow   = colDrift + 1
)

var (
	scatterPrior   = mix{{0.8, 0.03}, {0.2, 0.3}}
	scatterGrid    = grid(-0.4, 0.4, 16)
	linkGrid       = grid(0, 0.9, 18)
	scatterCauseSD = 0.3
)

// A cost is one finished job against its row.
type cost struct {
	car, row, class, column int
	// raw is the log of the cost over the row's mid, less what inflation expects; drift is what the drift column
	// holds.
	raw, drift float64
	// age is how many years after the date of its row's prices the car was bought. beside is the log of spend over
	// hours, over what the row has at a score, less what inflation expects; nil where the job or the row lacks one.
	age    float64
	beside func(score float64) float64
	*curve
}

// costs are all jobs, by car, with the prior variances of the columns.
type costs struct {
	jobs   []cost
	cars   int
	prior  []float64
	rows   []int // row of each column from colRow on
	limits []limit
	mean   []float64 // of each car's severity, given what was found
	vari   []float64
}

// A limit is a stopped car: its log cost had mean at beta = 0, and was above the bound.
type limit struct {
	above, spread float64
	x             []float64 // columns level, classes, drift
}

func newCosts(cars []*car, t *Table, rows *rowIndex, s *Settings, h *hit) *costs {
	c := &costs{cars: len(cars), mean: h.mean, vari: h.vari}
	curves := map[curveKey]*curve{}
	column := make([]int, len(t.Rows))
	spread := make([]float64, len(t.Rows))
	count := make([]float64, len(t.Rows))
	for ci, car := range cars {
		for _, i := range car.paid {
			j := &car.spots[i].job
			k := curveKey{rows.of(j.Spot, j.Grade), j.SpendFactor, j.HoursFactor, s.LabourRate}
			paid := j.Spend + s.LabourRate*j.Hours
			if j.NoHours {
				k.rate, paid = 0, j.Spend
			}
			cv := curves[k]
			if cv == nil {
				cv = newCurve(&t.Rows[k.row], k)
				curves[k] = cv
			}
			age := s.age(&t.Rows[k.row], j.Day)
			c.jobs = append(c.jobs, cost{car: ci, row: k.row, class: int(j.Spot.Class), curve: cv,
				raw: math.Log(paid/cv.mid) - s.Inflation*cv.share*age, drift: cv.share * age, age: age,
				beside: spendOverHours(j, &t.Rows[k.row], s.Inflation*age)})
			spread[k.row] += cv.spread
			count[k.row]++
		}
		if l := car.build.Limit; l != nil {
			c.limits = append(c.limits, newLimit(l, car.age, s.Inflation))
		}
	}
	c.prior = append(c.prior, levelSD*levelSD)
	for range damage.ClassCount {
		c.prior = append(c.prior, classSD*classSD)
	}
	c.prior = append(c.prior, driftSD*driftSD)
	for r, n := range count {
		if n > 0 {
			column[r] = len(c.prior)
			c.rows = append(c.rows, r)
			sd := spread[r] / n
			c.prior = append(c.prior, sd*sd/t.Rows[r].Builds)
		}
	}
	for i := range c.jobs {
		c.jobs[i].column = column[c.jobs[i].row]
	}
	return c
}

// newLimit takes a lognormal of the frozen mean and standard deviation for the whole cost (METHOD.md 16.18).
func newLimit(l *Limit, age, inflation float64) limit {
	s2 := math.Log1p(l.SD * l.SD / l.Mean / l.Mean)
	x := make([]float64, colRow)
	for c, share := range l.Shares {
		x[colClass+c] = share
		x[colLevel] += share
	}
	x[colDrift] = x[colLevel] * age
	return limit{above: math.Log(l.Above/l.Mean) + s2/2, spread: math.Sqrt(s2), x: x}
}

// columns returns the columns in which a job is not zero, and what they hold.
func (j *cost) columns() (cols [4]int, x [4]float64) {
	return [4]int{colLevel, colClass + j.class, colDrift, j.column}, [4]float64{1, 1, j.drift, 1}
}

// shift returns X beta: how much dearer than its row a job is expected to be, on the log scale.
func (j *cost) shift(beta []float64) float64 {
	return beta[colLevel] + beta[colClass+j.class] + beta[colDrift]*j.drift + beta[j.column]
}

// ease is the working response: the shift, and the job's own score times its spread (METHOD.md 16.12).
func (c *costs) ease(beta []float64, kappa float64, r []float64) (u []float64) {
	u = make([]float64, len(c.jobs))
	for i := range c.jobs {
		j := &c.jobs[i]
		s := j.shift(beta)
		u[i] = j.score((j.raw - s) / kappa)
		r[i] = s + kappa*j.spread*u[i]
	}
	return u
}
