package evaluate_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// uncertain draws a shop in which all that can vary does, and a lot with seen,
// suspected, absent and hidden damage.
var uncertain = rapid.Custom(func(t *rapid.T) priced {
	three := func(name string, scale float64) stats.Amount {
		mid := rapid.Float64Range(0.3, 1).Draw(t, name) * scale
		down := mid * rapid.Float64Range(0.2, 0.7).Draw(t, name)
		return stats.Amount{Low: mid - down, Mid: mid, High: mid + down*rapid.Float64Range(0.7, 3).Draw(t, name)}
	}
	maybe := func(name string, x float64) float64 {
		return rapid.SampledFrom([]float64{0, x, x}).Draw(t, name)
	}
	var rows []costs.Row
	for _, x := range []struct {
		at    string
		scale float64
	}{{"nose s1", 300}, {"nose s2", 900}, {"nose s3", 2000}, {"nose c2", 500}, {"nose c3", 1000}, {"bay m1",
		350}, {"bay m3", 1500}, {"cabin r2", 900}, {"cabin r3", 1700}, {"under e2", 600}, {"tail c2", 450}} {
		rows = append(rows, costs.Row{Item: itemOf(x.at), Spend: three("spend", x.scale), Hours: three("hours", x.scale/60),
			LeadDays: float64(rapid.IntRange(1, 15).Draw(t, "lead")), Builds: 4, Basis: "test"})
	}
	var rules []costs.Rule
	for _, x := range [][2]string{{"nose s2", "bay m1"}, {"nose c3", "bay m1"}, {"nose s3", "bay m3"},
		{"nose s2", "nose s3"}, {"nose c2", "nose s1"}, {"cabin r2", "cabin r3"}, {"bay m1", "under e2"}} {
		rules = append(rules, costs.Rule{When: itemOf(x[0]), Then: itemOf(x[1]), Chance: rapid.Float64Range(0.05,
			0.7).Draw(t, "chance"), Seen: 4, Why: "test"})
	}
	b, err := costs.New(rows, rules)
	if err != nil {
		t.Fatal(err)
	}
	link := rapid.SampledFrom([]float64{0, 0.2, 0.25, 0.25, 0.9}).Draw(t, "severity link")
	workshop := &shop.Shop{
		Settings: shop.Settings{
			LabourRate: 32, HoursPerDay: 6, CollectDays: 3, FinishDays: 4, StripDays: maybe("strip", 2),
			HoldingPerDay: maybe("holding", 12), FinanceRate: maybe("finance", 0.09),
			LeadSpread: stats.Amount{Low: 0.8, Mid: 1, High: 2.5}, GuideSpread: stats.Fixed(1),
			VATRegistered: rapid.Bool().Draw(t, "registered"), VATRate: 200000, SpendVATShare: 0.6,
			SellFixed: 80, SellPercent: maybe("percent", 0.02), SellVAT: rapid.Bool().Draw(t,
				"sell vat"), HoldingVAT: rapid.Bool().Draw(t, "holding vat"),
			TargetMargin: rapid.Float64Range(-300, 1200).Draw(t, "target"), TargetReturn: rapid.Float64Range(0, 0.3).Draw(t,
				"return"),
			LossLimit: rapid.Float64Range(0.02, 0.4).Draw(t, "loss limit"), Cash: maybe("cash", 6500), BidStep: 2500,
			SeverityLink: link, HiddenLink: rapid.SampledFrom([]float64{0, 0.2, link}).Draw(t,
				"hidden link"), SuspectedChance: 0.4, CostBias: 0.1,
		},
		Fixed: []shop.Charge{{Name: "test", Amount: stats.Fixed(54.85)}, {Name: "consumables", Amount: three("fixed", 150),
			VAT: true}},
		Costs: b,
		Segments: []shop.Segment{{Name: "family", Spend: rapid.Float64Range(0.8, 1.5).Draw(t, "spend"),
			Hours:       rapid.Float64Range(0.8, 1.3).Draw(t, "hours"),
			ValueSpread: rapid.SampledFrom([]float64{0.05, 0.1, 0.15}).Draw(t, "value spread")}},
		Categories: []shop.Category{{Name: "N", Rebuild: true, Builds: 3, Share: stats.Amount{Low: 0.12, Mid: 0.2,
			High: 0.33}}},
	}
	if rapid.Bool().Draw(t, "sell days") {
		workshop.SellDays = stats.Amount{Low: 7, Mid: 21, High: 55}
	}
	if rapid.IntRange(0, 3).Draw(t, "certain share") == 0 {
		workshop.Categories[0].Share = stats.Fixed(0.22)
	}
	after, err := shop.ParseAfter(rapid.SampledFrom([]string{"r", "s2", "bay m1", "nose c2"}).Draw(t, "after"))
	if err != nil {
		t.Fatal(err)
	}
	workshop.Extras = []shop.Extra{
		{Charge: shop.Charge{Name: "keys", Amount: three("keys", 250), VAT: true}, Column: "keys", Value: "no",
			UnknownChance: 0.3},
		{Charge: shop.Charge{Name: "geometry", Amount: three("geometry", 180)}, After: []shop.After{after}},
		{Charge: shop.Charge{Name: "battery", Amount: three("battery", 120)}, Column: "start", Value: "no",
			UnknownChance: 0.4, After: []shop.After{after}},
	}
	if workshop.Tariff, err = shop.NewTariff([]shop.Band{
		{Site: "Mill", Fee: shop.Premium, Amount: 15000, Percent: 50000, VAT: rapid.Bool().Draw(t, "premium vat")},
		{Site: "Mill", Fee: shop.Premium, From: 250000, Amount: 20000, Percent: 50000, VAT: true},
		{Site: "*", Fee: "carriage", Amount: 120, Per: shop.PerMile, VAT: true},
	}, workshop.VATRate); err != nil {
		t.Fatal(err)
	}
	lot := &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Site: "Mill", Miles: 40,
		Plus: rapid.Bool().Draw(t, "plus"),
		Value: money.Pence(rapid.IntRange(6000, 14000).Draw(t,
			"value")) * 100, Cells: map[string]string{"keys": rapid.SampledFrom([]string{"no", "yes", ""}).Draw(t, "keys")}}
	lot.Guide = lot.Value * money.Pence(rapid.IntRange(15, 35).Draw(t, "guide")) / 100
	if lot.Code, err = damage.Parse(rapid.SampledFrom([]string{
		"nose c3 s2; cabin r2", "nose c2 s1 s2?60; cabin r2?", "nose c3 s2 s3?20; bay m1?; tail c2",
		"nose c2 c3? s1 s2?30 s3?10; cabin r2?25 r3?10",
		"tail c2", "tail c2?80", "nose s2; bay m1-; cabin r2 r3-", "nose c3; bay m3?15; under e2?30",
	}).Draw(t, "code")); err != nil {
		t.Fatal(err)
	}
	return priced{workshop, lot}
})

