package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/sale"
	"wreckoner/evaluate/shop"
)

// The sale of plan/testdata, what an independent implementation says of it, and where both are
// from: see the README there.
type (
	givenLot struct {
		Lot            string
		Guide          *float64
		Cap            float64
		Margin, Tied   []float64
		Score          [3]float64
		SD             float64
		Repair, Resale float64
	}
	saleFile struct {
		BidStep float64 `json:"bid_step"`
		Spread  [3]float64
		Gap     float64
		Lots    []givenLot
	}
	referenceFile struct {
		Gain         float64 `json:"expected_gain"`
		Independent  float64 `json:"if_prices_independent"`
		Cars, Tied   float64
		BayMore      float64    `json:"bay_more"`
		ThousandMore float64    `json:"thousand_more"`
		Range        [3]float64 `json:"range"`
		SE           float64    `json:"simulated_se"`
		OwnLimits    float64    `json:"own_limits"`
		Levels       []float64
		LevelBays    []int `json:"level_bays"`
		Lots         []struct {
			Lot   string
			Stop  float64
			Stops []float64
		}
	}
)

func readFile(t testing.TB, file string, into any) {
	t.Helper()
	text, err := os.ReadFile("../plan/testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatal(err)
	}
}

// planned plans the sale of a file.
func planned(t testing.TB, f saleFile, workers int) *report.Plan {
	t.Helper()
	p := laidOut(t, f, workers)
	p.Result = p.Plan.Work()
	return p
}

// laidOut is the plan of a file's sale, not yet worked out.
func laidOut(t testing.TB, f saleFile, workers int) *report.Plan {
	t.Helper()
	s := &sale.Sale{}
	for _, x := range f.Lots {
		l := plan.Lot{
			Name:   x.Lot,
			Limit:  x.Cap,
			Margin: x.Margin,
			Tied:   x.Tied,
			Score:  x.Score,
			SD:     x.SD,
			Repair: x.Repair,
			Resale: x.Resale,
			Hours:  10,
		}
		if x.Guide != nil {
			h, err := plan.ThreePointHammer(f.Spread[0]*(*x.Guide), f.Spread[1]*(*x.Guide), f.Spread[2]*(*x.Guide))
			if err != nil {
				t.Fatal(err)
			}
			l.Guide, l.Hammer = *x.Guide, h
		}
		s.Entries = append(
			s.Entries,
			sale.Entry{Result: &evaluate.Result{Lot: &evaluate.Lot{Number: x.Lot, Make: "Brantholt"}}, Plan: l},
		)
	}
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	p := &report.Plan{
		Sale:      s,
		Shop:      workshop,
		Seed:      1,
		Details:   true,
		Resources: plan.Resources{Bays: 4, Cash: 25000},
		Settings: plan.Settings{
			BidStep:    f.BidStep,
			Gap:        f.Gap,
			PriceLink:  0.2,
			MarketLink: 0.05,
			CostBias:   0.15,
			Seed:       1,
			Workers:    workers,
		},
	}
	if p.Plan, err = plan.New(s.Lots(), p.Resources, nil, p.Settings); err != nil {
		t.Fatal(err)
	}
	return p
}

