package evaluate_test

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// paper is a shop in which nothing is uncertain, so that every figure can be
// worked with a calculator.
func paper(t testing.TB, bands ...shop.Band) *shop.Shop {
	t.Helper()
	item := func(text string) damage.Item { return code(t, text).Marks()[0].Item }
	b, err := costs.New([]costs.Row{
		{Item: item("nose c3"), Spend: stats.Fixed(1000), Hours: stats.Fixed(10), LeadDays: 5, Builds: 4, Basis: "test"},
		{Item: item("bay m1"), Spend: stats.Fixed(400), Hours: stats.Fixed(5), LeadDays: 20, Builds: 4, Basis: "test"},
	}, []costs.Rule{{When: item("nose c3"), Then: item("bay m1"), Chance: 0.25, Seen: 3, Why: "test"}})
	if err != nil {
		t.Fatal(err)
	}
	if len(bands) == 0 {
		bands = []shop.Band{
			{Site: "Mill", Fee: "premium", Amount: 10000, VAT: true},
			{Site: "*", Fee: "carriage", Amount: 100, Per: shop.PerMile},
		}
	}
	tariff, err := shop.NewTariff(bands, 200000)
	if err != nil {
		t.Fatal(err)
	}
	return &shop.Shop{
		Settings: shop.Settings{
			LabourRate: 30, HoursPerDay: 10, CollectDays: 3, FinishDays: 4, HoldingPerDay: 10, FinanceRate: 0.073,
			LeadSpread: stats.Fixed(1), GuideSpread: stats.Fixed(1), VATRate: 200000, SpendVATShare: 0.5,
			SellFixed: 100, TargetMargin: 800, TargetReturn: 0.12, LossLimit: 0.2, BidStep: 2500, SuspectedChance: 0.4,
		},
		Fixed:    []shop.Charge{{Name: "roadworthiness test", Amount: stats.Fixed(54.85)}},
		Costs:    b,
		Segments: []shop.Segment{{Name: "family", Spend: 1, Hours: 1}, {Name: "prestige", Spend: 2, Hours: 1.5}},
		Categories: []shop.Category{{Name: "N", Rebuild: true, Share: stats.Fixed(0.2), Builds: 3},
			{Name: "B", Note: "may not return to the road"}},
		Tariff: tariff,
	}
}

func code(t testing.TB, text string) damage.Code {
	t.Helper()
	c, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func lot(t testing.TB, text string) *evaluate.Lot {
	return &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: code(t, text), Value: 1000000,
		Guide: 200000, Site: "Mill", Miles: 50}
}

func judge(t testing.TB, workshop *shop.Shop, l *evaluate.Lot) *evaluate.Result {
	t.Helper()
	e, err := evaluate.New(workshop, evaluate.Options{Points: 1024})
	if err != nil {
		t.Fatal(err)
	}
	r, err := e.Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > 1e-6 {
		t.Errorf("%s = %.6f, want %.6f", what, got, want)
	}
}

// By hand. Resale 10,000 x 0.8 = 8,000. Repair 1,000 + 10 h x 30 = 1,300. Days
// 3 + 5 + 10/10 + 4 = 13. Outlay 2,000 + 100 + 20 VAT + 50 miles x 1 = 2,170.
// Finance 2,170 x 0.073 x 13/365 = 5.642. Margin 8,000 - 100 - 2,170 - 1,300 -
// 130 - 5.642 - 54.85 = 4,239.508.
func TestALotOnPaper(t *testing.T) {
	r := judge(t, paper(t), lot(t, "nose c3; bay m1-"))
	near(t, "repair", r.Repair.Mean, 1300)
	near(t, "P95", r.Repair.P95, 1300)
	near(t, "hours", r.Hours.P90, 10)
	near(t, "days", r.Days.Mean, 13)
	near(t, "resale", r.Resale.P10, 8000)
	near(t, "outlay", r.Outlay.Pounds(), 2170)
	near(t, "margin", r.Margin.Mean, 4239.508)
	near(t, "shortfall", r.Margin.Shortfall, 4239.508)
	// 6,415.15 - 1.0026 outlay must reach 0.12 (outlay + 1,300): the outlay may
	// be 5,575.58, the hammer price 5,405.58, in steps of 25: 5,400.
	if r.HighestBid != 540000 || r.BidLimit != bid.MarginLimit {
		t.Errorf("highest bid %s by %s, want 5,400.00 by margin", r.HighestBid, r.BidLimit)
	}
	if r.Status != bid.Ranked || r.Verdict() != bid.GoAfter {
		t.Errorf("%s, %s", r.Status, r.Verdict())
	}
}

