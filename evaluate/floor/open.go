package floor

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
)

// Open returns the open car of a frozen estimate as the ledger has it on a day; b is nil
// where the ledger has no row of it. The car's own shop, as frozen, says what its jobs
// cost.
func Open(f *build.Frozen, b *build.Build, asOf time.Time) (Car, error) {
	fc, err := reforecast.New(f)
	if err != nil {
		return Car{}, err
	}
	c := Car{Name: f.Build, Lot: f.Kept.Lot, Called: fc.Lot().Car()}
	if b == nil {
		c.Notices = append(c.Notices, "the ledger has no row of it: it counts as bought and still to collect")
		b = &build.Build{Name: f.Build}
	}
	progress, said := reforecast.Read(b, f.Shop().LabourRate, asOf)
	if len(b.Entries) > 0 {
		c.Notices = append(c.Notices, said...)
	}
	progress.Sale, progress.Sold = nil, nil // it is open
	now, ways, err := fc.Ways(progress)
	if err != nil {
		return Car{}, err
	}
	c.Notices = append(c.Notices, now.Notices...)
	c.Bought = b.Bought
	c.Since, c.SinceKnown = now.Elapsed, now.ElapsedKnown
	c.MoneyIn, c.PerDay = ways.MoneyIn, ways.PerDay+ways.Fade
	c.DaysShift, c.MarginShift, c.WhenBought = ways.DaysShift, ways.MarginShift, now.Start.Margin
	c.Delay = delay(&f.Shop().Settings, c.MoneyIn) + ways.Fade
	c.Waits = waits(f, b, &progress, asOf)
	c.Next = next(now, b)
	c.Stage = stage(b, &progress, now, len(c.Waits) > 0, fc.Lot().CollectDays, f.Shop())
	c.ways(ways)
	if c.Stage == Stopped {
		c.stopped(fc.Lot().Deal(f.Shop()), f, b, ways)
	}
	c.waitsForParts(f, now)
	c.dates(b, asOf)
	if b.Faults > 0 {
		c.say("rows of it that could not be read: %d; what they say is missing here", b.Faults)
	}
	if c.Stage.InBay() && hours(b) == 0 && len(b.Jobs) > 0 {
		c.say("the ledger has no own hours of it: it counts as not worked on, and all its hours as still to come")
	}
	return c, nil
}

// waitsForParts moves a car in work whose parts are all still to come to waiting, and adds the
// parts that are not ordered to what a car between collection and sale waits for.
func (c *Car) waitsForParts(f *build.Frozen, now *reforecast.Forecast) {
	if c.Stage == InWork && !c.workable() && c.hours() > 0 {
		c.Stage = Waiting
	}
	if w, ok := unordered(f, now); ok && (c.Stage == ToStrip || c.Stage == Waiting || c.Stage == InWork) {
		c.Waits = append(c.Waits, w)
	}
}

func (c *Car) say(format string, args ...any) {
	c.Notices = append(c.Notices, fmt.Sprintf(format, args...))
}

// delay returns what a day's delay costs beside what the price loses, in pounds: METHOD.md
// 20.2.
func delay(s *shop.Settings, moneyIn float64) float64 {
	return s.HoldingPerDay + s.FinanceRate*moneyIn/365
}

func hours(b *build.Build) float64 {
	_, h := b.Spent()
	return h
}

// ways fills in the ways in which the car may go.
func (c *Car) ways(w *reforecast.Ways) {
	c.Ways = make([]Way, len(w.Start))
	for i := range c.Ways {
		x := Way{
			Yard: w.Yard, Ordered: w.Stripped, ToPay: w.ToPay[i], Start: w.Start[i], Known: w.Known[i], Hours: w.Hours[i], Finish: w.Finish, Sell: w.Sell[i],
			Margin: w.Margin[i], Alone: w.Alone[i], Proceeds: w.Proceeds[i],
		}
		if c.Stage == Advertised || c.Stage == Stopped {
			x.Start, x.Known, x.Hours, x.Finish = 0, 0, 0, 0
		}
		c.Ways[i] = x
	}
}

// stopped makes the ways of a car those of one that is sold as it stands or broken: nothing
// more is paid or worked, and it brings what the shop says of such cars. Where the shop
// does not say, it counts as bringing nothing.
func (c *Car) stopped(d deal.Deal, f *build.Frozen, b *build.Build, w *reforecast.Ways) {
	lot, err := f.Lot()
	if err == nil {
		d.WithParts(lot.PartsValue)
	}
	p := d.AtLedger(deal.Paid{Hammer: b.Hammer.Pounds(), Fees: b.Fees.Pounds(), Transport: b.Transport.Pounds()}, f.Hammer)
	if !d.MayStop() {
		c.say("it is not to be finished, and nobody says what it brings: sell_on in shop.toml is not set; it counts as bringing nothing")
	}
	for i := range c.Ways {
		x := &c.Ways[i]
		x.ToPay, x.Proceeds = 0, 0
		if d.MayStop() {
			amount, times, _ := p.Brings()
			brings := times * amount.Quantile(spread(i))
			x.Proceeds = brings*(1-d.SellShare) - p.Due(brings)
		}
		x.Alone = x.Sell
		x.Margin = x.Proceeds - w.Sunk - x.Sell*w.PerDay
	}
	c.PerDay, c.MarginShift, c.DaysShift = w.PerDay, evaluate.Spread{}, evaluate.Spread{}
	c.Next = nil
}

