package build

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/evaluate/stats"
)

// A Rival is a rough forecast of the same builds, as a distribution, that anyone could make from the builds before.
type Rival struct {
	Name string
	// Builds that it could say something of, as enough were sold before them; CRPS and Ours are the mean scores on
	// those of the rival and of the estimates, in pounds: smaller is better.
	Builds     int
	CRPS, Ours float64
	// Skill is by what share Ours is smaller than CRPS; Known is false where that cannot be said.
	Skill float64
	Known bool
}

// The rivals.
const (
	LastRatio  = "the average, times how the builds before came out"
	ClassMeans = "what each class of damage cost on the builds before"
)

// leastBefore is how many builds a rival needs to have seen.
const leastBefore = 3

// rivals scores the rough forecasts of builds in the order in which they were sold.
func (c *Calibration) rivals(outcomes []*Outcome) {
	c.rival(LastRatio, outcomes, lastRatio)
	c.rival(ClassMeans, outcomes, classMeans)
}

// rival scores one. say returns its quantiles for a build given those before, nil where it cannot say.
func (c *Calibration) rival(name string, outcomes []*Outcome, say func(o *Outcome, before []*Outcome) []float64) {
	r := Rival{Name: name}
	for i, o := range outcomes {
		if i < leastBefore {
			continue
		}
		if q := say(o, outcomes[:i]); q != nil {
			r.Builds++
			r.CRPS += stats.CRPSSorted(q, o.Actual.Pounds())
			r.Ours += o.Frozen.Predicted.Repair.CRPS(o.Actual.Pounds())
		}
	}
	if r.Builds > 0 {
		r.CRPS /= float64(r.Builds)
		r.Ours /= float64(r.Builds)
		r.Skill, r.Known = stats.Skill(r.Ours, r.CRPS)
	}
	c.Rivals = append(c.Rivals, r)
}

// A spread of so much on the log scale, worth so many builds, is what a rival has before any: a sample of three says
// too
// little of it.
const (
	usualSpread = 0.35
	spreadWorth = 3
)

// lastRatio is the frozen mean times what the builds sold in the year before came to of theirs, all of them where
// fewer than three were: lognormal, with the spread of those ratios.
func lastRatio(o *Outcome, before []*Outcome) []float64 {
	var logs, year []float64
	for _, x := range before {
		mean, actual := x.Frozen.Predicted.Repair.Mean, x.Actual.Pounds()
		if !(mean > 0 && actual > 0) {
			continue
		}
		logs = append(logs, math.Log(actual/mean))
		if at, sold := o.Build.Sold, x.Build.Sold; !at.IsZero() && !sold.IsZero() && at.Sub(sold).Hours() <= 365*24 {
			year = append(year, logs[len(logs)-1])
		}
	}
	if len(year) >= leastBefore {
		logs = year
	}
	mean := o.Frozen.Predicted.Repair.Mean
	if len(logs) < leastBefore || !(mean > 0) {
		return nil
	}
	m, sd := moments(logs)
	n := float64(len(logs))
	variance := (spreadWorth*usualSpread*usualSpread + (n-1)*sd*sd) / (spreadWorth + n - 1) * (1 + 1/n)
	d := distuv.LogNormal{Mu: math.Log(mean) + m, Sigma: math.Sqrt(variance)}
	return quantiles(d.Quantile)
}

// classMeans is the sum, over the classes that the code has as seen, of what such classes cost on the builds before:
// lognormal with that mean and the variances of those costs, and of their means, summed. A class of which fewer than
// two were seen before has the mean of all classes.
func classMeans(o *Outcome, before []*Outcome) []float64 {
	var costs [damage.ClassCount][]float64
	var all []float64
	for _, x := range before {
		coded := codedClasses(x.Frozen)
		for _, c := range x.Classes {
			if coded[c.Class] {
				costs[c.Class] = append(costs[c.Class], c.Actual.Pounds())
				all = append(all, c.Actual.Pounds())
			}
		}
	}
	if len(all) < leastBefore {
		return nil
	}
	mean, variance := 0.0, 0.0
	for c, coded := range codedClasses(o.Frozen) {
		if !coded {
			continue
		}
		from := costs[c]
		if len(from) < 2 {
			from = all
		}
		m, sd := moments(from)
		mean += m
		variance += sd * sd * (1 + 1/float64(len(from)))
	}
	if !(mean > 0) {
		return nil
	}
	s2 := math.Log1p(variance / mean / mean)
	d := distuv.LogNormal{Mu: math.Log(mean) - s2/2, Sigma: max(math.Sqrt(s2), 1e-6)}
	return quantiles(d.Quantile)
}

// codedClasses are those of which the code has something as seen.
func codedClasses(f *Frozen) (out [damage.ClassCount]bool) {
	code, err := damage.Parse(f.Kept.Damage)
	if err != nil {
		return out // read before: it is in order
	}
	for _, m := range code.Marks() {
		out[m.Class] = out[m.Class] || m.State == damage.Seen
	}
	return out
}

// moments returns the mean and the standard deviation of a sample of at least two.
func moments(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

func quantiles(of func(p float64) float64) []float64 {
	out := levels(fineQuantiles)
	for i, p := range out {
		out[i] = of(p)
	}
	return out
}
