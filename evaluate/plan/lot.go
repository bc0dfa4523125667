package plan

import (
	"fmt"
	"math"
	"time"
)

// A Held says what holds a lot's own limit where it is.
type Held string

// What may hold an own limit.
const (
	HeldByNothing Held = ""
	HeldByRisk    Held = "risk"
	HeldByTarget  Held = "target"
	HeldByCash    Held = "cash"
	HeldByValue   Held = "value"
)

// A Lot is one lot of a sale as the plan sees it. Amounts are pounds.
type Lot struct {
	Name, Site string
	// Closes is when the lot closes; zero: not known.
	Closes time.Time
	// DayOnly says that of Closes only the day is known.
	DayOnly bool
	// Guide is the guide price, for what is said of a lot; 0: none.
	Guide float64
	// Hammer is the hammer price without us, the gap not in it.
	Hammer Hammer
	// Opening is where bidding starts; 0: anywhere.
	Opening float64
	// Limit is the lot's own highest bid; 0: never bid on.
	Limit float64
	// Held is what holds Limit.
	Held Held
	// BreakEven is the highest bid that does not lose on average, whatever the
	// risk and the target.
	BreakEven float64
	// Margin and Tied are the mean margin, and the money tied up, where the
	// hammer falls at 1, 2, 3 ... bid steps; at least up to Limit.
	Margin, Tied []float64
	// Score is P10, P50 and P90 of the margin at the guide (without one at
	// Limit) less its mean there.
	Score [3]float64
	// SD is the standard deviation of the margin.
	SD float64
	// Repair and Resale are the mean repair charge and the mean sale price,
	// before the seller's own costs are off.
	Repair, Resale float64
	// Hours are the mean own hours of a build.
	Hours float64
	// Spend is P10, P50 and P90 of what is spent on the repair, own hours not in it,
	// and Reserved what Tied holds for it, its P80; where SpendKnown.
	Spend      [3]float64
	Reserved   float64
	SpendKnown bool
}

// Ladder returns the margins and the tied money of a lot at every bid step up to
// and with limit, from a function of the hammer price.
func Ladder(step, limit float64, at func(price float64) (margin, tied float64)) (margins, tied []float64) {
	n := steps(step, limit)
	margins, tied = make([]float64, n), make([]float64, n)
	for j := range n {
		margins[j], tied[j] = at(step * float64(j+1))
	}
	return margins, tied
}

// steps returns how many bid steps there are up to and with limit.
func steps(step, limit float64) int { return int(limit/step + 1e-9) }

// check says what is wrong with a lot.
func (l *Lot) check(step float64) error {
	n := steps(step, l.Limit)
	switch {
	case notAmount(l.Limit):
		return fmt.Errorf("lot %s: limit %v is not an amount", l.Name, l.Limit)
	case notAmount(l.Opening):
		return fmt.Errorf("lot %s: opening %v is not an amount", l.Name, l.Opening)
	case len(l.Margin) != len(l.Tied):
		return fmt.Errorf("lot %s: margins at %d steps and tied money at %d", l.Name, len(l.Margin), len(l.Tied))
	case len(l.Margin) < n:
		return fmt.Errorf("lot %s: margins at %d steps, and the limit is %d steps", l.Name, len(l.Margin), n)
	}
	for j := range l.Margin {
		if notFinite(l.Margin[j]) || notAmount(l.Tied[j]) {
			return fmt.Errorf("lot %s: margin %v, tied %v at step %d", l.Name, l.Margin[j], l.Tied[j], j+1)
		}
	}
	if rises(l.Score) && rises(l.Spend) {
		return l.checkFigures()
	}
	return fmt.Errorf("lot %s: P10, P50 and P90 %v, %v do not rise", l.Name, l.Score, l.Spend)
}

func (l *Lot) checkFigures() error {
	for _, x := range []float64{l.Guide, l.SD, l.Repair, l.Resale, l.Hours, l.Reserved} {
		if notAmount(x) {
			return fmt.Errorf("lot %s: %v is not an amount", l.Name, x)
		}
	}
	return nil
}

func rises(p [3]float64) bool {
	return p[0] <= p[1] && p[1] <= p[2] && !notFinite(p[0]) && !notFinite(p[2]) && !math.IsNaN(p[1])
}

// notAmount reports whether x is not from 0 to a thousand million pounds.
func notAmount(x float64) bool { return !(x >= 0 && x <= 1e9) }

func notFinite(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }

// tiedAt returns what the lot ties up where it was bought at hammer pounds,
// carried on at the slope of the last step beyond what is listed.
func (l *Lot) tiedAt(step, hammer float64) float64 {
	n := len(l.Tied)
	j := int(math.Round(hammer/step)) - 1
	switch {
	case n == 0:
		return hammer
	case j < n:
		return l.Tied[max(j, 0)]
	case n == 1:
		return l.Tied[0] + hammer - step
	}
	return l.Tied[n-1] + float64(j-n+1)*(l.Tied[n-1]-l.Tied[n-2])
}
