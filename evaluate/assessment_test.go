package evaluate_test

import (
	"math"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

func assess(t testing.TB, workshop *shop.Shop, l *evaluate.Lot) *evaluate.Assessment {
	t.Helper()
	e, err := evaluate.New(workshop, evaluate.Options{Points: 1024})
	if err != nil {
		t.Fatal(err)
	}
	s, err := e.Assess(l)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The lot on paper, at no hammer price yet: without the hidden item 6,415.15 is left
// before the outlay, with it 5,710.15, and the outlay costs 1.0026 and 1.0057 times
// itself. Without it a car breaks even at an outlay of 6,398.514, a hammer price of
// 6,228.51, so 6,225; with it, one in four, at 5,677.787, 5,507.79, so 5,500. The
// mean breaks even at (0.75 x 6,415.15 + 0.25 x 5,710.15) / 1.003375 = 6,217.914,
// 6,047.91, so 6,025.
func TestStopsOnPaper(t *testing.T) {
	s := assess(t, paper(t), lot(t, "nose c3"))
	for _, x := range []struct {
		chance float64
		want   money.Pence
	}{{0.1, 550000}, {0.249, 550000}, {0.25, 622500}, {0.5, 622500}} {
		if got := s.LossStop(x.chance); got != x.want {
			t.Errorf("the chance of a loss passes %g above %s, want %s", x.chance, got, x.want)
		}
	}
	if got := s.BreakEven(); got != 602500 {
		t.Errorf("breaks even at %s, want 6,025.00", got)
	}
	at := s.Along([]money.Pence{550000, 552500, 622500, 625000})
	for i, want := range []float64{0, 0.25, 0.25, 1} {
		near(t, "chance of a loss at "+at[i].Hammer.String(), at[i].LossChance, want)
	}
}

// A tariff whose fee falls at a step: the search stops at the first price that
// passes the chance, and does not come back beyond the step.
func TestStopsAtTheFirstPriceThatFails(t *testing.T) {
	s := assess(t, paper(t,
		shop.Band{Site: "Mill", Fee: "premium", Amount: 100000},
		shop.Band{Site: "Mill", Fee: "premium", From: 575000, Amount: 0}), lot(t, "nose c3; bay m1-"))
	// 6,398.514 less a premium of 1,000: 5,398.51, though 6,375 would do again.
	if got := s.LossStop(0.1); got != 537500 {
		t.Errorf("stops at %s, want 5,375.00", got)
	}
	if at := s.Along([]money.Pence{620000})[0]; at.LossChance != 0 {
		t.Errorf("beyond the step the chance of a loss is %v", at.LossChance)
	}
}

// By hand: 550 more in a quarter of worlds weighs 550 x sqrt(0.25 x 0.75).
func TestDoubtsOnPaper(t *testing.T) {
	d := assess(t, paper(t), lot(t, "nose c3")).Doubts()
	if len(d) != 1 || d[0].Item.String() != "bay m1" {
		t.Fatalf("%+v", d)
	}
	near(t, "chance", d[0].Chance, 0.25)
	near(t, "mean cost", d[0].MeanCost, 550)
	near(t, "its own job, 400 and 5 hours at 30", d[0].OwnCost, 550)
	near(t, "the rest of the car", d[0].Rest(), 0)
	near(t, "weight", d[0].Weight(), 550*math.Sqrt(0.25*0.75))
	if d := assess(t, paper(t), lot(t, "nose c3; bay m1-")).Doubts(); len(d) != 0 {
		t.Errorf("nothing is in doubt, but %+v", d)
	}
}

func TestZonesAddUpToTheRepair(t *testing.T) {
	z := assess(t, paper(t), lot(t, "nose c3")).Zones()
	if len(z) != 2 || z[0].Zone != damage.Nose || z[1].Zone != damage.Bay {
		t.Fatalf("%+v", z)
	}
	near(t, "nose", z[0].Classes[damage.Cosmetic], 1300)
	near(t, "bay", z[1].Total(), 137.5)
	near(t, "both", z[0].Total()+z[1].Total(), judge(t, paper(t), lot(t, "nose c3")).Repair.Mean)
}

// A normal repair: its quantiles are those of the normal distribution, P80 at
// 0.8416212336 standard deviations (NIST/SEMATECH e-Handbook of Statistical
// Methods, table 1.3.6.7.1, to four decimals; the rest from memory).
func TestRepairCurveOfANormal(t *testing.T) {
	workshop := paper(t)
	row := workshop.Costs.Rows()[0]
	row.Spend, row.Hours = stats.Amount{Low: 1000 - stats.Z90*100, Mid: 1000, High: 1000 + stats.Z90*100}, stats.Fixed(0)
	var err error
	if workshop.Costs, err = costs.New([]costs.Row{row}, nil); err != nil {
		t.Fatal(err)
	}
	e, err := evaluate.New(workshop, evaluate.Options{Points: 1 << 14})
	if err != nil {
		t.Fatal(err)
	}
	s, err := e.Assess(lot(t, "nose c3"))
	if err != nil {
		t.Fatal(err)
	}
	curve := s.RepairCurve(10)
	if len(curve) != 11 {
		t.Fatalf("%d points", len(curve))
	}
	for i, want := range map[int]float64{1: 1000 - 100*stats.Z90, 5: 1000, 8: 1084.16212336, 9: 1000 + 100*stats.Z90} {
		if math.Abs(curve[i].Amount-want) > 0.2 || math.Abs(curve[i].Share-float64(i)/10) > 1e-12 {
			t.Errorf("%+v, want %v", curve[i], want)
		}
	}
	for i := range curve[1:] {
		if curve[i+1].Amount < curve[i].Amount {
			t.Errorf("the curve falls at %+v", curve[i+1])
		}
	}
}

// The walk of an assessment is that of the evaluator; its figures are those of a screen.
func TestStudyAgreesWithTheScreen(t *testing.T) {
	workshop, l := paper(t), lot(t, "nose c3")
	s, r := assess(t, workshop, l), judge(t, workshop, l)
	at := s.Along([]money.Pence{l.Guide})[0]
	if at.Margin != r.Margin {
		t.Errorf("margin %+v, the screen's %+v", at.Margin, r.Margin)
	}
	if got := s.Workings(l.Guide).Total.Pounds(); math.Abs(got-r.Margin.Mean) > 0.1 {
		t.Errorf("the walk ends at %v, the mean margin is %v", got, r.Margin.Mean)
	}
	if stop := s.LossStop(workshop.LossLimit); stop < r.HighestBid {
		t.Errorf("the highest bid %s is above the price %s at which the loss limit is passed", r.HighestBid, stop)
	}
}
