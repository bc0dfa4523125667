package reforecast

import (
	"wreckoner/damage"
	"wreckoner/evaluate"
)

// Figures are what is believed of a car at one time: money in pounds.
type Figures struct {
	// Repair is what all jobs cost, own hours at the labour rate included.
	Repair evaluate.Spread
	// Hours are own hours, Days those from the sale to the money.
	Hours, Days evaluate.Spread
	// Other is fixed items, extras and overheads.
	Other evaluate.Spread
	// Resale is the price of the car.
	Resale evaluate.Spread
	Margin evaluate.Margin
}

// A Forecast is what is believed of a build in progress.
type Forecast struct {
	// Spent is the money that went to jobs so far, in pounds, and HoursSpent the own
	// hours; Overhead is what went to no job.
	Spent, HoursSpent, Overhead float64
	// Start is what was believed at the freeze, Now what is believed of the whole
	// build today.
	Start, Now Figures
	// ToCome is what the jobs will still cost, own hours at the labour rate
	// included; HoursToCome the own hours in it; OtherToCome what fixed items and
	// extras will still cost; DaysLeft the days until the money is there.
	ToCome, HoursToCome, OtherToCome, DaysLeft evaluate.Spread
	// Elapsed is the days since the car was bought, ElapsedKnown whether the ledger
	// says so.
	Elapsed      float64
	ElapsedKnown bool
	// Severity is what is believed of the severity factor: 0 and 1 before anything
	// was seen. Jobs, Bounds and Looks say how many finished jobs, open jobs and
	// decided chances that rests on.
	Severity struct {
		Mean, SD            float64
		Jobs, Bounds, Looks int
	}
	// Jobs are the lines of the repair, in the order in which codes are printed.
	Jobs []Line
	// Choices are what can be done with the car, best first. Nil where it is sold.
	Choices []Choice
	// Flip says what would change the advice.
	Flip Flip
	// Looks are inspections that could be made before choosing, the best first; nil where there is nothing to choose
	// between, or nothing to be seen.
	Looks []Look
	// Finished says that the car is sold.
	Finished bool
	// Notices say what is doubtful.
	Notices []string
}

// leastGain is what a look has to be worth, once it is paid for, in pounds, to be advised.
const leastGain = 10

// LookFirst returns the look that is worth making before anything is decided, nil where none is.
func (f *Forecast) LookFirst() *Look {
	if len(f.Looks) == 0 || f.Looks[0].Gain() < leastGain {
		return nil
	}
	return &f.Looks[0]
}

// Actual returns what went to jobs so far, own hours at a labour rate included.
func (f *Forecast) Actual(labourRate float64) float64 { return f.Spent + labourRate*f.HoursSpent }

// A State says how a job stands.
type State string

// The states of a job.
const (
	// Untouched: nothing is known beyond the frozen estimate.
	Untouched State = "untouched"
	Open      State = "open"
	Done      State = "done"
	// Gone: it is not there.
	Gone State = "not there"
)

// A Line is one spot of the repair.
type Line struct {
	damage.Spot
	State State
	// Grade that was found or is certain, 0 for none.
	Grade damage.Grade
	// Unplanned says that the frozen estimate has nothing there; Over that more was
	// spent than such a job costs on average.
	Unplanned, Over bool
	// Usual is what a job of the grade that it counts as costs on this car, on average,
	// own hours at the labour rate included; 0 where that is not known.
	Usual float64
	// Chance that anything is charged there, as believed now.
	Chance float64
	// Paid is the chance that an open job's parts are all paid; 0 where nothing was paid.
	Paid float64
	// Start is what was believed at the freeze, with own hours at the labour rate;
	// ToCome what is left.
	Start, ToCome evaluate.Spread
	// HoursToCome are the own hours left, on average.
	HoursToCome float64
	// Spent is money and Hours are own hours so far; Actual is both in pounds.
	Spent, Hours, Actual float64
}
