package build_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

func item(t testing.TB, text string) damage.Item {
	t.Helper()
	c, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c.Marks()[0].Item
}

// paper is a shop in which nothing varies: nose s2 costs 500 and 20 hours, parts
// come in 5 days.
func paper(t testing.TB, registered bool) *shop.Shop {
	t.Helper()
	b, err := costs.New([]costs.Row{
		{Item: item(t, "nose s2"), Spend: stats.Fixed(500), Hours: stats.Fixed(20), LeadDays: 5, Builds: 4, Basis: "paper"},
		{Item: item(t, "tail c1"), Spend: stats.Fixed(40), Hours: stats.Fixed(1), Builds: 4, Basis: "paper"},
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	rate := money.RateOf(0.2)
	tariff, err := shop.NewTariff([]shop.Band{
		{Site: "*", Fee: shop.Premium, Amount: 10000, Percent: money.RateOf(0.1)},
		{Site: "*", Fee: "carriage", Amount: 5000, VAT: registered},
	}, rate)
	if err != nil {
		t.Fatal(err)
	}
	return &shop.Shop{
		Settings: shop.Settings{
			Currency: "GBP", LabourRate: 30, HoursPerDay: 10, CollectDays: 2, FinishDays: 3, LeadSpread: stats.Fixed(1),
			HoldingPerDay: 10, FinanceRate: 0.0365,
			VATRegistered: registered, VATRate: rate, SpendVATShare: 0.5, SellFixed: 100, SellVAT: true, LossLimit: 1,
			BidStep: 2500, GuideSpread: stats.Fixed(1),
		},
		Fixed: []shop.Charge{{Name: "test", Amount: stats.Fixed(55)}}, Costs: b, Tariff: tariff,
		Segments: []shop.Segment{{Name: "family", Spend: 1, Hours: 1}}, Categories: []shop.Category{{Name: "S",
			Rebuild: true, Share: stats.Fixed(0.2), Builds: 1}},
	}
}

func readLedger(t testing.TB, rows string) *build.Ledger {
	t.Helper()
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv",
		strings.NewReader("build,date,zone,class,grade,what,spend,hours,state\n"+rows)))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	return l
}

const paperLedger = `car,2026-01-01,,,,hammer,2000,,
car,,,,,fees,290,,
car,,,,,transport,60,,
car,,nose,s,2,leg,620,22,
car,,nose,s,,sent back,-20,,done
car,,roof,c,2,dent,80,2,done
car,,tail,c,,looked,,,clear
car,,,,,test and clips,70,,
car,2026-01-31,,,,sale,8200,,
car,,,,,selling,90,,
`