type priced struct {
	shop *shop.Shop
	lot  *evaluate.Lot
}

func itemOf(text string) damage.Item {
	c, err := damage.Parse(text)
	if err != nil {
		panic(err)
	}
	return c.Marks()[0].Item
}

func (d priced) judge(t testing.TB, opt evaluate.Options) (*evaluate.Evaluator, *evaluate.Result) {
	t.Helper()
	e, err := evaluate.New(d.shop, opt)
	if err != nil {
		t.Fatal(err)
	}
	r, err := e.Evaluate(d.lot)
	if err != nil {
		t.Fatal(err)
	}
	return e, r
}

var deals = flag.Int("deals", 1, "try so many times as many random deals")

// draws is how many random deals are tried.
func draws(many, few int) int {
	if testing.Short() {
		return few
	}
	return *deals * many
}

// What is worked out without drawing anything against 65,536 worlds, which know nothing of
// transforms. The worlds' own error is within the tolerances too: from one seed to another
// their means scatter by 0.3 %.
func TestReckoningAgainstWorlds(t *testing.T) {
	for seed := range draws(12, 1) {
		agree(t, seed, uncertain.Example(seed), 0.03)
	}
}

// The same of cars that need not be finished, whose prices fade and whose days a calendar
// knows.
func TestStoppingAgainstWorlds(t *testing.T) {
	for seed := range draws(6, 1) {
		agree(t, seed, stoppable(seed), 0.03) // the standard deviation over the worlds is out by as much, finished or not
	}
}

