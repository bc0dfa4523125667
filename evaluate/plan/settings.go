package plan

import (
	"fmt"
	"time"
)

// NoLimit stands for bays or cash that are not limited.
const NoLimit = -1

// Resources are what there is before the first lot.
type Resources struct {
	// Bays are the free bays, Cash the pounds that the sale may tie up; NoLimit: as
	// many as can be used.
	Bays int
	Cash float64
	// Growth is what comes on top, in any order.
	Growth []Change
}

// A Change adds bays and cash before every lot that closes at or after it.
type Change struct {
	On   time.Time
	Bays int
	Cash float64
}

// Settings say how a sale is planned.
type Settings struct {
	// BidStep is the step of bids in pounds, above 0.
	BidStep float64
	// Gap is the mean logarithm of the highest rival limit over the hammer without us.
	Gap float64
	// PriceLink is the share of the variance of prices that a whole sale shares,
	// from 0 to below 1; MarketLink the log sd of sale prices that all cars share,
	// from 0.
	PriceLink, MarketLink float64
	// SellPercent is the share of the sale price that selling costs, 0 to below 1.
	SellPercent float64
	// BayValue and MoneyValue are what a bay, and a pound, left after the sale
	// are worth, in pounds.
	BayValue, MoneyValue float64
	// CostBias is the sd of the error that the repair costs of all cars share, as a
	// share of the mean repair.
	CostBias float64
	// Together is within how many minutes of a group's first lot others count as
	// closing with it. Lots that close at the same time always do.
	Together float64
	// Cells is how many cells of money there are up to Cash. Zero means 200.
	Cells int
	// Draws is the number of simulated sales. Zero means 4096.
	Draws int
	// Seed is of the simulated sales.
	Seed uint64
	// Workers bounds what is worked out at once. Zero means GOMAXPROCS. It
	// never changes a result.
	Workers int
}

func (s *Settings) check() error {
	for _, c := range []struct {
		name       string
		value      float64
		low, below float64
	}{
		{"bid step", s.BidStep, 1e-9, 1e9},
		{"gap", s.Gap, -5, 5},
		{"price link", s.PriceLink, 0, 1},
		{"market link", s.MarketLink, 0, 10},
		{"share of selling costs", s.SellPercent, 0, 1},
		{"value of a bay", s.BayValue, -1e9, 1e9},
		{"value of a pound", s.MoneyValue, -1e3, 1e3},
		{"cost bias", s.CostBias, 0, 100},
		{"minutes together", s.Together, 0, 1e6},
	} {
		if !(c.value >= c.low && c.value < c.below) {
			return fmt.Errorf("%s %v is not from %v to below %v", c.name, c.value, c.low, c.below)
		}
	}
	if s.Cells < 0 || s.Draws < 0 || s.Workers < 0 {
		return fmt.Errorf("cells %d, draws %d, workers %d: none may be negative", s.Cells, s.Draws, s.Workers)
	}
	return nil
}

func (s *Settings) cells() int {
	if s.Cells == 0 {
		return 200
	}
	return s.Cells
}

func (s *Settings) draws() int {
	if s.Draws == 0 {
		return 4096
	}
	return s.Draws
}

func (r *Resources) check() error {
	switch {
	case r.Bays < NoLimit:
		return fmt.Errorf("%d free bays", r.Bays)
	case notFinite(r.Cash) || r.Cash < 0 && r.Cash != NoLimit:
		return fmt.Errorf("%v of cash", r.Cash)
	}
	bays, cash := r.Bays, r.Cash
	for _, c := range r.Growth {
		if c.Bays < 0 || notFinite(c.Cash) || c.Cash < 0 {
			return fmt.Errorf("%s: %d bays and %v of cash; they can only grow", c.On.Format(time.DateOnly), c.Bays, c.Cash)
		}
		if c.On.IsZero() {
			return fmt.Errorf("%d bays and %v of cash come without a date", c.Bays, c.Cash)
		}
		bays, cash = bays+c.Bays, cash+c.Cash
	}
	if bays == 0 || cash == 0 {
		return fmt.Errorf("%d free bays and %v of cash, growth and all: there is nothing to plan", bays, cash)
	}
	return nil
}