// The hidden item by hand: in a quarter of worlds 400 + 5 h x 30 = 550 more, 5
// more hours and a lead of 20 instead of 5 days: days 3 + 20 + 1.5 + 4 = 28.5.
// Mean repair 1,300 + 137.5; mean days 13 + 15.5/4 = 16.875.
func TestAHiddenItemOnPaper(t *testing.T) {
	r := judge(t, paper(t), lot(t, "nose c3"))
	near(t, "repair", r.Repair.Mean, 1437.5)
	near(t, "sd", r.Repair.SD, 550*math.Sqrt(0.25*0.75))
	near(t, "days", r.Days.Mean, 16.875)
	if len(r.Hidden) != 1 {
		t.Fatalf("hidden: %+v", r.Hidden)
	}
	near(t, "chance", r.Hidden[0].Chance, 0.25)
	near(t, "mean cost", r.Hidden[0].MeanCost, 550)
	near(t, "margin", r.Margin.Mean, 8000-100-2170-1437.5-168.75-2170*0.073*16.875/365-54.85)
	// The rows are certain; the rule's chance is known from 3 builds: the error
	// is 550 sqrt(0.25 x 0.75 / 4).
	near(t, "confidence", r.Repair.CIHigh-r.Repair.Mean, 1.96*550*math.Sqrt(0.25*0.75/4))
}

// A prestige car: spend twice, hours half as many again.
func TestSegmentsMultiply(t *testing.T) {
	l := lot(t, "nose c3; bay m1-")
	l.Segment = "prestige"
	r := judge(t, paper(t), l)
	near(t, "repair", r.Repair.Mean, 2*1000+15*30)
	near(t, "hours", r.Hours.Mean, 15)
	near(t, "days", r.Days.Mean, 3+5+1.5+4)
}

// Registered, on a margin lot, by the published rules of the VAT margin scheme
// (gov.uk): a sixth of sale less purchase price is due; the VAT shown on fees
// and half of the spend's is taken back. The margin of TestALotOnPaper + 20
// (premium's VAT) + 1,000 / 2 / 6 - (8,000 - 2,000) / 6.
func TestRegisteredOnPaper(t *testing.T) {
	workshop := paper(t)
	workshop.VATRegistered = true
	r := judge(t, workshop, lot(t, "nose c3; bay m1-"))
	near(t, "margin scheme", r.Margin.Mean, 4239.508+20+500.0/6-1000)
	near(t, "outlay is shown gross", r.Outlay.Pounds(), 2170)

	// VAT on the hammer, 400, is taken back, and a sixth of the whole sale due.
	// Finance is on the gross outlay of 2,570.
	l := lot(t, "nose c3; bay m1-")
	l.Plus = true
	r = judge(t, workshop, l)
	near(t, "plus lot", r.Margin.Mean, 8000-100-2570-1300-130-2570*0.073*13/365-54.85+400+20+500.0/6-8000.0/6)

	// Not registered: the hammer's VAT is lost, and nothing is due.
	r = judge(t, paper(t), l)
	near(t, "plus lot, not registered", r.Margin.Mean, 8000-100-2570-1300-130-2570*0.073*13/365-54.85)
}

func TestExtras(t *testing.T) {
	workshop := paper(t)
	after, err := shop.ParseAfter("bay m1")
	if err != nil {
		t.Fatal(err)
	}
	workshop.Extras = []shop.Extra{
		{Charge: shop.Charge{Name: "keys", Amount: stats.Fixed(200)}, Column: "keys", Value: "no", UnknownChance: 0.5},
		{Charge: shop.Charge{Name: "regas", Amount: stats.Fixed(80)}, After: []shop.After{after}},
		{Charge: shop.Charge{Name: "report", Amount: stats.Fixed(40)}, Column: "category", Value: "n"},
	}
	base := judge(t, paper(t), lot(t, "nose c3"))
	for _, tt := range []struct {
		keys string
		want float64
	}{
		{"yes", 40 + 20}, {"no", 40 + 20 + 200}, {"", 40 + 20 + 100}, {"Unknown", 40 + 20 + 100},
	} {
		l := lot(t, "nose c3")
		l.Cells = map[string]string{"keys": tt.keys}
		r := judge(t, workshop, l)
		// The regas is charged in the quarter of worlds with bay m1: 20.
		near(t, "extras with keys "+tt.keys, base.Margin.Mean-r.Margin.Mean, tt.want)
	}
}

