package floor

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/stats"
)

// Runs is how many futures are simulated at least, Weeks how many weeks are looked at.
const (
	Runs  = 2000
	Weeks = 12
)

// Settings are those of the workshop as a whole.
type Settings struct {
	// AsOf is the day that days are counted from.
	AsOf time.Time
	// HoursPerDay are the own hours of the whole workshop on a day of the week, Sundays and
	// all, above 0.
	HoursPerDay float64
	// Bays there are; 0: nobody says.
	Bays int
	// Weeks to look at, and Runs to simulate; 0: Weeks, and Runs or as many as the car with
	// the most ways has, so that each of its ways is run once at least.
	Weeks, Runs int
	Seed        uint64
	Rule        Rule
}

// A Line is one car as it stands.
type Line struct {
	*Car
	// ToPay is what still has to be paid for it, in pounds; Hours the own hours that it
	// still wants.
	ToPay, Hours evaluate.Spread
	// ReadyIn and SoldIn are in how many days it is ready for sale, and its money is there.
	ReadyIn, SoldIn evaluate.Spread
	// Margin is what is left of it, as the floor has it.
	Margin evaluate.Margin
	// Workable says that it can be worked on today; Index is Smith's: what a day of delay
	// costs for each hour left, in pounds.
	Workable bool
	Index    float64
	// Proceeds is what its sale brings, less selling and VAT, on average.
	Proceeds float64
}

// A Week is the floor at the end of one week from today.
type Week struct {
	Ends time.Time
	// Cash tied up, in pounds; Bays taken; Wanted are the own hours that could be worked in
	// that week if there were enough, on average, There those that there are.
	Cash, Bays    evaluate.Spread
	Wanted, There float64
}

// A Floor is all open cars together.
type Floor struct {
	Settings
	// Lines are the cars in the order in which to work on them: first those that can be
	// worked on today, then those that cannot yet, then those that are not here, then those
	// that want no work.
	Lines []Line
	Weeks []Week
	// CashNow is what is tied up today, in pounds; BaysNow the bays taken today.
	CashNow float64
	BaysNow int
	// PoundYears is the cash tied up until all are sold, in pounds x years, on average.
	PoundYears float64
}

// New simulates a floor. The order of the cars changes nothing. There may be none.
func New(cars []Car, s Settings) (*Floor, error) {
	if !(s.HoursPerDay > 0) {
		return nil, fmt.Errorf("%v own hours a day: write a number above 0", s.HoursPerDay)
	}
	cars = slices.Clone(cars)
	slices.SortFunc(cars, func(a, b Car) int { return cmp.Compare(a.Name, b.Name) })
	if s.Weeks == 0 {
		s.Weeks = Weeks
	}
	most := Runs
	for i := range cars {
		if err := cars[i].check(); err != nil {
			return nil, err
		}
		if i > 0 && cars[i].Name == cars[i-1].Name {
			return nil, fmt.Errorf("two cars are called %q", cars[i].Name)
		}
		most = max(most, len(cars[i].Ways))
	}
	if s.Runs == 0 {
		s.Runs = most
	}
	f := &Floor{Settings: s}
	f.simulate(cars)
	f.order()
	return f, nil
}

// futures are what the runs say.
type futures struct {
	pick                [][]int     // way by car and run
	ready, sold, margin [][]float64 // by car and run
	cash, bays          [][]float64 // by week and run
	wanted              []float64   // by week
	py                  float64
}

func table(rows, columns int) [][]float64 {
	out := make([][]float64, rows)
	for i := range out {
		out[i] = make([]float64, columns)
	}
	return out
}

func (f *Floor) play(cars []Car) *futures {
	n, runs, weeks := len(cars), f.Runs, f.Settings.Weeks
	x := &futures{
		pick: make([][]int, n), ready: table(n, runs), sold: table(n, runs), margin: table(n, runs),
		cash: table(weeks, runs), bays: table(weeks, runs), wanted: make([]float64, weeks),
	}
	for i := range cars {
		x.pick[i] = shuffled(cars[i].Name, f.Seed, len(cars[i].Ways), runs)
	}
	r := newRun(cars, &f.Settings)
	for k := range runs {
		for i := range cars {
			r.ways[i] = &cars[i].Ways[x.pick[i][k]]
		}
		r.play()
		for i, w := range r.ways {
			x.ready[i][k], x.sold[i][k] = r.ready[i], r.sold[i]
			x.margin[i][k] = w.Margin + cars[i].PerDay*(w.Alone-r.sold[i])
			x.py += (cars[i].MoneyIn*r.sold[i] + w.ToPay*max(0, r.sold[i]-w.Ordered)) / 365 / float64(runs)
		}
		for week := range weeks {
			cash, bays := r.tied(cars, float64(week+1)*weekDays)
			x.cash[week][k], x.bays[week][k] = cash, float64(bays)
			x.wanted[week] += (r.did[week] + r.queue[week]) / float64(runs)
		}
	}
	return x
}

