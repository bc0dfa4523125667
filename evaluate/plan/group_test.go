package plan

import (
	"testing"
	"time"
)

// The reference's decisions on groups of the sample sale (testdata/README.md).
func TestGroupsAgainstReference(t *testing.T) {
	var want []struct {
		Cash  float64
		Bays  int
		Lots  []string
		Stops map[string]float64
		Value float64
	}
	readJSON(t, "group_expected.json", &want)
	lots := sampleSale(t, 1)
	for _, w := range want {
		p := mustPlan(t, lots, Resources{Bays: w.Bays, Cash: w.Cash}, nil, sampleSettings())
		var of group
		for _, name := range w.Lots {
			of.lots = append(of.lots, numberOf(t, lots, name))
		}
		bids, value := newBidding(p.grid, of, w.Bays, w.Cash, lowerStops).decide()
		near(t, "value of a group", value, w.Value, 1e-6*w.Value)
		if len(bids) != len(w.Stops) {
			t.Errorf("%v: %v, want %v", w.Lots, bids, w.Stops)
		}
		for _, b := range bids {
			near(t, "stop of lot "+lots[b.lot].Name, p.ladders[b.lot].price(b.step+1), w.Stops[lots[b.lot].Name], 0)
		}
	}
}

// inGroups lets every so many lots close together, a minute apart.
func inGroups(lots []Lot, size int) []Lot {
	start := time.Date(2026, 3, 4, 14, 0, 0, 0, time.UTC)
	for i := range lots {
		lots[i].Closes = start.Add(time.Duration(i/size) * time.Minute)
	}
	return lots
}
