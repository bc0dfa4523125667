package prices

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"
)

// manyRows are adverts and uncoded results of many models, from a fixed seed.
func manyRows(adverts, results, models int) ([]Advert, []Result) {
	rng := rand.New(rand.NewPCG(1, 2))
	today := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	segments := []string{"city", "family", "executive", "prestige"}
	price := func(k, year int, miles float64) float64 {
		return math.Exp(8.6 + float64(k%17)/16 - 0.12*float64(2026-year-6) - 0.03*(miles/10000-5) + 0.08*rng.NormFloat64())
	}
	car := func() (k, year int, miles float64) {
		return rng.IntN(models), 2010 + rng.IntN(15), math.Round(20000 + 90000*rng.Float64())
	}
	var a []Advert
	for i := range adverts {
		k, year, miles := car()
		last := today.AddDate(0, 0, -rng.IntN(300))
		marked := []string{"no", "no", "no", "N", "S", "yes"}[rng.IntN(6)]
		a = append(a, Advert{Line: i + 2, Make: fmt.Sprintf("Maker%d", k%40), Model: fmt.Sprintf("Model%d", k),
			Segment: segments[k%4],
			Year:    year, Miles: miles, Asked: math.Round(1.04 * price(k, year, miles)), Marked: marked,
			FirstSeen: last.AddDate(0, 0, -rng.IntN(40)), LastSeen: last})
	}
	var r []Result
	for i := range results {
		k, year, miles := car()
		value := math.Round(price(k, year, miles))
		x := Result{Line: i + 2, Number: fmt.Sprint(i), Hammer: math.Round(0.33 * value * math.Exp(0.25*rng.NormFloat64()))}
		x.Lot = Lot{Make: fmt.Sprintf("Maker%d", k%40), Model: fmt.Sprintf("Model%d", k), Segment: segments[k%4], Year: year,
			Miles: Some(miles), Category: []string{"N", "S"}[rng.IntN(2)], Value: value, Site: fmt.Sprintf("Site %d",
				rng.IntN(12)),
			SaleDate: today.AddDate(0, 0, -rng.IntN(700))}
		if rng.IntN(2) == 0 {
			x.Guide = math.Round(0.34 * value * math.Exp(0.2*rng.NormFloat64()))
		}
		if rng.IntN(10) == 0 {
			x.Value = 0
		}
		r = append(r, x)
	}
	return a, r
}

// 20,000 adverts of 1,000 models and 20,000 results are to be fitted within 200 MB, and 2 seconds, which is only logged:
// aims of our own.
func TestTwentyThousandRowsAreFitted(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	a, r := manyRows(20000, 20000, 1000)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	start := time.Now()
	m, err := Fit(a, r, nil, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	t.Logf("%v, %d rounds, %d MB allocated, %d MB from the system", took, m.market.rounds,
		(after.TotalAlloc-before.TotalAlloc)>>20, after.Sys>>20)
	if after.Sys > 400<<20 {
		t.Errorf("%d MB from the system", after.Sys>>20)
	}
}

// What one lot costs once the model is fitted: value, marker, price, chance, gain over 200 steps.
func BenchmarkLot(b *testing.B) {
	a, r := manyRows(500, 500, 20)
	s := fixtureSettings()
	m, err := Fit(a, r, nil, s)
	if err != nil {
		b.Fatal(err)
	}
	l := r[3].Lot
	b.ReportAllocs()
	for b.Loop() {
		v, err := m.Value(&l)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := m.Marker(l.Category, l.Segment); err != nil {
			b.Fatal(err)
		}
		p, err := m.Price(&l)
		if err != nil {
			b.Fatal(err)
		}
		c := m.Selection(v.Mean, 800, 1e5, &p)
		p.WinChance(2500)
		p.ExpectedGain(func(h float64) float64 { return c.Corrected(h, 4000-1.1*h) }, 5000, 25)
	}
}
