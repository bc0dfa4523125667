package reforecast

import (
	"math"

	"wreckoner/evaluate"
	"wreckoner/evaluate/stats"
)

// Ways are the ways in which a build may go from today, an entry each: what a forecast of
// many cars together is made of. Days count from today, money is in pounds.
type Ways struct {
	// Yard is in how many days the car is in the yard, Stripped until it is stripped as
	// well: by then what is still to be bought is ordered.
	Yard, Stripped float64
	// Start is in how many days all is there to work with, Known in how many all that is
	// known to be needed is; Hours are the own hours from then on, Finish the days from the
	// last hour to ready for sale, Sell those from ready to the money.
	Start, Known, Hours, Sell []float64
	Finish                    float64
	// Alone is in how many days the money is there where the car has the workshop as the
	// forecast has it.
	Alone []float64
	// ToPay is what still has to be paid before the sale for parts, bought-in work, fixed
	// items and extras, VAT included; Proceeds what the sale brings less selling and the VAT
	// due on it.
	ToPay, Proceeds []float64
	// Margin is that of the forecast, at Alone days; PerDay what a day more costs. Sale is
	// the mean sale price, and Fade what a day takes off it at the shop's rate a month.
	Margin             []float64
	PerDay, Sale, Fade float64
	// Sunk is what has gone whatever is done now: own hours and days so far are in it.
	Sunk float64
	// MoneyIn is all that was paid so far: the car, its jobs and what went to no job. Own
	// hours are not money.
	MoneyIn float64
	// DaysShift and MarginShift are how far what is said of days left and of the margin
	// lies from these ways: see anchor.
	DaysShift, MarginShift evaluate.Spread
}

// Ways returns the forecast of a build in progress and the ways that it rests on.
func (f *Forecaster) Ways(p Progress) (*Forecast, *Ways, error) {
	out, s, err := f.forecast(p, Offers{})
	if err != nil {
		return nil, nil, err
	}
	n := s.opt.Points
	w := &Ways{
		Start: make(
			[]float64,
			n,
		),
		Known:    make([]float64, n),
		Hours:    make([]float64, n),
		Sell:     make([]float64, n),
		ToPay:    make([]float64, n),
		Proceeds: make([]float64, n),
		Finish:   s.shop.FinishDays,
		Alone:    s.daysLeft,
		Margin:   s.margin,
		PerDay:   s.perDay,
		MoneyIn:  s.price.Outlay + out.Spent,
		Sale:     stats.Mean(s.worlds.Resale),
		Sunk:     s.sunk,
	}
	w.Fade = s.shop.Fade * w.Sale / daysOfMonth
	for _, x := range s.progress.Overheads {
		w.MoneyIn += x.Spend - x.Own
	}
	w.Yard, w.Stripped = s.ahead(out)
	sell, later := s.sellDays(), s.paidLater()
	deal := s.worlds.Deal()
	for i := range n {
		sale := s.worlds.Resale[i]
		w.ToPay[i], w.Proceeds[i] = max(
			0,
			s.left.spend[i]+s.other[i]-later[i],
		), sale-deal.Selling(
			sale,
		)-s.price.Due(
			sale,
		)
		if s.progress.Listed != nil {
			w.Sell[i] = s.daysLeft[i]
			continue
		}
		w.Hours[i], w.Sell[i] = s.left.hours[i], sell[i]
		w.Start[i] = max(0, s.daysLeft[i]-w.Hours[i]/s.shop.DayHours()-w.Finish-w.Sell[i])
		if w.Start[i] < 1e-9 {
			w.Start[i] = 0
		}
		if w.Known[i] = w.Start[i]; !s.progress.none() {
			w.Known[i] = min(w.Start[i], w.Yard+max(0, s.left.seen[i]))
		}
	}
	if s.progress.Listed != nil {
		w.Finish = 0
	}
	drawn := spreadOf(s.daysLeft)
	w.DaysShift = less(out.DaysLeft, drawn)
	m := marginOf(s.margin)
	said := out.Now.Margin
	w.MarginShift = evaluate.Spread{
		Mean: said.Mean - m.Mean,
		P10:  said.P10 - m.P10,
		P50:  said.P50 - m.P50,
		P90:  said.P90 - m.P90,
	}
	return out, w, nil
}

// paidLater returns what of the fixed items is paid after the sale and was not paid yet.
func (s *state) paidLater() []float64 {
	later := make([]float64, s.opt.Points)
	for i, c := range s.shop.Fixed {
		if !c.AfterSale {
			continue
		}
		paid := 0.0
		for _, x := range s.progress.Overheads {
			if s.fixed(x.What) == i {
				paid += x.Spend
			}
		}
		for w, x := range read(c.Amount, s.e.Draws().Score(s.e.FixedStream(i))) {
			later[w] += max(0, x-paid)
		}
	}
	return later
}

// daysOfMonth is what the share that a price loses in a month is counted by.
const daysOfMonth = 30

func less(a, b evaluate.Spread) evaluate.Spread {
	return evaluate.Spread{Mean: a.Mean - b.Mean, P10: a.P10 - b.P10, P50: a.P50 - b.P50, P90: a.P90 - b.P90}
}

// ahead returns in how many days the car is in the yard, and stripped.
func (s *state) ahead(out *Forecast) (yard, stripped float64) {
	if len(s.progress.Jobs) > 0 || s.progress.Listed != nil {
		strip := 0.0
		if s.progress.Elapsed != nil && s.progress.Listed == nil && !s.progress.Stripped {
			strip = max(0, s.shop.StripDays-max(0, out.Elapsed-s.buy.Days))
		}
		return 0, strip
	}
	yard = s.buy.Days
	if s.progress.Elapsed != nil {
		yard = math.Max(0, s.buy.Days-out.Elapsed)
	}
	return yard, yard + s.shop.StripDays
}
