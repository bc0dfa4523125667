package learn

import (
	"math"

	"wreckoner/damage"
)

// A Cause is a way in which the workshop's figures can be wrong.
type Cause uint8

// The causes, channel by channel.
const (
	Codes   Cause = iota // grades are coded too low or too high
	Hidden               // hidden damage turns up more or less often than listed
	Link                 // jobs of one car run dear together more, or less
	Scatter              // jobs scatter about their rows more widely, or less
	Runaway              // a few jobs cost several times their row
	Level                // everything is dearer, or cheaper
	Drift                // prices rise faster or slower than `inflation`
	Class0               // one class is dearer or cheaper; Class0 + class

	CauseCount = int(Class0) + damage.ClassCount
)

// ClassOf returns the class that a cause is about, and whether it is about one.
func (c Cause) ClassOf() (damage.Class, bool) {
	if c < Class0 {
		return 0, false
	}
	return damage.Class(c - Class0), true
}

// String names the cause.
func (c Cause) String() string {
	if class, ok := c.ClassOf(); ok {
		return class.String() + " level"
	}
	return [...]string{"codes", "hidden", "link", "scatter", "runaways", "level", "drift"}[c]
}

// nothing is the prior weight, in each channel, of there being nothing wrong in it; Named is the least posterior
// weight at which a cause is named (METHOD.md 16.21).
const (
	nothing = 0.5
	Named   = 0.7
)

// causePrior are the prior weights beside nothing, to be normalised within their channel.
var causePrior = [CauseCount]float64{
	Codes: 0.1, Hidden: 0.1, Link: 0.1, Scatter: 0.05, Runaway: 0.05, Level: 0.1, Drift: 0.05,
	Class0 + Cause(damage.Structural): 0.03,
	Class0 + Cause(damage.Restraint):  0.02,
	Class0 + Cause(damage.Mechanical): 0.02,
	Class0 + Cause(damage.Cosmetic):   0.02,
	Class0 + Cause(damage.Electrical): 0.01,
}

// channels are judged apart from one another.
var channels = [][]Cause{{Codes}, {Hidden}, {Link}, {Scatter, Runaway}, costChannel()}

func costChannel() []Cause {
	all := []Cause{Level, Drift}
	for _, c := range damage.Classes() {
		all = append(all, Class0+Cause(c))
	}
	return all
}

// A Verdict is how much the builds speak for a cause.
type Verdict struct {
	Cause Cause
	// Weight is its posterior probability against nothing and the other causes of its channel.
	Weight float64
	// Evidence is its log Bayes factor against nothing.
	Evidence float64
	// Named says that the weight is large enough to name it.
	Named bool
}

// diagnose weighs each channel against nothing.
func diagnose(evidence [CauseCount]float64) []Verdict {
	all := make([]Verdict, CauseCount)
	for _, channel := range channels {
		logs := []float64{math.Log(nothing)}
		for _, c := range channel {
			logs = append(logs, evidence[c]+math.Log(causePrior[c]))
		}
		normalize(logs)
		for i, c := range channel {
			all[c] = Verdict{c, logs[i+1], evidence[c], logs[i+1] >= Named}
		}
	}
	return all
}
