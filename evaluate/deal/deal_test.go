package deal_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

func near(t testing.TB, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

// workshop is a shop with two sites and transport by the mile.
func workshop(t testing.TB, registered bool) *shop.Shop {
	t.Helper()
	rate := money.RateOf(0.2)
	tariff, err := shop.NewTariff([]shop.Band{
		{Site: "Mill", Fee: shop.Premium, Amount: 10000, Percent: money.RateOf(0.1)},
		{Site: "Quay", Fee: shop.Premium, Amount: 30000, Percent: money.RateOf(0.05), VAT: true},
		{Site: "*", Fee: "transport", Amount: 150, VAT: true, Per: shop.PerMile},
	}, rate)
	if err != nil {
		t.Fatal(err)
	}
	return &shop.Shop{Settings: shop.Settings{
		LabourRate: 30, HoldingPerDay: 12, FinanceRate: 0.073, VATRegistered: registered, VATRate: rate, SpendVATShare: 0.75,
		SellFixed: 60, SellPercent: 0.02, SellVAT: true, HoldingVAT: true, CollectDays: 3,
	}, Tariff: tariff}
}

// Worked on paper: 4,000 with VAT on it at Mill, 40 miles away. Fees 100 and a tenth, no
// VAT shown; transport 60 and VAT 12. 600 of spend, 10 hours, 50 days, items 120 gross with
// VAT in them, sold for 9,000.
func TestMarginOnPaper(t *testing.T) {
	car := deal.Car{Spend: 600, Hours: 10, Days: 50, ForSale: 20, Items: 120, Sale: 9000}
	buy := shop.Purchase{Site: "Mill", Miles: 40, Days: 3}
	for _, x := range []struct {
		name             string
		registered, plus bool
		items            float64
		want             float64
	}{
		// 9000 - 180 - 60 - 600 - 300 - 600 - 120 - 4572 (1 + 0.0002 x 50)
		{"not registered, margin", false, false, 120, 9000 - 180 - 60 - 600 - 300 - 600 - 120 - 4572*1.01},
		{"not registered, plus", false, true, 120, 9000 - 180 - 60 - 600 - 300 - 600 - 120 - 5372*1.01},
		// A sixth back of 240 selling, of three quarters of 600, of 600 holding; 20 of the items;
		// 12 of transport; a sixth due of 9,000 - 4,500, as the premium shows no VAT.
		{"registered, margin", true, false, 100, 9000 - 200 - (600 - 75) - 300 - 500 - 100 - 4572*1.01 + 12 - 750},
		{"registered, plus", true, true, 100, 9000 - 200 - (600 - 75) - 300 - 500 - 100 - 5372*1.01 + 812 - 1500},
	} {
		s := workshop(t, x.registered)
		b := buy
		b.Plus = x.plus
		d := deal.New(s, deal.TermsOf(&s.Settings), b, 400000, 1200000)
		p := d.At(400000)
		c := car
		if c.Items = 120 * d.Item(shop.Charge{VAT: true}); math.Abs(c.Items-x.items) > 1e-9 {
			t.Errorf("%s: items %v, want %v", x.name, c.Items, x.items)
		}
		near(t, x.name, p.Margin(d.Base(c), c.Days, c.Sale), x.want)
		near(t, x.name+", due", p.Due(c.Sale), map[bool]float64{false: map[bool]float64{false: 0, true: 750}[x.registered],
			true: map[bool]float64{false: 0, true: 1500}[x.registered]}[x.plus])
		// A selling bill of 100 in the place of 240.
		near(t, x.name+", sold", d.BaseSold(c, 100)-d.Base(c), 140*(1-d.SellBack))
		// Cash: the outlay, what is paid before the sale, and P80 of the spend; no wages.
		near(t, x.name+", cash", p.Cash(120, 800), p.Outlay+920)
	}
}

// The workings lead to the margin of a car that is certain, line by line, each rounded.
func TestWorkingsLeadToTheMargin(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := workshop(t, rapid.Bool().Draw(rt, "registered"))
		buy := shop.Purchase{Site: "Quay", Miles: float64(rapid.IntRange(0, 200).Draw(rt, "miles")),
			Plus: rapid.Bool().Draw(rt, "plus")}
		d := deal.New(s, deal.TermsOf(&s.Settings), buy, 0, 900000)
		hammer := money.Pence(rapid.IntRange(1, 900000).Draw(rt, "hammer"))
		spend, hours, sale := rapid.Float64Range(0, 3000).Draw(rt, "spend"), rapid.Float64Range(0, 90).Draw(rt,
			"hours"), rapid.Float64Range(0, 9000).Draw(rt, "sale")
		days, forSale := 30.0, 12.0
		item := shop.Charge{Name: "test", Amount: stats.Fixed(54.85), VAT: rapid.Bool().Draw(rt, "vat")}
		w := d.Workings(hammer, deal.Means{
			Days: days, ForSale: forSale, Value: 900000, Price: sale, Above: func(x float64) float64 { return max(0, sale-x) },
			Repairs: []deal.RepairMean{{Spend: spend, Hours: hours}}, Items: []deal.ItemMean{{Charge: item, Mean: 54.85}},
		})
		p := d.At(hammer)
		want := p.Margin(d.Base(deal.Car{Spend: spend, Hours: hours, Days: days, ForSale: forSale,
			Items: 54.85 * d.Item(item), Sale: sale}), days, sale)
		if got := w.Total.Pounds(); math.Abs(got-want) > 0.005*float64(len(w.Steps)) {
			rt.Fatalf("workings lead to %.2f, the margin is %.4f: %+v", got, want, w.Steps)
		}
	})
}

