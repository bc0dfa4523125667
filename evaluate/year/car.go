package year

import "time"

// A Car is one sold car: money in pounds.
type Car struct {
	// Name is the build's.
	Name, Lot, Called string
	// Bought and Sold are zero where the ledger does not say.
	Bought, Sold time.Time
	// Category, Type, Hit, Band and Site are what it is grouped by.
	Category, Type, Hit, Band, Site string
	// Sale is the price that it brought, Margin what was left of it, Expected what was
	// expected when it was bought. In the margin, own hours count at the labour rate:
	// Wages of Hours; and its days cost Time: holding and finance.
	Sale, Margin, Expected float64
	Wages, Hours, Time     float64
	// Repair and RepairExpected are the repair and what was expected of it.
	Repair, RepairExpected float64
	// BayDays are the days in the yard until it was for sale; BayKnown that the ledger says.
	BayDays  float64
	BayKnown bool
	// PoundYears is the money that it tied up, in pounds x years; MoneyKnown that the ledger
	// says when.
	PoundYears float64
	MoneyKnown bool
	// OtherVAT is the margin had the workshop been registered for VAT, or where it was, had
	// it not been.
	OtherVAT float64
	// Notices say what had to be assumed.
	Notices []string
}

// Earned is margin and wages: what its hours brought in.
func (c *Car) Earned() float64 { return c.Margin + c.Wages }

// AnHour is margin and wages an own hour; ok is false where no hours are written.
func (c *Car) AnHour() (x float64, ok bool) { return ratio(c.Earned(), c.Hours, true) }

// ABayDay is margin a bay day.
func (c *Car) ABayDay() (x float64, ok bool) { return ratio(c.Margin, c.BayDays, c.BayKnown) }

// Return is margin over the money tied up, a year.
func (c *Car) Return() (x float64, ok bool) { return ratio(c.Margin, c.PoundYears, c.MoneyKnown) }

func ratio(a, b float64, known bool) (float64, bool) {
	if !known || b <= 0 {
		return 0, false
	}
	return a / b, true
}

// A Cost is one cost of the workshop itself, that no car carries.
type Cost struct {
	Day time.Time
	// What it is: wages, rent, insurance, running costs.
	What   string
	Pounds float64
}
