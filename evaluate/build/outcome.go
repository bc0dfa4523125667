package build

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// An Outcome is a finished build beside what was believed of it.
type Outcome struct {
	Frozen *Frozen
	Build  *Build
	// Actual is the repair: the spend of the zone rows, and their hours at the
	// frozen labour rate. Hours are those of the zone rows.
	Actual money.Pence
	Hours  float64
	// Percentile is where in its own predicted distribution the repair landed,
	// from 0 to 1; that of the margin and of the sale price likewise.
	Percentile       float64
	MarginPercentile float64
	SalePercentile   float64
	// Classes and Lines hold what was charged or could have been.
	Classes []ClassOutcome
	Lines   []Line
	// Walk leads from the expected margin to the actual one.
	Walk                         []Stride
	MarginExpected, MarginActual money.Pence
	// Days from the purchase to the sale; DaysKnown says that the ledger has both
	// dates.
	Days      float64
	DaysKnown bool
	// Notes say what had to be assumed.
	Notes []string
}

// A ClassOutcome is one class of damage, all zones together.
type ClassOutcome struct {
	Class damage.Class
	// Forecast is nil where nothing of the class was expected.
	Forecast *Forecast
	Actual   money.Pence
}

// Where says how an actual lies to its 80 % interval.
type Where string

// The places. Absent: expected, and not there. Unplanned: there, and no candidate
// of the estimate covers it.
const (
	Inside    Where = "inside"
	Below     Where = "below"
	Above     Where = "above"
	Absent    Where = "absent"
	Unplanned Where = "unplanned"
)

// A Line is one zone and class.
type Line struct {
	Spot damage.Spot
	// Forecast is nil where nothing was expected there.
	Forecast *SpotForecast
	// Job is nil where the ledger has nothing.
	Job    *Job
	Actual money.Pence
	// Outside says that the actual lies beyond P10 to P90.
	Outside bool
	Where   Where
}

// A Stride is one step from the expected margin to the actual one. Money in is
// positive, money out negative; the difference is what the step did to the margin.
type Stride struct {
	Name             string
	Expected, Actual money.Pence
}

// Difference is what the step did to the margin.
func (s Stride) Difference() money.Pence { return s.Actual - s.Expected }

// Compare holds a finished build against its frozen estimate. It fails where the
// build is not finished, or rows of it could not be read.
func Compare(f *Frozen, b *Build) (*Outcome, error) {
	switch {
	case b.Faults > 0:
		return nil, fmt.Errorf("%d of its rows in the ledger could not be read", b.Faults)
	case !b.Finished():
		return nil, fmt.Errorf("it is not finished: the ledger has no row with what = sale")
	}
	o := &Outcome{Frozen: f, Build: b}
	o.lines()
	o.walk()
	o.Percentile = f.Predicted.Repair.Percentile(o.Actual.Pounds())
	o.MarginPercentile = f.Predicted.Margin.Percentile(o.MarginActual.Pounds())
	o.SalePercentile = f.Predicted.Resale.Percentile(b.Sale.Pence.Pounds())
	return o, nil
}

func (o *Outcome) note(format string, args ...any) {
	o.Notes = append(o.Notes, fmt.Sprintf(format, args...))
}

// lines compares zone by zone and class by class.
func (o *Outcome) lines() {
	rate := o.Frozen.KeptShop.Settings.LabourRate
	var unworked []string
	for i := range o.Frozen.Predicted.Spots {
		s := &o.Frozen.Predicted.Spots[i]
		o.Lines = append(o.Lines, Line{Spot: s.Spot(), Forecast: s})
	}
	for _, j := range o.Build.Jobs {
		i := slices.IndexFunc(o.Lines, func(l Line) bool { return l.Spot == j.Spot })
		if i < 0 {
			i = len(o.Lines)
			o.Lines = append(o.Lines, Line{Spot: j.Spot})
		}
		l := &o.Lines[i]
		l.Job = j
		l.Actual = j.Spend + money.FromPounds(rate*j.Hours)
		o.Actual += l.Actual
		o.Hours += j.Hours
		if j.Found() && j.Paid && !j.Worked {
			unworked = append(unworked, j.Spot.String())
		}
	}
	slices.SortFunc(o.Lines, func(a, b Line) int { return a.Spot.Index() - b.Spot.Index() })
	for i := range o.Lines {
		o.judge(&o.Lines[i])
	}
	for _, c := range damage.Classes() {
		x := ClassOutcome{Class: c}
		for i := range o.Frozen.Predicted.Classes {
			if p := &o.Frozen.Predicted.Classes[i]; p.Class == c.Letter() {
				x.Forecast = &p.Forecast
			}
		}
		there := x.Forecast != nil
		for _, l := range o.Lines {
			if l.Spot.Class == c {
				x.Actual += l.Actual
				there = there || l.Job != nil
			}
		}
		if there {
			o.Classes = append(o.Classes, x)
		}
	}
	if len(unworked) > 0 {
		o.note("no hours in the ledger for %s: own work there counts as nothing", strings.Join(unworked, ", "))
	}
}

// likely is the chance from which something counts as expected.
const likely = 0.5

func (o *Outcome) judge(l *Line) {
	found := l.Job != nil && l.Job.Found()
	if l.Forecast == nil {
		l.Where = Inside
		if found || l.Actual != 0 {
			l.Where, l.Outside = Unplanned, l.Actual != 0
		}
		return
	}
	x := l.Actual.Pounds()
	switch {
	case x < l.Forecast.P10:
		l.Where, l.Outside = Below, true
	case x > l.Forecast.P90:
		l.Where, l.Outside = Above, true
	default:
		l.Where = Inside
	}
	if !found && l.Forecast.Chance >= likely {
		l.Where = Absent
	}
}

