package reforecast_test

import (
	"os"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/tabular"
)

// The history starts at the freeze and ends at today's forecast, in order of days.
func TestHistory(t *testing.T) {
	const dir = "../../../samples/half/"
	kept, err := os.Open(dir + "tarnrake.json")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	frozen, err := build.Read("tarnrake.json", kept)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := os.Open(dir + "ledger.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", rows))
	if err != nil {
		t.Fatal(err)
	}
	f, err := reforecast.New(frozen)
	if err != nil {
		t.Fatal(err)
	}
	progress, _ := reforecast.Read(l.Builds[0], f.Shop().LabourRate, time.Time{})
	now, err := f.Forecast(progress, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	lengths := []int{2, 5, 3, 100}
	if testing.Short() {
		lengths = lengths[2:3]
	}
	for _, most := range lengths {
		moments, err := f.History(l.Builds[0], most)
		if err != nil {
			t.Fatal(err)
		}
		if len(moments) > most || most <= 5 && len(moments) != most {
			t.Errorf("%d moments, at most %d asked for", len(moments), most)
		}
		if first := moments[0]; !first.Day.IsZero() || first.Repair != now.Start.Repair || first.Margin != now.Start.Margin {
			t.Errorf("the first is not the freeze: %+v", first)
		}
		if last := moments[len(moments)-1]; last.Repair != now.Now.Repair || last.Margin != now.Now.Margin {
			t.Errorf("the last is %+v, today's forecast %+v", last, now.Now)
		}
		for i := range moments[1:] {
			if !moments[i+1].Day.After(moments[i].Day) {
				t.Errorf("%v after %v", moments[i+1].Day, moments[i].Day)
			}
		}
	}
	if none, err := f.History(&build.Build{Name: "tarnrake"}, 10); err != nil || len(none) != 1 {
		t.Errorf("an empty ledger has %d moments, %v", len(none), err)
	}
}
