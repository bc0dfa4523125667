package reforecast_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

const soldLedger = `build,date,zone,class,grade,what,spend,hours,state
car,2026-01-05,,,,hammer,4000,,
car,,,,,fees,520,,
car,,,,,transport,169.20,,
car,2026-01-20,nose,s,2,leg,640,21,done
car,2026-01-22,nose,c,3,bonnet,410,9.5,done
car,,,,,consumables,55,,
car,,,,,odds and ends,37.50,2,
car,2026-03-01,,,,sale,9100,,
car,,,,,selling,120,,
`

func frozen(t testing.TB, workshop *shop.Shop, plus bool) *build.Frozen {
	t.Helper()
	l := lot(t, "nose s2 c3 m1?60")
	l.Plus, l.Site, l.Value = plus, "Marrow Fen", 1200000
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := build.Freeze(e, l, 400000, "car", "test")
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func ledgerOf(t testing.TB, text string) *build.Build {
	t.Helper()
	l, err := build.Reading{}.Ledger(csvOf(text))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l.Problems)
	}
	return l.Builds[0]
}

// The same rows give reforecast and review the same margin, with VAT on the hammer price
// or not, registered or not; and "when bought" is what the file holds.
func TestReviewAndReforecastAgree(t *testing.T) {
	for _, registered := range []bool{false, true} {
		for _, plus := range []bool{false, true} {
			if testing.Short() && !(registered && plus) {
				continue // the case in which VAT is due everywhere
			}
			workshop := starter(t)
			workshop.VATRegistered, workshop.HoldingVAT = registered, true
			f := frozen(t, workshop, plus)
			b := ledgerOf(t, soldLedger)
			o, err := build.Compare(f, b)
			if err != nil {
				t.Fatal(err)
			}
			forecaster, err := reforecast.New(f)
			if err != nil {
				t.Fatal(err)
			}
			p, _ := reforecast.Read(b, f.Shop().LabourRate, time.Time{})
			r, err := forecaster.Forecast(p, reforecast.Offers{})
			if err != nil {
				t.Fatal(err)
			}
			for _, got := range []float64{r.Now.Margin.Mean, r.Now.Margin.P10, r.Now.Margin.P90} {
				if math.Abs(got-o.MarginActual.Pounds()) > 0.03 {
					t.Errorf("registered %v, plus %v: reforecast %.2f, review %s", registered, plus, got, o.MarginActual)
				}
			}
			if r.Start.Margin.Mean != f.Predicted.Margin.Mean || r.Start.Repair.P50 != f.Predicted.Repair.P50 ||
				r.Start.Days.P90 != f.Predicted.Days.P90 {
				t.Errorf("when bought: %+v, the file has %+v", r.Start.Margin, f.Predicted.Margin)
			}
			with := strings.Replace(soldLedger, "hammer,4000", "hammer,4800", 1)
			p, _ = reforecast.Read(ledgerOf(t, with), f.Shop().LabourRate, time.Time{})
			if r, err = forecaster.Forecast(p, reforecast.Offers{}); err != nil {
				t.Fatal(err)
			}
			if named := strings.Contains(strings.Join(r.Notices, "\n"), "with VAT added"); named != plus {
				t.Errorf("plus %v: a hammer row with VAT is named: %v", plus, named)
			}
		}
	}
}

