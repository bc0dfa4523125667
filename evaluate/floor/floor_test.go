package floor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/floor"
)

var today = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func settings() floor.Settings { return floor.Settings{AsOf: today, HoursPerDay: 6, Bays: 2, Seed: 1} }

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func must(t testing.TB, cars []floor.Car, s floor.Settings) *floor.Floor {
	t.Helper()
	f, err := floor.New(cars, s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// certain is a car with one way to go.
func certain(name string, w floor.Way) floor.Car {
	return floor.Car{Name: name, Stage: floor.InWork, MoneyIn: 3000, Delay: 10, PerDay: 9, Ways: []floor.Way{w}}
}

// On paper, at 6 hours a day. Slow wants 60 hours now, at 10 a day; brief wants 12 hours and
// its parts come on day 4. Slow runs for four days (24 hours), brief has the larger index
// (10 / 12 against 10 / 36) and takes days 4 to 6, slow has its last 36 hours until day 12.
func TestTwoCarsOnPaper(t *testing.T) {
	slow := certain(
		"slow",
		floor.Way{Hours: 60, Finish: 1, Sell: 20, ToPay: 500, Ordered: 2, Margin: 900, Alone: 31, Proceeds: 5000},
	)
	brief := certain(
		"brief",
		floor.Way{
			Start:    4,
			Known:    4,
			Hours:    12,
			Finish:   1,
			Sell:     20,
			ToPay:    100,
			Margin:   700,
			Alone:    27,
			Proceeds: 4000,
		},
	)
	brief.Stage = floor.Waiting
	f := must(t, []floor.Car{slow, brief}, settings())
	if f.Lines[0].Name != "slow" || !f.Lines[0].Workable || f.Lines[1].Workable || f.Next().Name != "slow" {
		t.Errorf("to work on: %+v", f.Lines)
	}
	for i, want := range []struct{ ready, sold, margin float64 }{{13, 33, 900 - 2*9}, {7, 27, 700}} {
		l := f.Lines[i]
		near(t, l.Name+" ready", l.ReadyIn.Mean, want.ready, 1e-9)
		near(t, l.Name+" sold", l.SoldIn.P90, want.sold, 1e-9)
		near(t, l.Name+" margin", l.Margin.Mean, want.margin, 1e-9)
	}
	// Week 1: 42 hours worked, 30 of slow left. Week 2: those 30. Then none.
	for i, want := range []struct{ wanted, cash, bays float64 }{{72, 6600, 1}, {30, 6600, 0}, {0, 6600, 0}, {0, 3500, 0},
		{0, 0, 0}} {
		w := f.Weeks[i]
		near(t, fmt.Sprint("wanted in week ", i+1), w.Wanted, want.wanted, 1e-6)
		near(t, fmt.Sprint("cash after week ", i+1), w.Cash.P90, want.cash, 1e-9)
		near(t, fmt.Sprint("bays after week ", i+1), w.Bays.Mean, want.bays, 1e-9)
	}
	near(t, "hours there are", f.Weeks[0].There, 42, 1e-12)
	near(t, "pound-years", f.PoundYears, (3000*33+500*31+3000*27+100*27)/365.0, 1e-9)
	free := f.Free(0.9)
	if *free.Bays != 0 || free.ToPay != 600 || len(free.Comes) != 4 {
		t.Fatalf("free: %+v", free)
	}
	for i, want := range []string{"2026-03-10 1 0 brief", "2026-03-16 1 0 slow", "2026-03-30 0 4000 brief",
		"2026-04-05 0 5000 slow"} {
		c := free.Comes[i]
		if got := fmt.Sprint(c.On.Format(time.DateOnly), " ", c.Bays, " ", c.Cash, " ", c.Car); got != want {
			t.Errorf("comes: %s, want %s", got, want)
		}
	}
}

// A car that is overtaken pays for the days that it waits.
func TestOvertakenCarPaysForItsDays(t *testing.T) {
	a := certain("a", floor.Way{Hours: 60, Alone: 10, Margin: 1000})
	alone := must(t, []floor.Car{a}, settings())
	near(t, "alone", alone.Lines[0].Margin.Mean, 1000, 1e-9)
	b := certain("b", floor.Way{Hours: 6, Alone: 1})
	both := must(t, []floor.Car{a, b}, settings())
	near(t, "with another", both.Lines[1].Margin.Mean, 1000-9, 1e-9)
}

// What stands outside takes no bay and no hours; an advertised car is ready today.
func TestStages(t *testing.T) {
	for stage, bays := range map[floor.Stage]int{floor.ToCollect: 0, floor.ToStrip: 1, floor.Waiting: 1, floor.InWork: 1,
		floor.Ready: 0, floor.Advertised: 0, floor.Stopped: 0} {
		c := certain("a", floor.Way{Yard: 3, Start: 40, Sell: 60})
		c.Stage = stage
		f := must(t, []floor.Car{c}, settings())
		if f.BaysNow != bays {
			t.Errorf("%s: %d bays today", stage, f.BaysNow)
		}
		if after := f.Weeks[1].Bays.Mean; (after == 1) != stage.InBay() {
			t.Errorf("%s: %v bays after two weeks", stage, after)
		}
		if stage == floor.Advertised && f.Lines[0].ReadyIn.Mean != 0 {
			t.Error("an advertised car is ready later")
		}
	}
}

// floors makes a floor of n cars with so many ways, and beside it one way that it goes.
func floors(r *rand.Rand, n, ways int) (cars []floor.Car, truth []floor.Way) {
	for i := range n {
		hours, spread := 10+70*r.Float64(), 0.2+0.4*r.Float64()
		lead, spend, sale := 0.0, 200+1500*r.Float64(), 5000+4000*r.Float64()
		if r.IntN(2) == 0 {
			lead = 3 + 25*r.Float64()
		}
		draw := func() floor.Way {
			hit := r.NormFloat64() // dear cars take long too
			w := floor.Way{
				Start: lead * math.Exp(
					0.3*r.NormFloat64(),
				),
				Hours:    hours * math.Exp(spread*(0.7*hit+0.7*r.NormFloat64())),
				Finish:   1,
				Sell:     5 + 20*r.ExpFloat64(),
				ToPay:    spend * math.Exp(0.3*hit),
				Ordered:  2,
				Proceeds: sale * math.Exp(0.08*r.NormFloat64()),
			}
			w.Alone = w.Start + w.Hours/6 + w.Finish + w.Sell
			w.Margin = w.Proceeds - w.ToPay - 3000 - 10*w.Alone
			return w
		}
		c := floor.Car{
			Name: fmt.Sprint(
				"car ",
				i,
			),
			Stage:   floor.InWork,
			Since:   60 * r.Float64(),
			MoneyIn: 1500 + 4000*r.Float64(),
			PerDay:  10,
			Delay:   6 + 12*r.Float64(),
		}
		for range ways {
			c.Ways = append(c.Ways, draw())
		}
		cars, truth = append(cars, c), append(truth, draw())
	}
	return cars, truth
}

// stepped plays one future in steps of a hundredth of a day, by the rule as it is written
// in METHOD.md 20.2: an own, slower way to the same dates.
func stepped(cars []floor.Car, truth []floor.Way, rule floor.Rule, hoursPerDay float64) (sold []float64) {
	const step = 0.01
	n := len(cars)
	left, worked, believed := make([]float64, n), make([]float64, n), make([]float64, n)
	sold = make([]float64, n)
	for i := range cars {
		left[i] = truth[i].Hours
		for _, w := range cars[i].Ways {
			believed[i] += w.Hours / float64(len(cars[i].Ways))
		}
	}
	for at, open := 0.0, n; open > 0; at += step {
		budget := hoursPerDay * step
		for budget > 1e-12 {
			best, most := -1, 0.0
			for i := range cars {
				if left[i] <= 0 || truth[i].Start > at+1e-9 {
					continue
				}
				rank := cars[i].Since
				if rule == floor.Smith {
					rank = cars[i].Delay / max(0.25, believed[i]-worked[i], 0.1*believed[i])
				}
				if best < 0 || rank > most {
					best, most = i, rank
				}
			}
			if best < 0 {
				break
			}
			h := min(budget, left[best])
			budget, left[best], worked[best] = budget-h, left[best]-h, worked[best]+h
			if left[best] <= 1e-12 {
				left[best], open = 0, open-1
				sold[best] = at + step + truth[best].Finish + truth[best].Sell
			}
		}
	}
	return sold
}

// The events and the steps give the same dates, by either rule.
func TestEventsAgainstSteps(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 20))
	n := 40
	if testing.Short() {
		n = 10
	}
	for range n {
		cars, truth := floors(r, 1+r.IntN(6), 1)
		for i := range cars {
			cars[i].Ways = []floor.Way{truth[i]}
		}
		for _, rule := range []floor.Rule{floor.Smith, floor.Oldest} {
			s := settings()
			s.Rule = rule
			f := must(t, cars, s)
			want := stepped(cars, truth, rule, 6)
			for _, l := range f.Lines {
				var i int
				if _, err := fmt.Sscanf(l.Name, "car %d", &i); err != nil {
					t.Fatal(err)
				}
				near(t, l.Name+" sold", l.SoldIn.Mean, want[i], 0.1)
			}
		}
	}
}

