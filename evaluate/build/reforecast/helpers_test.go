package reforecast_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func starter(t testing.TB) *shop.Shop {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	return workshop
}

func lot(t testing.TB, code string) *evaluate.Lot {
	t.Helper()
	c, err := damage.Parse(code)
	if err != nil {
		t.Fatal(err)
	}
	return &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: c, Value: 980000, Miles: 40}
}

func forecaster(t testing.TB, workshop *shop.Shop, points int, l *evaluate.Lot) *reforecast.Forecaster {
	t.Helper()
	f, err := reforecast.NewOf(workshop, evaluate.Options{Seed: 1, Points: points}, l, money.Pence(200000))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// cars is how many cars are simulated where a test compares forecasts of the same cars: a quarter in short runs.
func cars(n int) int {
	if testing.Short() {
		return n / 4
	}
	return n
}

func at(zone damage.Zone, class damage.Class) damage.Spot {
	return damage.Spot{Zone: zone, Class: class}
}

func days(n float64) *float64 { return &n }

func csvOf(text string) tabular.Source { return tabular.NewCSV("ledger.csv", strings.NewReader(text)) }

func day(t testing.TB, text string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