func planOut(t testing.TB, p *report.Plan) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := p.JSON(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exported is what the JSON of a plan has.
type exported struct {
	saleFile
	Plan struct {
		Gain, Cars, Tied, P10, P90, Independent, Simulated float64
		SimulatedSE                                        float64 `json:"simulated_se"`
		BayMore                                            float64 `json:"bay_more"`
		ThousandMore                                       float64 `json:"thousand_more"`
		OwnLimits                                          float64 `json:"own_limits"`
		Bays                                               int
		Cash                                               *float64
	}
	Levels []float64
	Sheet  struct {
		Levels []float64
		Bays   []int
		Stops  [][]float64
	}
	Planned []struct {
		Lot   string
		Stop  float64
		Stops [][]float64
		Why   struct{ Held string }
	}
}

func readExport(t testing.TB, text []byte) (e exported) {
	t.Helper()
	text = bytes.TrimSpace(text)
	if err := json.Unmarshal(text, &e); err != nil {
		t.Fatal(err)
	}
	// The same list of lots is read a second time, for what the plan says of them.
	if err := json.Unmarshal(text, &struct {
		Lots any `json:"lots"`
	}{&e.Planned}); err != nil {
		t.Fatal(err)
	}
	return e
}

// The exported JSON says what the independent implementation says, and what it exports makes the
// same plan again; the same bytes whatever the workers.
func TestThePlansJSONAgrees(t *testing.T) {
	var f saleFile
	readFile(t, "plan_lots.json", &f)
	f.Spread = [3]float64{0.75, 1, 1.35}
	text := planOut(t, planned(t, f, 1))
	e := readExport(t, text)
	var want referenceFile
	readFile(t, "plan_expected.json", &want)
	for _, x := range []struct {
		what              string
		got, want, within float64
	}{
		{"gain", e.Plan.Gain, want.Gain, 1e-4 * want.Gain}, {"independent", e.Plan.Independent, want.Independent,
			1e-4 * want.Independent},
		{"cars", e.Plan.Cars, want.Cars, 1e-4}, {"tied", e.Plan.Tied, want.Tied, 1e-4 * want.Tied},
		{"a bay more", e.Plan.BayMore, want.BayMore, 0.01}, {"1,000 more", e.Plan.ThousandMore, want.ThousandMore, 0.05},
		{"own limits", e.Plan.OwnLimits, want.OwnLimits, 4 * math.Hypot(want.SE, e.Plan.SimulatedSE)},
		// both from 4,096 sales of their own
		{"P10", e.Plan.P10, want.Range[0], 500}, {"P90", e.Plan.P90, want.Range[2], 500},
	} {
		if !(math.Abs(x.got-x.want) <= x.within) {
			t.Errorf("%s: %v, want %v within %.3g", x.what, x.got, x.want, x.within)
		}
	}
	at := map[string]int{}
	for i, l := range e.Planned {
		at[l.Lot] = i
	}
	for _, l := range want.Lots {
		i := at[l.Lot]
		if e.Planned[i].Stop != l.Stop || !slices.Equal(e.Sheet.Stops[i], l.Stops) {
			t.Errorf("lot %s: stop %v, sheet %v; want %v, %v", l.Lot, e.Planned[i].Stop, e.Sheet.Stops[i], l.Stop, l.Stops)
		}
	}
	if !slices.Equal(e.Sheet.Bays, want.LevelBays) || len(e.Levels) != 24 || len(e.Planned[0].Stops) != 4 ||
		len(e.Planned[0].Stops[0]) != 24 {
		t.Errorf("bays %v, %d levels, %d rows", e.Sheet.Bays, len(e.Levels), len(e.Planned[0].Stops))
	}
	if !slices.EqualFunc(e.Lots, f.Lots, sameLot) {
		t.Error("the details are not what the plan was worked out from")
	}
	if again := planOut(t, planned(t, e.saleFile, 3)); !bytes.Equal(again, text) {
		t.Error("what was exported makes another plan, or the workers do")
	}
}

func sameLot(a, b givenLot) bool {
	x, err := json.Marshal(a)
	y, bad := json.Marshal(b)
	return err == nil && bad == nil && bytes.Equal(x, y)
}

// The rows of the CSV are the JSON's lots.
func TestThePlansRows(t *testing.T) {
	var f saleFile
	readFile(t, "plan_lots.json", &f)
	f.Spread = [3]float64{0.75, 1, 1.35}
	p := planned(t, f, 0)
	e := readExport(t, planOut(t, p))
	var b bytes.Buffer
	if err := p.Records().CSV(&b, true); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != len(e.Planned)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	number := func(row []string, column string) float64 {
		x, err := strconv.ParseFloat(row[slices.Index(rows[0], column)], 64)
		if err != nil {
			t.Fatalf("%s: %v", column, err)
		}
		return x
	}
	for i, l := range e.Planned {
		row := rows[i+1]
		if row[0] != l.Lot || number(row, "stop") != l.Stop || number(row, "level_3_stop") != e.Sheet.Stops[i][2] ||
			number(row, "level_6_money") != 25000 {
			t.Errorf("row %v is not lot %s", row, l.Lot)
		}
	}
	// Before the first lot nothing has been bought: all the money is there.
	if number(rows[1], "bought_0_money") != 25000 || number(rows[1], "bought_0_stop") != e.Planned[0].Stop {
		t.Errorf("first row: %v", rows[1])
	}
}

// The screen keeps to 80 columns, and its lines say what holds each stop.
func TestThePlanOnAScreen(t *testing.T) {
	var f saleFile
	readFile(t, "plan_lots.json", &f)
	f.Spread = [3]float64{0.75, 1, 1.35}
	p := planned(t, f, 0)
	var b, m strings.Builder
	if err := p.Document(report.Width80).Terminal(&b, report.Style{Width: report.Width80}); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := len([]rune(strings.TrimRight(line, "\n"))); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	for _, want := range []string{
		"Plan for 67 lots: 4 free bays, £25,000 to tie up", "On average it makes £10,390 from 2.8 cars, with £20,630 " +
			"tied up.",
		"£1,000 more to spend would add about £410, one more bay about £30.", "by money left (take the nearest)",
		"the money earns more in 67, 32",
		"Don't bid, whatever is left: ", "Hardly ever so cheap (under 1 in 100): ",
	} {
		if !strings.Contains(strings.Join(strings.Fields(b.String()), " "), want) {
			t.Errorf("the screen does not say %q", want)
		}
	}
	if err := p.Document(report.Width80).Markdown(&m); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(m.String(), "| the money earns more in 67, 32 |") {
		t.Error("the Markdown does not say what holds a stop")
	}
}

// The texts for a sale with nothing to bid on, or with nothing scarce.
func TestWhatIsSaidOfAWholeSale(t *testing.T) {
	var f saleFile
	readFile(t, "plan_lots.json", &f)
	f.Spread = [3]float64{0.75, 1, 1.35}
	say := func(res plan.Resources, change func(*plan.Lot), s func(*plan.Settings)) string {
		p := laidOut(t, saleFile{BidStep: f.BidStep, Spread: f.Spread, Lots: f.Lots[:20]}, 0)
		for i := range p.Sale.Entries {
			if change != nil {
				change(&p.Sale.Entries[i].Plan)
			}
		}
		if s != nil {
			s(&p.Settings)
		}
		if testing.Short() {
			p.Settings.Draws = 256 // what is said goes by all of them
		}
		p.Resources = res
		var err error
		if p.Plan, err = plan.New(p.Sale.Lots(), res, nil, p.Settings); err != nil {
			t.Fatal(err)
		}
		p.Result = p.Plan.Work()
		return strings.Join(p.Expect(), "\n")
	}
	for name, x := range map[string]struct {
		got  string
		want []string
	}{
		"too little": {say(plan.Resources{Bays: 2, Cash: 300}, nil, nil),
			[]string{"Don't bid in this sale. £300 does not reach the cheapest first bid: lot "}},
		"not scarce": {say(plan.Resources{Bays: plan.NoLimit, Cash: plan.NoLimit}, nil, nil),
			[]string{"Money and bays are not scarce in this sale: bid each lot to its own limit."}},
		"all zero": {say(plan.Resources{Bays: 2, Cash: 9000}, func(l *plan.Lot) {
			if l.Limit, l.Held, l.BreakEven = 0, plan.HeldByRisk, 0.9*l.Guide; l.Name == "2" {
				l.Held, l.BreakEven = plan.HeldByTarget, 0.97*l.Guide
			}
		}, nil), []string{"No lot is worth its lowest bid: 19 held by risk, 1 by target.", "Nearest: lot 2 breaks even " +
			"at £1,698, guide £1,750; lot "}},
		"worth more": {say(plan.Resources{Bays: 2, Cash: 9000}, nil, func(s *plan.Settings) { s.BayValue = 1e6 }),
			[]string{"worth more to you after the sale than any lot here"}},
		"nothing likely": {say(plan.Resources{Bays: 2, Cash: 9000}, func(l *plan.Lot) {
			l.Limit = math.Floor(0.2*l.Limit/25) * 25
		}, nil), []string{"Most likely you come home with nothing (10 in 10)."}},
	} {
		for _, want := range x.want {
			if !strings.Contains(x.got, want) {
				t.Errorf("%s: %q does not say %q", name, x.got, want)
			}
		}
	}
}