// 500 floors: what is said holds the truth in 80 % of them, of dates and of cash.
func TestRangesHoldTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates hundreds of floors")
	}
	r := rand.New(rand.NewPCG(3, 20))
	dates, cash, margins := tally{}, tally{}, tally{}
	for range 500 {
		cars, truth := floors(r, 2+r.IntN(5), 500)
		s := settings()
		s.Runs = 500
		f := must(t, cars, s)
		sold := stepped(cars, truth, floor.Smith, 6)
		for _, l := range f.Lines {
			var i int
			if _, err := fmt.Sscanf(l.Name, "car %d", &i); err != nil {
				t.Fatal(err)
			}
			dates.add(sold[i], l.SoldIn.P10, l.SoldIn.P90)
			margins.add(truth[i].Margin+10*(truth[i].Alone-sold[i]), l.Margin.P10, l.Margin.P90)
		}
		week := 2 + r.IntN(6) // one a floor: weeks of one floor are one story
		at, tied := float64(7*(week+1)), 0.0
		for i := range cars {
			if sold[i] > at {
				tied += cars[i].MoneyIn + truth[i].ToPay
			}
		}
		cash.add(tied, f.Weeks[week].Cash.P10, f.Weeks[week].Cash.P90)
	}
	for what, x := range map[string]tally{"dates": dates, "cash": cash, "margins": margins} {
		share := x.inside / x.all
		t.Logf("%s: %.1f %% of %.0f within the likely range", what, 100*share, x.all)
		if share < 0.76 || share > 0.84 {
			t.Errorf("%s: the likely range holds %.1f %%", what, 100*share)
		}
	}
}

