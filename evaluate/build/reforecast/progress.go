package reforecast

import (
	"slices"

	"wreckoner/damage"
)

// A Progress is how far a build has come.
type Progress struct {
	// Jobs are the spots that money, hours or a look went to, each once.
	Jobs []Job
	// Overheads are what was spent on no spot.
	Overheads []Overhead
	// Hammer, Fees and Transport are what was paid for the car, in pounds; nil
	// where the ledger does not say, and the frozen figure serves.
	Hammer, Fees, Transport *float64
	// Sale is the price received, Selling what selling cost, in pounds; nil before
	// that. A sale ends the build: what has no row was not there.
	Sale, Selling *float64
	// Elapsed is how many days ago the car was bought; nil where nobody says.
	Elapsed *float64
	// Listed is how many days the car has been for sale; nil where it is not.
	Listed *float64
	// Stripped says that the car is stripped: what it needs is known, and whether to finish
	// it is a choice that is made, not one that is to come.
	Stripped bool
	// Sold is after how many days the car was sold; nil where nobody says.
	Sold *float64
}

// A Job is what is known of one spot.
type Job struct {
	damage.Spot
	// Found is the highest grade found there, 0 where nothing new was learned.
	Found damage.Grade
	// Absent is the lowest grade that was looked for and is not there, 0 for none.
	Absent damage.Grade
	// Done says that no more money or hours will go there.
	Done bool
	// Unsaid says that money or hours went there and no row says whether the job is open
	// or done: it counts as open.
	Unsaid bool
	// Spend is money out less money back, in pounds; Hours own hours. HasSpend and
	// HasHours say whether anybody wrote one: blank is not zero.
	Spend, Hours       float64
	HasSpend, HasHours bool
	// Waited is how many days ago the first money went there, for the parts that
	// are to come; 0 where nobody says.
	Waited float64
	// Due is in how many days a part that was ordered and is not here is due, below 0
	// where it is overdue; nil where nothing is awaited, or nobody says.
	Due *float64
}

// An Overhead is money that went to no spot.
type Overhead struct {
	// What it was: where it is the name of one of the shop's fixed items or
	// extras, it counts against that.
	What string
	// Spend in pounds, own hours at the labour rate included; Own is those alone.
	Spend, Own float64
}

// asFrozen reports whether the ledger says nothing else of what was paid for the car
// than the frozen estimate.
func (p *Progress) asFrozen() bool { return p.Hammer == nil && p.Fees == nil && p.Transport == nil }

// apart reports whether somebody has worked on the car: it is stripped, or own hours went to a job.
func (p *Progress) apart() bool {
	return p.Stripped || slices.ContainsFunc(p.Jobs, func(j Job) bool { return j.Hours > 0 })
}

// AllSaid returns the progress as it is if the jobs of which no row says how they stand are
// done, and which those are.
func (p Progress) AllSaid() (done Progress, unsaid []damage.Spot) {
	done = p
	done.Jobs = slices.Clone(p.Jobs)
	for i := range done.Jobs {
		if j := &done.Jobs[i]; j.Unsaid {
			j.Done, j.Unsaid = true, false
			unsaid = append(unsaid, j.Spot)
		}
	}
	return done, unsaid
}

// none reports whether nothing has happened yet.
func (p *Progress) none() bool {
	return len(p.Jobs) == 0 && len(p.Overheads) == 0 && p.Sale == nil && p.Listed == nil
}
