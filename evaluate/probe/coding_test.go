package probe_test

import (
	"slices"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// One certain job of fixed costs by grade: 100, 300 and 900. With up 0.1 and down 0.2 the
// mean is up 900 + (1 - up) ((1 - down) 300 + down 100); the margin with either chance at nothing
// and at twice differs by as much, worked out by hand.
func TestCodingIsAnInput(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	var rows []costs.Row
	for g, spend := range []float64{100, 300, 900, 2000} {
		rows = append(rows, costs.Row{Item: damage.Item{Spot: damage.Spot{Class: damage.Cosmetic},
			Grade: damage.Grade(g + 1)}, Any: true,
			Spend: stats.Fixed(spend), Hours: stats.Fixed(0), Builds: 4, Basis: "test"})
	}
	if workshop.Costs, err = costs.New(rows, nil); err != nil {
		t.Fatal(err)
	}
	workshop.Extras, workshop.HoldingPerDay, workshop.FinanceRate = nil, 0, 0
	workshop.CodingUp, workshop.CodingDown = [damage.ClassCount]float64{}, [damage.ClassCount]float64{}
	code, err := damage.Parse("tail c2")
	if err != nil {
		t.Fatal(err)
	}
	lot := &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: code, Value: 800000, Guide: 200000}
	inputs := func() []probe.Input {
		p, err := probe.Run(workshop, evaluate.Options{}, lot)
		if err != nil {
			t.Fatal(err)
		}
		return slices.DeleteFunc(p.Inputs, func(i probe.Input) bool { return i.Unit != "times its chance" })
	}
	if !testing.Short() { // one probe more
		if got := inputs(); len(got) > 0 {
			t.Errorf("codes are certain, and yet an input: %+v", got)
		}
	}
	workshop.CodingUp[damage.Cosmetic], workshop.CodingDown[damage.Cosmetic] = 0.1, 0.2
	mean := func(up, down float64) float64 { return up*900 + (1-up)*((1-down)*300+down*100) }
	got := inputs()
	if len(got) != 2 {
		t.Fatalf("%+v", got)
	}
	for _, in := range got {
		want := mean(0.2, 0.2) - mean(0, 0.2)
		if in.Name == "a mark is a grade less" {
			want = mean(0.1, 0) - mean(0.1, 0.4)
		}
		if d := in.Swing() - want; d > 2 || d < -2 {
			t.Errorf("%s: the margin moves by %.2f, want %.2f", in.Name, in.Swing(), want)
		}
	}
}