func TestStatuses(t *testing.T) {
	excluded := lot(t, "")
	excluded.Category = "B"
	if r := judge(t, paper(t), excluded); r.Status != bid.Excluded || r.Reason != "may not return to the road" {
		t.Errorf("category B: %+v", r)
	}
	if r := judge(t, paper(t), lot(t, "")); r.Status != bid.Uncoded {
		t.Errorf("no code: %+v", r)
	}
	if r := judge(t, paper(t), lot(t, "none")); r.Status != bid.Ranked || r.Repair.Mean != 0 {
		t.Errorf("undamaged: %+v", r)
	}
	unpriced := lot(t, "nose c3")
	unpriced.Guide = 0
	if r := judge(t, paper(t), unpriced); r.Status != bid.Unpriced || r.HighestBid == 0 {
		t.Errorf("no guide: %+v", r)
	}
	workshop := paper(t)
	workshop.Categories[0].GuideShare = 0.3
	if r := judge(t, workshop, unpriced); r.Status != bid.Ranked || !r.GuideGuessed || r.Guide != 300000 {
		t.Errorf("guide by the category's share: %+v", r)
	}
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Evaluate(lot(t, "tail s2")); err == nil {
		t.Error("damage without a book row passes")
	}
}

func TestCategoryAgainstCode(t *testing.T) {
	workshop := paper(t)
	rows := slices.Clone(workshop.Costs.Rows())
	for _, text := range []string{"nose s2", "tail c3", "tail s2", "tail s3", "cabin r2", "whole c2"} {
		rows = append(rows, costs.Row{Item: code(t, text).Marks()[0].Item, Spend: stats.Fixed(100), Builds: 4, Basis: "test"})
	}
	var err error
	if workshop.Costs, err = costs.New(rows, nil); err != nil {
		t.Fatal(err)
	}
	workshop.Categories = append(workshop.Categories, shop.Category{Name: "S", Rebuild: true, Share: stats.Fixed(0.3)})
	workshop.UncodedStructure = 0.5
	for _, tt := range []struct {
		category, code, kind string
		repair               float64
	}{
		{"S", "tail c3; cabin r2", "category", 200 + 0.5*100},
		{"S", "tail c3 s2-; nose c3", "category", 100 + 1300 + 0.5*100}, // ruled out in the tail
		{"S", "tail c3 s2?20", "suspected", 100 + 0.2*100},
		{"N", "tail c3 s2", "category", 200},
		{"N", "tail c3", "", 100},
		{"N", "cabin r2", "restraint", 100},
		{"N", "tail c3; whole c2", "whole", 200},
	} {
		l := lot(t, tt.code)
		l.Category = tt.category
		r := judge(t, workshop, l)
		if math.Abs(r.Repair.Mean-tt.repair) > 0.2 {
			t.Errorf("%s %s: repair %v, want %v", tt.category, tt.code, r.Repair.Mean, tt.repair)
		}
		var kinds []string
		for _, w := range r.Warnings {
			kinds = append(kinds, w.Kind)
		}
		if tt.kind == "" && len(kinds) > 0 || tt.kind != "" && !slices.Contains(kinds, tt.kind) {
			t.Errorf("%s %s: warnings %v, want %q", tt.category, tt.code, r.Warnings, tt.kind)
		}
	}
}

