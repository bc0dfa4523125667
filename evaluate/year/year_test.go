package year_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/year"
)

func on(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}

func must(t testing.TB, cars []year.Car, costs []year.Cost, s year.Settings) *year.Year {
	t.Helper()
	if s.SaleEvery == 0 {
		s.SaleEvery = 7
	}
	y, err := year.New(cars, costs, s)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

func car(name, sold string) year.Car {
	return year.Car{
		Name:       name,
		Sold:       on(sold),
		Sale:       6000,
		Margin:     900,
		Expected:   700,
		Wages:      600,
		Hours:      30,
		Time:       300,
		BayDays:    45,
		BayKnown:   true,
		PoundYears: 750,
		MoneyKnown: true,
		OtherVAT:   400,
		Category:   "N",
	}
}

// On paper: two cars of 900 with 30 hours at 20, 45 bay days and 750 pound-years each, one of
// them a year too early; 1,000 drawn and 480 of rent.
func TestYearOnPaper(t *testing.T) {
	costs := []year.Cost{
		{on("2026-03-02"), "wages", 1000},
		{on("2026-02-02"), "rent", 480},
		{on("2024-02-02"), "rent", 999},
	}
	cars := []year.Car{car("a", "2026-03-10"), car("b", "2026-02-10"), car("c", "2025-03-09"), {Name: "d"}}
	y := must(t, cars, costs, year.Settings{})
	if y.From != on("2025-03-11") || y.To != on("2026-03-10") || len(y.Cars) != 2 || y.Outside != 1 ||
		y.Undated != 1 ||
		y.Cars[0].Name != "a" {
		t.Fatalf("%v to %v, %d cars", y.From, y.To, len(y.Cars))
	}
	near(t, "margin", y.Whole.Margin, 1800, 0)
	hour, _ := y.Whole.AnHour()
	near(t, "an hour", hour, 50, 1e-12)
	day, _ := y.Whole.ABayDay()
	near(t, "a bay day", day, 20, 1e-12)
	back, _ := y.Whole.Return()
	near(t, "return", back, 1.2, 1e-12)
	// 1800 + 1200 own hours + 600 holding - 1000 drawn - 480 rent.
	near(t, "profit", y.Profit, 2120, 1e-9)
	near(t, "bay_value", *y.BayValue, 140, 1e-9)
	near(t, "money_value", *y.MoneyValue, 1.2*7/365, 1e-12)
	sum, months := 0.0, 0
	for _, m := range y.Months {
		sum += m.Profit
		months++
	}
	near(t, "profits of the months", sum, y.Profit, 1e-9)
	near(t, "months", float64(months), 13, 0)
	if !y.Paid || !y.HasCosts {
		t.Error("wages or costs are not seen")
	}
}

// Turnover on paper: 6,000 a month from January 2025, but none in April. At the end of each
// month the twelve that end with it are added up: 66,000 first at the end of December 2025.
func TestTurnoverOnPaper(t *testing.T) {
	var cars []year.Car
	for m := range 14 {
		if m != 3 {
			cars = append(cars, car(fmt.Sprint(m), on("2025-01-15").AddDate(0, m, 0).Format(time.DateOnly)))
		}
	}
	y := must(t, cars, nil, year.Settings{Threshold: 65999})
	if got := y.Turnover.Passed.Format(time.DateOnly); got != "2025-12-01" {
		t.Errorf("passed in %s", got)
	}
	if len(y.Turnover.Months) != 12 || y.Turnover.Months[11].Twelve != 66000 || y.Turnover.Months[1].Month != 0 {
		t.Errorf("%+v", y.Turnover.Months)
	}
	if y := must(t, cars, nil, year.Settings{Threshold: 66000}); !y.Turnover.Passed.IsZero() {
		t.Error("what is just the threshold is above it")
	}
	if y := must(t, nil, nil, year.Settings{}); len(y.Cars)+len(y.Months)+len(y.Tables) != 0 {
		t.Error("an empty year is not empty")
	}
	if _, err := year.New(
		nil,
		nil,
		year.Settings{From: on("2026-02-02"), To: on("2026-01-02"), SaleEvery: 7},
	); err == nil {
		t.Error("a year that ends before it begins")
	}
}

// Groups: the good and the poor are told, the few are shown and not advised on; under four
// groups nothing is pooled.
func TestGroups(t *testing.T) {
	var cars []year.Car
	add := func(category string, n int, margin float64) {
		for i := range n {
			c := car(fmt.Sprint(category, i), "2026-03-10")
			c.Category, c.Margin = category, margin+float64(30*(i%5-2))
			cars = append(cars, c)
		}
	}
	add("A", 8, 1500)
	add("B", 8, 900)
	add("C", 8, 300)
	add("D", 3, 1500)
	tables := must(t, cars, nil, year.Settings{}).Tables
	by := map[string]year.Group{}
	for _, g := range tables[0].Groups {
		by[g.Name] = g
	}
	if a, c, d := by["A"], by["C"], by["D"]; !tables[0].Pooled || !a.More() || a.Fewer() || !c.Fewer() || d.More() ||
		d.Enough {
		t.Errorf("%+v", tables[0])
	}
	if a := by["A"]; !(a.Pooled.Mean < a.AnHour) {
		t.Error("the best is not drawn toward the mean")
	}
	near(t, "an hour of A", by["A"].AnHour, (1500*8+float64(-30*2-30+0+30+60-60-30))/240+20, 1e-9)
	if site := tables[len(tables)-1]; site.By != "site" || site.Pooled {
		t.Errorf("one group is pooled: %+v", site)
	}
	few := must(t, cars[:16], nil, year.Settings{}).Tables[0]
	if few.Pooled || few.Groups[0].Pooled != nil || few.Groups[0].More() {
		t.Error("two groups are pooled")
	}
}

// sample reads the twelve sold cars of the repository's samples.
func sample(t testing.TB) []*build.Outcome {
	t.Helper()
	paths, err := filepath.Glob("../../samples/builds/*.json")
	if err != nil || len(paths) == 0 {
		t.Fatal(err, paths)
	}
	text, err := os.ReadFile("../../samples/builds/ledger.csv")
	if err != nil {
		t.Fatal(err)
	}
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(string(text))))
	if err != nil {
		t.Fatal(err)
	}
	var out []*build.Outcome
	for _, path := range paths {
		r, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := build.Read(path, r)
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if err != nil {
			t.Fatal(err)
		}
		if b, ok := l.Build(f.Build); ok {
			if o, err := build.Compare(f, b); err == nil {
				out = append(out, o)
			}
		}
	}
	return out
}