// walk compares the margins, part by part.
func (o *Outcome) walk() {
	f, b, s := o.Frozen, o.Build, &o.Frozen.KeptShop.Settings
	part := func(p evaluate.Part, class damage.Class) (sum money.Pence) {
		for _, step := range f.Walk.Steps {
			if step.Part == p && (p != evaluate.PartRepair || step.Class == class.Letter()) {
				sum += step.Amount
			}
		}
		return sum
	}
	stride := func(name string, expected, actual money.Pence) {
		if expected != 0 || actual != 0 {
			o.Walk = append(o.Walk, Stride{name, expected, actual})
		}
		o.MarginExpected += expected
		o.MarginActual += actual
	}

	hammer := f.Hammer
	if b.Hammer.Given {
		if hammer = b.Hammer.Pence; hammer != f.Hammer {
			o.note("the ledger's hammer price of %s is not the %s that was frozen", hammer, f.Hammer)
		}
	}
	if !b.Hammer.Given {
		o.note("no hammer price in the ledger: the %s that was frozen is counted", hammer)
	}
	stride("hammer price", part(evaluate.PartHammer, 0), -hammer)

	expected := part(evaluate.PartFees, 0)
	fees := -(b.Fees.Pence + b.Transport.Pence)
	switch {
	case !b.Fees.Given && !b.Transport.Given:
		fees = expected
		o.note("no fees or transport in the ledger: counted as expected, %s", -fees)
	case !b.Fees.Given:
		o.note("no fees in the ledger: none counted")
	case !b.Transport.Given:
		o.note("no transport in the ledger: none counted beside the fees")
	}
	stride("fees and transport", expected, fees)

	for _, c := range o.Classes {
		stride(c.Class.String()+" repair", part(evaluate.PartRepair, c.Class), -c.Actual)
	}
	overhead := b.Overhead + money.FromPounds(s.LabourRate*b.OverheadHours)
	stride("overhead, tests and extras", part(evaluate.PartOther, 0), -overhead)

	holding := o.time(part(evaluate.PartTime, 0), hammer-fees, stride)
	sale := b.Sale.Pence
	stride("sale price", part(evaluate.PartSale, 0), sale)
	selling := part(evaluate.PartSelling, 0)
	if b.Selling.Given {
		selling = -b.Selling.Pence
	} else if selling != 0 {
		o.note("no selling costs in the ledger: counted as expected, %s", -selling)
	}
	stride("selling", part(evaluate.PartSelling, 0), selling)
	if s.VATRegistered {
		stride("VAT due and taken back", part(evaluate.PartVAT, 0), o.vat(hammer, fees, expected, overhead, -selling, holding))
	}
}

// time compares what the days cost, and returns the actual holding.
func (o *Outcome) time(expected, outlay money.Pence, stride func(string, money.Pence, money.Pence)) (holding money.Pence) {
	s := &o.Frozen.KeptShop.Settings
	days := o.Frozen.Predicted.Days.Mean
	actual := expected
	if !o.Build.Bought.IsZero() && !o.Build.Sold.IsZero() {
		o.Days, o.DaysKnown = o.Build.Sold.Sub(o.Build.Bought).Hours()/24, true
		days = o.Days
		finance := money.FromPounds(s.FinanceRate / 365 * outlay.Pounds() * days)
		actual = -money.FromPounds(s.HoldingPerDay*days) - finance
	} else if expected != 0 {
		o.note("no dates of purchase and sale in the ledger: time counted as expected, %s", -expected)
	}
	stride("time", expected, actual)
	return money.FromPounds(s.HoldingPerDay * days)
}

// vat is what a registered shop owes (negative) and takes back. The VAT in the
// fees is taken to be the share expected, that in the overheads the share of the
// spend.
func (o *Outcome) vat(hammer, fees, feesExpected, overhead, selling, holding money.Pence) money.Pence {
	f, s := o.Frozen, &o.Frozen.KeptShop.Settings
	due := o.Build.Sale.Pence
	if !f.Kept.Plus {
		due = max(0, due-(hammer+f.PurchasePrice-f.Hammer))
	}
	back := s.VATRate.Within(-due)
	if feesExpected != 0 {
		back += money.FromPounds(f.OutlayVAT.Pounds() * fees.Pounds() / feesExpected.Pounds())
	}
	spend := overhead
	for _, j := range o.Build.Jobs {
		spend += j.Spend
	}
	carried := money.FromPounds(s.SpendVATShare * spend.Pounds())
	if s.SellVAT {
		carried += selling
	}
	if s.HoldingVAT {
		carried += holding
	}
	o.note("VAT in fees and overheads is taken as the share that was expected")
	return back + s.VATRate.Within(carried)
}

// Grade returns the grade that a line turned out to have: that of the ledger; the
// one that was seen; or the likeliest of the estimate, and then sure is false. It is
// 0 where nothing was there, or nobody can tell.
func (o *Outcome) Grade(l *Line) (g damage.Grade, sure bool) {
	if l.Job == nil || !l.Job.Found() {
		return 0, true
	}
	if l.Job.Grade > 0 {
		return l.Job.Grade, true
	}
	best := 0.0
	for _, c := range o.Frozen.Predicted.Candidates {
		if c.Item().Spot != l.Spot {
			continue
		}
		if c.Kind == costs.Seen.String() {
			return damage.Grade(c.Grade), true
		}
		if c.Charged > best {
			g, best = damage.Grade(c.Grade), c.Charged
		}
	}
	return g, false
}
