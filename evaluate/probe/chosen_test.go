package probe_test

import (
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/shop"
)

// The trip to the sale is paid once for all inspections of the set that need it, a set is
// worth no more than its inspections one by one, and its gain is not below that of any
// inspection alone.
func TestOneTripForAll(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates a car several times")
	}
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	workshop.Visit = 40
	for i := range workshop.Inspections {
		workshop.Inspections[i].Visit = true
	}
	code, err := damage.Parse("nose s1 c3 m1?60")
	if err != nil {
		t.Fatal(err)
	}
	car := &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: code, Value: 940000, Guide: 225000,
		Miles: 40}
	p, err := probe.Run(workshop, evaluate.Options{Points: 1024}, car)
	if err != nil {
		t.Fatal(err)
	}
	c := p.Chosen
	if c == nil || len(c.Inspections) < 2 {
		t.Fatalf("chosen %+v: this test needs two inspections worth paying for", c)
	}
	price, worth := 40.0, 0.0
	for _, l := range c.Inspections {
		price += l.Price
		worth += l.Worth
	}
	if c.Trip != 40 || c.Price != price {
		t.Errorf("price %v and trip %v, want %v and 40", c.Price, c.Trip, price)
	}
	if c.Worth > worth+1 {
		t.Errorf("worth %.2f together, %.2f one by one", c.Worth, worth)
	}
	for _, l := range p.Inspections {
		if l.Gain() > c.Gain() {
			t.Errorf("%s alone gains %.2f, the chosen set %.2f", l.Name, l.Gain(), c.Gain())
		}
	}
}
