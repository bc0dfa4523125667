package money_test

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]money.Pence{
		"1250": 125000, "1,250": 125000, "1250.50": 125050, "1250.5": 125050, "£1,250": 125000, " £ 99.99 ": 9999,
		"$5": 500, "€1,234,567.89": 123456789, "0": 0, "0.01": 1, "-3": -300, "-£3.10": -310, "£-3.10": -310,
	} {
		if got, err := money.Parse(text); err != nil || got != want {
			t.Errorf("Parse(%q) = %d, %v, want %d", text, got, err, want)
		}
	}
	for _, text := range []string{
		"", "12OO", "1,25", "12.5k", "1.250", "1,2500", ",250", "1,,250", "1250.", ".5", "1e5", "NaN", "Inf", "0x10",
		"1 250", "12,50,000", "££5", "--5", "5-", "1,250,00", "99999999999999999999", "+5", "5£",
	} {
		if got, err := money.Parse(text); err == nil {
			t.Errorf("Parse(%q) = %d, want an error", text, got)
		}
	}
}

func TestPrintThenParseIsTheIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := money.Pence(rapid.Int64Range(-int64(money.Max), int64(money.Max)).Draw(t, "pence"))
		if got, err := money.Parse(p.String()); err != nil || got != p {
			t.Fatalf("%d prints %q, reads %d, %v", p, p, got, err)
		}
	})
}

// shopspring/decimal is the exact oracle: half away from zero, on ties too.
func TestSharesRoundHalfAwayFromZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := money.Pence(rapid.Int64Range(-1e10, 1e10).Draw(t, "pence"))
		r := money.Rate(rapid.Int64Range(0, 1e6).Draw(t, "rate"))
		rate := decimal.New(int64(r), -6)
		if want := decimal.NewFromInt(int64(p)).Mul(rate).Round(0).IntPart(); int64(r.Of(p)) != want {
			t.Fatalf("%v of %d is %d, want %d", r, p, r.Of(p), want)
		}
		want := decimal.NewFromInt(int64(p)).Mul(rate).DivRound(rate.Add(decimal.NewFromInt(1)), 0).IntPart()
		if int64(r.Within(p)) != want {
			t.Fatalf("%v within %d is %d, want %d", r, p, r.Within(p), want)
		}
	})
}