// A lot without a site is charged, at every hammer price, as at the site that is dearest
// at the guide price; without a guide at a fifth of the value; of two as dear at the first
// by name. A private purchase pays what every lot pays.
func TestLotWithoutASite(t *testing.T) {
	s := workshop(t, false)
	terms := deal.TermsOf(&s.Settings)
	// Mill is 100 and 10 %, Quay 360 and 6 %: they cross at 6,500.
	for _, x := range []struct {
		guide, value money.Pence
		want         string
	}{{600000, 9000000, "Quay"}, {700000, 9000000, "Mill"}, {650000, 9000000, "Mill"}, {0, 3000000, "Quay"}, {0, 3500000,
		"Mill"}} {
		d := deal.New(s, terms, shop.Purchase{Miles: 10}, x.guide, x.value)
		if !d.Assumed || d.Buy.Site != x.want {
			t.Errorf("guide %s, value %s: charged as at %q, want %s", x.guide, x.value, d.Buy.Site, x.want)
		}
		named := deal.New(s, terms, shop.Purchase{Site: x.want, Miles: 10}, x.guide, x.value)
		for h := money.Pence(0); h < 2000000; h += 12345 {
			if got, want := d.At(h), named.At(h); got.Outlay != want.Outlay {
				t.Errorf("at %s: %.2f, want %.2f", h, got.Outlay, want.Outlay)
			}
		}
		if named.Assumed {
			t.Error("a named site is assumed")
		}
	}
	d := deal.New(s, terms, shop.Purchase{Site: "None", Miles: 10}, 100000, 900000)
	if p := d.At(100000); d.Assumed || p.Outlay != 1000+15*1.2 {
		t.Errorf("a private purchase at 1,000 costs %.2f", p.Outlay)
	}
}

// What the ledger says stands in the place of what the site charges, part by part, and
// the hammer price is the one called: its VAT follows from the lot.
func TestAtLedger(t *testing.T) {
	s := workshop(t, true)
	d := deal.New(s, deal.TermsOf(&s.Settings), shop.Purchase{Site: "Mill", Miles: 40, Plus: true}, 0, 900000)
	x := func(v float64) *float64 { return &v }
	for _, tt := range []struct {
		name         string
		paid         deal.Paid
		outlay, back float64
	}{
		{"nothing written", deal.Paid{}, 4800 + 500 + 72, 800 + 12},
		{"the hammer", deal.Paid{Hammer: x(3000)}, 3600 + 400 + 72, 600 + 12},
		{"the hammer with VAT", deal.Paid{Hammer: x(4800)}, 4800 + 500 + 72, 800 + 12},
		{"fees", deal.Paid{Hammer: x(4000), Fees: x(520)}, 4800 + 520 + 72, 800 + 12},
		{"transport", deal.Paid{Transport: x(90)}, 4800 + 500 + 90, 800 + 15},
		{"all", deal.Paid{Hammer: x(4000), Fees: x(0), Transport: x(0)}, 4800, 800},
	} {
		p := d.AtLedger(tt.paid, 400000)
		near(t, tt.name, p.Outlay, tt.outlay)
		near(t, tt.name+", VAT", p.OutlayBack, tt.back)
	}
	for row, want := range map[money.Pence]bool{480000: true, 480099: true, 479901: true, 480100: false, 400000: false,
		470000: false} {
		if got := d.WithVAT(row, 400000); got != want {
			t.Errorf("a row of %s with 4,000 frozen: %v, want %v", row, got, want)
		}
	}
	d.Buy.Plus = false
	if d.WithVAT(480000, 400000) {
		t.Error("a lot without VAT on its hammer price is taken for one with it")
	}
}
