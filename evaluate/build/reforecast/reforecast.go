package reforecast

import (
	"math"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/severity"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Offers are what the car would bring without being finished, in pounds, in the
// hand once selling or breaking it is paid for; nil where nobody has asked.
type Offers struct {
	AsItStands, ForParts *stats.Amount
}

// Forecast says what is believed of the build now.
//
// A job that is done counts at what it cost. An open one that has cost something
// is either all paid or dearer than that: what is left is none, or what the book says
// of it given that it is at least as dear, a normal score truncated from below; how
// likely the first is, the open jobs of the car tell together. What is known
// not to be there drops out, what was found is in at its grade. How dear the done
// jobs ran, how dear the open ones run at least, and which chances came true move
// the severity factor (package severity), and the rest is forecast with that.
func (f *Forecaster) Forecast(p Progress, o Offers) (*Forecast, error) {
	out, _, err := f.forecast(p, o)
	return out, err
}

// forecast is Forecast, with the simulated cars that it rests on.
func (f *Forecaster) forecast(p Progress, o Offers) (*Forecast, *state, error) {
	p = f.finish(p)
	out := &Forecast{Start: f.start, Finished: p.Sale != nil}
	out.clock(f, &p)
	out.Severity.SD = 1
	for _, j := range p.Jobs {
		out.Spent += j.Spend
		out.HoursSpent += j.Hours
	}
	for _, x := range p.Overheads {
		out.Overhead += x.Spend
	}
	k, err := learn(f.resolved, f.shop.Costs, p.Jobs)
	if err != nil {
		return nil, nil, err
	}
	opt := f.opt
	evidence := k.evidence(&f.shop.Settings, f.price)
	factor, err := severity.New(evidence)
	if err != nil {
		return nil, nil, err
	}
	out.Severity.Mean, out.Severity.SD = factor.Mean(), factor.SD()
	out.Severity.Jobs, out.Severity.Bounds, out.Severity.Looks =
		len(evidence.Scores), len(evidence.Open), len(evidence.Looks)
	opt.Factor = factor.Quantile
	e, err := evaluate.New(f.shop, opt)
	if err != nil {
		return nil, nil, err
	}
	s := &state{Forecaster: f, progress: &p, known: k, e: e}
	now := *f.resolved
	now.Case = k.now
	if err := s.ownEvidence(&now); err != nil {
		return nil, nil, err
	}
	s.run(out)
	if p.Hammer != nil && f.resolved.Deal.WithVAT(money.FromPounds(*p.Hammer), f.hammer) {
		out.notice("the ledger's hammer price of %s is the estimate's %s with VAT added: it counts as written, and "+
			"VAT comes on top of it; write the price as called, %s", money.FromPounds(*p.Hammer), f.hammer, f.hammer)
	}
	f.anchor(&p, out)
	out.doubts(f, k, p.Listed != nil && p.Sale == nil)
	out.allPaid()
	out.dearTogether()
	if !out.Finished {
		s.choose(out, o)
	}
	return out, s, nil
}

// finish closes everything once the car is sold: what has no row was not there.
func (f *Forecaster) finish(p Progress) Progress {
	if p.Sale == nil {
		return p
	}
	var named [damage.SpotCount]bool
	jobs := make([]Job, 0, len(p.Jobs))
	for _, j := range p.Jobs {
		j.Done = true
		jobs = append(jobs, j)
		named[j.Spot.Index()] = true
	}
	for _, c := range f.resolved.Case {
		if i := c.Spot.Index(); !named[i] {
			named[i] = true
			jobs = append(jobs, Job{Spot: c.Spot, Absent: 1, Done: true})
		}
	}
	p.Jobs = jobs
	return p
}

// state is one forecast being made.
type state struct {
	*Forecaster
	progress *Progress
	known    *known
	e        *evaluate.Evaluator

	totals simulate.Totals
	worlds *evaluate.Worlds
	left   left
	// other is what fixed items and extras will still cost in each world.
	other []float64
	// otherBack is the VAT of it that is taken back.
	otherBack []float64
	// price is what was paid for the car.
	price    deal.Price
	daysLeft []float64
	margin   []float64
	// sunk is what has gone whatever is done now, in pounds, less VAT taken back.
	sunk float64
	// overheadBack is the VAT taken back on overheads, in pounds.
	overheadBack float64
	// perDay is what a day more costs, in pounds.
	perDay float64
}

// run fills in all figures of the forecast.
func (s *state) run(out *Forecast) {
	now := *s.resolved
	now.Case = s.known.now
	s.totals.Sum(s.e.Draws(), now.Case)
	s.worlds = s.e.Worlds(&now, &s.totals, evaluate.Overrides{})
	n := s.opt.Points
	stretch := read(s.shop.LeadSpread, s.e.Draws().Score(simulate.LeadDim))
	var spots []spot
	s.left, spots = s.remainder(s.known, s.e.Draws(), &s.totals, stretch)
	out.Jobs = s.lines(s.known, spots)

	repair, toCome := make([]float64, n), s.repair(s.left.spend, s.left.hours, 1, 1)
	hours := make([]float64, n)
	actual := out.Actual(s.shop.LabourRate)
	if s.progress.none() {
		// What nothing is known of stays as it was, to the last bit.
		toCome = s.worlds.Repair
		s.left.hours = s.worlds.Hours
	}
	for w := range n {
		repair[w], hours[w] = actual+toCome[w], out.HoursSpent+s.left.hours[w]
	}
	s.days(out)
	s.others()
	s.rebase(out, repair)

	out.ToCome, out.HoursToCome = spreadOf(toCome), spreadOf(s.left.hours)
	out.OtherToCome = spreadOf(s.other)
	total := make([]float64, n)
	for w := range total {
		total[w] = out.Elapsed + s.daysLeft[w]
	}
	out.DaysLeft = spreadOf(s.daysLeft)
	out.Now = Figures{
		Repair: spreadOf(repair), Hours: spreadOf(hours), Days: spreadOf(total),
		Other: spreadOf(s.worlds.Other), Resale: spreadOf(s.worlds.Resale), Margin: marginOf(s.margin),
	}
	out.Now.Margin.LossChance = s.worlds.LossChanceAt(s.price, s.margin)
}

// rebase puts the new repair, days, outlay and, once it is sold, the sale in the
// place of those that the worlds were made with, and works out the margin and what
// is sunk.
func (s *state) rebase(out *Forecast, repair []float64) {
	w, d := s.worlds, s.worlds.Deal()
	s.price = d.AtLedger(deal.Paid{Hammer: s.progress.Hammer, Fees: s.progress.Fees, Transport: s.progress.Transport},
		s.hammer)
	if !s.progress.none() || out.Elapsed > 0 {
		sell := s.sellDays()
		faded := w.FadeAgain(s.shop.Fade, out.Elapsed+stats.Mean(s.daysLeft))
		for i := range w.Base {
			was := deal.Car{Spend: w.Spend[i], Hours: w.Hours[i], Days: w.Days[i], ForSale: sell[i], Sale: w.Resale[i]}
			now := deal.Car{
				Spend: out.Spent + s.left.spend[i], Hours: out.HoursSpent + s.left.hours[i],
				Days: out.Elapsed + s.daysLeft[i], ForSale: s.forSale(out, sell[i], s.daysLeft[i]), Sale: faded * w.Resale[i],
			}
			if s.progress.Sale != nil {
				now.Sale = *s.progress.Sale
			}
			selling := d.Selling(now.Sale)
			if s.progress.Selling != nil {
				selling = *s.progress.Selling
			}
			w.Base[i] += d.BaseSold(now, selling) - d.Base(was)
			w.Repair[i], w.Spend[i], w.Hours[i], w.Days[i], w.Resale[i] = repair[i], now.Spend, now.Hours, now.Days, now.Sale
		}
	}
	s.stopping(out)
	s.margin = w.MarginAt(s.price, nil)
	s.sunk = s.price.Paid() + out.Elapsed*s.price.Day + out.Actual(d.Labour) - d.SpendBack*out.Spent +
		out.Overhead - s.overheadBack
	s.perDay = s.price.Day
	if s.progress.Listed != nil {
		s.perDay = s.price.ForSale
	}
}

// stopping keeps the right not to finish the car until it is stripped. What was spent on
// it by then is gone either way.
func (s *state) stopping(out *Forecast) {
	w := s.worlds
	if !w.Deal().MayStop() {
		return
	}
	if s.progress.Stripped || s.progress.Listed != nil || s.progress.Sale != nil {
		w.AlwaysFinished()
		return
	}
	d := w.Deal()
	if !s.progress.none() || out.Elapsed > 0 {
		later := *d
		later.Stop.Days = max(later.Stop.Days, out.Elapsed)
		s.price.Deal = &later
		w.StripAgain(s.e, out.Actual(d.Labour)-d.SpendBack*out.Spent+out.Overhead-s.overheadBack)
	}
}

// forSale returns how many of a car's days it is for sale in all: sell is how long that
// takes, left how many days are left.
func (s *state) forSale(out *Forecast, sell, left float64) float64 {
	switch {
	case s.progress.Listed != nil:
		return min(out.Elapsed, *s.progress.Listed) + left
	case s.progress.Sale != nil: // nobody said since when
		return min(out.Elapsed, s.sellTimes()*s.shop.SellDays.Mean())
	}
	return sell
}

// marginOf sums up a margin as the evaluator does.
func marginOf(margin []float64) evaluate.Margin {
	var sel stats.Selector
	var q [3]float64
	worst := sel.QuantilesAndWorst(margin, shares, q[:], 0.1)
	m := evaluate.Margin{Mean: stats.Mean(margin), P10: q[0], P50: q[1], P90: q[2], Shortfall: worst}
	square, below := 0.0, 0
	for _, x := range margin {
		square += (x - m.Mean) * (x - m.Mean)
		if x < 0 {
			below++
		}
	}
	m.SD = math.Sqrt(square / float64(len(margin)))
	m.LossChance = float64(below) / float64(len(margin))
	return m
}
