// Package source compares the ways of getting a job done: which to try first,
// and what to fall back on. It does not know what the jobs are, nor how they
// are written down.
//
// An option that is tried takes its lead time and then its hours, and costs its
// spend and the own labour. With its chance it works, and the job is done; if
// not, what is not refunded of the spend is lost and the next option of the plan
// is tried. Whether one option works says nothing of the others, and the prices
// are independent of one another and of what works.
//
// Jobs that wait for one another are jobs of one car: the plans are then chosen
// together, and a day of a job costs holding only so far as it delays the whole.
package source
