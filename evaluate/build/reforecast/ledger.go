package reforecast

import (
	"fmt"
	"slices"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/build"
)

// Read turns what the ledger says of a build into its progress, and says what is
// doubtful. Days are counted to asOf; where that is zero, to the last date that the
// build has.
func Read(b *build.Build, labourRate float64, asOf time.Time) (p Progress, notices []string) {
	say := func(format string, args ...any) { notices = append(notices, fmt.Sprintf(format, args...)) }
	last := time.Time{}
	for _, e := range b.Entries {
		if e.Date.After(last) {
			last = e.Date
		}
	}
	if asOf.IsZero() {
		if asOf = last; !last.IsZero() && !b.Finished() {
			say("days are counted to %s, the build's last date; use --as-of for another", last.Format(time.DateOnly))
		}
	} else if last.After(asOf) {
		say("the ledger has rows up to %s, after %s: their money still counts", last.Format(time.DateOnly),
			asOf.Format(time.DateOnly))
	}
	p.Elapsed = between(b.Bought, asOf)
	p.Sold = between(b.Bought, b.Sold)
	p.Listed = between(b.Listed, asOf)
	if b.Bought.IsZero() && len(b.Entries) > 0 {
		say("the ledger does not say when the car was bought (a row with what = bought and a date): days so far are " +
			"counted by the hours worked")
	}
	p.Hammer, p.Fees, p.Transport = b.Hammer.Pounds(), b.Fees.Pounds(), b.Transport.Pounds()
	p.Sale, p.Selling = b.Sale.Pounds(), b.Selling.Pounds()
	p.Stripped = !b.Stripped.IsZero() && (asOf.IsZero() || !b.Stripped.After(asOf))
	for _, j := range b.Jobs {
		job := jobOf(j, asOf, say)
		job.Due = dueOf(j, asOf)
		job.Unsaid = unsaid(j)
		p.Jobs = append(p.Jobs, job)
	}
	p.Overheads = overheads(b, labourRate)
	return p, notices
}

// overheads are what was spent on no spot, the hours of the strip included.
func overheads(b *build.Build, labourRate float64) (all []Overhead) {
	for _, e := range b.Entries {
		if e.Kind == build.OverheadEntry || e.Kind == build.StrippedEntry && e.Worked {
			all = append(all, Overhead{What: e.What, Spend: e.Spend.Pounds() + labourRate*e.Hours, Own: labourRate * e.Hours})
		}
	}
	return all
}

// between returns the days from one date to another, not below 0; nil where one is
// missing.
func between(from, to time.Time) *float64 {
	if from.IsZero() || to.IsZero() {
		return nil
	}
	days := max(0, to.Sub(from).Hours()/24)
	return &days
}

// jobOf reads the rows of one spot. Where one row found what another says is not
// there, the later row stands.
func jobOf(j *build.Job, asOf time.Time, say func(string, ...any)) Job {
	out := Job{
		Spot: j.Spot, Found: j.Grade, Absent: j.ClearFrom, Done: j.State != build.JobOpen,
		Spend: j.Spend.Pounds(), HasSpend: j.Paid, Hours: j.Hours, HasHours: j.Worked,
	}
	found, clear := lastFound(j), lastClear(j)
	if out.Absent > 0 && out.Found >= out.Absent {
		if clear > found {
			out.Found = foundBelow(j, out.Absent)
			say("%s was found at grade %d and marked clear later: it counts as clear", j.Spot, j.Grade)
		} else {
			out.Absent = 0
			say("%s was marked clear, and grade %d was found later: it counts as found", j.Spot, j.Grade)
		}
	}
	if j.State != build.JobClear && out.Absent == 1 && out.Found == 0 {
		out.Absent = 0
		say("%s was marked clear, and has other rows after that: it counts as not clear", j.Spot)
	}
	reopened := false
	for i, e := range j.Entries {
		if e.State == build.JobDone && i < len(j.Entries)-1 && j.Entries[len(j.Entries)-1].State == build.JobOpen {
			reopened = true
		}
		if e.Spend > 0 && !e.Date.IsZero() && !asOf.IsZero() {
			out.Waited = max(out.Waited, asOf.Sub(e.Date).Hours()/24)
		}
	}
	if reopened {
		say("%s was done, and has rows after that: it counts as open again; write done in its last row", j.Spot)
	}
	return out
}

// unsaid reports whether money or hours went to a job and no row of it says how it stands.
func unsaid(j *build.Job) bool {
	return j.State == build.JobOpen && (j.Spend > 0 || j.Hours > 0) && len(Awaited(j)) == 0 &&
		!slices.ContainsFunc(j.Entries, func(e build.Entry) bool { return e.Stated })
}

// lastFound and lastClear return the places of the last row that found the job's
// grade, and of the last that says something is not there; -1 for none.
func lastFound(j *build.Job) int {
	return lastOf(j, func(e build.Entry) bool { return e.State != build.JobClear && e.Grade == j.Grade })
}

func lastClear(j *build.Job) int {
	return lastOf(j, func(e build.Entry) bool { return e.State == build.JobClear })
}

func lastOf(j *build.Job, is func(build.Entry) bool) int {
	for i := len(j.Entries) - 1; i >= 0; i-- {
		if is(j.Entries[i]) {
			return i
		}
	}
	return -1
}

// foundBelow returns the highest grade below a limit that a row found, 0 for none.
func foundBelow(j *build.Job, limit damage.Grade) (found damage.Grade) {
	for _, e := range j.Entries {
		if e.State != build.JobClear && e.Grade < limit {
			found = max(found, e.Grade)
		}
	}
	return found
}