// spread returns a rank in (0,1) for the i-th way, evenly spread over any run of ways: steps
// of the golden ratio.
func spread(i int) float64 {
	_, x := math.Modf(0.5 + float64(i)*(math.Sqrt(5)-1)/2)
	return min(1-1e-6, max(1e-6, x))
}

// dates says which dates do not follow each other.
func (c *Car) dates(b *build.Build, asOf time.Time) {
	early := 0
	for _, e := range b.Entries {
		if !e.Date.IsZero() && !b.Bought.IsZero() && e.Date.Before(b.Bought) {
			early++
		}
	}
	if early > 0 {
		c.say("rows dated before it was bought on %s: %d; their money and hours count all the same: check the dates", b.Bought.Format(time.DateOnly), early)
	}
	if b.Bought.After(asOf) {
		c.say("it was bought on %s, after %s: it counts as bought that day", b.Bought.Format(time.DateOnly), asOf.Format(time.DateOnly))
	}
	if !b.Sold.IsZero() && !b.Sale.Given {
		c.say("the ledger says that it was sold on %s, and has no price: write a row with what = sale", b.Sold.Format(time.DateOnly))
	}
}

// stage says how far a car has come.
func stage(b *build.Build, p *reforecast.Progress, now *reforecast.Forecast, awaits bool, collect *float64, s *shop.Shop) Stage {
	days := s.CollectDays
	if collect != nil {
		days = *collect
	}
	begun := len(p.Jobs) > 0 || b.OverheadHours > 0 || p.Stripped
	switch {
	case !b.Stopped.IsZero():
		return Stopped
	case p.Listed != nil:
		return Advertised
	case !begun && !b.Transport.Given && !(p.Elapsed != nil && *p.Elapsed > days && len(b.Entries) > 0):
		return ToCollect
	case !begun:
		return ToStrip
	case finished(now):
		return Ready
	case awaits:
		return Waiting
	}
	return InWork
}

// finished reports whether no job is known to be left.
func finished(now *reforecast.Forecast) bool {
	done := false
	for _, l := range now.Jobs {
		if l.State == reforecast.Open || l.State == reforecast.Untouched && l.Chance > 0.999 {
			return false
		}
		done = done || l.State == reforecast.Done
	}
	return done
}

// likely is the chance from which a job that nobody has looked at is on the list.
const likely = 0.5

// next returns the jobs to do: those that are begun first, then those that are there for
// certain or likely, the longest first.
func next(now *reforecast.Forecast, b *build.Build) []Job {
	var jobs []Job
	for _, l := range now.Jobs {
		open := l.State == reforecast.Open
		if !open && (l.State != reforecast.Untouched || l.Chance < likely) {
			continue
		}
		if j := b.Job(l.Spot); open && j != nil && len(reforecast.Awaited(j)) > 0 {
			continue // its part is not here
		}
		name := l.Zone.String() + ", " + l.Class.String()
		jobs = append(jobs, Job{Name: name, Begun: open, Chance: l.Chance, Hours: l.HoursToCome})
	}
	slices.SortStableFunc(jobs, func(a, b Job) int {
		switch {
		case a.Begun != b.Begun && a.Begun:
			return -1
		case a.Begun != b.Begun:
			return 1
		}
		return cmp.Compare(b.Hours*b.Chance, a.Hours*a.Chance)
	})
	return jobs
}

// waits returns what the car waits for: awaited parts by their due dates, parts that were
// paid for longer ago than they take, and the day by which it is to be collected.
func waits(f *build.Frozen, b *build.Build, p *reforecast.Progress, asOf time.Time) []Wait {
	var out []Wait
	for _, j := range b.Jobs {
		for _, e := range reforecast.Awaited(j) {
			w := Wait{For: cmp.Or(e.Part, e.What, j.Spot.String()), From: e.Supplier, Under: e.Invoice, Due: e.Due, Dated: true}
			w.Late = asOf.Sub(e.Due).Hours() / 24
			w.Call = w.Late >= 0
			out = append(out, w)
		}
	}
	for _, j := range p.Jobs {
		if w, ok := paidFor(f, j, b.Job(j.Spot)); ok {
			out = append(out, w)
		}
	}
	if by, err := time.Parse(time.DateOnly, strings.TrimSpace(f.Kept.CollectBy)); err == nil && len(b.Jobs) == 0 && !b.Transport.Given {
		late := asOf.Sub(by).Hours() / 24
		out = append(out, Wait{For: "collection from the sale", From: f.Kept.Site, Due: by, Dated: true, Late: late, Call: late >= -1})
	}
	slices.SortStableFunc(out, func(a, b Wait) int { return cmp.Compare(b.Late, a.Late) })
	return out
}