// stoppable is a random deal of a car that need not be finished.
func stoppable(seed int) priced {
	d := uncertain.Example(seed)
	s := &d.shop.Settings
	s.CarsAtOnce, s.WorkDays, s.Fade, s.HoldingForSale =
		float64(1+seed%3), float64(5+seed%3), 0.01*float64(seed%4), new(4.0)
	s.SellOn, s.StripHours, s.StripError = &stats.Amount{Low: 0.3, Mid: 0.5, High: 0.7}, 12, []float64{0.25, 0, 0.5,
		1}[seed%4]
	d.shop.Categories[0].Sell, d.shop.Segments[0].Sell = 1.9, 0.9
	d.shop.Fixed[1].AfterSale = true
	if seed%3 == 1 {
		d.lot.PartsValue = &stats.Amount{Low: 400, Mid: 700, High: 1100}
	}
	return d
}

// agree compares both ways of working out a deal; sdRoom is for the margin's standard deviation.
func agree(t *testing.T, seed int, d priced, sdRoom float64) {
	t.Helper()
	e, got := d.judge(t, evaluate.Options{})
	if e.Drawn() != 0 {
		t.Fatalf("seed %d: %d worlds were drawn", seed, e.Drawn())
	}
	_, want := d.judge(t, evaluate.Options{Points: 1 << 16, Seed: 7})
	s := &d.shop.Settings
	name := fmt.Sprintf("%d: %s, links %g %g, registered %v, plus %v: ", seed, d.lot.Code, s.SeverityLink, s.HiddenLink,
		s.VATRegistered, d.lot.Plus)
	off := func(what string, got, want, tolerance float64) {
		t.Helper()
		if math.IsNaN(got) || math.Abs(got-want) > tolerance {
			t.Errorf("%s%s = %.6g, want %.6g within %.3g (off by %.2f of it)", name, what, got, want, tolerance,
				math.Abs(got-want)/tolerance)
		}
	}
	m, w := got.Margin, want.Margin
	off("mean margin", m.Mean, w.Mean, 0.006*w.SD)
	off("sd of the margin", m.SD, w.SD, sdRoom*w.SD)
	off("margin P10", m.P10, w.P10, 0.06*w.SD)
	off("margin P50", m.P50, w.P50, 0.06*w.SD)
	off("margin P90", m.P90, w.P90, 0.06*w.SD)
	off("shortfall", m.Shortfall, w.Shortfall, 0.08*w.SD)
	off("chance of a loss", m.LossChance, w.LossChance, 0.02)
	off("chance of a loss, finished", m.LossFinished, w.LossFinished, 0.02)
	off("chance of a loss, stopping", m.LossStopping, w.LossStopping, 0.02)
	off("chance of stopping", m.Stopped, w.Stopped, 0.01)
	off("margin if VAT were the other way round", got.MarginOtherVAT, want.MarginOtherVAT, 0.006*w.SD)
	off("bay days", got.BayDays, want.BayDays, 0.005*want.BayDays)
	off("an hour", got.AnHour, want.AnHour, 0.01*w.SD/max(1, want.Hours.Mean)+0.01*s.LabourRate)
	off("outlay", got.Outlay.Pounds(), want.Outlay.Pounds(), 0)
	off("highest bid", got.HighestBid.Pounds(), want.HighestBid.Pounds(), max(4*s.BidStep.Pounds(),
		0.01*d.lot.Value.Pounds()))
	off("mean days", got.Days.Mean, want.Days.Mean, 0.005*want.Days.Mean)
	off("days P10", got.Days.P10, want.Days.P10, 0.03*want.Days.P10)
	off("days P50", got.Days.P50, want.Days.P50, 0.015*want.Days.P50)
	off("days P90", got.Days.P90, want.Days.P90, 0.015*want.Days.P90)
	off("mean hours", got.Hours.Mean, want.Hours.Mean, 0.005*want.Hours.Mean)
	off("hours P90", got.Hours.P90, want.Hours.P90, 0.02*want.Hours.P90)
	off("mean repair", got.Repair.Mean, want.Repair.Mean, 0.005*want.Repair.Mean)
	off("sd of the repair", got.Repair.SD, want.Repair.SD, 0.02*want.Repair.SD)
	off("repair P80", got.Repair.P80, want.Repair.P80, 0.015*want.Repair.P80)
	off("repair P90", got.Repair.P90, want.Repair.P90, 0.015*want.Repair.P90)
	off("confidence", got.Repair.CIHigh, want.Repair.CIHigh, 0.01*want.Repair.CIHigh)
	off("resale", got.Resale.Mean, want.Resale.Mean, 0.001*want.Resale.Mean)
	off("resale P10", got.Resale.P10, want.Resale.P10, 0.003*want.Resale.P10)
	off("resale P90", got.Resale.P90, want.Resale.P90, 0.003*want.Resale.P90)
	if len(got.Hidden) != len(want.Hidden) {
		t.Fatalf("%s%d hidden items, want %d", name, len(got.Hidden), len(want.Hidden))
	}
	for i, h := range got.Hidden {
		off(h.Item.String()+" occurs", h.Chance, want.Hidden[i].Chance, 0.003)
		off(h.Item.String()+" costs", h.MeanCost, want.Hidden[i].MeanCost, 0.08*want.Repair.SD)
	}
}

