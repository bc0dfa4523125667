package lots_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// expected is what the second implementation says of a lot.
type expected struct {
	Lot    string
	Repair struct {
		spread
		SD, P80, P95 float64
	}
	Hours, Days, Resale spread
	Margin              *struct {
		spread
		SD         float64
		LossChance float64 `json:"loss_chance"`
		Shortfall  float64
	}
	Outlay     *float64
	HighestBid float64 `json:"highest_bid"`
	BidLimit   string  `json:"bid_limit"`
}

type spread struct {
	Mean, P10, P50, P90 float64
	HalfPoint           map[string][2]float64 `json:"half_point"`
}

// Two implementations of the model, written apart, agree: the other one is in
// NumPy (testdata/yardstick), with millions of pseudo-random worlds. A quantile
// passes within its tolerance, or between the other's quantiles half a point
// either side.
func TestAgainstTheSecondImplementation(t *testing.T) {
	if testing.Short() {
		t.Skip("needs millions of worlds")
	}
	for _, name := range []string{"shop", "registered"} {
		dir := filepath.Join("testdata", "second")
		workshop, problems, _, err := shop.Read(filepath.Join(dir, name))
		if err != nil || len(problems) > 0 {
			t.Fatal(err, problems)
		}
		f, err := os.Open(filepath.Join(dir, "lots.csv"))
		if err != nil {
			t.Fatal(err)
		}
		list, err := lots.ReadList(tabular.NewCSV("lots.csv", f), workshop, lots.Reading{})
		if err == nil {
			err = f.Close()
		}
		if err != nil || len(list.Problems) > 0 {
			t.Fatal(err, list.Problems)
		}
		text, err := os.ReadFile(filepath.Join(dir, name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var want struct{ Lots []expected }
		if err := json.Unmarshal(text, &want); err != nil {
			t.Fatal(err)
		}
		if len(want.Lots) != len(list.Lots) || len(want.Lots) < 10 {
			t.Fatalf("%d lots, and %d expected", len(list.Lots), len(want.Lots))
		}
		for _, points := range []int{0, 1 << 16} {
			e, err := evaluate.New(workshop, evaluate.Options{Points: points, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			for i, lot := range list.Lots {
				if lot.Site == "" { // the other implementation charges only the fees of every site then
					lot.Site = deal.Private
				}
				r, err := e.Evaluate(lot)
				if err != nil {
					t.Fatal(err)
				}
				if want.Lots[i].Lot != lot.Number {
					t.Fatalf("lot %s, expected %s", lot.Number, want.Lots[i].Lot)
				}
				compare(t, name, points != 0, r, &want.Lots[i])
			}
		}
	}
}

func compare(t *testing.T, workshop string, many bool, r *evaluate.Result, want *expected) {
	t.Helper()
	meanTolerance, quantileTolerance := 0.01, 0.03
	if many {
		quantileTolerance = 0.01
	}
	quantile := func(what, p string, got, x float64, s spread) {
		t.Helper()
		if half := s.HalfPoint[p]; got >= half[0] && got <= half[1] {
			return
		}
		if math.Abs(got-x) > quantileTolerance*math.Abs(x) {
			t.Errorf("%s, lot %s: %s %s is %.2f, the other says %.2f", workshop, want.Lot, what, p, got, x)
		}
	}
	all := func(what string, got evaluate.Spread, s spread) {
		t.Helper()
		if math.Abs(got.Mean-s.Mean) > meanTolerance*math.Abs(s.Mean) {
			t.Errorf("%s, lot %s: mean %s is %.2f, the other says %.2f", workshop, want.Lot, what, got.Mean, s.Mean)
		}
		quantile(what, "p10", got.P10, s.P10, s)
		quantile(what, "p50", got.P50, s.P50, s)
		quantile(what, "p90", got.P90, s.P90, s)
	}
	all("repair", evaluate.Spread{Mean: r.Repair.Mean, P10: r.Repair.P10, P50: r.Repair.P50, P90: r.Repair.P90},
		want.Repair.spread)
	quantile("repair", "p80", r.Repair.P80, want.Repair.P80, want.Repair.spread)
	quantile("repair", "p95", r.Repair.P95, want.Repair.P95, want.Repair.spread)
	all("hours", r.Hours, want.Hours)
	all("days", r.Days, want.Days)
	all("resale", r.Resale, want.Resale)
	// The other implementation counts own wages as cash, and leaves the fixed items out (METHOD.md 9.12).
	if slack := max(2*r.Lot.Value.Pounds()/200, 50); r.BidLimit != bid.CashLimit &&
		math.Abs(r.HighestBid.Pounds()-want.HighestBid) > slack {
		t.Errorf("%s, lot %s: highest bid %s by %s, the other says %.0f by %s", workshop, want.Lot, r.HighestBid, r.BidLimit,
			want.HighestBid, want.BidLimit)
	}
	if (r.Status == bid.Ranked) != (want.Margin != nil) {
		t.Fatalf("%s, lot %s is %s", workshop, want.Lot, r.Status)
	}
	if want.Margin == nil {
		return
	}
	if r.Outlay.Pounds() != *want.Outlay {
		t.Errorf("%s, lot %s: outlay %s, the other says %.2f", workshop, want.Lot, r.Outlay, *want.Outlay)
	}
	if math.Abs(r.Margin.Mean-want.Margin.Mean) > 0.02*want.Margin.SD {
		t.Errorf("%s, lot %s: margin %.2f, the other says %.2f", workshop, want.Lot, r.Margin.Mean, want.Margin.Mean)
	}
	if math.Abs(r.Margin.LossChance-want.Margin.LossChance) > 0.01 {
		t.Errorf("%s, lot %s: chance of loss %.4f, the other says %.4f", workshop, want.Lot, r.Margin.LossChance,
			want.Margin.LossChance)
	}
	if math.Abs(r.Margin.Shortfall-want.Margin.Shortfall) > 0.06*want.Margin.SD {
		t.Errorf("%s, lot %s: shortfall %.2f, the other says %.2f", workshop, want.Lot, r.Margin.Shortfall,
			want.Margin.Shortfall)
	}
}
