package evaluate_test

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// Costs C lognormal with mu = ln 3000 and s = 0.5, seen with an error of 0.25, M = A - C and
// a stop where the mean of C, given what is seen, is above 4,500. What the right to stop is
// worth is a call on that mean: Black (1976), "The pricing of commodity contracts".
func TestRightToStopIsACall(t *testing.T) {
	const mu, s, tau, most = 8.006367567650246, 0.5, 0.25, 4500.0 // ln 3000
	mean := math.Exp(mu + s*s/2)
	sd := mean * math.Sqrt(math.Expm1(s*s))
	c := deal.Choose(mean, sd, 0, mean-most, tau)
	gain, step := 0.0, 1.0/400
	for z := -9.0; z <= 9; z += step {
		cost := math.Exp(mu + s*z)
		gain += step * distuv.UnitNormal.Prob(z) * c.Chance(cost) * (cost - most)
	}
	v := s * s / math.Sqrt(s*s+tau*tau)
	d1 := (math.Log(mean/most) + v*v/2) / v
	call := mean*distuv.UnitNormal.CDF(d1) - most*distuv.UnitNormal.CDF(d1-v)
	within(t, "gain", gain, call, 1e-6)
	within(t, "gain", gain, 278.407, 1e-3)

	for _, x := range []struct {
		name         string
		c            deal.Choice
		cost, chance float64
	}{
		{"no error, below", deal.Choose(3000, 900, 0, -1500, 0), 4499, 0},
		{"no error, above", deal.Choose(3000, 900, 0, -1500, 0), 4501, 1},
		{"certain, below", deal.Choose(3000, 0, 0, -1500, 0.25), 3000, 0},
		{"certain, above", deal.Choose(3000, 0, 0, 1500, 0.25), 3000, 1},
		{"never worth finishing", deal.Choose(3000, 900, -5000, 0, 0.25), 1, 1},
	} {
		within(t, x.name, x.c.Chance(x.cost), x.chance, 0)
	}
}

// A right that need not be used takes nothing from the mean, and lowers no price to stop at by more than a
// step.
func TestRightToStopTakesNothing(t *testing.T) {
	for seed := range draws(40, 6) {
		for _, points := range []int{0, 4096} {
			if points > 0 && seed >= 6 {
				continue
			}
			d := stoppable(seed)
			_, with := d.judge(t, evaluate.Options{Points: points})
			d.shop.SellOn, d.lot.PartsValue = nil, nil
			_, without := d.judge(t, evaluate.Options{Points: points})
			name := d.lot.Code.String()
			const room = 1e-6
			if with.Margin.Mean < without.Margin.Mean-room {
				t.Errorf("%d, %s: mean margin %.2f with the right to stop, %.2f without", seed, name, with.Margin.Mean,
					without.Margin.Mean)
			}
			if with.HighestBid < without.HighestBid-d.shop.BidStep {
				t.Errorf("%d, %s: stop %s with the right to stop, %s without", seed, name, with.HighestBid, without.HighestBid)
			}
			if m := with.Margin; m.LossChance != min(m.LossFinished, m.LossStopping) {
				t.Errorf("%d, %s: chance of a loss %v of %v and %v", seed, name, m.LossChance, m.LossFinished, m.LossStopping)
			}
			within(t, "loss if finished", with.Margin.LossFinished, without.Margin.LossChance, 0.004)
		}
	}
}

// One car with nothing uncertain, by hand: nose c3 is 10 hours, so with 10 hours a day, two
// cars and a week of five days 10 x 2 / 10 x 7 / 5 = 2.8 days of work after a lead time of 5.
func TestDaysAndFadeByHand(t *testing.T) {
	workshop := paper(t)
	workshop.CarsAtOnce, workshop.WorkDays, workshop.HoldingForSale, workshop.Fade = 2, 5, new(4.0), 0.02
	workshop.SellDays, workshop.Categories[0].Sell, workshop.Segments[0].Sell = stats.Fixed(20), 1.5, 0.8
	l := lot(t, "nose c3; bay m1-")
	for _, points := range []int{0, 1024} {
		e, err := evaluate.New(workshop, evaluate.Options{Points: points})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		const bay, sell = 5 + 2.8 + 4, 20 * 1.5 * 0.8
		const days = 3 + bay + sell
		sale := 10000 * 0.8 * math.Pow(0.98, days/30)
		outlay := 2000 + 100*1.2 + 50
		margin := sale - 100 - 1300 - 54.85 - (3+bay)*10 - sell*4 - outlay*(1+0.073*days/365)
		within(t, "bay days", r.BayDays, bay, 1e-9)
		within(t, "days", r.Days.Mean, days, 1e-9)
		within(t, "resale", r.Resale.Mean, sale, 1e-6)
		within(t, "margin", r.Margin.Mean, margin, 1e-6)
		within(t, "a bay day", r.BayDay(), margin/bay, 1e-6)
		within(t, "an hour", r.AnHour, (margin+30*10)/10, 1e-6)
		walk, err := e.Workings(l, l.Guide)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "workings", walk.Total.Pounds(), margin, 0.05)
	}
}