// The margin that is worked out with VAT and without is the review's own where nothing is
// changed, to the pennies that the review rounds line by line.
func TestMarginIsTheReviews(t *testing.T) {
	outcomes := sample(t)
	if len(outcomes) < 10 {
		t.Fatalf("%d sold cars", len(outcomes))
	}
	for _, o := range outcomes {
		lot, err := o.Frozen.Lot()
		if err != nil {
			t.Fatal(err)
		}
		near(t, o.Build.Name, year.MarginWith(o, lot.Deal(o.Frozen.Shop())), o.MarginActual.Pounds(), 0.05)
		c, err := year.Sold(o)
		if err != nil {
			t.Fatal(err)
		}
		if !(c.OtherVAT < c.Margin) || !c.BayKnown || !c.MoneyKnown || c.PoundYears <= 0 || c.Hours <= 0 {
			t.Errorf("%s: %+v", c.Name, c)
		}
	}
}

// A pound tied up for a year is a pound-year: the outlay from the purchase, the rest from its
// rows, to the day of the sale.
func TestMoneyTiedUp(t *testing.T) {
	o := sample(t)[0]
	c, err := year.Sold(o)
	if err != nil {
		t.Fatal(err)
	}
	days := 0.0
	for d := o.Build.Bought; d.Before(o.Build.Sold); d = d.AddDate(0, 0, 1) { // day by day
		for _, e := range o.Build.Entries {
			switch e.Kind {
			case build.HammerEntry, build.FeesEntry, build.TransportEntry:
				days += e.Spend.Pounds()
			case build.ZoneEntry, build.OverheadEntry:
				if !e.Date.After(d) {
					days += e.Spend.Pounds()
				}
			}
		}
	}
	near(t, "pound-years", c.PoundYears, days/365, 0.01)
}

func BenchmarkThreeHundredSold(b *testing.B) {
	var cars []year.Car
	for i := range 300 {
		c := car(fmt.Sprint(i), on("2025-04-01").AddDate(0, 0, i).Format(time.DateOnly))
		c.Category, c.Type, c.Site = fmt.Sprint(i%3), fmt.Sprint(i%7), fmt.Sprint(i%5)
		c.Margin += float64(i*7919%400 - 200)
		cars = append(cars, c)
	}
	for b.Loop() {
		must(b, cars, nil, year.Settings{})
	}
}
