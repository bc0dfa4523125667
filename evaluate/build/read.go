package build

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
)

// ledgerRow is one row of the ledger.
type ledgerRow struct {
	Build    tabular.Cell `csv:"build"`
	Date     tabular.Cell `csv:"date"`
	Zone     tabular.Cell `csv:"zone"`
	Class    tabular.Cell `csv:"class"`
	Grade    tabular.Cell `csv:"grade"`
	What     tabular.Cell `csv:"what"`
	Spend    tabular.Cell `csv:"spend"`
	Hours    tabular.Cell `csv:"hours"`
	State    tabular.Cell `csv:"state"`
	Note     tabular.Cell `csv:"note"`
	Due      tabular.Cell `csv:"due"`
	Invoice  tabular.Cell `csv:"invoice"`
	Supplier tabular.Cell `csv:"supplier"`
	Part     tabular.Cell `csv:"part"`
	Received tabular.Cell `csv:"received"`
}

// A Reading says how a ledger is read. The zero value takes its columns as they are called.
type Reading struct {
	// Map gives the header of columns that it calls otherwise.
	Map map[string]string
	// Again opens the ledger once more, to decide before any row is booked what its rows together tell: the place of
	// the header, what columns mean, the order of day and month. Nil: nothing is decided so.
	Again func() (tabular.Source, io.Closer, error)
	// HeaderRow is the line of the header; 0: it is looked for, or is the first.
	HeaderRow int
	// Order is how dates are written; Unknown: as the ledger's own dates show.
	Order typed.Order
	// Currency is the shop's (ISO 4217), "" for pounds. Fixed are the names of its fixed items.
	Currency string
	Fixed    []string
}

// Ledger reads a ledger. Rows that cannot be read become problems; the error is for a
// ledger of which nothing can be read.
func (how Reading) Ledger(source tabular.Source) (*Ledger, error) {
	r := &ledgerReader{how: how, once: map[string]int{}, order: how.Order}
	t, said, err := r.open(source)
	if err != nil {
		return nil, err
	}
	r.out = &Ledger{File: t.File()}
	r.out.Notices = said
	r.strict = tabular.Canonical(t.Header("zone")) == "zone" && t.Has("zone") &&
		tabular.Canonical(t.Header("class")) == "class" && t.Has("class")
	state := tabular.Canonical(t.Header("state"))
	r.byNote = !t.Has("state")
	r.asks = state != "state" && state != "status"
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
	byWords := 0
	for _, b := range r.out.Builds {
		r.finish(b)
		for _, e := range b.Entries {
			if e.ByWords {
				byWords++
			}
		}
	}
	r.listUnsure()
	if byWords > 0 {
		r.out.Notices = append(r.out.Notices,
			fmt.Sprintf("%s: zone or class read from the words of the job in %s; wreckoner check %s shows each", t.File(),
				tabular.Count(byWords, "row"), t.File()))
	}
	r.out.Notices = slices.Concat(t.Notices(), r.out.Notices, t.Ignored())
	return r.out, nil
}

type ledgerReader struct {
	how    Reading
	out    *Ledger
	once   map[string]int // lines of rows that a build has once
	order  typed.Order
	votes  [3]int // dates that show an order
	opens  int    // dates that could be two
	strict bool   // the ledger has our columns zone and class: a row that leaves them blank is overhead
	byNote bool   // the ledger has no column for the state: a note may say it
	asks   bool   // the state's column asks whether the job is done
}

