package plan

import (
	"encoding/json"
	"math"
	"testing"

	rival "wreckoner/evaluate/bid"
)

// What is written is read again by another reader, whose plan is the same; with
// sold rows, those of which nothing was heard left out.
func TestDetailsAreEnough(t *testing.T) {
	lots, s := sampleSale(t, 1), sampleSettings()
	s.Gap = 0.1
	sold := []Sold{
		{Lot: 0, Hammer: 2400, Heard: true}, {Lot: 2}, {Lot: 3, Hammer: 3500, Heard: true, Won: true},
		{Lot: 4, Hammer: 5200, Heard: true},
	}
	p := mustPlan(t, lots, Resources{Bays: 4, Cash: 25000}, sold, s)
	text, err := json.Marshal(p.Details([3]float64{0.75, 1, 1.35}))
	if err != nil {
		t.Fatal(err)
	}
	var back struct {
		saleFile
		Gap    float64
		Spread [3]float64
		Sold   []SoldDetails
	}
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if len(back.Lots) != 65 || len(back.Sold) != 3 {
		t.Fatalf("%d lots, %d sold", len(back.Lots), len(back.Sold))
	}
	again := lotsOf(t, back.saleFile, 1)
	var rows []Sold
	for _, x := range back.Sold {
		rows = append(rows, Sold{Lot: numberOf(t, again, x.Lot), Hammer: x.Hammer, Heard: true, Won: x.Won})
	}
	s.Gap = back.Gap
	q := mustPlan(t, again, Resources{Bays: 4, Cash: 25000}, rows, s)
	near(t, "U", q.Value(), p.Value(), 1e-6)
}

func TestDetailsOfHammers(t *testing.T) {
	at := func(x *float64) float64 {
		if x == nil {
			return math.NaN()
		}
		return *x
	}
	d := detailsOf(must(t)(ThreePointHammer(750, 1000, 1350)))
	near(t, "low", at(d.Low), 750, 1e-9)
	near(t, "mid", at(d.Mid), 1000, 1e-9)
	near(t, "high", at(d.High), 1350, 1e-9)
	d = detailsOf(must(t)(rival.StudentHammer(7, 0.3, 9)))
	near(t, "location", at(d.Location), 7, 0)
	near(t, "scale", at(d.Scale), 0.3, 0)
	near(t, "df", at(d.DF), 9, 0)
	if detailsOf(Hammer{}) != nil {
		t.Error("details of nothing")
	}
}
