package evaluate_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// aged draws an uncertain shop and lot in which type and age count, marks may be misread,
// something is quoted and wear is charged.
var aged = rapid.Custom(func(t *rapid.T) priced {
	d := uncertain.Draw(t, "uncertain")
	rows := slices.Clone(d.shop.Costs.Rows())
	for i := range rows {
		rows[i].Common = rapid.SampledFrom([]float64{0, 0.3, 1}).Draw(t, "common")
	}
	// A grade beside a seen one needs its row.
	for _, c := range damage.Classes() {
		for g := damage.Grade(1); g.Valid(); g++ {
			scale := float64(g) * 200
			rows = append(rows, costs.Row{Item: damage.Item{Spot: damage.Spot{Class: c}, Grade: g}, Any: true, Common: 0.5,
				Spend: stats.Amount{Low: scale / 2, Mid: scale, High: 2 * scale}, Hours: stats.Amount{Low: scale / 80,
					Mid: scale / 50, High: scale / 25},
				LeadDays: float64(rapid.IntRange(0, 12).Draw(t, "any lead")), Builds: 4, Basis: "test"})
		}
	}
	var err error
	if d.shop.Costs, err = costs.New(rows, d.shop.Costs.Rules()); err != nil {
		t.Fatal(err)
	}
	classes := func() (k [damage.ClassCount]float64) {
		for c := range k {
			k[c] = rapid.Float64Range(0.4, 2.5).Draw(t, "k")
		}
		return k
	}
	d.shop.Segments[0].Classes = classes()
	d.shop.Ages = []shop.Age{{Multipliers: shop.Multipliers{Classes: classes(), Hours: 1.1}},
		{From: 6, Multipliers: shop.Multipliers{Classes: classes(), Hours: 0.8}}}
	for c := range d.shop.CodingUp {
		d.shop.CodingUp[c], d.shop.CodingDown[c] = rapid.Float64Range(0, 0.3).Draw(t, "up"), rapid.Float64Range(0,
			0.3).Draw(t, "down")
	}
	d.shop.Extras = append(d.shop.Extras,
		shop.Extra{Charge: shop.Charge{Name: "tyres", Amount: stats.Amount{Low: 25, Mid: 90, High: 280}}, Wear: true,
			OdometerFrom: 30000, Scaled: true, Scale: damage.Mechanical},
		shop.Extra{Charge: shop.Charge{Name: "tyres", Amount: stats.Amount{Low: 90, Mid: 230, High: 580}}, Wear: true,
			OdometerFrom: 70000, AgeFrom: 6},
		shop.Extra{Charge: shop.Charge{Name: "radar", Amount: stats.Amount{Low: 6, Mid: 14, High: 30}, VAT: true},
			YearFrom: 2014, Scaled: true, Scale: damage.Electrical,
			After: []shop.After{{Class: damage.Cosmetic, Grade: 3, Zone: damage.Nose}}})
	d.lot.Year, d.lot.SaleYear, d.lot.Odometer = rapid.SampledFrom([]int{0, 2010, 2019, 2025}).Draw(t,
		"year"), 2026, rapid.SampledFrom([]int{0, 40000, 120000}).Draw(t, "odometer")
	d.lot.CodedFrom = rapid.SampledFrom([]evaluate.Coded{"", evaluate.FromPhotos, evaluate.FromWords,
		evaluate.FromSeen}).Draw(t, "coded from")
	if rapid.Bool().Draw(t, "quoted") {
		marks := slices.DeleteFunc(d.lot.Code.Marks(), func(m damage.Mark) bool { return m.State == damage.Absent })
		m := marks[rapid.IntRange(0, len(marks)-1).Draw(t, "mark")]
		d.lot.Quotes = []evaluate.Quote{{Item: m.Item, Spend: 450, Hours: 3, HasHours: rapid.Bool().Draw(t, "hours")}}
	}
	return d
})

// Both engines agree where type and age count, marks may be misread and jobs are quoted.
func TestCarsAgainstWorlds(t *testing.T) {
	if testing.Short() {
		t.Skip("draws 65,536 worlds, as the short runs of reckoning and stopping do")
	}
	for seed := range draws(8, 1) {
		agree(t, seed, aged.Example(seed), 0.03)
	}
}

// Keys that say what holds without them change no figure, to the last bit.
func TestNeutralKeysChangeNothing(t *testing.T) {
	for seed := range draws(12, 4) {
		d := uncertain.Example(seed)
		_, want := d.judge(t, evaluate.Options{})
		neutral := *d.shop
		ones := shop.Multipliers{Hours: 1}
		for c := range ones.Classes {
			ones.Classes[c] = 1
		}
		neutral.Ages = []shop.Age{{Multipliers: ones}, {From: 5, Multipliers: ones}}
		neutral.Segments = slices.Clone(neutral.Segments)
		s := &neutral.Segments[0]
		for c := range s.Classes {
			s.Classes[c] = s.Spend
		}
		s.Sell = 1
		neutral.Evidence.MilesAYear = shop.DefaultMilesAYear
		lot := *d.lot
		lot.Year, lot.SaleYear, lot.CodedFrom = 2012, 2026, evaluate.FromWords
		for _, points := range []int{0, 1024} {
			if points > 0 {
				_, want = d.judge(t, evaluate.Options{Points: points})
			}
			_, got := priced{&neutral, &lot}.judge(t, evaluate.Options{Points: points})
			got.Lot, got.Priced = want.Lot, want.Priced // which say that the keys are there
			if !reflect.DeepEqual(got, want) {
				t.Errorf("seed %d, %d worlds:\n%+v\nwithout the keys\n%+v", seed, points, got, want)
			}
		}
	}
}