// A walk, the zones and an assessment's figures are those of the result.
func TestStudyOfAReckoning(t *testing.T) {
	for seed := range draws(40, 8) {
		d := uncertain.Example(100 + seed)
		e, r := d.judge(t, evaluate.Options{})
		s, err := e.Assess(d.lot)
		if err != nil {
			t.Fatal(err)
		}
		walk, err := e.Workings(d.lot, d.lot.Guide)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range []*deal.Workings{walk, s.Workings(d.lot.Guide)} {
			if got := w.Total.Pounds(); math.Abs(got-r.Margin.Mean) > 0.01*float64(len(w.Steps)) {
				t.Errorf("seed %d: the walk ends at %.2f, the mean margin is %.4f", seed, got, r.Margin.Mean)
			}
		}
		if at := s.Along([]money.Pence{d.lot.Guide})[0]; at.Margin != r.Margin {
			t.Errorf("seed %d: at the guide price %+v, the result's %+v", seed, at.Margin, r.Margin)
		}
		if bid, limit := s.HighestBid(); bid != r.HighestBid || limit != r.BidLimit {
			t.Errorf("seed %d: highest bid %s by %s, the result's %s by %s", seed, bid, limit, r.HighestBid, r.BidLimit)
		}
		total := 0.0
		for _, z := range s.Zones() {
			total += z.Total()
		}
		if math.Abs(total-r.Repair.Mean) > 1e-6*r.Repair.Mean {
			t.Errorf("seed %d: the zones add up to %.6f, the mean repair is %.6f", seed, total, r.Repair.Mean)
		}
		repair, whole := s.Repair(), r.Repair
		if whole.CILow, whole.CIHigh = 0, 0; repair != whole {
			t.Errorf("seed %d: repair %+v, the result's %+v", seed, repair, whole)
		}
		for i, q := range s.RepairCurve(10) {
			for share, want := range map[int]float64{1: r.Repair.P10, 5: r.Repair.P50, 8: r.Repair.P80, 9: r.Repair.P90} {
				if i == share && math.Abs(q.Amount-want) > 0.05*r.Repair.SD {
					t.Errorf("seed %d: the curve at %g is %.1f, the result's quantile %.1f", seed, q.Share, q.Amount, want)
				}
			}
		}
	}
}

