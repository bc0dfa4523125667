package year

import (
	"cmp"
	"fmt"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
)

// Sold returns the sold car of an outcome.
func Sold(o *build.Outcome) (Car, error) {
	f, b := o.Frozen, o.Build
	s := f.Shop()
	lot, err := f.Lot()
	if err != nil {
		return Car{}, err
	}
	c := Car{
		Name:   f.Build,
		Lot:    f.Kept.Lot,
		Called: lot.Car(),
		Bought: b.Bought,
		Sold:   b.Sold,
		Category: cmp.Or(
			f.Kept.Category,
			"none",
		),
		Type:           cmp.Or(f.Kept.Segment, "not said"),
		Hit:            hit(f),
		Site:           cmp.Or(f.Kept.Site, "not said"),
		Sale:           b.Sale.Pence.Pounds(),
		Margin:         o.MarginActual.Pounds(),
		Expected:       o.MarginExpected.Pounds(),
		Hours:          o.Hours + b.OverheadHours,
		Repair:         o.Actual.Pounds(),
		RepairExpected: f.Predicted.Repair.Mean,
		Notices:        o.Notes,
	}
	c.Wages = s.LabourRate * c.Hours
	if c.Hours == 0 {
		c.Notices = append(c.Notices, "no own hours in the ledger: what an hour earned cannot be said")
	}
	outlay := 0.0
	for _, step := range o.Walk {
		if step.Name == "hammer price" {
			c.Band = band(-step.Actual)
		}
		switch step.Name {
		case "hammer price", deal.HammerVAT, "fees and transport":
			outlay -= step.Actual.Pounds()
		case "time":
			c.Time = -step.Actual.Pounds()
		}
	}
	c.days(b, f.Kept.CollectDays, s.CollectDays)
	c.money(b, outlay)
	other := *s
	other.VATRegistered = !s.VATRegistered
	c.OtherVAT = marginWith(o, lot.Deal(&other))
	return c, nil
}

// hit names the zone in which most of the repair was expected.
func hit(f *build.Frozen) string {
	sums := map[string]float64{}
	worst := ""
	for _, s := range f.Predicted.Spots { // in the order in which codes are printed
		if sums[s.Zone] += s.Mean; worst == "" || sums[s.Zone] > sums[worst] {
			worst = s.Zone
		}
	}
	return cmp.Or(worst, "nowhere")
}

// bands are the hammer prices, in pence, at which one band ends.
var bands = []money.Pence{100000, 250000, 500000, 1000000}

func band(hammer money.Pence) string {
	low := money.Pence(0)
	for _, high := range bands {
		if hammer < high {
			if low == 0 {
				return "under " + money.Group(int64(high/100))
			}
			return fmt.Sprintf("%s to %s", money.Group(int64(low/100)), money.Group(int64(high/100)))
		}
		low = high
	}
	return money.Group(int64(low/100)) + " and over"
}

// days counts the bay days: from the day it came in, which is that of its transport or, where
// that has no date, so many days after it was bought, until it was for sale.
func (c *Car) days(b *build.Build, lot *float64, usual float64) {
	until := b.Listed
	if until.IsZero() {
		until = b.Sold
		c.Notices = append(c.Notices, "no date on which it was for sale: its bay days go to the day of the sale")
	}
	if b.Bought.IsZero() || until.IsZero() {
		return
	}
	if lot != nil {
		usual = *lot
	}
	in := b.Bought.Add(time.Duration(usual * 24 * float64(time.Hour)))
	for _, e := range b.Entries {
		if e.Kind == build.TransportEntry && !e.Date.IsZero() {
			in = e.Date
			break
		}
	}
	c.BayDays, c.BayKnown = max(1, until.Sub(in).Hours()/24), true
}

// money adds up the money tied up: the outlay from the purchase to the sale, all else from the
// day that its row has; a row without a date counts from the purchase.
func (c *Car) money(b *build.Build, outlay float64) {
	if b.Bought.IsZero() || b.Sold.IsZero() {
		c.Notices = append(c.Notices, "no dates of purchase and sale: what the money earned cannot be said")
		return
	}
	years := func(from time.Time) float64 { return max(0, b.Sold.Sub(from).Hours()/24) / 365 }
	c.PoundYears = outlay * years(b.Bought)
	undated := 0
	for _, e := range b.Entries {
		if e.Kind != build.ZoneEntry && e.Kind != build.OverheadEntry || !e.Paid {
			continue
		}
		from := e.Date
		if from.IsZero() {
			from = b.Bought
			undated++
		}
		c.PoundYears += e.Spend.Pounds() * years(from)
	}
	if undated > 0 {
		c.Notices = append(
			c.Notices,
			fmt.Sprintf("rows without a date: %d; their money counts as tied up since the purchase", undated),
		)
	}
	c.MoneyKnown = true
}

// marginWith returns the margin of a finished car under the terms of a deal.
func marginWith(o *build.Outcome, d deal.Deal) float64 {
	f, b := o.Frozen, o.Build
	s := f.Shop()
	p := d.AtLedger(
		deal.Paid{Hammer: b.Hammer.Pounds(), Fees: b.Fees.Pounds(), Transport: b.Transport.Pounds()},
		f.Hammer,
	)
	x := deal.Car{
		Sale:    b.Sale.Pence.Pounds(),
		Hours:   o.Hours + b.OverheadHours,
		Days:    f.Predicted.Days.Mean,
		ForSale: s.SellDays.Mean(),
	}
	if o.DaysKnown {
		if x.Days = o.Days; !b.Listed.IsZero() {
			x.ForSale = b.Sold.Sub(b.Listed).Hours() / 24
		}
		x.ForSale = min(max(0, x.ForSale), x.Days)
	}
	for _, j := range b.Jobs {
		x.Spend += j.Spend.Pounds()
	}
	for _, e := range b.Entries {
		if e.Kind == build.OverheadEntry {
			x.Items += e.Spend.Pounds() * (1 - d.OverheadBack(s, e.What))
		}
	}
	selling := d.Selling(x.Sale)
	if b.Selling.Given {
		selling = b.Selling.Pence.Pounds()
	}
	return p.Margin(d.BaseSold(x, selling), x.Days, x.Sale)
}

// Costs returns the costs of the workshop itself.
func Costs(l *build.Ledger) []Cost {
	var out []Cost
	for _, e := range l.Workshop {
		word, _ := build.WorkshopCost(e.What)
		out = append(out, Cost{e.Date, word, e.Spend.Pounds()})
	}
	return out
}