// What one certain job of a car costs, by hand: spend times 1 + parts (k - 1), hours times
// their k, k segment times age; or the quote, whatever the car (METHOD.md 5).
func TestOneJobByHand(t *testing.T) {
	d := uncertain.Example(0)
	row := costs.Row{Item: itemOf("tail c2"), Spend: stats.Fixed(400), Common: 0.8, Hours: stats.Fixed(10), LeadDays: 3,
		Builds: 4, Basis: "test"}
	b, err := costs.New([]costs.Row{row}, nil)
	if err != nil {
		t.Fatal(err)
	}
	s := *d.shop
	s.Costs, s.Extras, s.LabourRate = b, nil, 30
	s.Segments = []shop.Segment{{Name: "family", Spend: 2, Hours: 1.2, ValueSpread: 0.1,
		Classes: [damage.ClassCount]float64{damage.Cosmetic: 1.5}}}
	age := shop.Multipliers{Classes: [damage.ClassCount]float64{1, 0.6, 1, 1, 1}, Hours: 0.9}
	s.Ages = []shop.Age{{Multipliers: shop.Multipliers{Classes: [damage.ClassCount]float64{1, 1, 1, 1, 1}, Hours: 1}},
		{From: 10, Multipliers: age}}
	lot := *d.lot
	if lot.Code, err = damage.Parse("tail c2"); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		year          int
		quotes        []evaluate.Quote
		repair, hours float64
	}{
		{2012, nil, 400*(1+0.2*(1.5*0.6-1)) + 30*10*1.2*0.9, 10 * 1.2 * 0.9},
		{2020, nil, 400*(1+0.2*(1.5-1)) + 30*10*1.2, 12},
		{0, nil, 400*(1+0.2*(1.5-1)) + 30*10*1.2, 12}, // no year: age counts for nothing
		{2012, []evaluate.Quote{{Item: row.Item, Spend: 620}}, 620 + 30*10*1.2*0.9, 10 * 1.2 * 0.9},
		{2012, []evaluate.Quote{{Item: row.Item, Spend: 620, Hours: 1.5, HasHours: true}}, 620 + 30*1.5, 1.5},
		{2012, []evaluate.Quote{{Item: row.Item, Spend: 620, HasHours: true}}, 620, 0},
	} {
		lot.Year, lot.SaleYear, lot.Quotes = tt.year, 2026, tt.quotes
		for _, points := range []int{0, 256} {
			_, r := priced{&s, &lot}.judge(t, evaluate.Options{Points: points})
			sameAs(t, "repair", r.Repair.Mean, tt.repair)
			sameAs(t, "repair P90", r.Repair.P90, tt.repair)
			sameAs(t, "hours", r.Hours.Mean, tt.hours)
		}
	}
}

func sameAs(t *testing.T, what string, got, want float64) {
	t.Helper()
	if d := got - want; d > 1e-6*max(1, want) || d < -1e-6*max(1, want) {
		t.Errorf("%s is %.8g, want %.8g", what, got, want)
	}
}

// Of wear with one name the last that is reached counts; both odometer and age must be; a
// car without a year counts as six years old, one without a reading as 8,000 miles a year.
func TestWear(t *testing.T) {
	d := uncertain.Example(0)
	s := *d.shop
	wear := func(amount, miles float64, age int) shop.Extra {
		return shop.Extra{Charge: shop.Charge{Name: "tyres", Amount: stats.Fixed(amount)}, Wear: true, OdometerFrom: miles,
			AgeFrom: age}
	}
	s.Extras = []shop.Extra{wear(100, 30000, 0), wear(250, 70000, 6),
		{Charge: shop.Charge{Name: "belt", Amount: stats.Fixed(7)}, Wear: true, AgeFrom: 7},
		{Charge: shop.Charge{Name: "radar", Amount: stats.Fixed(1000)}, YearFrom: 2014}}
	for _, tt := range []struct {
		year, odometer int
		want           float64
		note           string
	}{
		{2023, 29999, 1000, ""}, {2023, 30000, 1100, ""}, {2023, 90000, 1100, ""}, {2020, 70000, 1250, ""},
		{2013, 10000, 7, ""}, {2013, 0, 257, "no odometer reading: 104,000 miles are assumed"},
		{0, 0, 1100, "wear is taken as for a car 6 years old with 48,000 miles"}, {0, 80000, 1250, "6 years old"},
	} {
		lot := *d.lot
		lot.Year, lot.SaleYear, lot.Odometer = tt.year, 2026, tt.odometer
		e, r := priced{&s, &lot}.judge(t, evaluate.Options{})
		walk, err := e.Workings(&lot, lot.Guide)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, l := range walk.Steps {
			if slices.Contains([]string{"tyres", "belt", "radar"}, l.Name) {
				sum -= l.Amount.Pounds()
			}
		}
		sameAs(t, "wear", sum, tt.want)
		notes := ""
		for _, w := range r.Warnings {
			if w.Kind == "age" || w.Kind == "odometer" {
				notes += w.Text
			}
		}
		if !strings.Contains(notes, tt.note) || tt.note == "" && notes != "" {
			t.Errorf("%+v: the footnote is %q", tt, notes)
		}
	}
}

// METHOD.md 6.1: chances of a misread mark are those of photographs, times 1.5 where the
// code was written from words and 0.3 where somebody saw the car, at most 0.95.
func TestWhatACodeWasWrittenFrom(t *testing.T) {
	for from, want := range map[evaluate.Coded]float64{
		"": 1, evaluate.FromPhotos: 1, evaluate.FromWords: 1.5, evaluate.FromSeen: 0.3,
	} {
		if got := from.Times(); got != want {
			t.Errorf("from %q: times %v, want %v", from, got, want)
		}
	}
}
