package shop_test

import (
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A shop written as texts and read again is the same shop, whatever its settings: each
// number of Settings is set to one that nothing else has.
func TestTextsHoldAllOfAShop(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	same(t, "starter", workshop)

	settings := reflect.ValueOf(&workshop.Settings).Elem()
	for i := range settings.NumField() {
		switch f := settings.Field(i).Addr().Interface().(type) {
		case *float64:
			*f = 0.1 + float64(i)/977
		case *bool:
			*f = true
		case *string:
			*f = "EUR"
		case *money.Rate:
			*f = money.RateOf(0.175)
		case *money.Pence:
			*f = 3300
		case **float64:
			*f = new(0.1 + float64(i)/977)
		case **stats.Amount:
			*f = &stats.Amount{Low: float64(i) / 9, Mid: float64(i) / 8, High: float64(i) / 7}
		case *stats.Amount:
			*f = stats.Amount{Low: float64(i), Mid: float64(i) + 1.25, High: float64(i) + 3.5}
		default:
			t.Fatalf("%s has a type that this test does not know", settings.Type().Field(i).Name)
		}
	}
	workshop.Bays = 3 // whole
	workshop.CarsAtOnce, workshop.WorkDays, workshop.SellOn = 3, 5.5, &stats.Amount{Low: 0.3, Mid: 0.55, High: 0.75}
	workshop.Fixed[0].AfterSale, workshop.Categories[0].Sell, workshop.Inspections[0].Visit = true, 1.3, true
	workshop.Extras = append(workshop.Extras, shop.Extra{
		Charge: shop.Charge{Name: `a "quoted" extra`, Amount: stats.Fixed(1.0 / 3), VAT: true}, Column: "keys", Value: "no", UnknownChance: 1.0 / 7,
		After: []shop.After{{Class: damage.Electrical, Grade: 2, Zone: damage.Nose}},
	})
	workshop.Tariff, err = shop.NewTariff([]shop.Band{
		{Site: "Mill, by the weir", Fee: shop.Premium, Amount: 1001, Percent: money.RateOf(0.033333), VAT: true},
		{Site: "Mill, by the weir", Fee: shop.Premium, From: 123450, Amount: 7},
		{Site: "*", Fee: "storage", Amount: 1200, Per: shop.PerDay, FreeDays: 2.5},
	}, workshop.VATRate)
	if err != nil {
		t.Fatal(err)
	}
	rows := append([]costs.Row{}, workshop.Costs.Rows()...)
	rows[0].Spend.Shape, rows[0].Hours.Shape = stats.PERT, stats.PERT
	rows[1].Basis = "two, with a comma and a \"quote\""
	if workshop.Costs, err = costs.New(rows, workshop.Costs.Rules()); err != nil {
		t.Fatal(err)
	}
	same(t, "changed", workshop)
}

func same(t *testing.T, name string, want *shop.Shop) {
	t.Helper()
	texts, err := want.Texts()
	if err != nil {
		t.Fatal(err)
	}
	got, err := shop.ReadTexts(texts)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	// The order of the files is another than that of the sources.
	got.Sources, want.Sources = nil, nil
	again, err := got.Texts()
	if err != nil {
		t.Fatal(err)
	}
	for i := range texts {
		texts[i].BuiltIn = false
	}
	if diff := cmp.Diff(texts, again); diff != "" {
		t.Errorf("%s: texts of what was read from them differ:\n%s", name, diff)
	}
	if !reflect.DeepEqual(got.Settings, want.Settings) {
		t.Errorf("%s: settings %+v, want %+v", name, got.Settings, want.Settings)
	}
	for what, pair := range map[string][2]any{
		"fixed items": {got.Fixed, want.Fixed}, "extras": {got.Extras, want.Extras}, "segments": {got.Segments, want.Segments},
		"categories": {got.Categories, want.Categories}, "inspections": {got.Inspections, want.Inspections},
		"rows": {got.Costs.Rows(), want.Costs.Rows()}, "rules": {got.Costs.Rules(), want.Costs.Rules()}, "fees": {got.Tariff, want.Tariff},
	} {
		if !reflect.DeepEqual(pair[0], pair[1]) {
			t.Errorf("%s: %s are\n%+v, want\n%+v", name, what, pair[0], pair[1])
		}
	}
}