func paperOutcome(t testing.TB, registered bool, rows string) *build.Outcome {
	t.Helper()
	code, err := damage.Parse("nose s2; tail c1")
	if err != nil {
		t.Fatal(err)
	}
	lot := &evaluate.Lot{Number: "1", Segment: "family", Category: "S", Code: code, Value: 1000000}
	f, err := build.Freeze(newEvaluator(t, paper(t, registered), evaluate.Options{Points: 64}), lot, 200000, "car", "test")
	if err != nil {
		t.Fatal(err)
	}
	b, ok := readLedger(t, rows).Build("car")
	if !ok {
		t.Fatal("no build")
	}
	o, err := build.Compare(f, b)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func walked(o *build.Outcome) string {
	var lines []string
	for _, s := range o.Walk {
		lines = append(lines, fmt.Sprintf("%s %s %s %s", s.Name, s.Expected, s.Actual, s.Difference()))
	}
	return strings.Join(lines, "\n")
}

// Worked on paper. Expected: 2,000 and fees 300 + 50; nose s 500 + 20 x 30; tail c
// 40 + 30; test 55; 2 + 5 + 21 / 10 + 3 = 12.1 days at 10 and at 0.01 % a day of
// 2,350; sale 80 % of 10,000; selling 100. Actual: 600 + 22 x 30; roof 80 + 2 x 30;
// 30 days.
func TestWalkOnPaper(t *testing.T) {
	o := paperOutcome(t, false, paperLedger)
	want := `hammer price -2,000.00 -2,000.00 0.00
fees and transport -350.00 -350.00 0.00
structural repair -1,100.00 -1,260.00 -160.00
cosmetic repair -70.00 -140.00 -70.00
overhead, tests and extras -55.00 -70.00 -15.00
time -123.84 -307.05 -183.21
sale price 8,000.00 8,200.00 200.00
selling -100.00 -90.00 10.00`
	if got := walked(o); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if o.MarginExpected != 420116 || o.MarginActual != 398295 || o.Actual != 140000 || o.Hours != 24 || o.Days != 30 {
		t.Errorf("margin %s to %s, repair %s, %v hours, %v days", o.MarginExpected, o.MarginActual, o.Actual, o.Hours, o.Days)
	}
	where := map[string]build.Where{}
	for _, l := range o.Lines {
		where[l.Spot.String()] = l.Where
	}
	if where["nose s"] != build.Above || where["tail c"] != build.Absent || where["roof c"] != build.Unplanned ||
		len(where) != 3 {
		t.Error(where)
	}
	if len(o.Notes) > 0 {
		t.Error(o.Notes)
	}
}

// The same for a registered shop. Owed: a sixth of 8,200 - (2,000 + 300). Taken
// back: a sixth of the 60 paid for carriage, and of the premium nothing; a sixth of half of 600
// + 80 + 70, and of the selling costs of 90.
func TestWalkOfARegisteredShop(t *testing.T) {
	o := paperOutcome(t, true, paperLedger)
	last := o.Walk[len(o.Walk)-1]
	if last.Name != "VAT due and taken back" || last.Actual != -98333+1000+7750 {
		t.Errorf("%s: %s", last.Name, last.Actual)
	}
}

// What the ledger leaves out is counted as expected, and said.
func TestWalkOfABareLedger(t *testing.T) {
	o := paperOutcome(t, false, "car,,nose,s,,leg,500,,done\ncar,,,,,sale,8000,,\n")
	if got := strings.Join(o.Notes, "\n"); !strings.Contains(got,
		"no hammer price in the ledger: the 2,000.00 in the estimate is counted") ||
		!strings.Contains(got, "no hours in the ledger for nose s") ||
		!strings.Contains(got, "no fees or transport in the ledger: counted as expected, 350.00") ||
		!strings.Contains(got, "no dates of purchase and sale in the ledger: time counted as expected, 123.84") ||
		!strings.Contains(got, "no selling costs in the ledger: counted as expected, 100.00") {
		t.Error(got)
	}
	if o.DaysKnown || o.MarginActual != 800000-10000-12384-50000-35000-200000 {
		t.Errorf("margin %s", o.MarginActual)
	}
	f := o.Frozen
	for rows, want := range map[string]string{
		"car,,nose,s,,leg,500,,\n": "it is not finished: the ledger has no row with what = sale",
	} {
		b, _ := readLedger(t, rows).Build("car")
		if _, err := build.Compare(f, b); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// The walk adds up to the penny whatever comes, for shops registered and not.
func TestWalkAddsUp(t *testing.T) {
	for _, registered := range []bool{false, true} {
		workshop := starter(t, func(s *shop.Shop) { s.VATRegistered = registered })
		cars := rebuildable(t, workshop, samples+"sale.csv")
		if testing.Short() {
			cars = cars[:3]
		}
		for _, o := range outcomes(t, newEvaluator(t, workshop, evaluate.Options{Points: 64}), newTruth(t, workshop, 3),
			cars, len(cars), "x") {
			sum := o.MarginExpected
			for _, s := range o.Walk {
				sum += s.Difference()
			}
			if sum != o.MarginActual || o.MarginExpected != o.Frozen.Walk.Total {
				t.Errorf("%s: expected %s (frozen %s), steps lead to %s, actual %s", o.Build.Name, o.MarginExpected,
					o.Frozen.Walk.Total, sum, o.MarginActual)
			}
		}
	}
}

// A shop that knows the truth is honest: its intervals cover what they say, its
// percentiles are uniform, it has no habitual error, and it beats naive rivals.
func TestTheTruthIsCalibrated(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates three hundred builds")
	}
	workshop := starter(t, nil)
	cars := rebuildable(t, workshop, samples+"sale.csv")
	c := calibrated(t, outcomes(t, newEvaluator(t, workshop, evaluate.Options{Points: 1024, Seed: 5}),
		newTruth(t, workshop, 1), cars, 300, "x"))
	for _, x := range c.Coverage {
		if x.Level < x.Low || x.Level > x.High {
			t.Errorf("%.0f %% interval: %.1f %% inside, long run %.1f to %.1f", 100*x.Level, 100*x.Share, 100*x.Low, 100*x.High)
		}
	}
	if c.Uniformity.P < 0.01 || math.Abs(c.Price.Mean) > 0.02 {
		t.Errorf("uniformity %+v, prices %+v", c.Uniformity, c.Price)
	}
	for _, r := range c.Rivals {
		least := 0.02
		if r.Name == build.LastRatio { // which has the estimates' own averages, and spreads them as all builds came out
			least = -0.01
		}
		if !r.Known || r.Skill < least || r.Builds < 290 {
			t.Errorf("%s: skill %.3f on %d builds", r.Name, r.Skill, r.Builds)
		}
	}
	// A right table has no habit: its class ratios were 1.41 and 1.16 where jobs that were found were held against what
	// counts those that were not.
	for _, h := range c.Account.Habits {
		if h.TooFew || h.Fact || math.Abs(math.Log(h.Ratio)) > 0.12 {
			t.Errorf("a right table is said to be off: %+v", h)
		}
	}
	if named := c.Account.Named(); len(named) > 0 {
		t.Errorf("a right table is told of %v; up %+v, down %+v", named, c.Account.Up, c.Account.Down)
	}
}
