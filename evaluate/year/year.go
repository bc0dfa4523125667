package year

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"wreckoner/evaluate/build"
)

// Settings say what year is looked at.
type Settings struct {
	// From and To are its first and last day. Where To is zero it is the day of the last
	// sale, where From is zero a year before the day after To.
	From, To time.Time
	// Threshold of turnover in twelve months above which a workshop must register for VAT,
	// in pounds; 0: not watched. Registered says that it is registered.
	Threshold  float64
	Registered bool
	// SaleEvery is how many days lie between two sales, above 0.
	SaleEvery float64
}

// A Sum is what some cars came to together, in pounds.
type Sum struct {
	Cars                         int
	Sale, Margin, Expected       float64
	Wages, Hours, Time           float64
	BayMargin, BayDays           float64 // of the cars whose days are known
	MoneyMargin, PoundYears      float64 // of the cars whose money is known
	HourEarned, HourHours        float64 // of the cars that have hours
	OtherVAT, Repair, RepairPlan float64
}

func (s *Sum) add(c *Car) {
	s.Cars++
	s.Sale, s.Margin, s.Expected = s.Sale+c.Sale, s.Margin+c.Margin, s.Expected+c.Expected
	s.Wages, s.Hours, s.Time = s.Wages+c.Wages, s.Hours+c.Hours, s.Time+c.Time
	s.OtherVAT, s.Repair, s.RepairPlan = s.OtherVAT+c.OtherVAT, s.Repair+c.Repair, s.RepairPlan+c.RepairExpected
	if _, ok := c.ABayDay(); ok {
		s.BayMargin, s.BayDays = s.BayMargin+c.Margin, s.BayDays+c.BayDays
	}
	if _, ok := c.Return(); ok {
		s.MoneyMargin, s.PoundYears = s.MoneyMargin+c.Margin, s.PoundYears+c.PoundYears
	}
	if _, ok := c.AnHour(); ok {
		s.HourEarned, s.HourHours = s.HourEarned+c.Earned(), s.HourHours+c.Hours
	}
}

// AnHour, ABayDay and Return are as of a car, of all cars for which they are known.
func (s *Sum) AnHour() (float64, bool)  { return ratio(s.HourEarned, s.HourHours, true) }
func (s *Sum) ABayDay() (float64, bool) { return ratio(s.BayMargin, s.BayDays, true) }
func (s *Sum) Return() (float64, bool)  { return ratio(s.MoneyMargin, s.PoundYears, true) }

// A Month is one calendar month.
type Month struct {
	// First is its first day.
	First time.Time
	Sum
	// Own are the workshop's own costs, Profit what is left before tax.
	Own, Profit float64
}

// A Step leads from the margins to the profit.
type Step struct {
	Name   string
	Pounds float64
}

// A Year is a year of sold cars.
type Year struct {
	Settings
	// Cars that were sold in it, the last first. Outside counts those that were not, and
	// Undated those of which nobody says when.
	Cars             []Car
	Outside, Undated int
	Whole            Sum
	// Steps lead from the margins to the profit before tax, which is Profit. Paid says that
	// wages are among them.
	Steps  []Step
	Profit float64
	Paid   bool
	// HasCosts says that the ledger has costs of the workshop itself in the year.
	HasCosts bool
	Months   []Month
	Tables   []Table
	// BayValue is what a bay was worth from one sale to the next, in pounds; MoneyValue what
	// a pound was, in pounds; nil where nobody can say.
	BayValue, MoneyValue *float64
	Turnover             Turnover
}

// New works out a year.
func New(cars []Car, costs []Cost, s Settings) (*Year, error) {
	if s.SaleEvery <= 0 {
		return nil, fmt.Errorf("%v days between two sales: write a number above 0", s.SaleEvery)
	}
	s.bounds(cars)
	if s.From.After(s.To) {
		return nil, fmt.Errorf(
			"from %s to %s: the first day is after the last",
			s.From.Format(time.DateOnly),
			s.To.Format(time.DateOnly),
		)
	}
	y := &Year{Settings: s}
	for _, c := range cars {
		switch {
		case c.Sold.IsZero():
			y.Undated++
		case c.Sold.Before(s.From) || c.Sold.After(s.To):
			y.Outside++
		default:
			y.Cars = append(y.Cars, c)
		}
	}
	slices.SortFunc(y.Cars, func(a, b Car) int { return cmp.Or(b.Sold.Compare(a.Sold), cmp.Compare(a.Name, b.Name)) })
	for i := range y.Cars {
		y.Whole.add(&y.Cars[i])
	}
	own := slices.DeleteFunc(
		slices.Clone(costs),
		func(c Cost) bool { return c.Day.Before(s.From) || c.Day.After(s.To) },
	)
	y.profit(own)
	y.months(own)
	y.Tables = tables(y.Cars)
	y.prices()
	y.Turnover = turnover(cars, s)
	return y, nil
}

// bounds fills in the first and the last day.
func (s *Settings) bounds(cars []Car) {
	if s.To.IsZero() {
		for i := range cars {
			if cars[i].Sold.After(s.To) {
				s.To = cars[i].Sold
			}
		}
	}
	if s.From.IsZero() && !s.To.IsZero() {
		s.From = s.To.AddDate(-1, 0, 1)
	}
}

// profit leads from the margins to what is left before tax: what the margins count as wages
// and for their days goes back in, what was really drawn and paid comes off.
func (y *Year) profit(own []Cost) {
	step := func(name string, pounds float64) {
		if pounds != 0 {
			y.Steps = append(y.Steps, Step{name, pounds})
		}
		y.Profit += pounds
	}
	step("margins of the cars", y.Whole.Margin)
	step("own hours, counted in them at the labour rate", y.Whole.Wages)
	step("holding and finance, counted in them by the day", y.Whole.Time)
	sums, words := map[string]float64{}, []string{}
	for _, c := range own {
		if _, ok := sums[c.What]; !ok {
			words = append(words, c.What)
		}
		sums[c.What] -= c.Pounds
	}
	slices.Sort(words)
	for _, word := range words {
		name := word
		if word == build.Wages {
			name, y.Paid = "wages as drawn", true
		}
		step(name, sums[word])
	}
	y.HasCosts = len(own) > 0
}

func firstOf(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, time.UTC) }

// months adds up what was sold in each calendar month.
func (y *Year) months(own []Cost) {
	if y.From.IsZero() {
		return
	}
	for m := firstOf(y.From); !m.After(y.To); m = m.AddDate(0, 1, 0) {
		month := Month{First: m}
		for i := range y.Cars {
			if firstOf(y.Cars[i].Sold).Equal(m) {
				month.add(&y.Cars[i])
			}
		}
		for _, c := range own {
			if firstOf(c.Day).Equal(m) {
				month.Own += c.Pounds
			}
		}
		month.Profit = month.Margin + month.Wages + month.Time - month.Own
		y.Months = append(y.Months, month)
	}
}

// prices fills in what a bay and a pound were worth from one sale to the next: 20.6.
func (y *Year) prices() {
	if x, ok := y.Whole.ABayDay(); ok {
		y.BayValue = new(x * y.SaleEvery)
	}
	if x, ok := y.Whole.Return(); ok {
		y.MoneyValue = new(x * y.SaleEvery / 365)
	}
}
