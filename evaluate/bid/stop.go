// Package bid says how high to bid: the limits that a shop bids by, the price to stop
// at, the advice in words, and the order in which lots are listed. Both engines use it,
// so that each limit is tested in one place.
package bid

import (
	"math"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A Limit is what stops the bidding.
type Limit string

// The limits, in the order in which they are tried; NoLimit: the bid stops at the
// car's value.
const (
	LossLimit   Limit = "loss"
	MarginLimit Limit = "margin"
	CashLimit   Limit = "cash"
	NoLimit     Limit = "none"
)

// Limits are those that a shop bids by.
type Limits struct {
	// Loss is the largest chance of a loss that is accepted, 0 to 1.
	Loss float64
	// Margin, in pounds, and Return, a share of outlay and mean repair: the mean
	// margin must reach the larger.
	Margin, Return float64
	// Cash, in pounds, must cover what is paid before the sale. 0: no limit.
	Cash float64
}

// LimitsOf returns the limits of a shop.
func LimitsOf(s *shop.Settings) Limits {
	return Limits{Loss: s.LossLimit, Margin: s.TargetMargin, Return: s.TargetReturn, Cash: s.Cash}
}

// A Standing is how a lot stands at one hammer price, in pounds.
type Standing struct {
	// Loss is the chance of a loss, Mean the mean margin.
	Loss, Mean float64
	// Outlay, and the mean Repair.
	Outlay, Repair float64
	// Cash is what is paid before the sale: see deal.Price.Cash.
	Cash float64
}

// rounding is how far over its limit the chance of a loss may come out by rounding.
const rounding = 1e-9

// Broken returns the first limit that a lot breaks, "" for none.
func (l *Limits) Broken(s Standing) Limit {
	switch {
	case l.Loses(s.Loss):
		return LossLimit
	case s.Mean < l.Target(&s):
		return MarginLimit
	case l.Cash > 0 && s.Cash > l.Cash:
		return CashLimit
	}
	return ""
}

// Loses reports whether a chance of a loss is above what is accepted.
func (l *Limits) Loses(chance float64) bool { return chance > l.Loss+rounding }

// Target returns the mean margin that must be reached, in pounds.
func (l *Limits) Target(s *Standing) float64 { return max(l.Margin, l.Return*(s.Outlay+s.Repair)) }

// MayLose returns how many of n simulated cars may make a loss within the limit.
func (l *Limits) MayLose(n int) int { return int(math.Floor((l.Loss + rounding) * float64(n))) }

// Stop returns the price to stop at: the largest multiple of step, up to value, such
// that at it and at every lower multiple broken returns "", and the limit that is
// broken first one step higher. 0: do not bid.
//
// edges are the hammer prices at which a fee changes, ascending. Between two of them
// the outlay rises with the bid, so that a limit once broken stays broken: each such
// stretch is searched by halves.
func Stop(step, value money.Pence, edges []money.Pence, broken func(money.Pence) Limit) (money.Pence, Limit) {
	s := search{step: step, from: 1, broken: broken}
	last := int64(value / step)
	for _, edge := range edges {
		if bid, limit, found := s.stretch(min(last, int64((edge-1)/step))); found {
			return bid, limit
		}
	}
	if bid, limit, found := s.stretch(last); found {
		return bid, limit
	}
	return money.Pence(last) * step, NoLimit
}

// search is the search for a price to stop at; all multiples of step below from pass.
type search struct {
	step   money.Pence
	from   int64
	broken func(money.Pence) Limit
}

// stretch looks for the first multiple up to to that breaks a limit.
func (s *search) stretch(to int64) (money.Pence, Limit, bool) {
	if s.from > to {
		return 0, "", false
	}
	limit := s.broken(money.Pence(to) * s.step)
	if limit == "" {
		s.from = to + 1
		return 0, "", false
	}
	low, high := s.from-1, to // low passes, high breaks limit
	for high-low > 1 {
		mid := (low + high) / 2
		if l := s.broken(money.Pence(mid) * s.step); l == "" {
			low = mid
		} else {
			high, limit = mid, l
		}
	}
	return money.Pence(low) * s.step, limit, true
}