type tally struct{ inside, all float64 }

func (x *tally) add(v, low, high float64) {
	x.all++
	if v >= low && v <= high {
		x.inside++
	}
}

// 500 floors worked by the rule and by the oldest car first.
func TestRuleAgainstOldestFirst(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates hundreds of floors")
	}
	r := rand.New(rand.NewPCG(4, 20))
	type sums struct{ days, tied, margin, delay float64 }
	var by [2]sums
	cars, hours := 0.0, 0.0
	for range 500 {
		all, _ := floors(r, 3+r.IntN(5), 60)
		for _, c := range all {
			cars++
			for _, w := range c.Ways {
				hours += w.Hours / float64(len(c.Ways))
			}
		}
		for rule := range by {
			s := settings()
			s.Runs, s.Rule = 60, floor.Rule(rule)
			f := must(t, all, s)
			by[rule].tied += f.PoundYears
			for _, l := range f.Lines {
				by[rule].days += l.SoldIn.Mean
				by[rule].margin += l.Margin.Mean
				by[rule].delay += l.Delay * l.SoldIn.Mean
			}
		}
	}
	for rule, x := range by {
		t.Logf("%s: %.1f days to sale, %.0f pound-years a floor, %.2f pounds an hour, delay costs %.0f a floor",
			[]string{"rule", "oldest first"}[rule], x.days/cars, x.tied/500, x.margin/hours, x.delay/500)
	}
	if !(by[0].days < by[1].days && by[0].tied < by[1].tied && by[0].margin > by[1].margin && by[0].delay < by[1].delay) {
		t.Error("working by the rule is no better than the oldest car first")
	}
}

// The order of the files changes nothing, nor does running it again.
func TestOrderOfCarsChangesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 20))
	cars, _ := floors(r, 6, 100)
	a := must(t, cars, settings())
	for range 3 {
		r.Shuffle(len(cars), func(i, j int) { cars[i], cars[j] = cars[j], cars[i] })
		if b := must(t, cars, settings()); !reflect.DeepEqual(a, b) {
			t.Fatal("another order gives another floor")
		}
	}
}

func TestFaultyFloors(t *testing.T) {
	good := certain("a", floor.Way{})
	for want, change := range map[string]func(*floor.Car){
		"no way":              func(c *floor.Car) { c.Ways = nil },
		"not a figure from 0": func(c *floor.Car) { c.Ways[0].Hours = math.NaN() },
		"not a figure":        func(c *floor.Car) { c.MoneyIn = math.Inf(1) },
	} {
		c := certain("a", floor.Way{})
		change(&c)
		if _, err := floor.New([]floor.Car{c}, settings()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	if _, err := floor.New([]floor.Car{good, good}, settings()); err == nil {
		t.Error("two cars with one name are taken")
	}
	s := settings()
	s.HoursPerDay = 0
	if _, err := floor.New(nil, s); err == nil {
		t.Error("no hours are taken")
	}
	if f := must(t, nil, settings()); f.Next() != nil || f.CashNow != 0 {
		t.Error("an empty floor is not empty")
	}
}

// Twelve cars, 2,048 ways each.
func BenchmarkTwelveCars(b *testing.B) {
	cars, _ := floors(rand.New(rand.NewPCG(6, 20)), 12, 2048)
	for b.Loop() {
		must(b, cars, settings())
	}
}
