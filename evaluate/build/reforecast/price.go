package reforecast

import (
	"math"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A price is what a job costs by its score: the book's row times this car's
// multipliers, or what was quoted.
type price struct {
	spend, hours           stats.Amount
	spendTimes, hoursTimes float64
	labour                 float64 // pounds an hour
}

func priceOf(c costs.Candidate, r costs.Row, s shop.Segment, labour float64) price {
	p := price{r.Spend, r.Hours, s.Spend * c.Times(), s.Hours, labour}
	if q := c.Quote; q != nil {
		p.spend, p.spendTimes = stats.Fixed(q.Spend), s.Spend
		if q.HasHours {
			p.hours = stats.Fixed(q.Hours)
		}
	}
	return p
}

// at returns spend, in pounds, and hours at a score.
func (p price) at(u float64) (spend, hours float64) {
	return p.spendTimes * p.spend.At(u), p.hoursTimes * p.hours.At(u)
}

func (p price) total(u float64) float64 {
	spend, hours := p.at(u)
	return spend + p.labour*hours
}

// How far out a score is believed. A done job dearer than all but one in 160
// teaches no more than one that is just so dear: beyond that the book is wrong, or
// a part lay on the shelf, rather than the car worse or better. An open one is
// believed to be dearer than all but one in four thousand at the most.
const (
	furthestDone = 2.5
	furthestOpen = 3.5
)

// score returns the score at which a finished job costs what it cost. Where only
// money or only hours were written, that alone is compared. beyond says that the
// cost lies further out than is believed. ok is false where the cost says nothing,
// as where the book's figure is fixed or the job was for nothing.
func (p price) score(j Job) (u float64, beyond, ok bool) {
	var cost func(u float64) float64
	var seen float64
	switch {
	case j.HasSpend && j.HasHours:
		cost, seen = p.total, j.Spend+p.labour*j.Hours
	case j.HasSpend:
		cost, seen = func(u float64) float64 { return p.spendTimes * p.spend.At(u) }, j.Spend
	case j.HasHours:
		cost, seen = func(u float64) float64 { return p.hoursTimes * p.hours.At(u) }, j.Hours
	default:
		return 0, false, false
	}
	if !(seen > 0) {
		return 0, false, false
	}
	low, high := -furthestDone, furthestDone
	least, most := cost(low), cost(high)
	switch {
	case !(most > least):
		return 0, false, false
	case seen < least:
		return low, true, true
	case seen >= most:
		return high, seen > most, true
	}
	// The last score that costs no more than what was seen.
	for range 60 {
		if mid := (low + high) / 2; cost(mid) <= seen {
			low = mid
		} else {
			high = mid
		}
	}
	return low, false, true
}

// floor returns the score that an open job has at least: as dear and as long as
// it has been already, minus infinity where that says nothing.
func (p price) floor(j Job) (u float64, beyond bool) {
	spend, hours := p.floors(j)
	u = max(spend, hours)
	return min(u, furthestOpen), u > furthestOpen
}

// floors returns the scores that an open job has at least by what was spent and by the
// hours worked, each minus infinity where that says nothing.
func (p price) floors(j Job) (spend, hours float64) {
	at := func(a stats.Amount, times, seen float64) float64 {
		if !(seen > 0 && times > 0) {
			return math.Inf(-1)
		}
		if z := a.Score(seen / times); z >= -furthestOpen {
			return z
		}
		return math.Inf(-1)
	}
	return at(p.spend, p.spendTimes, j.Spend), at(p.hours, p.hoursTimes, j.Hours)
}