// columns are the ledger's, with what can stand in each.
func (r *ledgerReader) columns() []layout.Column {
	ok := func(err error) bool { return err == nil }
	fits := map[string]func(string) bool{
		"date": dateLike, "due": dateLike,
		"zone":     func(s string) bool { _, err := zoneOf(s); return ok(err) },
		"class":    func(s string) bool { _, _, err := classGrade(s); return ok(err) },
		"grade":    func(s string) bool { n, err := tabular.NewCell(s).Int(1, damage.GradeCount); return ok(err) && n > 0 },
		"spend":    func(s string) bool { _, err := typed.ParseAmount(s, ""); return ok(err) },
		"received": func(s string) bool { _, err := typed.ParseAmount(s, ""); return ok(err) },
		"hours":    func(s string) bool { _, err := typed.ParseHours(s); return ok(err) || strings.HasPrefix(s, "-") },
		"state": func(s string) bool {
			return meaning("state", wordKey(s)) != "" || meaning("yes", wordKey(s)) != ""
		},
	}
	var all []layout.Column
	for _, name := range []string{"build", "date", "zone", "class", "grade", "what", "spend", "hours", "state", "note",
		"due", "invoice", "supplier", "part", "received"} {
		needed := name == "build" || name == "what" || name == "spend"
		all = append(all, layout.Column{
			Column: tabular.Column{Name: name, Required: needed}, Called: calledBy[name], Fits: fits[name],
			Figures: name == "spend" || name == "hours" || name == "received", Filled: name == "build",
		})
	}
	return all
}

func dateLike(text string) bool {
	if typed.Yearless(text) {
		return true
	}
	if _, err := typed.ParseDay(text, typed.DayFirst); err == nil {
		return true
	}
	_, err := typed.ParseDay(text, typed.MonthFirst)
	return err == nil
}

// observe counts what dates show of the order of day and month.
func (r *ledgerReader) observe(column, cell string) {
	if column == "date" || column == "due" {
		shows, open := typed.ShowsOrder(cell)
		if r.votes[shows]++; open {
			r.opens++
		}
	}
}

// open finds the header and the columns.
func (r *ledgerReader) open(source tabular.Source) (*tabular.Table, []string, error) {
	columns := r.columns()
	options := layout.Options{Columns: columns, Key: "build", Given: r.how.Map, HeaderRow: r.how.HeaderRow,
		Observe: r.observe}
	plan, source, err := r.plan(source, options)
	if err != nil {
		return nil, nil, err
	}
	wanted := tabular.Options{Map: r.how.Map, At: plan.At()}
	for _, c := range columns {
		c.Required = false // asked for all at once, below
		wanted.Columns = append(wanted.Columns, c.Column)
	}
	t, err := tabular.Open(source, wanted)
	if err != nil {
		return nil, nil, err
	}
	if lacks := plan.Wanting(); lacks != "" {
		return nil, nil, tabular.Problems{{File: t.File(), Sheet: t.Sheet(), Line: t.HeaderLine(), Text: t.HeaderRaw(),
			Message: lacks}}
	}
	var said []string
	if pairs := plan.Guessed(); len(pairs) > 0 {
		said = append(said, fmt.Sprintf("%s: columns read as: %s; use --map to change", t.File(), strings.Join(pairs, ", ")))
	}
	if r.order == typed.Unknown {
		if r.order = typed.Decide(r.votes); r.order != typed.Unknown && r.opens > 0 {
			said = append(said, fmt.Sprintf("%s: dates are read %s, as its other dates show; use --dates to change", t.File(),
				r.order))
		}
	}
	return t, said, nil
}

// plan finds the header. The source that it returns starts with it.
func (r *ledgerReader) plan(source tabular.Source, options layout.Options) (*layout.Plan, tabular.Source, error) {
	loose, ok := source.(tabular.Loose)
	if r.how.Again == nil || !ok {
		return layout.From(source, r.how.HeaderRow, options)
	}
	again, closer, err := r.how.Again()
	if err != nil {
		return nil, nil, err
	}
	defer closer.Close() // it was only read
	second, ok := again.(tabular.Loose)
	if !ok {
		return nil, nil, fmt.Errorf("a ledger that is read twice is a %T", again)
	}
	plan, err := layout.Survey(second, options)
	if err != nil {
		file, _ := source.Place()
		return nil, nil, fmt.Errorf("%s: cannot be read: %w", tabular.Sanitise(file), err)
	}
	return plan, plan.Arrange(loose), nil
}

