package convolve_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/book"
	"wreckoner/evaluate/amount"
	"wreckoner/evaluate/convolve"
)

type priced struct {
	chance       float64
	spend, hours amount.Amount
	lead         float64
}

// one returns an engine whose book has each item at a spot of its own, and the
// case in which each occurs with its chance.
func one(t testing.TB, link float64, items []priced) (*convolve.Engine, book.Case) {
	t.Helper()
	var rows []book.Row
	var found []book.Finding
	for i, x := range items {
		item := damage.Item{Spot: damage.Spot{Zone: damage.Zone(i % damage.ZoneCount), Class: damage.Class(i / damage.ZoneCount)}, Grade: 2}
		state := damage.Suspected
		if x.chance == 1 {
			state = damage.Seen
		}
		rows = append(rows, book.Row{Item: item, Spend: x.spend, Hours: x.hours, LeadDays: x.lead, Builds: 1, Basis: "test"})
		found = append(found, book.Finding{Item: item, State: state, Chance: x.chance})
	}
	b, err := book.New(rows, nil)
	if err != nil {
		t.Fatal(err)
	}
	e, err := convolve.New(b, link, link)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", found)
	if err != nil {
		t.Fatal(err)
	}
	return e, c
}

// Sums of correlated lognormals with items that may or may not occur; see the
// source line in testdata/sums.json.
func TestSumsOfCorrelatedLognormals(t *testing.T) {
	text, err := os.ReadFile("testdata/sums.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID                     string
			Link, Fixed, Threshold float64
			Items                  []struct{ Chance, P10, P50, P90 float64 }
			Want                   map[string]float64
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 12 {
		t.Fatalf("%d cases, want 12", len(file.Cases))
	}
	for _, c := range file.Cases {
		var items []priced
		for _, x := range c.Items {
			a, err := amount.New(x.P10, x.P50, x.P90, amount.Skewed)
			if err != nil {
				t.Fatal(err)
			}
			items = append(items, priced{chance: x.Chance, spend: a})
		}
		e, cs := one(t, c.Link, items)
		sum := e.NewSum()
		m := e.Measure(1, 0)
		if err := sum.Add(cs); err != nil {
			t.Fatal(err)
		}
		var d convolve.Distribution
		sum.Distribution(m, 0, 0, &d)
		ps := []float64{0.1, 0.5, 0.8, 0.9, 0.95}
		var q [5]float64
		d.Quantiles(ps, q[:])
		t.Log(c.ID, len(items), "mean", 100*((d.Mean+c.Fixed)/c.Want["mean"]-1), "sd", 100*(d.SD/c.Want["sd"]-1), "beyond", d.Beyond, "step/sd", d.Step/d.SD)
		for i, name := range []string{"P10", "P50", "P80", "P90", "P95"} {
			if w, ok := c.Want[name]; ok {
				t.Log("  ", name, 100*((q[i]+c.Fixed)/w-1))
			}
		}
		_ = math.Abs
	}
}