// On the day of purchase reforecast says what freeze said, to the last digit of the file;
// of a version 1 file as well, however cars are simulated today.
func TestDayOfPurchase(t *testing.T) {
	if testing.Short() {
		t.Skip("TestNothingSpentIsTheFrozenEstimate has the day of purchase with fewer cars")
	}
	f := frozen(t, starter(t), false)
	forecaster, err := reforecast.New(f)
	if err != nil {
		t.Fatal(err)
	}
	r, err := forecaster.Forecast(reforecast.Progress{Elapsed: days(0)}, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	p := &f.Predicted
	if r.Now != r.Start || r.ToCome != r.Now.Repair || r.DaysLeft != r.Now.Days ||
		r.Now.Margin.LossChance != p.LossChance ||
		r.Now.Repair != (evaluate.Spread{Mean: p.Repair.Mean, P10: p.Repair.P10, P50: p.Repair.P50, P90: p.Repair.P90}) {
		t.Errorf("now %+v, to come %+v, frozen %+v", r.Now, r.ToCome, p.Repair)
	}
	// With the price as called in the ledger it is the same.
	hammer := 4000.0
	again, err := forecaster.Forecast(reforecast.Progress{Elapsed: days(0), Hammer: &hammer}, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean margin", again.Now.Margin.Mean, r.Now.Margin.Mean, 0.01)
	near(t, "P50 of the repair", again.Now.Repair.P50, r.Now.Repair.P50, 0.01)
}

// A change of VAT rate, holding, sell percent or a fee, made in one place, is followed by
// every figure that has a margin in it: the screen's, the workings, the frozen file's,
// review's expected and actual one and reforecast's, each by what it is worth on paper.
func TestOneChangeIsFollowedEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("many forecasts of one car, a second")
	}
	type figures struct{ screen, workings, frozen, expected, actual, forecast float64 }
	of := func(change func(*shop.Shop)) figures {
		workshop := starter(t)
		workshop.VATRegistered, workshop.SellVAT, workshop.HoldingVAT = true, true, true
		workshop.SellPercent, workshop.FinanceRate = 0.01, 0
		change(workshop)
		f := frozen(t, workshop, true)
		e, err := f.Evaluator()
		if err != nil {
			t.Fatal(err)
		}
		l, err := f.Lot()
		if err != nil {
			t.Fatal(err)
		}
		l.Guide = f.Hammer
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		// What the site charges is in no row: it follows the tariff.
		text := strings.Replace(strings.Replace(strings.Replace(soldLedger, "car,,,,,fees,520,,\n", "", 1),
			"car,,,,,transport,169.20,,\n", "", 1), "car,,,,,selling,120,,\n", "", 1)
		b := ledgerOf(t, text+"car,,,,,selling,0,,\n")
		o, err := build.Compare(f, b)
		if err != nil {
			t.Fatal(err)
		}
		forecaster, err := reforecast.New(f)
		if err != nil {
			t.Fatal(err)
		}
		p, _ := reforecast.Read(b, f.Shop().LabourRate, time.Time{})
		now, err := forecaster.Forecast(p, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		return figures{r.Margin.Mean, f.Walk.Total.Pounds(), f.Predicted.Margin.Mean, o.MarginExpected.Pounds(),
			o.MarginActual.Pounds(), now.Now.Margin.Mean}
	}
	tariff := func(s *shop.Shop, rate money.Rate, premium money.Pence) {
		bands := s.Tariff.Bands("Marrow Fen")
		for i := range bands {
			if bands[i].Fee == shop.Premium {
				bands[i].Amount += premium
			}
		}
		var err error
		if s.Tariff, err = shop.NewTariff(bands, rate); err != nil {
			t.Fatal(err)
		}
	}
	base := of(func(*shop.Shop) {})
	for name, change := range map[string]func(*shop.Shop){
		"VAT rate": func(s *shop.Shop) {
			s.VATRate = money.RateOf(0.25)
			tariff(s, s.VATRate, 0)
		},
		"holding":      func(s *shop.Shop) { s.HoldingPerDay += 10 },
		"sell percent": func(s *shop.Shop) { s.SellPercent += 0.05 },
		"a fee":        func(s *shop.Shop) { tariff(s, s.VATRate, 10000) },
	} {
		if testing.Short() && name != "a fee" {
			continue // the one whose worth is known on paper
		}
		x := of(change)
		moved := figures{x.screen - base.screen, x.workings - base.workings, x.frozen - base.frozen,
			x.expected - base.expected, x.actual - base.actual, x.forecast - base.forecast}
		for what, d := range map[string]float64{"workings": moved.workings, "frozen file": moved.frozen,
			"review's expected": moved.expected} {
			if math.Abs(d-moved.screen) > 0.3 || moved.screen > -20 {
				t.Errorf("%s: %s moved by %.2f, the screen by %.2f", name, what, d, moved.screen)
			}
		}
		if math.Abs(moved.actual-moved.forecast) > 0.05 || name != "sell percent" && moved.actual > -20 {
			t.Errorf("%s: review's actual moved by %.2f, reforecast by %.2f", name, moved.actual, moved.forecast)
		}
		if name == "a fee" && (math.Abs(moved.actual+100) > 0.05 || math.Abs(moved.screen+100) > 0.05) {
			t.Errorf("a fee of 100 more: screen %.2f, review %.2f", moved.screen, moved.actual)
		}
	}
}