// A registered shop owes a sixth of the mean of max(0, S - b), for a lognormal S a call's
// value at no interest: S N(d1) - b N(d2) (Black and Scholes 1973). What else differs from
// the shop that is not registered: the premium's VAT, 20, and a sixth of half the spend.
func TestMarginSchemeInClosedForm(t *testing.T) {
	const v, resale = 0.15, 8000.0
	for _, guide := range []money.Pence{200000, 700000, 780000, 900000} {
		workshop, l := paper(t), lot(t, "nose c3; bay m1-")
		workshop.Segments[0].ValueSpread = v
		l.Guide = guide
		_, plain := priced{workshop, l}.judge(t, evaluate.Options{})
		workshop.VATRegistered = true
		_, got := priced{workshop, l}.judge(t, evaluate.Options{})
		b := guide.Pounds()
		d1 := (math.Log(resale/b) + v*v/2) / v
		due := (resale*distuv.UnitNormal.CDF(d1) - b*distuv.UnitNormal.CDF(d1-v)) / 6
		if want := plain.Margin.Mean + 20 + 500.0/6 - due; math.Abs(got.Margin.Mean-want) > 0.1 {
			t.Errorf("bought at %s: mean margin %.3f, want %.3f", guide, got.Margin.Mean, want)
		}
	}
}

// The figures on paper hold without worlds as with them.
func TestALotOnPaperWithoutWorlds(t *testing.T) {
	_, r := priced{paper(t), lot(t, "nose c3; bay m1-")}.judge(t, evaluate.Options{})
	near(t, "repair", r.Repair.Mean, 1300)
	near(t, "P95", r.Repair.P95, 1300)
	near(t, "hours", r.Hours.P90, 10)
	near(t, "days", r.Days.Mean, 13)
	near(t, "resale", r.Resale.P10, 8000)
	near(t, "margin", r.Margin.Mean, 4239.508)
	near(t, "shortfall", r.Margin.Shortfall, 4239.508)
	if r.HighestBid != 540000 || r.BidLimit != bid.MarginLimit {
		t.Errorf("highest bid %s by %s, want 5,400.00 by margin", r.HighestBid, r.BidLimit)
	}
	_, r = priced{paper(t), lot(t, "nose c3")}.judge(t, evaluate.Options{})
	near(t, "repair", r.Repair.Mean, 1437.5)
	near(t, "days", r.Days.Mean, 16.875)
	near(t, "chance", r.Hidden[0].Chance, 0.25)
	near(t, "mean cost", r.Hidden[0].MeanCost, 550)
	near(t, "margin", r.Margin.Mean, 8000-100-2170-1437.5-168.75-2170*0.073*16.875/365-54.85)
	near(t, "confidence", r.Repair.CIHigh-r.Repair.Mean, 1.96*550*math.Sqrt(0.25*0.75/4))
}

// Links that the nodes cannot follow, and doubtful triggers in too many ways, fall back on
// worlds.
func TestFallsBackOnWorlds(t *testing.T) {
	d := uncertain.Example(1)
	d.shop.SeverityLink = 0.97
	e, r := d.judge(t, evaluate.Options{})
	if e.Drawn() != evaluate.DefaultPoints || r.Repair.Mean <= 0 {
		t.Errorf("%d worlds, mean repair %v", e.Drawn(), r.Repair.Mean)
	}

	workshop, l := paper(t), lot(t, "none")
	then := itemOf("whole e2")
	rows := []costs.Row{{Item: then, Spend: stats.Fixed(1000), Builds: 1, Basis: "test"}}
	var rules []costs.Rule
	var marks []damage.Mark
	for i := range 10 {
		x := damage.Item{Spot: damage.Spot{Zone: damage.Zone(i), Class: damage.Mechanical}, Grade: 2}
		rows = append(rows, costs.Row{Item: x, Spend: stats.Fixed(100), Builds: 1, Basis: "test"})
		rules = append(rules, costs.Rule{When: x, Then: then, Chance: 0.2, Seen: 1, Why: "test"})
		marks = append(marks, damage.Mark{Item: x, State: damage.Suspected, Percent: 50})
	}
	var err error
	if workshop.Costs, err = costs.New(rows, rules); err != nil {
		t.Fatal(err)
	}
	if l.Code, err = damage.NewCode(marks...); err != nil {
		t.Fatal(err)
	}
	e, r = priced{workshop, l}.judge(t, evaluate.Options{})
	// By hand: ten at 100 in half of worlds, and a miss of each with 0.5 + 0.5 x 0.8.
	want := 10*0.5*100 + 1000*(1-math.Pow(0.9, 10))
	if e.Drawn() != 0 || math.Abs(r.Repair.Mean-want) > 0.01*want {
		t.Errorf("mean repair %v, want %v", r.Repair.Mean, want)
	}
	s, err := e.Assess(l)
	if err != nil {
		t.Fatal(err)
	}
	if at := s.Along([]money.Pence{l.Guide})[0]; at.Margin != r.Margin {
		t.Errorf("the assessment's margin %+v, the result's %+v", at.Margin, r.Margin)
	}
}

