package convolve_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

type priced struct {
	chance       float64
	spend, hours stats.Amount
	lead         float64
}

// shopOf returns a book that has each item at a spot of its own, and the case in which each
// occurs with its chance.
func shopOf(t testing.TB, items []priced) (*costs.Table, costs.Case) {
	t.Helper()
	var rows []costs.Row
	var found []costs.Finding
	for i, x := range items {
		item := damage.Item{Spot: damage.Spot{Zone: damage.Zone(i % damage.ZoneCount),
			Class: damage.Class(i / damage.ZoneCount)}, Grade: 2}
		state := damage.Suspected
		if x.chance == 1 {
			state = damage.Seen
		}
		rows = append(rows, costs.Row{Item: item, Spend: x.spend, Hours: x.hours, LeadDays: x.lead, Builds: 1, Basis: "test"})
		found = append(found, costs.Finding{Item: item, State: state, Chance: x.chance})
	}
	b, err := costs.New(rows, nil)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", found)
	if err != nil {
		t.Fatal(err)
	}
	return b, c
}

// one returns an engine for shopOf's book, both links the same, and its case.
func one(t testing.TB, link float64, items []priced) (*convolve.Engine, costs.Case) {
	t.Helper()
	b, c := shopOf(t, items)
	e, err := convolve.New(b, link, link)
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
			a, err := stats.New(x.P10, x.P50, x.P90, stats.Skewed)
			if err != nil {
				t.Fatal(err)
			}
			items = append(items, priced{chance: x.Chance, spend: a})
		}
		e, cs := one(t, c.Link, items)
		d := convolved(t, e, cs, 1, 0)
		relative(t, c.ID+" mean", d.Mean+c.Fixed, c.Want["mean"], 1e-5)
		relative(t, c.ID+" sd", d.SD, c.Want["sd"], 1e-4)
		for _, q := range []struct {
			name         string
			p, tolerance float64
		}{{"P10", 0.1, 0.005}, {"P50", 0.5, 0.001}, {"P80", 0.8, 0.005}, {"P90", 0.9, 0.005}, {"P95", 0.95, 0.0025}} {
			want, ok := c.Want[q.name]
			if !ok {
				t.Fatalf("%s has no %s", c.ID, q.name)
			}
			relative(t, c.ID+" "+q.name, quantile(d, q.p)+c.Fixed, want, q.tolerance) // a quantile of 0 is exact
		}
		relative(t, c.ID+" ES90", dearest(d, 0.1)+c.Fixed, c.Want["ES90"], 0.001)
		if p := 1 - below(d, c.Threshold-c.Fixed); math.Abs(p-c.Want["P_gt_threshold"]) > 0.002 {
			t.Errorf("%s: %v above %v, want %v", c.ID, p, c.Threshold, c.Want["P_gt_threshold"])
		}
	}
}

func relative(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance*math.Abs(want) {
		t.Errorf("%s = %.9g, want %.9g within %g %%", what, got, want, 100*tolerance)
	}
}

func within(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// convolved returns the distribution of spend times a plus hours times b.
func convolved(t testing.TB, e *convolve.Engine, c costs.Case, a, b float64) *convolve.Distribution {
	t.Helper()
	m, sum := e.Measure(a, b, nil), e.NewSum()
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	var d convolve.Distribution
	sum.Distribution(m, 0, &d)
	return &d
}

func quantile(d *convolve.Distribution, p float64) float64 {
	var out [1]float64
	d.Quantiles([]float64{p}, out[:])
	return out[0]
}

// below returns the chance of an amount of at most x, 0 or above: each cell is spread
// evenly over its width.
func below(d *convolve.Distribution, x float64) float64 {
	chance := d.Zero
	for i, p := range d.Cells {
		chance += p * min(1, max(0, (x-d.At(i))/d.Step+0.5))
	}
	return chance
}

// dearest returns the mean of the dearest share of amounts. What lies beyond the window
// is known by the exact mean.
func dearest(d *convolve.Distribution, share float64) float64 {
	rest, rank := d.Mean, 1-share-d.Zero
	for i, p := range d.Cells {
		take := min(p, max(0, rank))
		rest -= take * d.At(i)
		rank -= p
	}
	return rest / share
}
