package plan

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// saleFile is a sale as testdata holds it; testdata/README.md says where it is from.
type saleFile struct {
	BidStep float64 `json:"bid_step"`
	Lots    []struct {
		Lot            string
		Guide          *float64
		Cap            float64
		Margin, Tied   []float64
		Score          [3]float64
		SD             float64
		Repair, Resale float64
	}
}

// expectedFile is what the reference says of the sale.
type expectedFile struct {
	SaleScore    [2]float64 `json:"sale_score"`
	Gain         float64    `json:"expected_gain"`
	Independent  float64    `json:"if_prices_independent"`
	Cars, Tied   float64
	Cash         float64
	Bays         int
	BayMore      float64    `json:"bay_more"`
	ThousandMore float64    `json:"thousand_more"`
	Range        [3]float64 `json:"range"`
	LossChance   float64    `json:"loss_chance"`
	None         float64    `json:"none_bought"`
	Simulated    float64
	SE           float64   `json:"simulated_se"`
	OwnLimits    float64   `json:"own_limits"`
	Share        float64   `json:"return_share"`
	ReturnRule   float64   `json:"return_rule"`
	Sheet        float64   `json:"printed_sheet"`
	Levels       []float64 `json:"levels"`
	LevelBays    []int     `json:"level_bays"`
	Sold         []struct {
		Lot    string
		Hammer float64
		Won    bool
	}
	Lots []struct {
		Lot      string
		OwnLimit float64 `json:"own_limit"`
		Stop     float64
		Stops    []float64
		AtStop   *float64 `json:"chance_at_stop"`
		Bought   *float64 `json:"chance_bought"`
		Expected float64
	}
}

func readJSON(t testing.TB, file string, into any) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

// sampleSale returns the sale of testdata, guides times raised.
func sampleSale(t testing.TB, raised float64) []Lot {
	t.Helper()
	var f saleFile
	readJSON(t, "plan_lots.json", &f)
	return lotsOf(t, f, raised)
}

func lotsOf(t testing.TB, f saleFile, raised float64) []Lot {
	t.Helper()
	lots := make([]Lot, len(f.Lots))
	for i, x := range f.Lots {
		lots[i] = Lot{
			Name: x.Lot, Limit: x.Cap, Margin: x.Margin, Tied: x.Tied, Score: x.Score, SD: x.SD,
			Repair: x.Repair, Resale: x.Resale, Hours: 10,
		}
		if x.Guide != nil {
			g := *x.Guide * raised
			h, err := ThreePointHammer(0.75*g, g, 1.35*g)
			if err != nil {
				t.Fatal(err)
			}
			lots[i].Guide, lots[i].Hammer = g, h
		}
	}
	return lots
}

// sampleSettings are those of the reference's run.
func sampleSettings() Settings {
	return Settings{BidStep: 25, PriceLink: 0.2, MarketLink: 0.05, CostBias: 0.15, Seed: 1}
}

func mustPlan(t testing.TB, lots []Lot, res Resources, sold []Sold, s Settings) *Plan {
	t.Helper()
	p, err := New(lots, res, sold, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.10g, want %.10g within %.2g", what, got, want, within)
	}
}

func numberOf(t testing.TB, lots []Lot, name string) int {
	t.Helper()
	for i := range lots {
		if lots[i].Name == name {
			return i
		}
	}
	t.Fatalf("no lot %s", name)
	return -1
}

// The reference implementation in NumPy, run on the same sale: sourced in
// testdata/README.md.
func TestPlanAgainstReference(t *testing.T) {
	var want expectedFile
	readJSON(t, "plan_expected.json", &want)
	compare(t, mustPlan(t, sampleSale(t, 1), Resources{Bays: 4, Cash: 25000}, nil, sampleSettings()), want)
}

// The same with guides a fifth up, the gap at 0.10, 15,000 and 3 bays.
func TestGapAgainstReference(t *testing.T) {
	var want expectedFile
	readJSON(t, "plan_gap_expected.json", &want)
	s := sampleSettings()
	s.Gap = 0.10
	compare(t, mustPlan(t, sampleSale(t, 1.2), Resources{Bays: 3, Cash: 15000}, nil, s), want)
}

