package build

import (
	"errors"
	"fmt"
	"math"
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
	// BoughtEntry, ListedEntry and SoldEntry are dates.
	BoughtEntry
	ListedEntry
	SoldEntry
)

// entryWords are the words in the column what that make a row more than overhead.
var entryWords = []string{"hammer", "fees", "transport", "sale", "selling", "bought", "listed", "sold"}

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
	State  JobState
	Note   string
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

// ledgerRow is one row of the ledger.
type ledgerRow struct {
	Build tabular.Cell `csv:"build"`
	Date  tabular.Cell `csv:"date"`
	Zone  tabular.Cell `csv:"zone"`
	Class tabular.Cell `csv:"class"`
	Grade tabular.Cell `csv:"grade"`
	What  tabular.Cell `csv:"what"`
	Spend tabular.Cell `csv:"spend"`
	Hours tabular.Cell `csv:"hours"`
	State tabular.Cell `csv:"state"`
	Note  tabular.Cell `csv:"note"`
}

// ReadLedger reads a ledger. columns names columns that it calls otherwise. Rows
// that cannot be read become problems; the error is for a ledger of which nothing
// can be read.
func ReadLedger(source tabular.Source, columns map[string]string) (*Ledger, error) {
	wanted := tabular.ColumnsOf("build", "zone", "class", "what", "spend", "?", "date", "grade", "hours", "state", "note")
	t, err := tabular.Open(source, tabular.Options{Columns: wanted, Map: columns})
	if err != nil {
		return nil, err
	}
	r := ledgerReader{out: &Ledger{File: t.File()}, once: map[string]int{}}
	for row, err := range tabular.Read[ledgerRow](t) {
		if err != nil {
			return nil, err
		}
		if row.Problem != nil {
			r.out.Problems = append(r.out.Problems, *row.Problem)
			r.out.Unplaced++
			continue
		}
		r.row(row)
	}
	for _, b := range r.out.Builds {
		r.finish(b)
	}
	if extra := t.Extra(); len(extra) > 0 {
		r.out.Notices = append(r.out.Notices, fmt.Sprintf("%s: not read: %s", t.File(), strings.Join(extra, ", ")))
	}
	r.out.Notices = append(t.Notices(), r.out.Notices...)
	return r.out, nil
}

type ledgerReader struct {
	out  *Ledger
	once map[string]int // lines of rows that a build has once
}

func (r *ledgerReader) notice(line int, format string, args ...any) {
	r.out.Notices = append(r.out.Notices, fmt.Sprintf("%s:%d: ", r.out.File, line)+fmt.Sprintf(format, args...))
}