// random draws a shop with every uncertainty, and fee bands with steps up and
// down.
func random(t *rapid.T, base *shop.Shop) *shop.Shop {
	workshop := *base
	three := func(name string, scale float64) stats.Amount {
		low := rapid.Float64Range(0, scale).Draw(t, name)
		mid := low + rapid.Float64Range(0.01*scale, scale).Draw(t, name)
		return stats.Amount{Low: low, Mid: mid, High: mid + (mid-low)*rapid.Float64Range(0.5, 3).Draw(t, name)}
	}
	rows := slices.Clone(base.Costs.Rows())
	for i := range rows {
		rows[i].Spend, rows[i].Hours = three("spend", 1500), three("hours", 20)
	}
	var err error
	if workshop.Costs, err = costs.New(rows, base.Costs.Rules()); err != nil {
		t.Fatal(err)
	}
	workshop.Segments = []shop.Segment{{Name: "family", Spend: 1, Hours: 1, ValueSpread: 0.1}}
	workshop.Categories = []shop.Category{{Name: "N", Rebuild: true, Share: stats.Amount{Low: 0.1, Mid: 0.2, High: 0.35}}}
	workshop.VATRegistered = rapid.Bool().Draw(t, "registered")
	workshop.LossLimit = rapid.Float64Range(0, 0.6).Draw(t, "loss limit")
	workshop.TargetMargin = rapid.Float64Range(-500, 2000).Draw(t, "target")
	workshop.TargetReturn = rapid.Float64Range(0, 0.5).Draw(t, "return")
	workshop.Cash = rapid.SampledFrom([]float64{0, 3000, 6000}).Draw(t, "cash")
	workshop.BidStep = money.Pence(rapid.SampledFrom([]int{5000, 10000, 33300}).Draw(t, "step"))
	workshop.SeverityLink, workshop.HiddenLink = 0.3, 0.2
	bands := []shop.Band{{Site: "Mill", Fee: "premium", VAT: rapid.Bool().Draw(t, "vat")}}
	for from := money.Pence(50000); from < 1000000; from += money.Pence(rapid.IntRange(20000, 300000).Draw(t, "from")) {
		bands = append(bands, shop.Band{Site: "Mill", Fee: "premium", From: from,
			Amount: money.Pence(rapid.IntRange(0, 80000).Draw(t, "fee")), Percent: money.Rate(rapid.IntRange(0, 100000).Draw(t,
				"percent"))})
	}
	if workshop.Tariff, err = shop.NewTariff(bands, workshop.VATRate); err != nil {
		t.Fatal(err)
	}
	return &workshop
}

// The search by halves finds what trying every bid in turn finds.
func TestHighestBidIsTheFirstThatFails(t *testing.T) {
	base := paper(t)
	rapid.Check(t, func(t *rapid.T) {
		workshop := random(t, base)
		l := &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Value: 1000000, Site: "Mill",
			Plus: rapid.Bool().Draw(t, "plus")}
		l.Code, _ = damage.Parse("nose c3")
		e, err := evaluate.New(workshop, evaluate.Options{Points: 256})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		want, limit := money.Pence(0), bid.NoLimit
		for h := workshop.BidStep; h <= l.Value; h += workshop.BidStep {
			priced := *l
			priced.Guide = h
			at, err := e.Evaluate(&priced)
			if err != nil {
				t.Fatal(err)
			}
			assessed, err := e.Assess(&priced)
			if err != nil {
				t.Fatal(err)
			}
			if limit = failing(workshop, at, assessed.Cash(h)); limit != bid.NoLimit {
				break
			}
			want = h
		}
		if r.HighestBid != want || r.BidLimit != limit {
			t.Fatalf("highest bid %s by %s, want %s by %s", r.HighestBid, r.BidLimit, want, limit)
		}
	})
}

// failing is the rule of METHOD.md 12.1, read off a result and the cash that
// an assessed says is tied up.
func failing(s *shop.Shop, at *evaluate.Result, cash float64) bid.Limit {
	switch {
	case at.Margin.LossChance > s.LossLimit+1e-12:
		return bid.LossLimit
	case at.Margin.Mean < max(s.TargetMargin, s.TargetReturn*(at.Outlay.Pounds()+at.Repair.Mean))-1e-9:
		return bid.MarginLimit
	case s.Cash > 0 && cash > s.Cash:
		return bid.CashLimit
	}
	return bid.NoLimit
}

