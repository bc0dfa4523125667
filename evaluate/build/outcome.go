package build

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
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
	// Unknown: the car was given up before this was finished, or looked at.
	Unknown Where = "not known"
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

// Stopped reports whether the car was given up after the strip. What the ledger has of its
// repair is then no cost of a repair.
func (o *Outcome) Stopped() bool { return !o.Build.Stopped.IsZero() }

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
	if err := o.walk(); err != nil {
		return nil, err
	}
	if o.Stopped() {
		o.note("given up on %s: its spend is not compared with the repair estimate, and its margin is compared with one "+
			"that allows for giving up", b.Stopped.Format(time.DateOnly))
	}
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
	rate := o.Frozen.Shop().LabourRate
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
	o.classes()
	if len(unworked) > 0 {
		o.note("no hours in the ledger for %s: your time there counts as nothing", strings.Join(unworked, ", "))
	}
}

// classes adds up the lines of each class, and sets their sums beside its forecast.
func (o *Outcome) classes() {
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
}

// likely is the chance from which something counts as expected.
const likely = 0.5

func (o *Outcome) judge(l *Line) {
	if o.Stopped() && (l.Job == nil || l.Job.State == JobOpen) {
		l.Where = Unknown
		return
	}
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
func (o *Outcome) walk() error {
	f, b := o.Frozen, o.Build
	workshop := f.Shop()
	d, err := f.deal()
	if err != nil {
		return err
	}
	stride := func(name string, expected, actual money.Pence) {
		if expected != 0 || actual != 0 {
			o.Walk = append(o.Walk, Stride{name, expected, actual})
		}
		o.MarginExpected += expected
		o.MarginActual += actual
	}
	price := o.paid(d)
	outlay := d.Outlay(price.Hammer)
	hammerVAT := outlay.Lines[0].VAT
	stride("hammer price", o.part(deal.PartHammer), -price.Hammer)
	expectedVAT := f.Walk.named(deal.HammerVAT)
	stride(deal.HammerVAT, expectedVAT, -hammerVAT)
	stride("fees and transport", o.part(deal.PartFees)-expectedVAT, price.Hammer+hammerVAT-money.FromPounds(price.Outlay))

	for _, c := range o.Classes {
		stride(c.Class.String()+" repair", o.repair(c.Class), -c.Actual)
	}
	overhead := b.Overhead + money.FromPounds(d.Labour*b.OverheadHours)
	stride("overhead, tests and extras", o.part(deal.PartOther), -overhead)
	if names, expected := o.Lacking(); len(names) > 0 {
		o.note("no row in the ledger for %s: counted as nothing, where %s was expected", strings.Join(names, ", "), expected)
	}

	stride("sold on or broken instead", o.part(deal.PartStop), 0)
	holding := o.time(&price, f.sellDays(), stride)
	sale := b.Sale.Pence
	stride("sale price", o.part(deal.PartSale), sale)
	selling := o.part(deal.PartSelling)
	if b.Selling.Given {
		selling = -b.Selling.Pence
	} else if selling != 0 {
		o.note("no selling costs in the ledger: counted as expected, %s", -selling)
	}
	stride("selling", o.part(deal.PartSelling), selling)
	if d.Registered() {
		back := price.OutlayBack + o.spendBack(workshop, d) + d.SellBack*-selling.Pounds() + d.HoldingBack*holding
		stride("VAT due and taken back", o.part(deal.PartVAT), money.FromPounds(back-price.Due(sale.Pounds())))
		o.note("VAT in the fees is worked out from the site's charges, in spend from vat_share of the workshop")
	}
	return nil
}

// part returns what was expected of a part of the workings. Money out is negative.
func (o *Outcome) part(p deal.Part) (sum money.Pence) {
	for _, step := range o.Frozen.Walk.Steps {
		if step.Part == p {
			sum += step.Amount
		}
	}
	return sum
}

// repair returns what was expected of a class of damage. Money out is negative.
func (o *Outcome) repair(class damage.Class) (sum money.Pence) {
	for _, step := range o.Frozen.Walk.Steps {
		if step.Part == deal.PartRepair && step.Class == class.Letter() {
			sum += step.Amount
		}
	}
	return sum
}

// paid returns the deal at what the ledger says was paid, and notes what it leaves out.
func (o *Outcome) paid(d *deal.Deal) deal.Price {
	f, b := o.Frozen, o.Build
	price := d.AtLedger(deal.Paid{Hammer: b.Hammer.Pounds(), Fees: b.Fees.Pounds(), Transport: b.Transport.Pounds()},
		f.Hammer)
	switch hammer := price.Hammer; {
	case !b.Hammer.Given:
		o.note("no hammer price in the ledger: the %s in the estimate is counted", hammer)
	case d.WithVAT(b.Hammer.Pence, f.Hammer):
		o.note("the ledger's hammer price of %s is the estimate's %s with VAT added: it counts as written, and no VAT is "+
			"added to it", b.Hammer.Pence, f.Hammer)
	case hammer != f.Hammer:
		o.note("the ledger's hammer price of %s is not the %s in the estimate", hammer, f.Hammer)
	}
	charged := d.AtLedger(deal.Paid{Hammer: b.Hammer.Pounds()}, f.Hammer)
	lot := d.Outlay(price.Hammer).Lines[0]
	usual := money.FromPounds(charged.Outlay) - lot.Amount - lot.VAT
	switch {
	case !b.Fees.Given && !b.Transport.Given:
		o.note("no fees or transport in the ledger: counted as expected, %s", usual)
	case !b.Fees.Given:
		o.note("no fees in the ledger: counted as the site charges them")
	case !b.Transport.Given:
		o.note("no transport in the ledger: counted by the mile as in fees.csv")
	}
	return price
}

// time compares what the days cost, and returns the actual holding, in pounds. forSale
// is how many days the car was expected to be for sale.
func (o *Outcome) time(price *deal.Price, forSale float64, stride func(string, money.Pence,
	money.Pence)) (holding float64) {
	f := o.Frozen
	days, expected := f.Predicted.Days.Mean, o.part(deal.PartTime)
	actual := expected
	holding, _ = price.Time(days, forSale)
	if !o.Build.Bought.IsZero() && !o.Build.Sold.IsZero() {
		o.Days, o.DaysKnown = o.Build.Sold.Sub(o.Build.Bought).Hours()/24, true
		if !o.Build.Listed.IsZero() {
			forSale = o.Build.Sold.Sub(o.Build.Listed).Hours() / 24
		}
		var finance float64
		holding, finance = price.Time(o.Days, min(max(0, forSale), o.Days))
		actual = -money.FromPounds(holding) - money.FromPounds(finance)
	} else if expected != 0 {
		o.note("no dates of purchase and sale in the ledger: time counted as expected, %s", -expected)
	}
	stride("time", expected, actual)
	return holding
}

// spendBack returns the VAT taken back on jobs and overheads, in pounds. Own work
// carries none.
func (o *Outcome) spendBack(workshop *shop.Shop, d *deal.Deal) (back float64) {
	for _, j := range o.Build.Jobs {
		back += d.SpendBack * j.Spend.Pounds()
	}
	for _, e := range o.Build.Entries {
		if e.Kind == OverheadEntry {
			back += d.OverheadBack(workshop, e.What) * e.Spend.Pounds()
		}
	}
	return back
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
