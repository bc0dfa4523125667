package learn

import (
	"time"

	"wreckoner/damage"
)

// A State says how far a build has come, and so what its ledger tells.
type State uint8

const (
	// Closed: sold, or every job done. What has no job was not there.
	Closed State = iota
	// Open: not finished. Only jobs that are done tell anything, and nothing is learned of hidden damage.
	Open
	// Stopped: sold as it stands or broken after the strip. What has no job is not known, costs are not learned from,
	// but that the whole was dearer than the limit is.
	Stopped
)

// A Mark is what the damage code says of one zone and class.
type Mark struct {
	Spot damage.Spot
	// Seen is the grade coded as seen, 0 where nothing is.
	Seen damage.Grade
	// Suspected are grades coded with a chance, each above Seen.
	Suspected []Suspicion
	// Clear is the lowest grade that the code rules out, 0 where it rules out none.
	Clear damage.Grade
	// Quoted says that the seen mark has a quote, and so cannot turn out otherwise.
	Quoted bool
	// CodedFrom multiplies coding_up and coding_down for this lot (photographs 1, words more, seen in person less);
	// 0 counts as 1.
	CodedFrom float64
}

// A Suspicion is a grade that the code gives a chance.
type Suspicion struct {
	Grade  damage.Grade
	Chance float64 // above 0, below 1
}

// A Trigger is a coded spot that can bring hidden damage.
type Trigger struct {
	Spot damage.Spot
	// Rule is the index in Table.Rules of the rule that applies where the grade at the spot turns out to be the index
	// of the array; -1 where none does.
	Rule [damage.GradeCount + 1]int
}

// A Candidate is hidden damage that rules make likely.
type Candidate struct {
	damage.Item
	Triggers []Trigger
}

// A Job is one job of the ledger, or the word that there was nothing to do.
type Job struct {
	Spot damage.Spot
	// Grade is what was found; 0 where Clear, or where nobody wrote it down.
	Grade damage.Grade
	// Clear says that somebody looked and it is not there.
	Clear bool
	// Done says that the job is finished, so that its costs are whole.
	Done bool
	// Spend in the workshop's currency and Hours of its own work, 0 or more.
	Spend, Hours float64
	// NoHours says that hours were not written down: the job is then compared by spend alone.
	NoHours bool
	// SpendFactor and HoursFactor are what this car multiplied the row by when it was frozen; 0 counts as 1.
	SpendFactor, HoursFactor float64
	// Day of the job; where zero, the day of the build's sale.
	Day time.Time
}

// A Limit is what is known of a stopped build: it would have cost more than this.
type Limit struct {
	// Above is the cost beyond which finishing does not pay, in the workshop's currency, above 0.
	Above float64
	// Mean and SD are of the whole cost, as frozen, above 0.
	Mean, SD float64
	// Shares of the mean cost by class, 0 to 1, at most 1 together; what is left is no repair.
	Shares [damage.ClassCount]float64
}

// A Build is one car: what was coded, what the rules made likely, and what its ledger says.
type Build struct {
	// Name tells builds apart; learning goes through them in the order of their names.
	Name string
	// Sale is the day on which the car was bought; zero where not known.
	Sale       time.Time
	State      State
	Marks      []Mark
	Candidates []Candidate
	Jobs       []Job
	// Limit is what a stopped build tells of its cost; nil where it tells nothing.
	Limit *Limit
}

// A Reason says why something was not learned from.
type Reason uint8

const (
	// NoGrade: a job without a grade tells neither a cost, a chance nor a code.
	NoGrade Reason = iota
	// NoCost: a finished job that cost nothing; its grade counts, its cost does not.
	NoCost
	// NoRow: no row of the table prices what was found.
	NoRow
	// FixedRow: the row is certain, so that there is nothing to learn.
	FixedRow
	// Unfinished: the job is not done.
	Unfinished
	// Contradiction: found and clear at one spot.
	Contradiction
	// CountedTwice: the same build again.
	CountedTwice
	// NameTwice: two builds of one name that differ; neither is learned from.
	NameTwice
	// Negative: an amount below 0 or not a number.
	Negative
	// NoDate: the job has no day, and neither has the sale: prices are taken as those of the table.
	NoDate
	// NotLooked: an open build says nothing of hidden damage.
	NotLooked
	// BadCode: a mark, candidate or limit that makes no sense; Note says what.
	BadCode
)

var reasons = [...]string{
	"no grade: the grade tells most, fill it in",
	"no cost: its grade counts, its cost does not",
	"no row of the cost table prices it: add a row or correct the grade",
	"its row is certain: nothing to learn",
	"not finished: its cost does not count yet",
	"found and clear at once: neither counts, correct one of them",
	"counted twice: one of them counts",
	"two different builds of this name: neither counts, rename one",
	"an amount that is negative or not a number: correct it",
	"no date: taken at the table's own prices",
	"not finished: it tells nothing of hidden damage yet",
	"cannot be read",
}

// String says the reason in words.
func (r Reason) String() string { return reasons[r] }

// An Aside is something that was left out, wholly or in part, and why.
type Aside struct {
	Build string
	// Spot and Grade say which job, mark or candidate it is where Whole is false.
	Spot  damage.Spot
	Grade damage.Grade
	// Whole says that it is about the build as a whole.
	Whole  bool
	Reason Reason
	// Note says more, "" where there is no more to say.
	Note string
}
