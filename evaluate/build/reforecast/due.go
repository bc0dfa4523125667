package reforecast

import (
	"time"

	"wreckoner/evaluate/build"
)

// Awaited returns the rows of a spot whose parts are ordered and not here: rows with a due
// date, of a job that is open, after which the job has no row without one.
func Awaited(j *build.Job) []build.Entry {
	if j.State != build.JobOpen {
		return nil
	}
	var rows []build.Entry
	for _, e := range j.Entries {
		if e.Due.IsZero() {
			rows = rows[:0]
			continue
		}
		rows = append(rows, e)
	}
	return rows
}

// dueOf returns in how many days the last of a job's awaited parts is due.
func dueOf(j *build.Job, asOf time.Time) *float64 {
	if asOf.IsZero() {
		return nil
	}
	var due *float64
	for _, e := range Awaited(j) {
		if days := e.Due.Sub(asOf).Hours() / 24; due == nil || days > *due {
			due = &days
		}
	}
	return due
}

// arrives returns in how many days an awaited part comes: when it is due, and where it is
// overdue, tomorrow or when the lead time is over, whichever is later. lead is the lead
// time in days.
func (j *Job) arrives(lead float64) float64 {
	if *j.Due >= 0 {
		return *j.Due
	}
	return max(1, lead-j.Waited)
}