// paidFor returns the wait for parts of an open job that were paid for, and have no day on which
// they are due: as long as they may still be on their way, and again once they are later than 9
// in 10. It is false for any other job. row is what the ledger has of the job, or nil.
func paidFor(f *build.Frozen, j reforecast.Job, row *build.Job) (Wait, bool) {
	lead := leadOf(f, j)
	if j.Done || j.Due != nil || j.Waited <= 0 || lead <= 0 || row == nil || worked(row) {
		return Wait{}, false
	}
	w := Wait{For: cmp.Or(row.Entries[0].What, j.Spot.String()), Since: j.Waited, Usual: lead}
	for _, e := range row.Entries {
		if e.Supplier != "" {
			w.From, w.Under = e.Supplier, e.Invoice
		}
	}
	w.Call = j.Waited > lead*f.Shop().LeadSpread.Quantile(0.9)
	return w, w.Call || j.Waited < lead
}

// unordered returns the parts that a car wants for certain and that the ledger has nothing of;
// false where there are none.
func unordered(f *build.Frozen, now *reforecast.Forecast) (Wait, bool) {
	w := Wait{Unordered: true, Call: true}
	var names []string
	for _, l := range now.Jobs {
		if l.State != reforecast.Untouched || l.Chance < 0.999 {
			continue
		}
		if lead := leadOf(f, reforecast.Job{Spot: l.Spot, Found: l.Grade}); lead > 0 {
			names = append(names, l.Zone.String()+" "+l.Class.String())
			w.Usual = max(w.Usual, lead)
		}
	}
	w.For = "parts for " + strings.Join(names, " and ")
	return w, len(names) > 0
}

// worked reports whether own hours went to a job: then its parts are here.
func worked(j *build.Job) bool {
	return slices.ContainsFunc(j.Entries, func(e build.Entry) bool { return e.Hours > 0 })
}

// leadOf returns the lead time of what is wrong at a spot, in days: of its found grade, or
// of the likeliest that was expected there.
func leadOf(f *build.Frozen, j reforecast.Job) float64 {
	lead, most := 0.0, -1.0
	for _, c := range f.Predicted.Candidates {
		item := c.Item()
		if item.Spot != j.Spot {
			continue
		}
		if item.Grade == j.Found {
			c.Charged = math.Inf(1)
		}
		if n, ok := f.Shop().Costs.RowOf(item); ok && c.Charged > most {
			lead, most = f.Shop().Costs.Rows()[n].LeadDays, c.Charged
		}
	}
	return lead
}

// Whole returns the floor of the open cars among frozen estimates, and says which rows of
// the ledger are on no car. Bays and hours are those of the workshop; where it is nil, of
// the shop that the car bought last was frozen with.
func Whole(frozen []*build.Frozen, l *build.Ledger, workshop *shop.Shop, s Settings) (*Floor, []string, error) {
	var cars []Car
	for _, f := range frozen {
		b, _ := l.Build(f.Build)
		if b != nil && b.Finished() {
			continue
		}
		c, err := Open(f, b, s.AsOf)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", f.Build, err)
		}
		cars = append(cars, c)
	}
	if workshop == nil {
		workshop = Latest(frozen, l)
	}
	if workshop != nil {
		s.HoursPerDay, s.Bays = workshop.DayHours()*max(1, workshop.CarsAtOnce), int(workshop.Bays)
	}
	out, err := New(cars, s)
	return out, Strangers(frozen, l), err
}

// Strangers says which builds of the ledger nobody froze.
func Strangers(frozen []*build.Frozen, l *build.Ledger) []string {
	ours := map[*build.Build]bool{}
	for _, f := range frozen {
		if b, ok := l.Build(f.Build); ok {
			ours[b] = true
		}
	}
	var said []string
	for _, b := range l.Builds {
		if !ours[b] {
			said = append(said, fmt.Sprintf("%s has rows in the ledger, %d, and no frozen file was named for it: it is not counted", b.Name, len(b.Entries)+b.Faults))
		}
	}
	return said
}

// Latest returns the shop of the car that was bought last; of several the last named; nil
// where there is no car.
func Latest(frozen []*build.Frozen, l *build.Ledger) (s *shop.Shop) {
	var last time.Time
	for _, f := range frozen {
		day := time.Time{}
		if b, ok := l.Build(f.Build); ok {
			day = b.Bought
		}
		if s == nil || !day.Before(last) {
			s, last = f.Shop(), day
		}
	}
	return s
}