func (f *Floor) simulate(cars []Car) {
	x := f.play(cars)
	for i := range cars {
		c := &cars[i]
		var toPay, hours, proceeds []float64
		for _, w := range c.Ways {
			toPay, hours, proceeds = append(toPay, w.ToPay), append(hours, w.Hours), append(proceeds, w.Proceeds)
		}
		l := Line{Car: c, ToPay: spreadOf(toPay), Hours: spreadOf(hours), Proceeds: spreadOf(proceeds).Mean, Workable: c.workable()}
		l.ReadyIn, l.SoldIn = shifted(spreadOf(x.ready[i]), c.DaysShift), shifted(spreadOf(x.sold[i]), c.DaysShift)
		if c.Stage == Advertised {
			l.ReadyIn = evaluate.Spread{}
		}
		l.Margin = marginOf(x.margin[i], c.MarginShift)
		if l.Hours.Mean > 0 {
			l.Index = Work{Delay: c.Delay, Hours: l.Hours.Mean}.index()
		}
		f.Lines = append(f.Lines, l)
		f.CashNow += c.MoneyIn
		if c.Stage.InBay() && c.Stage != ToCollect {
			f.BaysNow++
		}
	}
	for week := range f.Settings.Weeks {
		f.Weeks = append(f.Weeks, Week{
			Ends: f.AsOf.AddDate(0, 0, weekDays*(week+1)), Cash: spreadOf(x.cash[week]), Bays: spreadOf(x.bays[week]),
			Wanted: x.wanted[week], There: f.HoursPerDay * weekDays,
		})
	}
	f.PoundYears = x.py
}

// order puts the lines in the order to work on.
func (f *Floor) order() {
	group := func(l *Line) int {
		switch {
		case l.Workable:
			return 0
		case l.Hours.Mean > 0 && l.Stage != ToCollect:
			return 1
		case l.Hours.Mean > 0:
			return 2
		}
		return 3
	}
	slices.SortStableFunc(f.Lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(group(&a), group(&b)), cmp.Compare(b.Index, a.Index), cmp.Compare(a.SoldIn.Mean, b.SoldIn.Mean))
	})
}

// Next returns the car to work on today; nil where there is none.
func (f *Floor) Next() *Line {
	if len(f.Lines) > 0 && f.Lines[0].Workable {
		return &f.Lines[0]
	}
	return nil
}

// Day returns the date that lies so many days from today.
func (f *Floor) Day(in float64) time.Time {
	return f.AsOf.Add(time.Duration(in * 24 * float64(time.Hour)))
}

var shares = []float64{0.1, 0.5, 0.9}

func spreadOf(values []float64) evaluate.Spread {
	var sel stats.Selector
	var q [3]float64
	sel.Quantiles(values, shares, q[:])
	sum := 0.0
	for _, x := range values {
		sum += x
	}
	return evaluate.Spread{Mean: sum / float64(len(values)), P10: q[0], P50: q[1], P90: q[2]}
}

// shifted adds a shift to days, which stay from 0 and in order.
func shifted(s, by evaluate.Spread) evaluate.Spread {
	s.Mean, s.P10 = max(0, s.Mean+by.Mean), max(0, s.P10+by.P10)
	s.P50 = max(s.P10, s.P50+by.P50)
	s.P90 = max(s.P50, s.P90+by.P90)
	return s
}

func marginOf(values []float64, by evaluate.Spread) evaluate.Margin {
	var sel stats.Selector
	var q [3]float64
	s := spreadOf(values)
	m := evaluate.Margin{Mean: s.Mean + by.Mean, P10: s.P10 + by.P10, P50: s.P50 + by.P50, P90: s.P90 + by.P90}
	m.Shortfall = sel.QuantilesAndWorst(values, shares, q[:], 0.1) + by.Mean
	below, square := 0, 0.0
	for _, x := range values {
		square += (x - s.Mean) * (x - s.Mean)
		if x+by.Mean < 0 {
			below++
		}
	}
	m.SD, m.LossChance = math.Sqrt(square/float64(len(values))), float64(below)/float64(len(values))
	return m
}
