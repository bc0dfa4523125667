package build

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// An EntryKind says what a row of the ledger is about.
type EntryKind uint8

const (
	// ZoneEntry is money or hours spent, or damage found, at a spot.
	ZoneEntry EntryKind = iota
	// OverheadEntry is money or hours that belong to no zone.
	OverheadEntry
	// HammerEntry is the price paid; FeesEntry what the sale site charged;
	// TransportEntry carriage in; SaleEntry the price received; SellingEntry what
	// selling cost.
	HammerEntry
	FeesEntry
	TransportEntry
	SaleEntry
	SellingEntry
	// BoughtEntry, ListedEntry and SoldEntry are dates; so are StrippedEntry, from when it
	// is known what the car needs, and StoppedEntry, from when it is not to be finished.
	BoughtEntry
	ListedEntry
	SoldEntry
	StrippedEntry
	StoppedEntry
)

// entryWords are the words in the column what that make a row more than overhead.
var entryWords = []string{"hammer", "fees", "transport", "sale", "selling", "bought", "listed", "sold", "stripped",
	"stopped"}

// String returns the word in the column what, or zone or overhead.
func (k EntryKind) String() string {
	return append([]string{"zone", "overhead"}, entryWords...)[k]
}

// dated reports whether the kind is a date.
func (k EntryKind) dated() bool { return k >= BoughtEntry }

// A JobState says whether more may come for a spot.
type JobState uint8

const (
	// JobOpen: more may come.
	JobOpen JobState = iota
	// JobDone: no more will.
	JobDone
	// JobClear: looked for, and not there.
	JobClear
)

func (s JobState) String() string { return [...]string{"open", "done", "clear"}[s] }

// An Entry is one row of the ledger.
type Entry struct {
	Kind EntryKind
	// Date is zero where the row has none.
	Date time.Time
	// Spot and Grade of a ZoneEntry. Grade is 0 where nothing new was learned.
	Spot  damage.Spot
	Grade damage.Grade
	What  string
	// Spend is money out, VAT included; negative: money back. Of a SaleEntry it is
	// money in. Paid says whether the cell was filled in.
	Spend money.Pence
	Paid  bool
	// Hours of own work. Worked says whether the cell was filled in: blank hours
	// are missing, not none.
	Hours  float64
	Worked bool
	// State is open where the row does not say; Stated that it does.
	State  JobState
	Stated bool
	Note   string
	// Due is the day on which something is expected, zero where the row has none; Invoice, Supplier and Part are as
	// the row has them.
	Due                     time.Time
	Invoice, Supplier, Part string
	// ByWords says that zone or class were read from the words of the job.
	ByWords bool
	// unsure says that the row is overhead only because its zone is blank: its words don't say what it was.
	unsure bool
	// Line on which the row starts.
	Line int
}

// A Job is all rows of one spot of one build.
type Job struct {
	Spot damage.Spot
	// Grade is the highest that a row names, 0 where none does.
	Grade damage.Grade
	// Spend is the sum over the rows, Paid says that one has an amount; Hours and
	// Worked likewise.
	Spend  money.Pence
	Paid   bool
	Hours  float64
	Worked bool
	// State is that of the last row. A row marked clear with a grade says only
	// that nothing of that grade or above is there: it leaves State as it is.
	State JobState
	// ClearFrom is the lowest grade said not to be there, 0 for none; 1 is any.
	ClearFrom damage.Grade
	// Entries in the order of the file.
	Entries []Entry
}

// Found reports whether anything was there: a row that is not marked clear.
func (j *Job) Found() bool {
	return slices.ContainsFunc(j.Entries, func(e Entry) bool { return e.State != JobClear })
}

// A Money is one of a build's amounts that belong to no zone. Given says that the
// ledger has it.
type Money struct {
	Pence money.Pence
	Given bool
}

// Pounds returns the amount in pounds, nil where the ledger does not have it.
func (m Money) Pounds() *float64 {
	if !m.Given {
		return nil
	}
	x := m.Pence.Pounds()
	return &x
}

