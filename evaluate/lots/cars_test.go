package lots_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// modern is what the second implementation says of a lot with types, ages, wear, quotes and
// marks that may be misread (testdata/cars/SOURCE.md).
type modern struct {
	Lot    string
	Age    *int
	Repair struct{ Mean, SD, P10, P50, P80, P90, P95 float64 }
	Hours  struct{ Mean, P10, P50, P90 float64 }
	Days   struct{ Mean, P10, P50, P90 float64 }
	Other  float64
	Margin *struct {
		Mean, SD   float64
		LossChance float64 `json:"loss_chance"`
	}
	HighestBid float64 `json:"highest_bid"`
}

func carsOf(t *testing.T) (*shop.Shop, []*evaluate.Lot, []modern) {
	t.Helper()
	dir := filepath.Join("testdata", "cars")
	workshop, problems, _, err := shop.Read(filepath.Join(dir, "shop"))
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	f, err := os.Open(filepath.Join(dir, "lots.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := lots.ReadList(tabular.NewCSV("lots.csv", f), workshop,
		lots.Reading{On: lots.Day{Date: time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)}})
	if err != nil || len(list.Problems) > 0 {
		t.Fatal(err, list.Problems)
	}
	text, err := os.ReadFile(filepath.Join(dir, "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	var want struct{ Lots []modern }
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	if len(want.Lots) != len(list.Lots) || len(list.Lots) < 12 {
		t.Fatalf("%d lots, %d expected", len(list.Lots), len(want.Lots))
	}
	return workshop, list.Lots, want.Lots
}

// Both engines against the second implementation.
func TestCarsAgainstTheSecondImplementation(t *testing.T) {
	workshop, list, want := carsOf(t)
	for _, points := range []int{0, 1 << 16} {
		if points > 0 && testing.Short() {
			continue
		}
		e, err := evaluate.New(workshop, evaluate.Options{Points: points, Seed: 3})
		if err != nil {
			t.Fatal(err)
		}
		var p90s []float64
		for i, lot := range list {
			p90s = append(p90s, compareCar(t, e, lot, &want[i], points > 0))
		}
		slices.Sort(p90s)
		if median := p90s[len(p90s)/2]; points == 0 && median > 0.0015 {
			t.Errorf("the median P90 of a repair is %.3f %% off", 100*median)
		}
	}
}

// compareCar returns by what share the P90 of the repair is off. In drawn worlds figures
// scatter more.
func compareCar(t *testing.T, e *evaluate.Evaluator, lot *evaluate.Lot, want *modern, drawn bool) (p90 float64) {
	t.Helper()
	r, err := e.Evaluate(lot)
	if err != nil {
		t.Fatal(err)
	}
	p, err := e.Resolve(lot)
	if err != nil {
		t.Fatal(err)
	}
	if want.Lot != lot.Number || p.Aged != (want.Age != nil) || p.Aged && p.Age != *want.Age {
		t.Fatalf("lot %s is %d years old, the other says %s of %v", lot.Number, p.Age, want.Lot, want.Age)
	}
	slack := 1.0
	if drawn {
		slack = 2
	}
	off := func(what string, got, want, tolerance float64) float64 {
		t.Helper()
		if math.IsNaN(got) || math.Abs(got-want) > slack*tolerance {
			t.Errorf("lot %s, drawn %v: %s is %.4f, the other says %.4f", lot.Number, drawn, what, got, want)
		}
		return math.Abs(got-want) / math.Max(want, 1)
	}
	x := want.Repair
	off("mean repair", r.Repair.Mean, x.Mean, 0.003*x.Mean)
	off("sd of the repair", r.Repair.SD, x.SD, 0.015*x.SD)
	if len(lot.Quotes) == 0 { // a quoted job is at one amount, where quantiles jump
		off("repair P50", r.Repair.P50, x.P50, 0.005*x.P50)
	}
	off("repair P80", r.Repair.P80, x.P80, 0.006*x.P80)
	p90 = off("repair P90", r.Repair.P90, x.P90, 0.006*x.P90)
	off("mean hours", r.Hours.Mean, want.Hours.Mean, 0.005*want.Hours.Mean)
	off("mean days", r.Days.Mean, want.Days.Mean, 0.002*want.Days.Mean)
	off("days P90", r.Days.P90, want.Days.P90, 0.005*want.Days.P90)
	off("highest bid", r.HighestBid.Pounds(), want.HighestBid, 50)
	if want.Margin != nil {
		off("mean margin", r.Margin.Mean, want.Margin.Mean, 0.004*want.Margin.SD)
		off("sd of the margin", r.Margin.SD, want.Margin.SD, 0.01*want.Margin.SD)
		off("chance of a loss", r.Margin.LossChance, want.Margin.LossChance, 0.005)
	}
	return p90
}
