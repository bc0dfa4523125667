package learn

import (
	"math"
	"sort"
)

// scores are the standard normal scores at which a job's cost is tabulated.
var scores = grid(-6, 8, 280)

const (
	scoreStep = 0.05
	atZero    = 120 // scores[atZero] is 0
)

// A curve is the log of what a job costs at each score, over its mid (METHOD.md 16.10).
type curve struct {
	log    []float64 // at scores
	mid    float64   // the job's cost at score 0
	share  float64   // spend's part of the mid
	spread float64   // half the distance between the tenths, over z90: a standard deviation of the log
}

// A curveKey says which curve a job has.
type curveKey struct {
	row          int
	spend, hours float64
	rate         float64
}

func newCurve(r *Row, k curveKey) *curve {
	c := &curve{log: make([]float64, len(scores))}
	for i, u := range scores {
		spend := r.Spend.At(u) * k.spend
		total := spend + k.rate*r.Hours.At(u)*k.hours
		c.log[i] = math.Log(max(total, 1e-3))
		if i == atZero {
			c.mid, c.share = total, spend/total
		}
	}
	mid := c.log[atZero]
	for i := range c.log {
		c.log[i] -= mid
	}
	c.spread = (c.at(z90) - c.at(-z90)) / 2 / z90
	return c
}

// at returns the log at a score, by straight lines between the tabulated ones.
func (c *curve) at(u float64) float64 {
	x := (u - scores[0]) / scoreStep
	i := min(max(int(x), 0), len(scores)-2)
	f := min(max(x-float64(i), 0), 1)
	return c.log[i] + f*(c.log[i+1]-c.log[i])
}

// score is the inverse of at: the score of a log cost, -6 or 8 where it lies beyond the table.
func (c *curve) score(y float64) float64 {
	last := len(c.log) - 1
	if y <= c.log[0] {
		return scores[0]
	}
	if y >= c.log[last] {
		return scores[last]
	}
	i := sort.Search(len(c.log), func(i int) bool { return c.log[i] > y }) - 1
	d := c.log[i+1] - c.log[i]
	return scores[i] + (y-c.log[i])/d*(scores[i+1]-scores[i])
}

// slope returns how fast the log rises with the score.
func (c *curve) slope(u float64) float64 {
	i := min(max(int((u-scores[0])/scoreStep), 0), len(scores)-2)
	return (c.log[i+1] - c.log[i]) / scoreStep
}