// A Build is what the ledger says of one car.
type Build struct {
	// Name is the build's, as its first row spells it.
	Name string
	// Jobs are in the order in which codes are printed.
	Jobs []*Job
	// Hammer, Fees, Transport, Selling and Sale are the sums of their rows.
	Hammer, Fees, Transport, Sale, Selling Money
	// Overhead is money and own hours that belong to no zone.
	Overhead      money.Pence
	OverheadHours float64
	// Bought, Listed and Sold are zero where the ledger does not say. The date of
	// a hammer row stands in for Bought, that of a sale row for Sold.
	Bought, Listed, Sold time.Time
	// Stripped is when the car was stripped, Stopped when it was given up: it is sold as
	// it stands or broken. Zero where the ledger does not say.
	Stripped, Stopped time.Time
	// Entries in the order of the file.
	Entries []Entry
	// Faults is the number of the build's rows that could not be read: while it is
	// not 0, sums are wrong.
	Faults int
}

// Finished reports whether the car is sold.
func (b *Build) Finished() bool { return b.Sale.Given }

// Job returns what was done at a spot, nil for nothing.
func (b *Build) Job(s damage.Spot) *Job {
	for _, j := range b.Jobs {
		if j.Spot == s {
			return j
		}
	}
	return nil
}

// Spent is all money out in zones and overhead so far, and the hours worked.
func (b *Build) Spent() (pence money.Pence, hours float64) {
	pence, hours = b.Overhead, b.OverheadHours
	for _, j := range b.Jobs {
		pence += j.Spend
		hours += j.Hours
	}
	return pence, hours
}

// A Ledger is what was spent and found on all builds.
type Ledger struct {
	// File is its name in messages.
	File string
	// Builds in the order of their first rows.
	Builds []*Build
	// Problems are the rows that could not be read. Unplaced is how many of them
	// could belong to any build.
	Problems []tabular.Problem
	Unplaced int
	// Notices say what is doubtful.
	Notices []string
	// Workshop are the rows without a build that are the workshop's own costs: rent,
	// insurance, wages and the like, which no car carries.
	Workshop []Entry
}

// Build returns the build of that name, whatever its case and spaces.
func (l *Ledger) Build(name string) (*Build, bool) {
	for _, b := range l.Builds {
		if tabular.NameKey(b.Name) == tabular.NameKey(name) {
			return b, true
		}
	}
	return nil, false
}

// Missing is the error for a build that the ledger does not have.
func (l *Ledger) Missing(name string) error {
	var names []string
	for _, b := range l.Builds {
		names = append(names, b.Name)
	}
	hint := "it has no rows yet"
	if near := tabular.Nearest(name, names); near != "" {
		hint = fmt.Sprintf("did you mean %q?", near)
	} else if len(names) > 0 {
		hint = "it has " + strings.Join(names, ", ")
	}
	return fmt.Errorf("%s: has no build %q; %s", l.File, name, hint)
}

func (r *ledgerReader) notice(line int, format string, args ...any) {
	r.out.Notices = append(r.out.Notices, fmt.Sprintf("%s:%d: ", r.out.File, line)+fmt.Sprintf(format, args...))
}

// build returns the build of that name, a new one where there is none.
func (r *ledgerReader) build(name string) *Build {
	b, ok := r.out.Build(name)
	if !ok {
		b = &Build{Name: name}
		r.out.Builds = append(r.out.Builds, b)
	}
	return b
}

// sense reports what a row of its kind cannot say.
func (r *ledgerReader) sense(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	switch {
	case e.Kind == ZoneEntry:
	case e.Kind == OverheadEntry:
		if !e.Paid && !e.Worked {
			bad("spend", errors.New("is blank, and so are the hours; write what it cost"))
		}
	case e.Kind.dated():
		r.senseOfDate(e, v, bad)
	default:
		r.senseOfAmount(e, v, bad)
	}
}

