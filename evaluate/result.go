package evaluate

import (
	"fmt"
	"math"

	"wreckoner/damage"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Spread is a distribution in four numbers.
type Spread struct {
	Mean, P10, P50, P90 float64
}

// A Repair is the distribution of the repair cost, in pounds.
type Repair struct {
	Mean, SD                float64
	P10, P50, P80, P90, P95 float64
	// CILow and CIHigh are the 95 % confidence interval of the mean: how well
	// the book is known.
	CILow, CIHigh float64
}

// A Margin is the distribution of what is left, in pounds.
type Margin struct {
	Mean, SD      float64
	P10, P50, P90 float64
	// LossChance is the chance that it is below 0: the smaller of LossFinished, that of
	// the car finished whatever it costs, and LossStopping, that of the car that may be
	// left unfinished, of which the other figures are (METHOD.md 10.5).
	LossChance, LossFinished, LossStopping float64
	// Stopped is the chance that it is left unfinished.
	Stopped float64
	// Shortfall is the mean of the worst tenth.
	Shortfall float64
}

// A Hidden is damage that nobody coded.
type Hidden struct {
	damage.Item
	// Chance of occurring at all; MeanCost is the mean repair with it less that
	// without it, in pounds.
	Chance, MeanCost float64
}

// Errors say how far figures may be off by the way in which they are computed: the
// difference from what the model says that 19 lots in 20 of the accuracy study stay
// within (testdata/yardstick/accuracy.py). How well the shop's figures are known is
// another matter: see Repair.CILow.
type Errors struct {
	// RepairMean and RepairP90 are in pounds, LossChance is a share of 1.
	RepairMean, RepairP90, LossChance float64
}

// What 19 lots in 20 stay within, as shares of the figure and as a chance: convolved,
// and by 8,192 worlds, with whose number it falls as a root.
var (
	convolvedErrors = Errors{0.0002, 0.001, 0.002}
	drawnErrors     = Errors{0.0045, 0.014, 0.0045}
)

// errorsOf returns the errors of a repair that was convolved, where points is 0, or
// found by so many worlds.
func errorsOf(r Repair, points int) Errors {
	e := convolvedErrors
	if points > 0 {
		k := math.Sqrt(8192 / float64(points))
		e = Errors{k * drawnErrors.RepairMean, k * drawnErrors.RepairP90, k * drawnErrors.LossChance}
	}
	return Errors{e.RepairMean * r.Mean, e.RepairP90 * r.P90, min(1, e.LossChance)}
}

// A Warning is doubt about a result.
type Warning struct {
	// Kind groups warnings of one sort: suspected, thin, no-guide, ...
	Kind string
	// Text says it of this lot; Short is what of the lot it is about, "" for all
	// of it.
	Text, Short string
}

// A Result is what became of one lot. What its status leaves out is zero.
type Result struct {
	Lot    *Lot
	Status bid.Status
	// Reason says in words why a lot is not ranked.
	Reason string
	// Rank among the ranked lots from 1, set by Rank.
	Rank int
	// Guide is the lot's guide price, or what the category's share makes of its
	// value where GuideGuessed.
	Guide        money.Pence
	GuideGuessed bool
	// At is the hammer price at which margin and verdict stand: the guide, or P50 of the
	// price to beat where past lots are known.
	At money.Pence
	// Value is what bids go up to: the list's value, or what evidence makes of it.
	Value money.Pence
	// Appraisal is what evidence says of the lot's prices, nil where there is none. Then
	// WinChance is the chance to win at the highest bid, and Gain what bidding up to it is
	// worth, in pounds.
	Appraisal       *Appraisal
	WinChance, Gain float64
	// Shift is the top-bidder allowance on the margin, in pounds.
	Shift float64

	Repair      Repair
	Hours, Days Spread
	// BayDays are the days in the bay, on average; AnHour is the mean margin and the wages
	// of the own hours, for each of these, in pounds (METHOD.md 12.5).
	BayDays, AnHour float64
	Resale          Spread
	Margin          Margin
	// MarginOtherVAT is what the mean margin would be if the shop were registered for VAT,
	// where it is not, or were not, where it is (METHOD.md 9.11).
	MarginOtherVAT float64
	Outlay         money.Pence
	HighestBid     money.Pence
	BidLimit       bid.Limit
	Hidden         []Hidden
	Warnings       []Warning
	Errors         Errors
	// Priced says as what kind of car the lot was priced, nil where the shop has one price
	// for all classes and ages.
	Priced *Priced
}

// A Priced is how old a car is and what the cost table is multiplied by on it.
type Priced struct {
	// Age is in whole years at the sale, where Aged.
	Age  int
	Aged bool
	shop.Multipliers
}

// Evaluated reports whether the lot has a repair cost and a highest bid.
func (r *Result) Evaluated() bool { return r.Status == bid.Ranked || r.Status == bid.Unpriced }

// Verdict returns the advice for the lot.
func (r *Result) Verdict() bid.Verdict { return bid.Advise(r.Status, r.HighestBid, r.At) }

// Return is the mean margin as a share of outlay and mean repair.
func (r *Result) Return() float64 { return r.Margin.Mean / (r.Outlay.Pounds() + r.Repair.Mean) }

// appraised takes over what evidence says of the lot.
func (r *Result) appraised(a *Appraisal) {
	if r.Appraisal = a; a != nil && a.Priced {
		r.At = a.At()
	}
}

// won works out chance to win and expected gain at the highest bid, and the top-bidder allowance
// the margin. plain is the mean margin at a hammer price before that, of the car finished, and
// margins gives the mean margin at hammer prices up to a stop, all in pounds.
func (r *Result) won(plain func(float64) float64, margins func(money.Pence) func(float64) float64, s *shop.Settings) {
	a := r.Appraisal
	if a == nil {
		return
	}
	if r.HighestBid > 0 {
		r.WinChance, r.Gain = a.gain(r.HighestBid, s.BidStep, margins(r.HighestBid))
	}
	if r.Status == bid.Ranked {
		r.Shift = a.shift(r.At, plain(r.At.Pounds()))
	}
	a.say(r, s)
}

// say tells of a value or a price that the list does not have.
func (a *Appraisal) say(r *Result, s *shop.Settings) {
	if v := &a.Value; r.Lot.Value == 0 {
		low, high := v.Interval()
		text := fmt.Sprintf("value %s from %s (likely range %s to %s)", s.Money(whole(v.Mean)), adverts(v.Adverts),
			s.Money(whole(low)), s.Money(whole(high)))
		r.Warnings = append(r.Warnings, Warning{Kind: "value", Text: text, Short: text})
	}
	if r.Lot.Guide == 0 && a.Priced {
		text := fmt.Sprintf("price %s from %s", s.Money(whole(r.At.Pounds())), tabular.Count(a.Price.Results, "result"))
		r.Warnings = append(r.Warnings, Warning{Kind: "price", Text: text, Short: text})
	}
}

// whole writes pounds without pence.
func whole(pounds float64) string { return money.Group(int64(math.Round(pounds))) }

// BayDay is the mean margin for each day that the car is in the bay, in pounds; for the
// whole of them where there are none.
func (r *Result) BayDay() float64 {
	if r.BayDays <= 0 {
		return r.Margin.Mean
	}
	return r.Margin.Mean / r.BayDays
}

// judged fills in what follows from the margin: AnHour, for a labour rate in pounds an
// hour, and a warning where the car is more likely left unfinished than finished.
func (r *Result) judged(rate float64) {
	if r.Margin.Stopped > 0.5 {
		r.warn("stop", "more often sold on or broken than finished: %s", deal.StopCaution)
	}
	r.AnHour = (r.Margin.Mean + rate*r.Hours.Mean) / max(1, r.Hours.Mean)
}