func (r *ledgerReader) row(row tabular.Row[ledgerRow]) {
	v := &row.Values
	e := Entry{What: v.What.Text(), Note: v.Note.Text(), Line: row.Line}
	failed := false
	bad := func(column string, err error) bool {
		if err != nil {
			failed = true
			r.out.Problems = append(r.out.Problems, row.At(column, err))
		}
		return err != nil
	}
	name := v.Build.Text()
	if name == "" {
		bad("build", errors.New("is blank; write the name that the build was frozen under"))
	}
	r.place(&e, v, bad)
	r.amounts(&e, v, bad)
	r.state(&e, v, bad)
	if !failed {
		r.sense(&e, v, bad)
	}
	if !failed {
		r.onlyOnce(&e, name, bad)
	}
	switch {
	case name == "":
		r.out.Unplaced++
	case failed:
		r.build(name).Faults++
	default:
		r.add(r.build(name), e)
	}
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

// place reads where the money went, and so what kind of row it is.
func (r *ledgerReader) place(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	word := slices.Index(entryWords, strings.ToLower(e.What))
	if !v.Zone.Given() && !v.Class.Given() && !v.Grade.Given() {
		switch e.Kind = OverheadEntry; {
		case word >= 0:
			e.Kind = HammerEntry + EntryKind(word)
		case e.What == "":
			bad("what", errors.New("is blank; where no zone is named, write what the money was for"))
		default:
			r.slip(e)
		}
		return
	}
	if word >= 0 {
		bad("what", fmt.Errorf("%q belongs to no zone; leave zone, class and grade blank", e.What))
	}
	var err error
	if !v.Zone.Given() {
		bad("zone", errors.New("is blank beside a class or a grade; write the zone, or leave all three blank for overhead"))
	} else if e.Spot.Zone, err = damage.ParseZone(v.Zone.Text()); err != nil {
		bad("zone", err)
	}
	if !v.Class.Given() {
		bad("class", errors.New("is blank beside a zone or a grade; write s, c, r, m or e, or leave all three blank for overhead"))
	} else if e.Spot.Class, err = damage.ParseClass(v.Class.Text()); err != nil {
		bad("class", err)
	}
	if v.Grade.Given() {
		n, err := v.Grade.Int(1, damage.GradeCount)
		if !bad("grade", err) {
			e.Grade = damage.Grade(n)
		}
	}
}

// slip says where a short word may be meant for one that counts.
func (r *ledgerReader) slip(e *Entry) {
	words := strings.Fields(e.What)
	if len(words) > 2 {
		return
	}
	for _, word := range words {
		if near := tabular.Nearest(word, entryWords); near != "" {
			r.notice(e.Line, "%q counts as overhead; if it is the car's %s, write %s", e.What, near, near)
			return
		}
	}
}

// amounts reads date, spend and hours.
func (r *ledgerReader) amounts(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	var err error
	if v.Date.Given() {
		e.Date, err = v.Date.Date()
		bad("date", err)
	}
	if v.Spend.Given() {
		e.Spend, err = money.Parse(v.Spend.Text())
		e.Paid = !bad("spend", err)
	}
	if v.Hours.Given() {
		e.Hours, err = v.Hours.Number(math.Inf(-1), 10000)
		if err == nil && e.Hours < 0 {
			err = fmt.Errorf("%s is below 0; hours can't be negative: correct the row with too many", v.Hours.Text())
		}
		e.Worked = !bad("hours", err)
	}
}

func (r *ledgerReader) state(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	if !v.State.Given() {
		return
	}
	states := []string{"open", "done", "clear"}
	word, err := v.State.Word(states...)
	if bad("state", err) {
		return
	}
	e.State = JobState(slices.Index(states, word))
	if e.Kind != ZoneEntry && e.State != JobOpen {
		r.notice(e.Line, "%s is not read in a row that belongs to no zone", word)
		e.State = JobOpen
	}
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
		if e.Date.IsZero() {
			bad("date", fmt.Errorf("is blank; %s is a date, such as 2026-04-30", e.Kind))
		}
		if e.Paid {
			bad("spend", fmt.Errorf("%q: %s is a date and has no amount; the price %s", v.Spend.Text(), e.Kind, map[EntryKind]string{
				BoughtEntry: "paid is a row of its own with what = hammer", SoldEntry: "received is a row of its own with what = sale", ListedEntry: "asked is not kept",
			}[e.Kind]))
		}
		if e.Worked {
			bad("hours", fmt.Errorf("%q: %s is a date and has no hours; write them in a row of their own", v.Hours.Text(), e.Kind))
		}
	default:
		switch {
		case !e.Paid:
			bad("spend", fmt.Errorf("is blank; write the amount of the %s", e.Kind))
		case e.Spend < 0:
			bad("spend", fmt.Errorf("%q: the amount of the %s is written without a minus sign; money back is a row of its own, as overhead", v.Spend.Text(), e.Kind))
		case e.Spend == 0 && (e.Kind == HammerEntry || e.Kind == SaleEntry):
			bad("spend", fmt.Errorf("%q: write the price, above 0", v.Spend.Text()))
		}
		if e.Worked {
			bad("hours", fmt.Errorf("%q: %s has no hours; write them in a row of their own, as overhead", v.Hours.Text(), e.Kind))
		}
	}
}

// onlyOnce reports a second price or date of a build.
func (r *ledgerReader) onlyOnce(e *Entry, build string, bad func(string, error) bool) {
	switch e.Kind {
	case HammerEntry, SaleEntry, BoughtEntry, ListedEntry, SoldEntry:
		key := tabular.NameKey(build) + "\x00" + e.Kind.String()
		if line, dup := r.once[key]; dup {
			bad("what", fmt.Errorf("%s of %q stands in line %d already; keep one", e.Kind, build, line))
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
		r.notice(e.Line, "%s of %q was %s in line %d; this row opens it again: write the state in its last row", e.Spot, b.Name, j.State, j.Entries[len(j.Entries)-1].Line)
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
			r.notice(e.Line, "%s of %q is marked clear, and an earlier row found grade %d there: which is right?", e.Spot, b.Name, j.Grade)
		}
	} else {
		j.State = e.State
		j.Grade = max(j.Grade, e.Grade)
		if j.ClearFrom > 0 && e.Grade >= j.ClearFrom {
			r.notice(e.Line, "%s of %q was marked clear, and this row found grade %d there: which is right?", e.Spot, b.Name, e.Grade)
		}
	}
	j.Entries = append(j.Entries, e)
	j.Spend += e.Spend
	j.Hours += e.Hours
	j.Paid, j.Worked = j.Paid || e.Paid, j.Worked || e.Worked
}

// finish asks for the grade of jobs that are done, fills in the dates that other rows give, and says which dates do
// not follow each other.
func (r *ledgerReader) finish(b *Build) {
	for _, j := range b.Jobs {
		if j.State == JobDone && j.Grade == 0 && j.ClearFrom == 0 {
			r.notice(j.Entries[len(j.Entries)-1].Line, "%s of %q is done, and no row names the grade that was found: write it, 1 to 4; it tells a wrong code from a wrong cost", j.Spot, b.Name)
		}
	}
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
		r.notice(line, "%q was sold on %s, before it was bought on %s: its days are not counted", b.Name, b.Sold.Format(time.DateOnly), b.Bought.Format(time.DateOnly))
		b.Sold = time.Time{}
	case !b.Sold.IsZero() && !b.Sale.Given:
		r.notice(line, "%q was sold, but there is no price: until a row with what = sale has it, the build counts as unfinished", b.Name)
	}
}