// senseOfDate reports what a row that is a date cannot say.
func (r *ledgerReader) senseOfDate(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	if e.Date.IsZero() {
		bad("date", fmt.Errorf("is blank; %s is a date, such as 2026-04-30", e.Kind))
	}
	if e.Paid {
		bad("spend", fmt.Errorf("%q: %s is a date and has no amount; the price %s", v.Spend.Text(), e.Kind,
			map[EntryKind]string{
				BoughtEntry: "paid is a row of its own with what = hammer", SoldEntry: "received is a row of its own with what " +
					"= sale; if this is that price, write sale here in place of sold", ListedEntry: "asked is not kept",
				StrippedEntry: "of parts is in the rows of their zones", StoppedEntry: "received is a row of its own with what " +
					"= sale",
			}[e.Kind]))
	}
	if e.Worked && e.Kind != StrippedEntry {
		bad("hours", fmt.Errorf("%q: %s is a date and has no hours; write them in a row of their own", v.Hours.Text(),
			e.Kind))
	}
}

// senseOfAmount reports what a row that is one of the car's own amounts cannot say.
func (r *ledgerReader) senseOfAmount(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	switch {
	case !e.Paid:
		bad("spend", fmt.Errorf("is blank; write the amount of the %s", e.Kind))
	case e.Spend < 0:
		bad("spend", fmt.Errorf("%q: the amount of the %s is written without a minus sign; money back is a row of its "+
			"own, as overhead", v.Spend.Text(), e.Kind))
	case e.Spend == 0 && (e.Kind == HammerEntry || e.Kind == SaleEntry):
		bad("spend", fmt.Errorf("%q: write the price, above 0", v.Spend.Text()))
	}
	if e.Worked {
		bad("hours", fmt.Errorf("%q: %s has no hours; write them in a row of their own, as overhead", v.Hours.Text(),
			e.Kind))
	}
}

// onlyOnce reports a second price or date of a build.
func (r *ledgerReader) onlyOnce(e *Entry, build string, bad func(string, error) bool) {
	switch e.Kind {
	case HammerEntry, SaleEntry, BoughtEntry, ListedEntry, SoldEntry, StrippedEntry, StoppedEntry:
		key := tabular.NameKey(build) + "\x00" + e.Kind.String()
		if line, dup := r.once[key]; dup {
			bad("what", fmt.Errorf("%s of %q is already on line %d; keep one", e.Kind, build, line))
			return
		}
		r.once[key] = e.Line
	}
}

// add books a row that was read.
func (r *ledgerReader) add(b *Build, e Entry) {
	b.Entries = append(b.Entries, e)
	sum := func(m *Money) { m.Pence, m.Given = m.Pence+e.Spend, true }
	switch e.Kind {
	case ZoneEntry:
		r.job(b, e)
	case OverheadEntry:
		b.Overhead += e.Spend
		b.OverheadHours += e.Hours
	case HammerEntry:
		sum(&b.Hammer)
	case FeesEntry:
		sum(&b.Fees)
	case TransportEntry:
		sum(&b.Transport)
	case SaleEntry:
		sum(&b.Sale)
	case SellingEntry:
		sum(&b.Selling)
	case BoughtEntry:
		b.Bought = e.Date
	case ListedEntry:
		b.Listed = e.Date
	case SoldEntry:
		b.Sold = e.Date
	case StrippedEntry:
		b.Stripped = e.Date
		b.OverheadHours += e.Hours
	case StoppedEntry:
		b.Stopped = e.Date
	}
}

// job books a row of a zone.
func (r *ledgerReader) job(b *Build, e Entry) {
	j := b.Job(e.Spot)
	if j == nil {
		j = &Job{Spot: e.Spot}
		at, _ := slices.BinarySearchFunc(b.Jobs, e.Spot.Index(), func(x *Job, i int) int { return x.Spot.Index() - i })
		b.Jobs = slices.Insert(b.Jobs, at, j)
	}
	if len(j.Entries) > 0 && e.State == JobOpen && j.State != JobOpen {
		r.notice(e.Line, "%s of %q was %s on line %d; this row opens it again: write the state in its last row", e.Spot,
			b.Name, j.State, j.Entries[len(j.Entries)-1].Line)
	}
	if e.State == JobClear {
		from := max(e.Grade, 1)
		if j.ClearFrom == 0 || from < j.ClearFrom {
			j.ClearFrom = from
		}
		if e.Grade == 0 {
			j.State = JobClear
		}
		if j.Grade >= from {
			r.notice(e.Line, "%s of %q is marked clear, and an earlier row found grade %d there: which is right?", e.Spot,
				b.Name, j.Grade)
		}
	} else {
		j.State = e.State
		j.Grade = max(j.Grade, e.Grade)
		if j.ClearFrom > 0 && e.Grade >= j.ClearFrom {
			r.notice(e.Line, "%s of %q was marked clear, and this row found grade %d there: which is right?", e.Spot, b.Name,
				e.Grade)
		}
	}
	j.Entries = append(j.Entries, e)
	j.Spend += e.Spend
	j.Hours += e.Hours
	j.Paid, j.Worked = j.Paid || e.Paid, j.Worked || e.Worked
}

