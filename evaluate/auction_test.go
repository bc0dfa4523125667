package evaluate_test

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/tabular"
)

// bought is what a workshop bought, and what that made.
type bought struct {
	offered, cars             int
	promised, made, tied, bad float64
}

// anHour is what the rivals count an hour of their own work at, pounds, whatever the starter says.
const anHour = 22

// A workshop that follows the starter to the letter, never above a highest bid, buys at least one lot in fifty from
// five
// rivals who count what each car truly costs, and makes its target on average: target_margin a car, and target_return
// of
// the money in it. Guides are by somebody who knows the codes and not the bidders. It holds where the rivals know no
// more
// of what is hidden than the codes tell, and where each of them knows a quarter of it. Where they knew all of it before
// anybody has stripped the car, nobody who goes by codes makes money: that is reported, for the size of what is lost.
// An invented auction; the bounds are the project's own.
func TestAWorkshopThatFollowsTheStarterMakesItsTarget(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	s := starter(t)
	for _, x := range []struct {
		known   float64
		asCoded bool
		sales   int
		holds   bool
	}{{0, false, 80, true}, {0.25, false, 80, true}, {1, false, 20, false}, {0.25, true, 20, false}} {
		b := follow(t, s, x.asCoded, x.known, x.sales)
		n := float64(b.cars)
		t.Logf("rivals know %.2f, as coded %v: %d lots offered, %d bought, one in %.0f; promised %.0f a car, made %.0f, "+
			"%.1f %% of the money in it; %.0f %% at a loss",
			x.known, x.asCoded, b.offered, b.cars, float64(b.offered)/n, b.promised/n, b.made/n, 100*b.made/b.tied, 100*b.bad/n)
		if !x.holds {
			continue
		}
		if b.cars*50 < b.offered {
			t.Errorf("%d of %d lots bought, want one in fifty", b.cars, b.offered)
		}
		if b.made/n < s.TargetMargin || b.made/b.tied < s.TargetReturn {
			t.Errorf("made %.0f a car and %.3f of the money, want %.0f and %.2f", b.made/n, b.made/b.tied, s.TargetMargin,
				s.TargetReturn)
		}
	}
}

// follow bids on the sample's lots in so many auctions, whose cars turn out otherwise each time. known is how much the
// rivals know of what the codes don't tell of the repair.
func follow(t *testing.T, s *shop.Shop, asCoded bool, known float64, sales int) bought {
	t.Helper()
	m, err := prices.Fit(nil, nil, nil, s.PriceSettings(invented.Today))
	if err != nil {
		t.Fatal(err)
	}
	e := evaluatorOf(t, s, evaluate.Options{Prices: m, AsCoded: asCoded})
	theirs := *s
	theirs.LabourRate = anHour
	opt := evaluate.Options{Points: 1024, Seed: 16} // the same worlds
	own, rivals := evaluatorOf(t, s, opt), evaluatorOf(t, &theirs, opt)
	var b bought
	for i, lot := range sampleLots(t, s) {
		w, cost := worldsOf(t, own, lot), worldsOf(t, rivals, lot)
		if w == nil {
			continue
		}
		plain, mean := w.MeanMargin(), cost.RepairSummary().Mean
		for sale := range sales {
			rng := rand.New(rand.NewPCG(uint64(sale), uint64(i)))
			n := rng.IntN(len(w.Repair))
			value := lot.Value.Pounds()
			o := invented.Offer{Value: value, Loss: invented.Loss(lot.Category), Repair: mean / value, Dead: dead(lot),
				VATPlus: lot.Plus}
			offered := *lot
			offered.Guide = money.FromPounds(math.Round(o.Guide(rng, -0.1)/50) * 50)
			o.Repair = (mean + known*(cost.Repair[n]-mean)) / value
			top, _ := invented.FiveRivals.Knocked(rng, &o)
			hammer := money.FromPounds(math.Ceil(top/25)*25 + 25)
			b.offered++
			if plain(hammer) < s.TargetMargin/2 { // far too dear: no need to look closer
				continue
			}
			assessed, err := e.Assess(&offered)
			if err != nil {
				t.Fatal(err)
			}
			if stop, _ := assessed.HighestBid(); hammer <= stop {
				b.buy(w, n, hammer, assessed.MeanMargin(hammer))
			}
		}
	}
	return b
}

// buy buys a car of which world n comes true.
func (b *bought) buy(w *evaluate.Worlds, n int, hammer money.Pence, promised float64) {
	made := w.Margin(hammer, nil)[n]
	b.cars++
	b.promised += promised
	b.made += made
	b.tied += w.Deal().Outlay(hammer).Total.Pounds() + w.Repair[n]
	if made < 0 {
		b.bad++
	}
}

// sampleLots are the lots of the sample's list that can be ranked.
func sampleLots(t *testing.T, s *shop.Shop) []*evaluate.Lot {
	t.Helper()
	const name = "../samples/sale.csv"
	in, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	on := lots.Day{Date: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)}
	list, err := lots.ReadList(tabular.NewCSV(name, in), s, lots.Reading{On: on})
	if err != nil || len(list.Problems) > 0 {
		t.Fatal(err, list.Problems)
	}
	return list.Lots
}

// worldsOf are the ways in which a lot's car may turn out; nil where it is not to be repaired or nobody has coded it.
func worldsOf(t *testing.T, e *evaluate.Evaluator, lot *evaluate.Lot) *evaluate.Worlds {
	t.Helper()
	if r, err := e.Evaluate(lot); err != nil {
		t.Fatal(err)
	} else if !r.Evaluated() {
		return nil
	}
	p, err := e.Resolve(lot)
	if err != nil {
		t.Fatal(err)
	}
	var totals simulate.Totals
	totals.Sum(e.Draws(), p.Case)
	return e.Worlds(p, &totals, evaluate.Overrides{})
}

// dead is 1 for a car that does not start, 0.5 where nobody knows.
func dead(lot *evaluate.Lot) float64 {
	switch lot.Starts {
	case "no":
		return 1
	case "yes":
		return 0
	}
	return 0.5
}
