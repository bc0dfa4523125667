package shop_test

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
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
		case *[damage.ClassCount]float64:
			for c := range f {
				f[c] = 0.01 + float64(i*c)/1977
			}
		case *shop.Evidence:
			*f = shop.Evidence{AdvertHalflife: 91.5, ResultHalflife: 300, ListingShare: 0.4, ShareSpread: prices.Points{0.5,
				0.9, 1.7},
				RivalGap: prices.Normal{Mean: 0.11, SD: 0.04}, MilesAYear: 7900, Selection: [3]float64{-50, 0.75, 0.25},
				MarginSpread: prices.Some(0.07), UsualMargin: prices.Some(-20)}
		case *time.Time:
			*f = time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC)
		default:
			t.Fatalf("%s has a type that this test does not know", settings.Type().Field(i).Name)
		}
	}
	workshop.Bays = 3 // whole
	workshop.CarsAtOnce, workshop.WorkDays, workshop.SellOn = 3, 5.5, &stats.Amount{Low: 0.3, Mid: 0.55, High: 0.75}
	workshop.Fixed[0].AfterSale, workshop.Categories[0].Sell, workshop.Inspections[0].Visit = true, 1.3, true
	workshop.Extras = append(workshop.Extras, shop.Extra{
		Charge: shop.Charge{Name: `a "quoted" extra`, Amount: stats.Fixed(1.0 / 3),
			VAT: true}, Column: "keys", Value: "no", UnknownChance: 1.0 / 7,
		After: []shop.After{{Class: damage.Electrical, Grade: 2, Zone: damage.Nose}},
	})
	workshop.Extras = append(workshop.Extras,
		shop.Extra{Charge: shop.Charge{Name: "worn", Amount: stats.Fixed(90)}, Wear: true, OdometerFrom: 30000, Scaled: true,
			Scale: damage.Mechanical},
		shop.Extra{Charge: shop.Charge{Name: "worn", Amount: stats.Fixed(190)}, Wear: true, OdometerFrom: 70000, AgeFrom: 6},
		shop.Extra{Charge: shop.Charge{Name: "radar", Amount: stats.Fixed(9)}, YearFrom: 2014,
			After: []shop.After{{Class: damage.Electrical, Grade: 2, AnyZone: true}}})
	workshop.Ages = []shop.Age{
		{Multipliers: shop.Multipliers{Classes: [damage.ClassCount]float64{1.3, 1.6, 1.3, 1.2, 1.9}, Hours: 1.1},
			Note: "new, \"dear\""},
		{From: 4, Multipliers: shop.Multipliers{Classes: [damage.ClassCount]float64{1, 1, 1, 1, 1}, Hours: 1}},
	}
	workshop.Segments[0].Classes, workshop.Segments[0].Sell = [damage.ClassCount]float64{0.8, 0, 0.7}, 1.0/7
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
	rows[2].Common, rows[3].Common = 0.85, 1
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
		"fixed items": {got.Fixed, want.Fixed}, "extras": {got.Extras, want.Extras}, "segments": {got.Segments,
			want.Segments},
		"categories": {got.Categories, want.Categories}, "inspections": {got.Inspections, want.Inspections},
		"rows": {got.Costs.Rows(), want.Costs.Rows()}, "rules": {got.Costs.Rules(), want.Costs.Rules()}, "fees": {got.Tariff,
			want.Tariff},
	} {
		if !reflect.DeepEqual(pair[0], pair[1]) {
			t.Errorf("%s: %s are\n%+v, want\n%+v", name, what, pair[0], pair[1])
		}
	}
}

// What learning writes is kept to the last digit, and rows keep the day of their prices.
func TestTextsKeepWhatIsLearned(t *testing.T) {
	s, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	s.CodingUp, s.CodingDown = [damage.ClassCount]float64{0.1, 0.07, 1.0 / 3, 0, 0.08}, [damage.ClassCount]float64{0, 0.06}
	s.SellOn, s.HoldingForSale = nil, nil // pointers, which are never equal
	s.Inflation, s.CostsAsOf = 0.0371, time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	rows := slices.Clone(s.Costs.Rows())
	rows[1].Priced = time.Date(2025, 12, 31, 0, 0, 0, 0, time.UTC)
	if s.Costs, err = costs.New(rows, s.Costs.Rules()); err != nil {
		t.Fatal(err)
	}
	texts, err := s.Texts()
	if err != nil {
		t.Fatal(err)
	}
	got, err := shop.ReadTexts(texts)
	if err != nil {
		t.Fatal(err)
	}
	if got.Settings != s.Settings || !got.Costs.Rows()[1].Priced.Equal(rows[1].Priced) ||
		!got.Costs.Rows()[0].Priced.IsZero() {
		t.Errorf("got %+v\nwant %+v", got.Settings, s.Settings)
	}
}

// At 3 % a year, 100 pounds of parts are 100 exp(0.03 x 1) a year later; own hours do not grow.
func TestCostsGrowWithTheYears(t *testing.T) {
	s, _, _, err := shop.Read("")
	if err != nil {
		t.Fatal(err)
	}
	priced := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	s.Inflation, s.CostsAsOf = 0.03, priced
	later := priced.Add(time.Duration(365.25 * 24 * float64(time.Hour)))
	grown, err := s.At(later)
	if err != nil {
		t.Fatal(err)
	}
	before, after := s.Costs.Rows()[0], grown.Costs.Rows()[0]
	if got, want := after.Spend.Mid/before.Spend.Mid, math.Exp(0.03); math.Abs(got-want) > 1e-12 ||
		after.Hours != before.Hours {
		t.Errorf("grown by %v, want %v; hours %v, %v", got, want, before.Hours, after.Hours)
	}
	if again, err := grown.At(later); err != nil || again != grown {
		t.Errorf("grown twice: %v", err)
	}
	s.CostsAsOf = time.Time{}
	if same, err := s.At(later); err != nil || same != s {
		t.Errorf("grown with no date of prices: %v", err)
	}
}

func TestLearnableSettingsAreRead(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"coding_up = 0.1", ""},
		{"coding_up = { s = 0.1, c = 0.07 }", ""},
		{"[coding_up]\ns = 0.1", ""},
		{"costs_as_of = 2026-04-01", ""},
		{`costs_as_of = "2026-04-01"`, ""},
		{`costs_as_of = "April"`, "is not a date"},
		{"coding_up = { x = 0.1 }", "is not a class"},
		{"coding_up = 10", "10 is not a share between 0 and 1; did you mean 0.1?"},
		{"coding_up = 0.6\ncoding_down = 0.5", "add up to 1 or more"},
		{"inflation = 3", "3 is out of range; write a number from -0.5 to 0.5"},
	} {
		dir := t.TempDir()
		write(t, dir, map[string]string{"shop.toml": tt.text + "\n"})
		_, problems, _, err := shop.Read(dir)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, p := range problems {
			text += p.Error() + "\n"
		}
		if tt.want == "" && text != "" || !strings.Contains(text, tt.want) {
			t.Errorf("%s: %q, want %q", tt.text, text, tt.want)
		}
	}
}