// Neither the number of workers nor the order of the lots nor what else is in
// the list changes a result.
func TestResultsDependOnTheLotAlone(t *testing.T) {
	workshop := paper(t)
	codes := []string{"nose c3", "nose c3; bay m1-", "nose c3?", "none", "bay m1", "nose c3?20; bay m1?"}
	var lots []*evaluate.Lot
	for i := range 60 {
		l := lot(t, codes[i%len(codes)])
		l.Number, l.Value = fmt.Sprint(i), money.Pence(500000+10000*i)
		lots = append(lots, l)
	}
	all := func(workers int, lots []*evaluate.Lot) []*evaluate.Result {
		e, err := evaluate.New(workshop, evaluate.Options{Points: 512, Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		results, errs, err := e.All(context.Background(), lots, nil)
		if err != nil || slices.ContainsFunc(errs, func(err error) bool { return err != nil }) {
			t.Fatal(err, errs)
		}
		return results
	}
	one, eight := all(1, lots), all(8, lots)
	backwards := slices.Clone(lots)
	slices.Reverse(backwards)
	reversed := all(3, backwards)
	for i := range lots {
		alone := all(1, lots[i:i+1])[0]
		for _, other := range []*evaluate.Result{eight[i], reversed[len(lots)-1-i], alone} {
			if !reflect.DeepEqual(one[i], other) {
				t.Fatalf("lot %d: %+v and %+v", i, one[i], other)
			}
		}
	}
	evaluate.Rank(one, bid.ByMargin)
	evaluate.Rank(reversed, bid.ByMargin)
	for i := range one {
		if one[i].Lot != reversed[i].Lot || one[i].Rank != reversed[i].Rank {
			t.Fatalf("place %d: lot %s and lot %s", i, one[i].Lot.Number, reversed[i].Lot.Number)
		}
	}
}

// The walk of TestRegisteredOnPaper, line by line; it adds up to the penny, and
// to the mean margin but for one rounding a line.
func TestWalkAddsUp(t *testing.T) {
	workshop := paper(t)
	workshop.VATRegistered = true
	workshop.Fixed[0].VAT = true
	workshop.SellVAT, workshop.HoldingVAT = true, true
	for _, plus := range []bool{false, true} {
		l := lot(t, "nose c3")
		l.Plus = plus
		e, err := evaluate.New(workshop, evaluate.Options{Points: 1024})
		if err != nil {
			t.Fatal(err)
		}
		walk, err := e.Workings(l, l.Guide)
		if err != nil {
			t.Fatal(err)
		}
		var sum, part money.Pence
		for _, s := range walk.Steps {
			if s.Subtotal {
				if s.Amount != part {
					t.Errorf("%s: subtotal %s of lines that add up to %s", s.Name, s.Amount, part)
				}
				part = 0
				continue
			}
			sum += s.Amount
			part += s.Amount
			if s.How == "" && s.Name != "hammer price" {
				t.Errorf("%s does not say how", s.Name)
			}
		}
		if sum != walk.Total {
			t.Errorf("total %s of lines that add up to %s", walk.Total, sum)
		}
		r := judge(t, workshop, l)
		if math.Abs(walk.Total.Pounds()-r.Margin.Mean) > 0.005*float64(len(walk.Steps)) {
			t.Errorf("walk %s, mean margin %.4f", walk.Total, r.Margin.Mean)
		}
	}
}

func TestParseAfter(t *testing.T) {
	for text, want := range map[string]shop.After{
		"s":       {Class: damage.Structural, Grade: 1, AnyZone: true},
		"M2":      {Class: damage.Mechanical, Grade: 2, AnyZone: true},
		"nose e2": {Class: damage.Electrical, Grade: 2, Zone: damage.Nose},
	} {
		if got, err := shop.ParseAfter(text); err != nil || got != want {
			t.Errorf("ParseAfter(%q) = %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "x", "s5", "s22", "bonnet s2", "nose", "nose s 2"} {
		if got, err := shop.ParseAfter(text); err == nil {
			t.Errorf("ParseAfter(%q) = %+v, want an error", text, got)
		}
	}
}

// What is kept of the sale, and what the car is worth, may be nothing: no figure then
// panics, loops or is no number. By hand: repair 1,300 or, in one of four, 1,850, so
// 1,437.50 on average; the margin's mean is drawn and convolved alike.
func TestNothingLeftOfTheSale(t *testing.T) {
	for name, change := range map[string]func(*shop.Shop, *evaluate.Lot){
		"all of it goes in selling": func(s *shop.Shop, _ *evaluate.Lot) { s.SellPercent = 1 },
		"more than that goes with the VAT": func(s *shop.Shop, _ *evaluate.Lot) {
			s.SellPercent, s.VATRegistered = 0.9,
				true
		},
		"a car worth nothing": func(_ *shop.Shop, l *evaluate.Lot) { l.Value = 0 },
	} {
		workshop, l := paper(t), lot(t, "nose c3")
		change(workshop, l)
		e, err := evaluate.New(workshop, evaluate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		want := judge(t, workshop, l)
		near(t, name+": repair", r.Repair.Mean, 1437.5)
		if math.Abs(r.Margin.Mean-want.Margin.Mean) > 0.01 || r.Margin.LossChance < 1-1e-9 ||
			!(r.Margin.P10 < r.Margin.P90 && r.Margin.P90 < 0) {
			t.Errorf("%s: margin %+v, drawn %+v", name, r.Margin, want.Margin)
		}
	}
}
