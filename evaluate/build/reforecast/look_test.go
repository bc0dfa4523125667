package reforecast_test

import (
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

func finishing(t testing.TB, r *reforecast.Forecast) float64 {
	t.Helper()
	for _, c := range r.Choices {
		if c.Name == reforecast.Finish {
			return c.Worth.Mean
		}
	}
	t.Fatal("finishing is not a choice")
	return 0
}

// The finance still to come is charged on what the car would bring: with 2,000 more on offer, finishing is worth less
// by
// the finance of 2,000 for the days left. The margin does not change.
func TestFinanceIsOnWhatTheCarWouldBring(t *testing.T) {
	workshop := starter(t)
	f := forecaster(t, workshop, 1024, lot(t, "nose c3 m1; tail c3"))
	with := func(offer float64) *reforecast.Forecast {
		a := stats.Fixed(offer)
		r, err := f.Forecast(reforecast.Progress{}, reforecast.Offers{AsItStands: &a})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	low, high := with(1000), with(3000)
	near(t, "finishing", finishing(t, low)-finishing(t, high), 2000*workshop.FinanceRate/365*low.DaysLeft.Mean, 0.01)
	near(t, "margin", high.Now.Margin.Mean, low.Now.Margin.Mean, 1e-9)
}

// A look is worth nothing where no answer changes what is done, most where the choice is close, and more the more it
// finds. What it is worth is the closed form: with a look that shows all there is of one thing, the share of cars in
// which the choice changes times what that saves.
func TestLookFirst(t *testing.T) {
	workshop := starter(t)
	look := shop.Inspection{Name: "a look", Finds: 1, Price: 20, Zones: []damage.Zone{damage.Bay},
		Classes: []damage.Class{damage.Mechanical}}
	half := look
	half.Name, half.Finds = "half a look", 0.6
	workshop.Inspections = []shop.Inspection{half, look}
	f := forecaster(t, workshop, cars(8192), lot(t, "nose c2; bay m4?50"))
	with := func(offer float64) *reforecast.Forecast {
		a := stats.Fixed(offer)
		r, err := f.Forecast(reforecast.Progress{}, reforecast.Offers{AsItStands: &a})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	close := finishing(t, with(3000))
	for _, l := range with(close + 50000).Looks {
		if l.Worth > 1e-6 {
			t.Errorf("where selling is better whatever is found, %s is worth %.2f", l.Name, l.Worth)
		}
	}
	r := with(close)
	if len(r.Looks) != 2 || r.Looks[0].Name != "a look" || r.LookFirst() == nil {
		t.Fatalf("%+v", r.Looks)
	}
	if a, b := r.Looks[0].Worth, r.Looks[1].Worth; !(a > b && b > 100) {
		t.Errorf("a whole look is worth %.2f, a lesser one %.2f", a, b)
	}
	if l := r.Looks[0]; l.Gain() != l.Worth-20 || l.Items[0].String() != "bay m4" {
		t.Errorf("%+v", l)
	}
	// Sold, or with nothing else to do, there is nothing to look for.
	if r, err := f.Forecast(reforecast.Progress{}, reforecast.Offers{}); err != nil || r.Looks != nil {
		t.Errorf("%v, %v", r.Looks, err)
	}
}