// A nearly certain car: its repair is normal with a standard deviation of 30, finer than the detail that transforms of
// 5,000 have.
func TestANearlyCertainCar(t *testing.T) {
	workshop, l := paper(t), lot(t, "nose c3")
	row := workshop.Costs.Rows()[0]
	row.Spend, row.Hours = stats.Amount{Low: 5000 - stats.Z90*30, Mid: 5000, High: 5000 + stats.Z90*30}, stats.Fixed(0)
	var err error
	if workshop.Costs, err = costs.New([]costs.Row{row}, nil); err != nil {
		t.Fatal(err)
	}
	_, r := priced{workshop, l}.judge(t, evaluate.Options{})
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"repair P10", r.Repair.P10, 5000 - stats.Z90*30}, {"repair P50", r.Repair.P50, 5000}, {"repair P90", r.Repair.P90,
			5000 + stats.Z90*30},
		{"margin sd", r.Margin.SD, 30},
	} {
		if math.Abs(x.got-x.want) > 3 {
			t.Errorf("%s = %.2f, want %.2f within 3", x.what, x.got, x.want)
		}
	}
}

// Of a certain car the margin varies by what the days to sell cost, and these take as many times as long as the
// category and the segment say.
func TestDaysToSellThatCost(t *testing.T) {
	workshop, l := paper(t), lot(t, "nose c3")
	row := workshop.Costs.Rows()[0]
	row.Spend, row.Hours = stats.Fixed(1000), stats.Fixed(0)
	var err error
	if workshop.Costs, err = costs.New([]costs.Row{row}, nil); err != nil {
		t.Fatal(err)
	}
	workshop.SellDays, workshop.HoldingForSale = stats.Amount{Low: 10, Mid: 20, High: 30}, new(40.0)
	workshop.Categories[0].Sell, workshop.Segments[0].Sell = 1.9, 0.9
	_, r := priced{workshop, l}.judge(t, evaluate.Options{})
	// An amount whose middle is halfway is normal, with 1.2816 standard deviations to either end (any table).
	if want := 40 * 1.9 * 0.9 * 10 / 1.2816; math.Abs(r.Margin.SD-want) > 0.01*want {
		t.Errorf("the margin's standard deviation is %.1f, want %.1f", r.Margin.SD, want)
	}
}

