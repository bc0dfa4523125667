package reforecast

import (
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
)

// clock says how many days have passed.
func (out *Forecast) clock(f *Forecaster, p *Progress) {
	switch {
	case p.Sold != nil:
		out.Elapsed, out.ElapsedKnown = max(0, *p.Sold), true
	case p.Elapsed != nil:
		out.Elapsed, out.ElapsedKnown = max(0, *p.Elapsed), true
	case !p.none():
		// At least so long.
		out.Elapsed = f.buy.Days
		for _, j := range p.Jobs {
			out.Elapsed += j.Hours / f.shop.DayHours()
		}
	}
}

// days works out how long it still takes in each world. Parts that were ordered
// have been on their way since; a car that is for sale needs no more work.
func (s *state) days(out *Forecast) {
	n := s.opt.Points
	s.daysLeft = make([]float64, n)
	if s.progress.Sale != nil {
		return
	}
	sell := s.sellDays()
	if s.progress.Listed != nil {
		for w := range n {
			s.daysLeft[w] = max(0, sell[w]-*s.progress.Listed)
		}
		return
	}
	collect, strip := s.buy.Days, s.shop.StripDays
	if len(s.progress.Jobs) > 0 {
		collect = 0
	}
	if s.progress.Elapsed != nil {
		collect = max(0, collect-out.Elapsed)
		if len(s.progress.Jobs) > 0 {
			strip = max(0, strip-max(0, out.Elapsed-s.buy.Days))
		}
	}
	if s.progress.none() && out.Elapsed == 0 {
		copy(s.daysLeft, s.worlds.Days)
		return
	}
	for w := range n {
		hours := s.left.hours[w]
		wait := max(0, s.left.seen[w])
		if hidden := s.left.hidden[w]; hidden > 0 || s.progress.none() {
			wait = max(wait, strip+hidden)
		}
		s.daysLeft[w] = collect + wait + hours/s.shop.DayHours() + s.shop.FinishDays + sell[w]
	}
}

// sellTimes is what the shop's days to sell are multiplied by for this car.
func (f *Forecaster) sellTimes() float64 {
	return shop.SellTimes(&f.resolved.Category, &f.resolved.Segment)
}

// sellDays returns how long it takes to sell the car in each world.
func (s *state) sellDays() []float64 {
	days, times := read(s.shop.SellDays, s.e.Draws().Score(simulate.SaleDim)), s.sellTimes()
	for w := range days {
		days[w] *= times
	}
	return days
}