func (r *ledgerReader) row(row tabular.Row[ledgerRow]) {
	v := &row.Values
	e := Entry{
		What: v.What.Text(), Note: v.Note.Text(), Line: row.Line,
		Invoice: v.Invoice.Text(), Supplier: v.Supplier.Text(), Part: v.Part.Text(),
	}
	failed := false
	bad := func(column string, err error) bool {
		if err != nil {
			failed = true
			r.out.Problems = append(r.out.Problems, row.At(column, err))
		}
		return err != nil
	}
	name := v.Build.Text()
	if name == "" && r.workshop(&e, v, bad) {
		return
	}
	r.place(&e, v, bad)
	r.amounts(&e, v, bad)
	r.state(&e, v, bad)
	if !failed {
		e.askLarge(bad)
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

// amounts reads dates, spend and hours.
func (r *ledgerReader) amounts(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	day := func(column string, c tabular.Cell) (t time.Time) {
		if c.Given() {
			d, err := typed.ParseDay(c.Text(), r.order)
			bad(column, err)
			t = d.Time
		}
		return t
	}
	e.Date, e.Due = day("date", v.Date), day("due", v.Due)
	if v.Spend.Given() {
		r.spend(e, v.Spend.Text(), bad)
	}
	if v.Received.Given() {
		r.received(e, v.Received.Text(), bad)
	}
	if v.Hours.Given() {
		var err error
		e.Hours, err = typed.ParseHours(v.Hours.Text())
		e.Worked = !bad("hours", err)
	}
}

// spend reads money out, or with a minus sign, in brackets or with cr, money back.
func (r *ledgerReader) spend(e *Entry, text string, bad func(string, error) bool) {
	a, given, err := r.amount(text)
	if !given {
		return
	}
	if _, back := jobWords(e.What); err == nil && back && a > 0 && !e.Kind.own() {
		err = fmt.Errorf("%q: %q says money came back; write -%s if it did", text, e.What, a)
	}
	e.Spend = a
	e.Paid = !bad("spend", err)
}

// received reads money in: what a sale brought, or what came back of what was spent.
func (r *ledgerReader) received(e *Entry, text string, bad func(string, error) bool) {
	a, given, err := r.amount(text)
	if !given {
		return
	}
	switch {
	case err != nil:
	case a < 0:
		err = fmt.Errorf("%q: write what was received without a minus sign", text)
	case e.Kind == SaleEntry && e.Paid:
		err = fmt.Errorf("%q: the sale has an amount in two columns; keep one", text)
	case e.Kind.own() && e.Kind != SaleEntry:
		err = fmt.Errorf("%q: %s is money out; money back is a row of its own, as overhead", text, e.Kind)
	}
	if bad("received", err) {
		return
	}
	if e.Kind != SaleEntry {
		a = -a
	}
	e.Spend += a
	e.Paid = true
}

// amount reads one amount of money; given is false for a cell that says there is none.
func (r *ledgerReader) amount(text string) (p money.Pence, given bool, err error) {
	currency := r.how.Currency
	if currency == "" {
		currency = "GBP"
	}
	a, err := typed.ParseAmount(text, typed.Sign(currency))
	switch {
	case err != nil:
	case a.None:
		return 0, false, nil
	case a.Range():
		err = fmt.Errorf("%q is a range; write what was paid", text)
	case a.PlusVAT:
		err = fmt.Errorf("%q: write what was paid, VAT included", text)
	}
	return a.Pence, true, err
}

// states are the states of a job by their words.
var states = map[string]JobState{"open": JobOpen, "done": JobDone, "clear": JobClear}

// state reads the state of a job; in a ledger that has no column for it, a note that says nothing else.
func (r *ledgerReader) state(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	if !v.State.Given() {
		if r.byNote && e.Kind == ZoneEntry {
			word := meaning("state", wordKey(e.Note))
			e.State, e.Stated = states[word], word != ""
		}
		return
	}
	word := meaning("state", wordKey(v.State.Text()))
	if word == "" && r.asks {
		word = meaning("yes", wordKey(v.State.Text()))
	}
	if word == "" {
		_, err := v.State.Word("open", "done", "clear")
		bad("state", err)
		return
	}
	e.State, e.Stated = states[word], true
	if e.Kind != ZoneEntry && e.State != JobOpen {
		r.notice(e.Line, "%s is ignored in a row without a zone", word)
		e.State = JobOpen
	}
}