// The same with 27 lots sold, two of them to us, and the gap at 0.10.
func TestSoldAgainstReference(t *testing.T) {
	var want expectedFile
	readJSON(t, "plan_sold_expected.json", &want)
	s, lots := sampleSettings(), sampleSale(t, 1)
	s.Gap = 0.10
	var sold []Sold
	for _, x := range want.Sold {
		sold = append(sold, Sold{Lot: numberOf(t, lots, x.Lot), Hammer: x.Hammer, Heard: true, Won: x.Won})
	}
	p := mustPlan(t, lots, Resources{Bays: 4, Cash: 25000}, sold, s)
	near(t, "cash left", p.cash, want.Cash, 1e-6)
	near(t, "bays left", float64(p.bays), float64(want.Bays), 0)
	compare(t, p, want)
}

func compare(t *testing.T, p *Plan, want expectedFile) {
	t.Helper()
	r := p.Work()
	near(t, "U", r.Independent, want.Independent, 1e-4*want.Independent)
	near(t, "gain", r.Gain, want.Gain, 1e-4*want.Gain)
	near(t, "cars", r.Cars, want.Cars, 1e-4*want.Cars)
	near(t, "tied", r.Tied, want.Tied, 1e-4*want.Tied)
	near(t, "one more bay", r.BayMore, want.BayMore, 1e-6*want.Independent)
	near(t, "1,000 more", r.ThousandMore, want.ThousandMore, 1e-6*want.Independent)
	near(t, "mean of the sale's score", r.Standing.Common.Mean, want.SaleScore[0], 1e-9)
	near(t, "its variance", r.Standing.Common.Var, want.SaleScore[1], 1e-9)
	within := 4 * math.Sqrt2 * want.SE
	near(t, "simulated", r.Simulated, want.Simulated, within)
	near(t, "simulated standard error", r.SimulatedSE, want.SE, 0.05*want.SE)
	near(t, "own limits", r.OwnLimits, want.OwnLimits, within)
	near(t, "fixed rule", r.FixedRule, want.ReturnRule, within)
	near(t, "fixed share", r.FixedShare, want.Share, 0.1001)
	near(t, "sheet", r.SheetGain, want.Sheet, within)
	// The se of a normal's P10 is 1.71 sd / sqrt(n); the sd from the quantiles themselves.
	sd := (want.Range[2] - want.Range[0]) / 2 / z90
	for a, got := range []float64{r.P10, r.P50, r.P90} {
		near(t, "quantile", got, want.Range[a], 4*math.Sqrt2*1.71*sd/64)
	}
	near(t, "loss chance", r.LossChance, want.LossChance, 4*math.Sqrt(2*want.LossChance/4096))
	near(t, "none bought", r.NoneChance, want.None, 4*math.Sqrt(2*want.None/4096))
	if len(r.Sheet6.Levels) != len(want.Levels) {
		t.Fatalf("%d levels, want %d", len(r.Sheet6.Levels), len(want.Levels))
	}
	for a, level := range want.Levels {
		near(t, "level", r.Sheet6.Levels[a], level, 1e-6)
		near(t, "bays of the level", float64(r.Sheet6.Bays[a]), float64(want.LevelBays[a]), 0)
	}
	compareLots(t, p, r, want)
}

func compareLots(t *testing.T, p *Plan, r Result, want expectedFile) {
	t.Helper()
	at := 0
	for i, l := range r.Lots {
		lot := p.all[l.Lot]
		if lot.Limit == 0 {
			continue
		}
		w := want.Lots[at]
		at++
		if w.Lot != lot.Name {
			t.Fatalf("lot %s, want %s", lot.Name, w.Lot)
		}
		near(t, "stop of lot "+w.Lot, l.Stop, w.Stop, 0)
		for a, stop := range w.Stops {
			near(t, "sheet of lot "+w.Lot, r.Sheet6.Stops[i][a], stop, 0)
		}
		near(t, "gain of lot "+w.Lot, l.Gain, w.Expected, 1e-4*want.Gain)
		if l.Known != (w.AtStop != nil) {
			t.Errorf("lot %s: known %v", w.Lot, l.Known)
		}
		if l.Known && w.AtStop != nil {
			near(t, "chance at the stop of lot "+w.Lot, l.WinChance, *w.AtStop, 1e-6)
			near(t, "chance of buying lot "+w.Lot, l.BuyChance, *w.Bought, 1e-5)
		}
	}
	if at != len(want.Lots) {
		t.Errorf("%d lots, want %d", at, len(want.Lots))
	}
}
