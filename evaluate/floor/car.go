package floor

import (
	"fmt"
	"math"
	"time"

	"wreckoner/evaluate"
)

// A Stage is how far a car has come.
type Stage string

// The stages of an open car.
const (
	ToCollect  Stage = "to collect"
	ToStrip    Stage = "to strip"
	Waiting    Stage = "waiting"
	InWork     Stage = "in work"
	Ready      Stage = "ready"
	Advertised Stage = "advertised"
	// Stopped cars are not finished: they wait to be sold as they are.
	Stopped Stage = "stopped"
)

// InBay reports whether a car at that stage takes a bay once it is in the yard. A car that
// is ready, advertised or stopped stands outside.
func (s Stage) InBay() bool { return s == ToCollect || s == ToStrip || s == Waiting || s == InWork }

// A Way is one way in which a car may go from today. Days count from today, money is in
// pounds, nothing but Margin and Proceeds is below 0.
type Way struct {
	// Yard is in how many days the car is in the yard, Ordered in how many days ToPay, what
	// still has to be paid for it, has gone out.
	Yard, Ordered, ToPay float64
	// Start is in how many days all is there to work with, Known in how many all that is
	// known to be needed is, at most Start; Hours are the own hours that it wants then,
	// Finish the days from the last hour to ready for sale, Sell those from ready to the
	// money.
	Start, Known, Hours, Finish, Sell float64
	// Margin is what is left of the car where the money is there in Alone days; Proceeds is
	// what the sale brings.
	Margin, Alone, Proceeds float64
}

// A Car is one open car.
type Car struct {
	// Name is the build's, unlike those of the others.
	Name, Lot, Called string
	Stage             Stage
	// Bought is zero where nobody says; Since is the days since then.
	Bought     time.Time
	Since      float64
	SinceKnown bool
	// MoneyIn is what was paid so far, in pounds.
	MoneyIn float64
	// Delay is what a day's delay costs, in pounds: 20.2 of METHOD.md. PerDay is what a day
	// more takes off the margin.
	Delay, PerDay float64
	// Ways are the ways in which it may go, all as likely, at least one.
	Ways []Way
	// DaysShift and MarginShift are added to what is said of its days and its margin.
	DaysShift, MarginShift evaluate.Spread
	// WhenBought is the margin as it was estimated then.
	WhenBought evaluate.Margin
	// Next are the jobs to do, the first first; Waits what it waits for.
	Next  []Job
	Waits []Wait
	// Notices say what is doubtful of this car.
	Notices []string
}

// A Job is one job that a car wants.
type Job struct {
	// Name in words; Begun says that something was done; Chance that it is there at all;
	// Hours own hours left, on average.
	Name          string
	Begun         bool
	Chance, Hours float64
}

// A Wait is something that a car waits for and that nobody here can do.
type Wait struct {
	// For what, From whom and Under which invoice number; blank where nobody says.
	For, From, Under string
	// Due is zero where nobody says.
	Due time.Time
	// Late is by how many days it is overdue, below 0: due in as many days.
	Late float64
	// Dated says that Due is given; Call that it is worth a call today.
	Dated, Call bool
	// Since is for how many days it was paid for, where nothing is dated; Usual the days
	// that it takes.
	Since, Usual float64
	// Unordered says that the ledger has no order of it; it takes Usual days.
	Unordered bool
}

func (c *Car) check() error {
	if c.Name == "" || len(c.Ways) == 0 {
		return fmt.Errorf("car %q has no name, or no way to go", c.Name)
	}
	for _, x := range []float64{c.MoneyIn, c.Delay, c.PerDay} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("%s: %v is not a figure", c.Name, x)
		}
	}
	for _, w := range c.Ways {
		for _, x := range []float64{w.Yard, w.Ordered, w.ToPay, w.Start, w.Known, w.Hours, w.Finish, w.Sell} {
			if !(x >= 0) || math.IsInf(x, 0) {
				return fmt.Errorf("%s: %v is not a figure from 0", c.Name, x)
			}
		}
		for _, x := range []float64{w.Margin, w.Alone, w.Proceeds} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return fmt.Errorf("%s: %v is not a figure", c.Name, x)
			}
		}
	}
	return nil
}

// hours is the mean of own hours left.
func (c *Car) hours() float64 {
	sum := 0.0
	for _, w := range c.Ways {
		sum += w.Hours
	}
	return sum / float64(len(c.Ways))
}

// workable reports whether it can be worked on today: in at least half of its ways all
// that is known to be needed is here.
func (c *Car) workable() bool {
	now := 0
	for _, w := range c.Ways {
		if w.Known == 0 && w.Hours > 0 {
			now++
		}
	}
	return 2*now >= len(c.Ways)
}
