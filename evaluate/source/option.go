package source

import (
	"fmt"
	"math"
	"slices"

	"wreckoner/evaluate/stats"
)

// An Option is one way of getting a job done.
type Option struct {
	Name string
	// Spend is what is paid for it, in pounds.
	Spend stats.Amount
	// Hours of own work, and days to wait before they begin.
	Hours, LeadDays float64
	// Works is the chance, in (0,1], that it fits and works.
	Works float64
	// Refund says that part of the spend comes back if it does not work; Lost, in
	// pounds, is then what does not, never more than the spend. Without it all of
	// the spend is lost.
	Refund bool
	Lost   float64
	Note   string
}

// Certain reports whether the option is bound to work.
func (o *Option) Certain() bool { return o.Works == 1 }

// A Job is what has to be done.
type Job struct {
	Name    string
	Options []Option
	// After holds the indices of the jobs that must be done first.
	After []int
}

// Rates are what time costs.
type Rates struct {
	// Labour is what an hour of own work must earn, in pounds.
	Labour float64
	// HoursPerDay is the own hours worked in a day, above 0.
	HoursPerDay float64
	// Holding is what a day costs, in pounds.
	Holding float64
}

// MaxUncertain is the number of uncertain options of one job of which every
// order is tried: 1,957 orders for each certain option.
const MaxUncertain = 6

// uncertain is the number of options of the job that may not work.
func (j *Job) uncertain() int {
	n := 0
	for i := range j.Options {
		if !j.Options[i].Certain() {
			n++
		}
	}
	return n
}

// check says what cannot be computed with. Files are checked where they are
// read, with their lines; this guards jobs made by programs.
func check(jobs []Job, r Rates) error {
	if !(r.HoursPerDay > 0) || !notNegative(r.Labour, r.Holding, r.HoursPerDay) {
		return fmt.Errorf("labour rate %v, hours per day %v, holding per day %v: write numbers from 0, and hours above 0",
			r.Labour, r.HoursPerDay, r.Holding)
	}
	for _, j := range jobs {
		if len(j.Options) == 0 {
			return fmt.Errorf("job %q has no option", j.Name)
		}
		for _, o := range j.Options {
			if !(o.Works > 0 && o.Works <= 1) {
				return fmt.Errorf("job %q, option %q: %v is not a chance above 0 and up to 1", j.Name, o.Name, o.Works)
			}
			if !notNegative(o.Hours, o.LeadDays, o.Lost) {
				return fmt.Errorf("job %q, option %q: hours, lead days and what is lost are numbers from 0", j.Name, o.Name)
			}
		}
		if n := j.uncertain(); n > MaxUncertain {
			return fmt.Errorf("job %q has %d uncertain options; keep the best %d", j.Name, n, MaxUncertain)
		}
		if slices.ContainsFunc(j.After, func(k int) bool { return k < 0 || k >= len(jobs) }) {
			return fmt.Errorf("job %q comes after a job that is not in the file", j.Name)
		}
	}
	return nil
}

// notNegative reports whether all of the numbers are finite and at least 0.
func notNegative(all ...float64) bool {
	for _, x := range all {
		if !(x >= 0) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
