// Package sale makes the lots of a plan from evaluated lots of one or several lists, and
// reads the results of a sale. It is all that package plan and the rest of the program
// know of each other, so that how a margin, a limit or a hammer price is found can change
// without the plan.
package sale

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Sale is the lots of one or several lists in closing order.
type Sale struct {
	Entries []Entry
	// Timed says that every lot has a closing time, or at least its day; else the
	// lists' order is the closing order.
	Timed bool
	// Lists are the files that the lots are from.
	Lists []string
	// Problems are rows that had to be left out.
	Problems []tabular.Problem
	// Notices say what was taken for granted.
	Notices []string
}

// An Entry is one lot of a sale.
type Entry struct {
	Result *evaluate.Result
	// Plan is what the plan sees of it. Its name is the lot's number, or where several
	// lots have that SITE:LOT, SITE:DAY:LOT or LIST:LOT.
	Plan plan.Lot
}

// Lots returns the lots as the plan takes them, in closing order.
func (s *Sale) Lots() []plan.Lot {
	out := make([]plan.Lot, len(s.Entries))
	for i := range s.Entries {
		out[i] = s.Entries[i].Plan
	}
	return out
}

// New evaluates the lots of the lists, and puts them in closing order. The error is for
// lists that cannot be planned at all.
func New(ctx context.Context, e *evaluate.Evaluator, lists []*lots.List) (*Sale, error) {
	s := &Sale{}
	var all []*evaluate.Lot
	for _, list := range lists {
		all = append(all, list.Lots...)
	}
	all, err := s.closings(all)
	if err != nil {
		return nil, err
	}
	b := &bridge{e}
	entries, errs := make([]Entry, len(all)), make([]error, len(all))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(e.Options().Workers, len(all)) {
		wait.Go(func() {
			bench := e.Worker()
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(all) {
					return
				}
				entries[i], errs[i] = b.entry(bench, all[i])
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for i, err := range errs {
		if err != nil {
			s.Problems = append(s.Problems, lots.Unjudged(all[i], err))
			continue
		}
		s.Entries = append(s.Entries, entries[i])
	}
	s.name()
	return s, nil
}

// RivalGap is how much further the highest rival would have gone than the hammer price
// shows, the mean logarithm, where nobody has learned it. From memory.
const RivalGap = 0.10

// Settings returns what a shop plans by.
func Settings(s *shop.Shop) plan.Settings {
	gap := RivalGap
	if g := s.Evidence.RivalGap; g.SD > 0 {
		gap = g.Mean
	}
	return plan.Settings{
		BidStep:     s.BidStep.Pounds(),
		Gap:         gap,
		PriceLink:   s.PriceLink,
		MarketLink:  s.MarketLink,
		SellPercent: s.SellPercent,
		BayValue:    s.BayValue,
		MoneyValue:  s.MoneyValue,
		CostBias:    s.CostBias,
	}
}

// MarketNotices says of which segments market_link is more than the whole value_spread.
func (s *Sale) MarketNotices(workshop *shop.Shop) []string {
	var out []string
	for _, g := range workshop.Segments {
		if workshop.MarketLink > g.ValueSpread && s.has(g.Name) {
			out = append(
				out,
				fmt.Sprintf(
					"market_link %v is more than the value_spread of %s, %v: the part that all cars share "+
						"cannot be more than the whole; lower market_link in shop.toml",
					workshop.MarketLink,
					g.Name,
					g.ValueSpread,
				),
			)
		}
	}
	return out
}

func (s *Sale) has(segment string) bool {
	for i := range s.Entries {
		if s.Entries[i].Result.Lot.Segment == segment {
			return true
		}
	}
	return false
}
