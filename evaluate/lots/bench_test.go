package lots_test

import (
	"os"
	"strings"
	"testing"

	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// sampleLots reads the sample sale by the starter shop.
func sampleLots(tb testing.TB, workshop *shop.Shop) []*evaluate.Lot {
	tb.Helper()
	text, err := os.ReadFile("../../samples/sale.csv")
	if err != nil {
		tb.Fatal(err)
	}
	list, err := lots.ReadList(tabular.NewCSV("sale.csv", strings.NewReader(string(text))), workshop, lots.Reading{})
	if err != nil {
		tb.Fatal(err)
	}
	return list.Lots
}

// Reading one row of a lot list and making it a lot.
func BenchmarkLots(b *testing.B) {
	workshop := starter(b)
	text, err := os.ReadFile("../../samples/sale.csv")
	if err != nil {
		b.Fatal(err)
	}
	header, rows, _ := strings.Cut(string(text), "\n")
	list := header + "\n" + strings.Repeat(rows, 50) // a number may stand twice where nothing is ranked
	b.ReportAllocs()
	read := 0
	for b.Loop() {
		list, err := lots.OpenLots(tabular.NewCSV("sale.csv", strings.NewReader(list)), workshop, lots.Reading{})
		if err != nil {
			b.Fatal(err)
		}
		for entry, err := range list.All() {
			if err != nil || len(entry.Problems) > 0 {
				b.Fatal(err, entry.Problems)
			}
			read++
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(read), "ns/lot")
}

// Looking up what the starter's book makes of one lot.
func BenchmarkCase(b *testing.B) {
	workshop := starter(b)
	list := sampleLots(b, workshop)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		lot := list[i%len(list)]
		if _, err := workshop.Costs.Case(lot.Segment, costs.Findings(lot.Code, workshop.SuspectedChance)); err != nil {
			b.Fatal(err)
		}
	}
}

// One lot of the sample sale with everything warm: what a long list costs.
func BenchmarkEvaluate(b *testing.B) {
	workshop := starter(b)
	list := sampleLots(b, workshop)
	e, err := evaluate.New(workshop, evaluate.Options{Seed: 1, Workers: 1})
	if err != nil {
		b.Fatal(err)
	}
	bench := e.Worker()
	for _, lot := range list {
		if _, err := bench.Evaluate(lot); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := bench.Evaluate(list[i%len(list)]); err != nil {
			b.Fatal(err)
		}
	}
}

// Reading the shop and making the worlds: what every command costs once.
func BenchmarkStart(b *testing.B) {
	for b.Loop() {
		workshop := starter(b)
		e, err := evaluate.New(workshop, evaluate.Options{Seed: 1, Workers: 1})
		if err != nil {
			b.Fatal(err)
		}
		for _, lot := range sampleLots(b, workshop) {
			if _, err := e.Evaluate(lot); err != nil {
				b.Fatal(err)
			}
		}
	}
}