// A certain car that loses more finished than sold on as it stands: it is always sold on,
// for half the hammer price, and what is left is counted by hand.
func TestSoldOnByHand(t *testing.T) {
	workshop := paper(t)
	workshop.SellOn, workshop.StripHours, workshop.StripDays = &stats.Amount{Low: 0.5, Mid: 0.5, High: 0.5}, 4, 2
	l := lot(t, "nose c3; bay m1-")
	l.Value = 300000
	for _, points := range []int{0, 1024} {
		e, err := evaluate.New(workshop, evaluate.Options{Points: points})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		outlay := 2000 + 100*1.2 + 50
		stopped := 1000 - outlay*(1+0.073*5/365) - 4*30 - 5*10
		within(t, "margin", r.Margin.Mean, stopped, 1e-6)
		within(t, "chance of stopping", r.Margin.Stopped, 1, 1e-9)
		within(t, "P10", r.Margin.P10, stopped, 1)
		if len(r.Warnings) == 0 || r.Warnings[len(r.Warnings)-1].Kind != "stop" {
			t.Errorf("warnings %+v, want one of kind stop last", r.Warnings)
		}
		// Broken, it brings more, and no more than that for a larger hammer price.
		l.PartsValue = &stats.Amount{Low: 1200, Mid: 1200, High: 1200}
		b, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "broken", b.Margin.Mean, stopped+200, 1e-6)
		l.PartsValue = nil
		s, err := e.Assess(l)
		if err != nil {
			t.Fatal(err)
		}
		dear := s.Along([]money.Pence{250000})[0]
		within(t, "above the guide", dear.Mean, stopped-500*(1+0.073*5/365), 1e-6)
		walk := s.Workings(l.Guide)
		within(t, "workings", walk.Total.Pounds(), stopped, 0.05)
	}
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// What a shop does not say means what it meant before there was a word for it: to the last
// bit, by both ways.
func TestAbsentKeysChangeNothing(t *testing.T) {
	for seed := range draws(12, 4) {
		for _, points := range []int{0, 1024} {
			d := uncertain.Example(seed)
			_, silent := d.judge(t, evaluate.Options{Points: points})
			s := &d.shop.Settings
			s.CarsAtOnce, s.WorkDays, s.HoldingForSale = 1, 7, &s.HoldingPerDay
			d.shop.Categories[0].Sell, d.shop.Segments[0].Sell = 1, 1
			s.StripHours, s.StripError = 12, 0.25 // of cars that are always finished
			_, said := d.judge(t, evaluate.Options{Points: points})
			if !reflect.DeepEqual(silent, said) {
				t.Errorf("seed %d, %d points: %+v, want %+v", seed, points, said, silent)
			}
		}
	}
}

// What damage brings goes with the days that its parts take. By hand: bay m1 is there with chance
// 0.25, and then costs 400 and five hours, 15.5 days more and 300 besides; nothing else varies.
func TestExtrasGoWithTheWaiting(t *testing.T) {
	workshop := paper(t)
	workshop.HoldingPerDay = 100
	workshop.Extras = []shop.Extra{{
		Charge: shop.Charge{Name: "test", Amount: stats.Fixed(300)},
		After:  []shop.After{{Class: damage.Mechanical, Grade: 1, Zone: damage.Bay}},
	}}
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := e.Evaluate(lot(t, "nose c3"))
	if err != nil {
		t.Fatal(err)
	}
	outlay := 2000 + 100*1.2 + 50
	more := 400 + 5*30 + 15.5*(100+outlay*0.073/365) + 300
	within(t, "standard deviation", r.Margin.SD, more*math.Sqrt(0.25*0.75), 1e-3*more)
}

// What is paid after the sale is no part of the cash tied up. By hand: 4,000 in the bank, less P80 of the
// spend 1,400, the test 54.85 and fees and carriage 170, leaves 2,375 in steps of 25.
func TestCashLeavesOutWhatComesAfterTheSale(t *testing.T) {
	workshop := paper(t)
	workshop.Cash, workshop.LossLimit = 4000, 1
	workshop.Fixed = append(workshop.Fixed, shop.Charge{Name: "comebacks", Amount: stats.Fixed(500), AfterSale: true})
	for _, points := range []int{0, 1024} {
		e, err := evaluate.New(workshop, evaluate.Options{Points: points})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(lot(t, "nose c3"))
		if err != nil {
			t.Fatal(err)
		}
		if r.HighestBid != 237500 || r.BidLimit != "cash" {
			t.Errorf("%d points: stop at %s, held by %s, want 2375 by cash", points, r.HighestBid, r.BidLimit)
		}
	}
}