// finish asks for the grade of jobs that are done, fills in the dates that other rows give, and says which dates are
// out of order.
func (r *ledgerReader) finish(b *Build) {
	r.ungraded(b)
	r.stopped(b)
	r.soldDate(b)
}

// ungraded asks for the grades of the jobs that are done, in one notice.
func (r *ledgerReader) ungraded(b *Build) {
	var jobs []string
	var first *Job
	line := func(j *Job) int { return j.Entries[len(j.Entries)-1].Line }
	for _, j := range b.Jobs {
		if j.State == JobDone && j.Grade == 0 && j.ClearFrom == 0 {
			if first == nil {
				first = j
			}
			jobs = append(jobs, fmt.Sprintf("%s in line %d", j.Spot, line(j)))
		}
	}
	const why = "it shows whether the code or the cost was wrong"
	switch len(jobs) {
	case 0:
	case 1:
		r.notice(line(first), "%s of %q is done, and no row names the grade that was found: write it, 1 to 4; %s", first.Spot,
			b.Name, why)
	default:
		r.notice(line(first), "%d jobs of %q are done, and no row names the grade that was found: write it, 1 to 4; %s: %s",
			len(jobs), b.Name, why, strings.Join(jobs, ", "))
	}
}

// soldDate fills in the days of purchase and sale from the rows of the prices, and reports a sale
// that is dated before the purchase or has no price.
func (r *ledgerReader) soldDate(b *Build) {
	line := 0
	for _, e := range b.Entries {
		switch {
		case e.Kind == HammerEntry && b.Bought.IsZero():
			b.Bought = e.Date
		case e.Kind == SaleEntry && b.Sold.IsZero():
			b.Sold = e.Date
		}
		if e.Kind == SoldEntry || e.Kind == SaleEntry {
			line = e.Line
		}
	}
	switch {
	case !b.Sold.IsZero() && b.Sold.Before(b.Bought):
		r.notice(line, "%q was sold on %s, before it was bought on %s: its days are not counted", b.Name,
			b.Sold.Format(time.DateOnly), b.Bought.Format(time.DateOnly))
		b.Sold = time.Time{}
	case !b.Sold.IsZero() && !b.Sale.Given:
		r.notice(line, "%q was sold, but there is no price: add a row with what = sale; until then the build counts as "+
			"unfinished", b.Name)
	}
}

// stopped reports a car that was given up before it was stripped.
func (r *ledgerReader) stopped(b *Build) {
	if b.Stopped.IsZero() || !b.Stripped.IsZero() && !b.Stripped.After(b.Stopped) {
		return
	}
	day := b.Stopped.Format(time.DateOnly)
	p := tabular.Problem{File: r.out.File, Column: "what", Text: StoppedEntry.String()}
	for _, e := range b.Entries {
		if e.Kind == StoppedEntry {
			p.Line = e.Line
		}
	}
	if p.Message = fmt.Sprintf("%q was stopped on %s, but no row says when it was stripped; add a row with what = "+
		"stripped and its date", b.Name, day); !b.Stripped.IsZero() {
		p.Message = fmt.Sprintf("%q was stopped on %s, before it was stripped on %s: correct one of the two dates", b.Name,
			day, b.Stripped.Format(time.DateOnly))
	}
	r.out.Problems = append(r.out.Problems, p)
	b.Faults++
}
