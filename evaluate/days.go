package evaluate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// daysSpread returns the distribution of the days: of hours, waiting and selling.
func (r *analytic) daysSpread() Spread {
	q := r.daysAt(spreadShares)
	return Spread{r.days, q[0], q[1], q[2]}
}

// perHour is how many days an hour of the cost table takes; above 0, so that days, in
// hours, stay on the ladder of windows.
func (r *analytic) perHour() float64 { return max(r.p.Segment.Hours/r.e.shop.DayHours(), 1e-6) }

// daysSD is the standard deviation of the days.
func (r *analytic) daysSD() float64 {
	perHour := r.perHour()
	return math.Sqrt(max(0, perHour*perHour*r.m.HoursHours+r.varWait+r.varSell+2*perHour*r.waitHours))
}

// smooth is the share of the variance of the days that those for sale must have for cells to do for the rest.
const smooth = 0.15

// daysAt returns the days that are not exceeded with the chances shares, ascending.
func (r *analytic) daysAt(shares []float64) []float64 {
	sd := r.daysSD()
	switch {
	case sd < 1e-6:
		return slices.Repeat([]float64{r.days}, len(shares))
	case r.varSell < smooth*sd*sd:
		return r.daysConvolved(shares, sd)
	}
	return r.daysGathered(shares, sd)
}

// daysConvolved is daysAt where the hours are convolved; sd is the days' standard deviation.
func (r *analytic) daysConvolved(shares []float64, sd float64) []float64 {
	s, perHour := &r.e.shop.Settings, r.perHour()
	out := make([]float64, len(shares))
	r.parts = r.parts[:0]
	least := math.Inf(1) // a blurred edge must not run out below the shortest that it can be
	for i, l := range r.leads {
		r.parts = append(r.parts, r.waitingFor(lead{l.Seen, l.Hidden, 1 / perHour}).days)
		least = min(least, r.waiting[i].least)
	}
	least += r.d.Buy.Days + s.FinishDays + r.sellTimes*r.e.shared.sale.Edges[0]
	x := convolve.Extra{Waits: r.parts, Mean: r.m.Hours + r.wait/perHour, SD: sd / perHour}
	if r.varSell > 0 {
		x.Terms = append(x.Terms, convolve.Term{Part: r.e.shared.selling(r.sellTimes / perHour), Chance: 1})
		x.Mean += r.forSale / perHour
	}
	r.sum.With(r.e.shared.hours, x, &r.workdays)
	r.workdays.Quantiles(shares, out)
	for i, q := range out {
		out[i] = max(least, r.days+perHour*(q-x.Mean))
	}
	return out
}

// dayCells is how many cells what comes before the sale is gathered in.
const dayCells = 96

// beforeSale is memory for the days before the car is for sale: chances of cells of one width.
type beforeSale struct {
	low, width float64
	cells      [dayCells]float64
}

// dayChances are the chances of the parts in which hours and waiting are gathered: eighths, and towards the end, where
// both may be many, each half as likely as the one before; dayShares are their middles.
var (
	dayChances = [...]float64{1. / 8, 1. / 8, 1. / 8, 1. / 8, 1. / 8, 1. / 8, 1. / 8, 1. / 16, 1. / 32, 1. / 64, 1. / 128,
		1. / 256, 1. / 256}
	dayShares = func() (shares [len(dayChances)]float64) {
		from := 0.0
		for i, chance := range dayChances {
			shares[i] = from + chance/2
			from += chance
		}
		return shares
	}()
)

// seldom is the chance of a pair of longest lead times below which its hours are taken to be their mean.
var seldom = 1e-3

// daysGathered is daysAt where what comes before the sale is gathered in cells: for each pair of longest lead times, the
// days for parts at a few stretches, and hours that have the mean and the variance that they have then, and the shape
// that they have in any case.
func (r *analytic) daysGathered(shares []float64, sd float64) []float64 {
	x := r.e.shared
	var shape [len(dayShares)]float64 // of the hours, in standard deviations from their mean
	r.hoursKnown().Quantiles(dayShares[:], shape[:])
	for j := range shape {
		shape[j] = (shape[j] - r.m.Hours) / math.Sqrt(max(r.m.HoursHours, 1e-12))
	}
	perHour, first := r.perHour(), r.d.Buy.Days+r.e.shop.FinishDays
	hours := r.workHours[:0] // by pair, in days
	low, high := math.Inf(1), 0.0
	for i, l := range r.leads {
		mean := max(0, l.Hours/l.Chance)
		sd := math.Sqrt(max(0, l.HoursHours/l.Chance-mean*mean))
		if l.Chance < seldom {
			sd = 0
		}
		var days [len(dayShares)]float64
		for j, z := range shape {
			days[j] = first + perHour*max(0, mean+sd*z)
		}
		hours = append(hours, days)
		few := &r.waiting[i].few
		low, high = min(low, days[0]+few[0]), max(high, days[len(days)-1]+few[len(few)-1])
	}
	r.workHours = hours
	g := &r.started
	g.low, g.width = low, max(1e-6, (high-low)/(dayCells-1.5))
	clear(g.cells[:])
	for i, l := range r.leads {
		for j, days := range &hours[i] {
			chance := l.Chance * dayChances[j]
			if l.Chance < seldom { // the first stands for all
				if j > 0 {
					break
				}
				chance = l.Chance
			}
			at := (days - low) / g.width
			for k, wait := range &r.waiting[i].few {
				t := at + wait/g.width
				n := int(t)
				share := chance * dayChances[k]
				g.cells[n] += share * (1 - t + float64(n))
				g.cells[n+1] += share * (t - float64(n))
			}
		}
	}
	perSale := 1 / r.sellTimes
	below := func(days float64) (p float64) {
		for i, c := range g.cells {
			p += c * x.sold.within((days-g.low-float64(i)*g.width)*perSale)
		}
		return p
	}
	out := make([]float64, len(shares))
	for i, share := range shares {
		out[i] = quantile(share, r.days, sd, below)
	}
	return out
}

// sold is the chance that a car is sold within so many of the shop's days.
type sold struct {
	low, perStep float64
	chances      [soldCells + 1]float64
}

const soldCells = 1024

// newSold tabulates the days to sell.
func newSold(days stats.Amount) *sold {
	const far = 4.5
	low, high := days.At(-far), days.At(far)
	s := &sold{low: low, perStep: soldCells / max(high-low, 1e-9)}
	for i := range s.chances {
		s.chances[i] = distuv.UnitNormal.CDF(days.Score(low + (high-low)*float64(i)/soldCells))
	}
	s.chances[soldCells] = 1
	return s
}

// within returns the chance of being sold within so many days.
func (s *sold) within(days float64) float64 {
	t := (days - s.low) * s.perStep
	switch {
	case t <= 0:
		return 0
	case t >= soldCells:
		return 1
	}
	i := int(t)
	return s.chances[i] + (t-float64(i))*(s.chances[i+1]-s.chances[i])
}
