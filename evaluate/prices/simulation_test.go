package prices_test

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
)

// The worlds here are made by package invented, not by the models that they test. Bounds were set before the tests
// were run, from simulations of a second implementation in Python: METHOD.md 15.35.

const z90 = 1.2815515655446004

// A tally counts forecasts.
type tally struct{ n, inside, crps, fixedInside, fixed float64 }

func (s *tally) add(crps, fixed float64, inside, fixedInside bool) {
	s.n++
	s.crps += crps
	s.fixed += fixed
	if inside {
		s.inside++
	}
	if fixedInside {
		s.fixedInside++
	}
}

func seeded(a, b uint64) *rand.Rand { return rand.New(rand.NewPCG(a, b)) }

func fit(t *testing.T, adverts []prices.Advert, results []prices.Result, builds []prices.Build,
	s prices.Settings) *prices.Model {
	t.Helper()
	m, err := prices.Fit(adverts, results, builds, s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func price(t *testing.T, m *prices.Model, l *prices.Lot) prices.Price {
	t.Helper()
	p, err := m.Price(l)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Log hammer prices of auctions among five rivals, from 0, 20, 100 and 500 results, against the fixed factor.
func TestHammerPricesAreForetold(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	s := invented.Settings()
	for _, guided := range []bool{true, false} {
		for _, c := range []struct {
			results, shops   int
			low, high        float64 // share inside 8 in 10
			guided, unguided float64 // CRPS over the fixed factor's, by the second implementation
		}{{0, 40, 0.55, 0.86, 0.97, 1.00}, {20, 40, 0.62, 0.88, 0.90, 0.92}, {100, 25, 0.74, 0.86, 0.82, 0.87}, {500,
			8, 0.74, 0.86, 0.79, 0.83}} {
			rng, got := seeded(3, uint64(c.results)), tally{}
			empty := fit(t, nil, nil, nil, s)
			for range c.shops {
				sales := invented.FiveRivals.Sales(rng, c.results+25)
				m := fit(t, nil, invented.Results(sales[:c.results]), nil, s)
				for i := c.results; i < len(sales); i++ {
					l := invented.Ahead(&sales[i])
					y := math.Log(sales[i].Hammer)
					location, scale, df := math.Log(l.Guide), 0.5*math.Log(1.35/0.75)/z90, 300.0
					if !guided {
						l.Guide = 0
						q := price(t, empty, &l)
						location, scale, df = q.Location-q.Gap, q.Scale, q.DF
					}
					p := price(t, m, &l)
					in := func(location, scale, df float64) bool {
						return math.Abs(y-location)/scale < distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(0.9)
					}
					got.add(prices.CRPST(y, p.Location-p.Gap, p.Scale, p.DF), prices.CRPST(y, location, scale, df),
						in(p.Location-p.Gap, p.Scale, p.DF), in(location, scale, df))
				}
			}
			ratio, share := got.crps/got.fixed, got.inside/got.n
			want := c.unguided
			if guided {
				want = c.guided
			}
			t.Logf("guide %v, %d results: CRPS %.3f against %.3f (%.2f), %.0f %% inside 8 in 10, fixed %.0f %%", guided,
				c.results,
				got.crps/got.n, got.fixed/got.n, ratio, 100*share, 100*got.fixedInside/got.n)
			if ratio > want+0.05 {
				t.Errorf("guide %v, %d results: %.2f of the fixed factor's score, want %.2f", guided, c.results, ratio, want)
			}
			if share < c.low || share > c.high {
				t.Errorf("guide %v, %d results: %.2f inside 8 in 10", guided, c.results, share)
			}
		}
	}
}

// Chance to win at the guide, from 200 results of which 60 have an own bid.
func TestChanceToWin(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	for _, rivals := range []int{3, 5, 10} {
		rng := seeded(11, uint64(rivals))
		auction := invented.Auction{Rivals: rivals, Apart: 0.15}
		said, truth, n := 0.0, 0.0, 0.0
		for range 20 {
			sales := auction.Sales(rng, 260)
			for i := range sales[:60] {
				r := &sales[i]
				r.Stop = r.Value * (0.9 - 0.27 - 1.15*r.TrueRepair) / 1.1 * math.Exp(0.2*rng.NormFloat64())
				if r.Stop <= 25 {
					r.Stop = 0
					continue
				}
				if r.Won = prices.No; r.Stop > r.Top {
					r.Won, r.Hammer = prices.Yes, r.Top+25
				} else {
					r.Hammer = max(r.Hammer, min(r.Stop, r.Top)+25)
				}
			}
			m := fit(t, nil, invented.Results(sales[:200]), nil, invented.Settings())
			for i := 200; i < len(sales); i++ {
				l := invented.Ahead(&sales[i])
				p := price(t, m, &l)
				said += p.WinChance(l.Guide)
				if l.Guide > sales[i].Top {
					truth++
				}
				n++
			}
		}
		t.Logf("%d rivals: said %.2f, was %.2f", rivals, said/n, truth/n)
		if math.Abs(said-truth)/n > 0.06 {
			t.Errorf("%d rivals: said %.2f, was %.2f", rivals, said/n, truth/n)
		}
	}
}

// Mistyped prices: one in twenty moves a price, or a value, by under 4 per cent (root mean square).
func TestMistypedPricesHardlyMatter(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	rng, sum, n := seeded(9, 1), 0.0, 0.0
	for range 10 {
		sales := invented.FiveRivals.Sales(rng, 115)
		rows := invented.Results(sales[:100])
		a := fit(t, nil, rows, nil, invented.Settings())
		for i := range rows {
			if rng.Float64() < 0.05 {
				rows[i].Hammer = invented.Typo(rng, rows[i].Hammer)
			}
		}
		b := fit(t, nil, rows, nil, invented.Settings())
		for i := 100; i < len(sales); i++ {
			l := invented.Ahead(&sales[i])
			p, q := price(t, a, &l), price(t, b, &l)
			d := q.Location - q.Gap - p.Location + p.Gap
			sum += d * d
			n++
		}
	}
	rms := math.Sqrt(sum / n)
	t.Logf("hammer prices: %.3f", rms)
	if rms > 0.04 {
		t.Errorf("5 %% mistyped hammer prices move the price by %.3f", rms)
	}
}

func TestMistypedAdvertsHardlyMatter(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	rng, sum, n := seeded(9, 2), 0.0, 0.0
	for range 10 {
		market := invented.NewMarket(rng, 4, false)
		var adverts []prices.Advert
		for k, count := range []int{10, 10, 30, 30} {
			adverts = append(adverts, market.Adverts(k, count, 0)...)
		}
		a := fit(t, adverts, nil, nil, invented.Settings())
		for i := range adverts {
			if rng.Float64() < 0.05 {
				adverts[i].Asked = invented.Typo(rng, adverts[i].Asked)
			}
		}
		b := fit(t, adverts, nil, nil, invented.Settings())
		for k := range 4 {
			c := market.Car(k, "N")
			v, err := a.Value(&c.Lot)
			if err != nil {
				t.Fatal(err)
			}
			w, err := b.Value(&c.Lot)
			if err != nil {
				t.Fatal(err)
			}
			sum += (w.Centre - v.Centre) * (w.Centre - v.Centre)
			n++
		}
	}
	rms := math.Sqrt(sum / n)
	t.Logf("values: %.3f", rms)
	if rms > 0.04 {
		t.Errorf("5 %% mistyped adverts move the value by %.3f", rms)
	}
}

// Marked sale prices where markers take nine log points more than the shop thinks and listings are six per cent
// too high, and where the shop is right: CRPS and 8 in 10, today and from evidence.
func TestSalePricesAreForetold(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	for _, off := range []bool{false, true} {
		rng, got := seeded(7, 7), tally{}
		for range 12 {
			market := invented.NewMarket(rng, 6, off)
			adverts := market.OwnSales(8)
			for k, n := range []int{10, 10, 10, 30, 30, 30} {
				adverts = append(adverts, market.Adverts(k, n, 0.05)...)
			}
			s := invented.Settings()
			m := fit(t, adverts, market.PastLots(200), nil, s)
			empty := fit(t, nil, nil, nil, s)
			for i := range 60 {
				c := market.Car(i%6, []string{"N", "S"}[i%2])
				y := math.Log(c.Got)
				var centre, sd [2]float64
				for j, from := range []*prices.Model{m, empty} {
					v, err := from.Value(&c.Lot)
					if err != nil {
						t.Fatal(err)
					}
					k, err := from.Marker(c.Category, c.Segment)
					if err != nil {
						t.Fatal(err)
					}
					centre[j], sd[j] = v.Centre+k.Centre, math.Hypot(v.Spread, k.SD)
				}
				got.add(prices.CRPSLognormal(c.Got, centre[0], sd[0])/c.Got, prices.CRPSLognormal(c.Got, centre[1], sd[1])/c.Got,
					math.Abs(y-centre[0]) < z90*sd[0], math.Abs(y-centre[1]) < z90*sd[1])
			}
		}
		share, ratio := got.inside/got.n, got.crps/got.fixed
		t.Logf("off %v: CRPS %.1f %% against %.1f %% today, %.0f %% inside 8 in 10, today %.0f %%", off, 100*got.crps/got.n,
			100*got.fixed/got.n, 100*share, 100*got.fixedInside/got.n)
		most := 0.90 // 6.6 over 8.2 and over 13.0, and a little
		if off {
			most = 0.60
		}
		if ratio > most {
			t.Errorf("off %v: %.2f of today's score, want at most %.2f", off, ratio, most)
		}
		if share < 0.74 || share > 0.86 {
			t.Errorf("off %v: %.2f inside 8 in 10", off, share)
		}
	}
}

// The best three of fifty: our values are off, our codes are off by a grade one time in seven, guides are what a
// market has set. Without a correction the three promise far more than they make; with it what they promise is
// what they make, and they make no less. How far true margins differ is learned from sixty past lots, by each of
// forty shops anew.
func TestBestThreeOfFifty(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	for _, c := range []struct{ spread, misread float64 }{{0.05, 1.0 / 7}, {0.08, 1.0 / 7}, {0.16, 1.0 / 7}, {0.08, 0}} {
		rng := seeded(50, uint64(1000*c.spread))
		var promised, made, plainPromised, plainMade, learned float64
		const shops, sales = 40, 20
		for range shops {
			var past []prices.SpreadRow
			for range 60 {
				l := drawFiftieth(rng, c.spread, c.misread)
				past = append(past, prices.SpreadRow{Margin: l.seen, Tau: math.Sqrt(l.tau2), Value: l.value})
			}
			s := invented.Settings()
			spread, enough := prices.MarginSpread(past)
			if !enough {
				t.Fatal("too few past lots")
			}
			s.MarginSpread, s.UsualMargin = prices.Some(spread), prices.Some(300)
			m := fit(t, nil, nil, nil, s)
			learned += spread / shops
			for range sales {
				all := make([]fiftieth, 50)
				for i := range all {
					all[i] = drawFiftieth(rng, c.spread, c.misread)
					k := m.Selection(all[i].value, 0, all[i].tau2, nil)
					all[i].corrected = k.Corrected(0, all[i].seen)
				}
				sort.Slice(all, func(i, j int) bool { return all[i].corrected > all[j].corrected })
				for _, l := range all[:3] {
					promised += l.corrected / (shops * sales)
					made += l.truth / (shops * sales)
				}
				sort.Slice(all, func(i, j int) bool { return all[i].seen > all[j].seen })
				for _, l := range all[:3] {
					plainPromised += l.seen / (shops * sales)
					plainMade += l.truth / (shops * sales)
				}
			}
		}
		t.Logf("true margins differ by %.2f, codes off %.2f, learned %.3f: promised %.0f, made %.0f; without %.0f, %.0f",
			c.spread,
			c.misread, learned, promised, made, plainPromised, plainMade)
		if d := promised - made; d < -450 || d > 450 {
			t.Errorf("true margins differ by %.2f: promised %.0f, made %.0f", c.spread, promised, made)
		}
		if made < 0.97*plainMade {
			t.Errorf("true margins differ by %.2f: made %.0f, without %.0f", c.spread, made, plainMade)
		}
	}
}

// A fiftieth is one lot of a sale of fifty at its hammer price: what it makes, what we see of it.
type fiftieth struct{ value, truth, seen, tau2, corrected float64 }

func drawFiftieth(rng *rand.Rand, spread, misread float64) fiftieth {
	value := 8000 * math.Exp(0.45*rng.NormFloat64())
	l := fiftieth{value: value, truth: 300 + spread*value*rng.NormFloat64()}
	const levelVar = 0.5 * 0.08 * 0.08
	sale := 0.75 * value
	l.seen = l.truth + sale*math.Sqrt(levelVar)*rng.NormFloat64()
	spots := make([]prices.Spot, 4)
	for i := range spots {
		at := 0.035 * value * (0.5 + rng.Float64())
		spots[i] = prices.Spot{Costs: [3]float64{at / 2.2, at, at * 2.2}, Up: misread / 2,
			Down: misread / 2 / (1 - misread/2)}
		// The code is as seen; the truth is a grade higher, lower or the same, and our mean cost allows for all three.
		mean := spots[i].Up*at*2.2 + misread/2*at/2.2 + (1-misread)*at
		cost := at
		switch u := rng.Float64(); {
		case u < misread/2:
			cost = at * 2.2
		case u < misread:
			cost = at / 2.2
		}
		l.seen += cost - mean
	}
	l.tau2 = prices.Tau2(1, sale, levelVar, spots)
	return l
}