// That the hours of lead times which are seldom the longest are taken at their mean moves no quantile of the days by a
// thousandth.
func TestSeldomTheLongest(t *testing.T) {
	e, err := evaluate.New(starter(t), evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for _, text := range []string{"nose c2", "front-off s2; under e1?", "rear-near c3? s2 s3?", "nose c3 s1?; cabin r2?20",
		"tail s2; bay m1?", "nose c3 s2? e1?10; bay m1?; cabin r2?5 r3?5; under e2?10 m1?; tail c2? s1?10"} {
		l := lot(t, text)
		l.Site = starterSite(t)
		days := func() evaluate.Spread {
			r, err := e.Evaluate(l)
			if err != nil {
				t.Fatal(err)
			}
			return r.Days
		}
		got := days()
		back := evaluate.Seldom(0)
		want := days()
		back()
		for _, x := range [][2]float64{{got.P10, want.P10}, {got.P50, want.P50}, {got.P90, want.P90}} {
			off := math.Abs(x[0] - x[1])
			if worst = max(worst, off); off > 1e-3*x[1] {
				t.Errorf("%s: %.3f days, want %.3f", text, x[0], x[1])
			}
		}
	}
	if worst == 0 {
		t.Error("no pair of lead times is seldom the longest")
	}
}

// Neither workers nor order nor what else is in the list changes a result, to the last
// digit.
func TestReckoningsDependOnTheLotAlone(t *testing.T) {
	workshop := uncertain.Example(4).shop
	var lots []*evaluate.Lot
	for seed := range 24 {
		lots = append(lots, uncertain.Example(seed).lot)
	}
	all := func(workers int, lots []*evaluate.Lot) []*evaluate.Result {
		e, err := evaluate.New(workshop, evaluate.Options{Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		results, errs, err := e.All(context.Background(), lots, nil)
		if err != nil || slices.ContainsFunc(errs, func(err error) bool { return err != nil }) {
			t.Fatal(err, errs)
		}
		return results
	}
	backwards := slices.Clone(lots)
	slices.Reverse(backwards)
	one, four, reversed := all(1, lots), all(4, lots), all(3, backwards)
	for i := range lots {
		alone := all(1, lots[i:i+1])[0]
		for _, other := range []*evaluate.Result{four[i], reversed[len(lots)-1-i], alone} {
			if !reflect.DeepEqual(one[i], other) {
				t.Fatalf("lot %d: %+v and %+v", i, one[i], other)
			}
		}
	}
}

// Where an hour costs little beside the days it takes, the margin has the shape of the hours.
func TestHoursThatCostDays(t *testing.T) {
	for i, x := range []struct{ rate, day, hours float64 }{{0, 12, 2}, {32, 12, 6}, {0, 12, 1}, {5, 25, 2}, {0, 12, 6}} {
		if i >= draws(5, 1) {
			break
		}
		workshop, l := paper(t), lot(t, "nose c3")
		row := workshop.Costs.Rows()[0]
		row.Spend, row.Hours = stats.Amount{Low: 900, Mid: 1000, High: 1100}, stats.Amount{Low: 20, Mid: 60, High: 300}
		var err error
		if workshop.Costs, err = costs.New([]costs.Row{row}, nil); err != nil {
			t.Fatal(err)
		}
		workshop.LabourRate, workshop.HoldingPerDay, workshop.HoursPerDay = x.rate, x.day, x.hours
		_, got := priced{workshop, l}.judge(t, evaluate.Options{})
		_, want := priced{workshop, l}.judge(t, evaluate.Options{Points: 1 << 16})
		for _, y := range [][2]float64{{got.Margin.P10, want.Margin.P10}, {got.Margin.P50, want.Margin.P50},
			{got.Margin.P90, want.Margin.P90}, {got.Margin.Shortfall, want.Margin.Shortfall}} {
			if math.Abs(y[0]-y[1]) > 0.05*want.Margin.SD {
				t.Errorf("%+v: %.1f, want %.1f (sd %.0f)", x, y[0], y[1], want.Margin.SD)
			}
		}
	}
}

// An extra after damage that is certain varies no more than one after none.
func TestAnExtraAfterCertainDamage(t *testing.T) {
	for _, after := range []string{"", "c2"} {
		if testing.Short() && after == "" {
			continue
		}
		workshop, l := paper(t), lot(t, "nose c3; bay m1-")
		x := shop.Extra{Charge: shop.Charge{Name: "battery", Amount: stats.Amount{Low: 600, Mid: 1000, High: 1400}},
			Column: "start", Value: "no", UnknownChance: 0.4}
		if after != "" {
			a, err := shop.ParseAfter(after)
			if err != nil {
				t.Fatal(err)
			}
			x.After = []shop.After{a}
		}
		workshop.Extras = []shop.Extra{x}
		_, got := priced{workshop, l}.judge(t, evaluate.Options{})
		_, want := priced{workshop, l}.judge(t, evaluate.Options{Points: 1 << 16})
		for _, y := range [][2]float64{{got.Margin.P10, want.Margin.P10}, {got.Margin.P50, want.Margin.P50},
			{got.Margin.P90, want.Margin.P90}, {got.Margin.Shortfall, want.Margin.Shortfall}, {got.Margin.SD, want.Margin.SD}} {
			if math.Abs(y[0]-y[1]) > 0.05*want.Margin.SD {
				t.Errorf("after %q: %.1f, want %.1f", after, y[0], y[1])
			}
		}
	}
}