func TestParseRate(t *testing.T) {
	for text, want := range map[string]money.Rate{"0.2": 200000, "0": 0, "1": 1e6, ".075": 75000, "0.000001": 1} {
		if got, err := money.ParseRate(text); err != nil || got != want {
			t.Errorf("ParseRate(%q) = %d, %v, want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"", "20%", "1.1", "-0.1", "0.0000001", "1/5", "2e-1", "x"} {
		if got, err := money.ParseRate(text); err == nil {
			t.Errorf("ParseRate(%q) = %d, want an error", text, got)
		}
	}
}

// The worked figures follow the public guidance on the VAT margin scheme
// (gov.uk, VAT on second-hand vehicles): VAT is a sixth of the margin at 20 %;
// bought 1,500, sold 2,000: VAT 83.33.
func TestMarginSchemeWorkedFigures(t *testing.T) {
	rate := money.Rate(200000)
	for _, tt := range []struct {
		source         string
		sold, purchase money.Pence
		want           money.Pence
	}{
		{"gov.uk, published example", 200000, 150000, 8333},
		{"worked from the published rules: hammer 3000 and premium 360 showing no VAT", 650000, 336000, 52333},
		{"worked from the published rules: premium shown with VAT stays out", 650000, 300000, 58333},
	} {
		if got := rate.Within(tt.sold - tt.purchase); got != tt.want {
			t.Errorf("%s: VAT %s, want %s", tt.source, got, tt.want)
		}
	}
}

func tariff(t *testing.T) *shop.Tariff {
	t.Helper()
	tariff, err := shop.NewTariff([]shop.Band{
		{Site: "Mill", Fee: "premium", From: 0, Amount: 5000, VAT: true},
		{Site: "Mill", Fee: "premium", From: 50000, Amount: 12000, Percent: 50000, VAT: true},
		{Site: "Mill", Fee: "storage", Amount: 1500, Per: shop.PerDay, FreeDays: 2, VAT: true},
		{Site: "Mill", Fee: "gate", Amount: 999},
		{Site: "*", Fee: "carriage", Amount: 120, Per: shop.PerMile, VAT: true},
		{Site: "*", Fee: "gate", Amount: 100},
		{Site: "Quay", Fee: "premium", Amount: 36000},
	}, 200000)
	if err != nil {
		t.Fatal(err)
	}
	return tariff
}

func TestOutlayByHand(t *testing.T) {
	// Premium 120 + 5 % of 499.99 would be wrong: below 500 it is 50.00.
	// VAT 10.00; storage 1 day beyond 2 free: 15.00 + 3.00; gate 9.99 without
	// VAT, in place of the 1.00 of every site; carriage 10.5 miles of 1.20:
	// 12.60 + 2.52.
	lot := shop.Purchase{Site: "Mill", Miles: 10.5, Days: 3}
	o := tariff(t).Outlay(49999, lot)
	if want := money.Pence(49999 + 5000 + 1000 + 1500 + 300 + 999 + 1260 + 252); o.Total != want {
		t.Errorf("total %s, want %s", o.Total, want)
	}
	// One penny more: 120 + 25.00 and 29.00 VAT.
	o = tariff(t).Outlay(50000, lot)
	if want := money.Pence(50000 + 14500 + 2900 + 1500 + 300 + 999 + 1260 + 252); o.Total != want ||
		o.PurchasePrice != 50000 {
		t.Errorf("total %s purchase %s, want %s, 500.00", o.Total, o.PurchasePrice, want)
	}
	// VAT on the hammer; the premium shows none and joins the purchase price.
	o = tariff(t).Outlay(300000, shop.Purchase{Site: "Quay", Plus: true})
	if want := money.Pence(300000 + 60000 + 36000 + 100); o.Total != want || o.PurchasePrice != 336000 || o.VAT != 60000 {
		t.Errorf("total %s purchase %s VAT %s, want %s, 3,360.00, 600.00", o.Total, o.PurchasePrice, o.VAT, want)
	}
	// No site: only what applies to every lot.
	if o = tariff(t).Outlay(10000, shop.Purchase{Miles: 10}); o.Total != 10000+1200+240+100 {
		t.Errorf("no site: %s", o.Total)
	}
}

func TestSumIsOutlayAndRisesBetweenSteps(t *testing.T) {
	tf := tariff(t)
	rapid.Check(t, func(t *rapid.T) {
		p := shop.Purchase{
			Site:  rapid.SampledFrom([]string{"", "Mill", "Quay", "*"}).Draw(t, "site"),
			Miles: float64(rapid.IntRange(0, 3000).Draw(t, "miles")) / 10,
			Days:  float64(rapid.IntRange(0, 9).Draw(t, "days")),
			Plus:  rapid.Bool().Draw(t, "plus"),
		}
		h := money.Pence(rapid.Int64Range(0, 100000).Draw(t, "hammer"))
		o := tf.Outlay(h, p)
		total, vat, purchase := tf.Sum(h, p)
		if total != o.Total || vat != o.VAT || purchase != o.PurchasePrice {
			t.Fatalf("Sum %v %v %v, Outlay %+v", total, vat, purchase, o)
		}
		step := false
		for _, s := range tf.Steps(p.Site) {
			step = step || s == h+1
		}
		if next, _, _ := tf.Sum(h+1, p); !step && next < total {
			t.Fatalf("outlay falls from %v to %v after %v", total, next, h)
		}
	})
}

func TestTariffFaults(t *testing.T) {
	for says, bands := range map[string][]shop.Band{
		"must start at 0": {{Site: "Mill", Fee: "premium", From: 100}},
		"two bands start at 50.00": {{Site: "Mill", Fee: "premium"}, {Site: "Mill", Fee: "premium", From: 5000},
			{Site: "Mill", Fee: "premium", From: 5000}},
	} {
		if _, err := shop.NewTariff(bands, 0); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
}
