package evaluate_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
	"wreckoner/evaluate/shop"
)

// starter is the built-in shop.
func starter(t testing.TB) *shop.Shop {
	t.Helper()
	s, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	return s
}

// evidenceOf fits an invented market of four models, with 60 adverts, 8 own sales and so many
// past lots.
func evidenceOf(t testing.TB, s *shop.Shop, results int) *prices.Model {
	t.Helper()
	rng := rand.New(rand.NewPCG(5, uint64(results)))
	market := invented.NewMarket(rng, 4, true)
	var adverts []prices.Advert
	for k := range 4 {
		adverts = append(adverts, market.Adverts(k, 15, 0.05)...)
	}
	adverts = append(adverts, market.OwnSales(8)...)
	for i := range adverts {
		adverts[i].Line = i + 2
	}
	past := market.PastLots(results)
	for i := range past {
		past[i].Line = i + 2
		if past[i].Hammer == 0 {
			past[i].Hammer = math.Round(0.33 * past[i].Value * math.Exp(0.25*rng.NormFloat64()))
		}
	}
	m, err := prices.Fit(adverts, past, nil, s.PriceSettings(invented.Today))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func evaluatorOf(t testing.TB, s *shop.Shop, opt evaluate.Options) *evaluate.Evaluator {
	t.Helper()
	e, err := evaluate.New(s, opt)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func corrected(s *shop.Shop, a, b, r float64) *shop.Shop {
	out := *s
	out.Evidence.Selection = [3]float64{a, b, r}
	out.Evidence.MarginSpread, out.Evidence.UsualMargin = prices.Some(0.08), prices.Some(300)
	return &out
}

func aLot(t testing.TB, damage string, value, guide money.Pence) *evaluate.Lot {
	return &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: code(t, damage), Value: value * 100,
		Guide: guide * 100,
		Year:  2018, Odometer: 60000, Site: starterSite(t)}
}

func starterSite(t testing.TB) string { return starter(t).Tariff.Sites()[0] }

// A model that nothing was put into changes no figure of a lot that has value and guide.
func TestNoEvidenceChangesNothing(t *testing.T) {
	s := starter(t)
	s.Evidence.Selection, s.Evidence.MarginSpread = [3]float64{0, 1, 0}, prices.Optional{}
	m, err := prices.Fit(nil, nil, nil, s.PriceSettings(invented.Today))
	if err != nil {
		t.Fatal(err)
	}
	for _, points := range []int{0, 1024} {
		plain, with := evaluatorOf(t, s, evaluate.Options{Points: points}), evaluatorOf(t, s,
			evaluate.Options{Points: points, Prices: m})
		for _, text := range []string{"nose c3 m2", "tail s2 c3", "side-near c2?40"} {
			l := aLot(t, text, 7000, 2100)
			a, err := plain.Evaluate(l)
			if err != nil {
				t.Fatal(err)
			}
			b, err := with.Evaluate(l)
			if err != nil {
				t.Fatal(err)
			}
			b.Appraisal, b.WinChance, b.Gain = nil, 0, 0
			if !reflect.DeepEqual(a, b) {
				t.Errorf("%d points, %s: %+v\nwith an empty model %+v", points, text, a, b)
			}
		}
	}
}

// With margin_spread no stop is raised and no chance of a loss lowered by the top-bidder allowance,
// whatever the coefficients, the lot and the evidence. A lower margin leaves more cars unfinished,
// and which are better left is known to within the strip's shape: a pound at most where cars are
// worked out, the standard error of the mean where a few worlds are drawn, and one step of the stop.
func TestWinningRaisesNoStopAndLowersNoChanceOfALoss(t *testing.T) {
	base := starter(t)
	rapid.Check(t, func(rt *rapid.T) {
		s := corrected(base, rapid.Float64Range(-300, 300).Draw(rt, "a"), rapid.Float64Range(0.3, 1.6).Draw(rt, "b"),
			rapid.Float64Range(-0.2, 0.8).Draw(rt, "r"))
		m := evidenceOf(t, s, rapid.SampledFrom([]int{0, 40}).Draw(rt, "results"))
		l := aLot(t, rapid.SampledFrom([]string{"nose c3 m2", "tail s2 c3; rear-near c2", "side-near c2?40",
			"nose c4 r2 m2"}).Draw(rt, "code"),
			money.Pence(rapid.IntRange(2000, 20000).Draw(rt, "value")), money.Pence(rapid.IntRange(0, 6000).Draw(rt, "guide")))
		for _, points := range []int{0, 256} {
			with := evaluatorOf(t, s, evaluate.Options{Points: points, Prices: m})
			without := evaluatorOf(t, s, evaluate.Options{Points: points, Prices: m, AsCoded: true})
			a, errA := with.Evaluate(l)
			b, errB := without.Evaluate(l)
			if errA != nil || errB != nil {
				rt.Fatal(errA, errB)
			}
			less, room, step := 5e-4, 1.0, money.Pence(0) // what no screen shows
			if points > 0 {
				errors := 4 / math.Sqrt(float64(points))
				less, room, step = errors/2, errors*b.Margin.SD, s.BidStep
			}
			if a.HighestBid > b.HighestBid+step {
				rt.Errorf("%d points: the stop rose from %s to %s", points, b.HighestBid, a.HighestBid)
			}
			if a.Status == bid.Ranked && (a.Margin.LossChance < b.Margin.LossChance-less ||
				a.Margin.Mean > b.Margin.Mean+room) {
				rt.Errorf("%d points: loss %v from %v, margin %v from %v", points, a.Margin.LossChance, b.Margin.LossChance,
					a.Margin.Mean, b.Margin.Mean)
			}
			if a.Shift > 0 || b.Shift != 0 {
				rt.Errorf("shift %v, as coded %v", a.Shift, b.Shift)
			}
		}
	})
}

// The price to stop at is the first multiple of the bid step above which a limit is broken, found
// by trying all of them, where the correction makes the margin rise and fall.
func TestTheCorrectedStopIsTheFirstThatFails(t *testing.T) {
	s := corrected(starter(t), 0, 1, 0.6)
	m := evidenceOf(t, s, 40)
	e := evaluatorOf(t, s, evaluate.Options{Prices: m})
	for _, text := range []string{"nose c3 m2", "tail s2 c3", "nose c4 r2 m2", "nose c2"} {
		l := aLot(t, text, 8000, 0)
		assessed, err := e.Assess(l)
		if err != nil {
			t.Fatal(err)
		}
		stop, _ := assessed.HighestBid()
		repair := assessed.Repair().Mean
		want := money.Pence(0)
		for h := s.BidStep; ; h += s.BidStep {
			at := assessed.Along([]money.Pence{h})[0]
			outlay := l.Deal(s)
			least := max(s.TargetMargin, s.TargetReturn*(outlay.Outlay(h).Total.Pounds()+repair))
			if at.LossChance > s.LossLimit+1e-9 || at.Mean < least {
				break
			}
			want = h
		}
		if stop != want {
			t.Errorf("%s: the stop is %s, trying all %s", text, stop, want)
		}
	}
}

// The workings lead from the value in the list over adverts, fall and marker to the sale, take off
// the top-bidder allowance, and add up to the mean margin within a penny a line.
func TestTheWorkingsWithEvidenceAddUp(t *testing.T) {
	s := corrected(starter(t), -50, 0.8, 0.25)
	m := evidenceOf(t, s, 40)
	for _, value := range []money.Pence{0, 8000} {
		l := aLot(t, "side-near c2", value, 2000)
		l.Make, l.Model = "Maker", "Model"
		for _, a := range invented.NewMarket(rand.New(rand.NewPCG(5, 40)), 4, true).Adverts(1, 1, 0) {
			l.Make, l.Model, l.Segment, l.Year, l.Odometer = a.Make, a.Model, a.Segment, a.Year, int(a.Miles)
		}
		for _, points := range []int{0, 1024} {
			e := evaluatorOf(t, s, evaluate.Options{Points: points, Prices: m})
			r, err := e.Evaluate(l)
			if err != nil {
				t.Fatal(err)
			}
			walk, err := e.Workings(l, r.At)
			if err != nil {
				t.Fatal(err)
			}
			checkPriceToBeat(t, m, r)
			sum, names := money.Pence(0), ""
			for _, step := range walk.Steps {
				if !step.Subtotal {
					sum += step.Amount
				}
				names += step.Name + "\n"
			}
			if sum != walk.Total || math.Abs(sum.Pounds()-r.Margin.Mean) > 0.4 {
				t.Errorf("%d simulated: the lines add up to %s, the total is %s, the margin %.2f", points, sum, walk.Total,
					r.Margin.Mean)
			}
			want := []string{"price falls while waiting", "category discount", "top-bidder allowance"}
			if value > 0 {
				want = append(want, "value in the list", "from the list and ")
			} else {
				want = append(want, "value from ")
			}
			for _, name := range want {
				if !strings.Contains(names, name) {
					t.Errorf("the workings have no line %q:\n%s", name, names)
				}
			}
		}
	}
}

// checkPriceToBeat holds a lot's price to beat to what past lots say of it as it stands on the day of its sale, without
// the fall while it waits to be sold again, and its margin and chance to win to that price.
func checkPriceToBeat(t *testing.T, m *prices.Model, r *evaluate.Result) {
	t.Helper()
	lot := r.Appraisal.Lot
	lot.MeanDays = 0
	want, err := m.Price(&lot)
	if err != nil {
		t.Fatal(err)
	}
	if got := r.Appraisal.Price; got.Location != want.Location || got.Scale != want.Scale || r.At.Pounds() !=
		math.Round(want.Quantile(0.5)) {
		t.Errorf("price to beat %+v, margin at %s; past lots say %+v", got, r.At, want)
	}
	if chance := want.WinChance(r.HighestBid.Pounds()); math.Abs(r.WinChance-chance) > 1e-9 {
		t.Errorf("chance to win %.6f, want %.6f", r.WinChance, chance)
	}
}

// Both engines give a lot the same value, and margins and prices that agree as they do without evidence.
func TestTheEnginesAgreeOnEvidence(t *testing.T) {
	s := corrected(starter(t), 0, 1, 0.25)
	m := evidenceOf(t, s, 40)
	l := aLot(t, "nose c3 m2", 8000, 2000)
	a, err := evaluatorOf(t, s, evaluate.Options{Prices: m}).Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	b, err := evaluatorOf(t, s, evaluate.Options{Prices: m, Points: 8192}).Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	roughly(t, "value", b.Appraisal.Value.Mean, a.Appraisal.Value.Mean, 0.5)
	roughly(t, "price", b.At.Pounds(), a.At.Pounds(), 5)
	roughly(t, "margin", b.Margin.Mean, a.Margin.Mean, 40)
	roughly(t, "chance of a loss", b.Margin.LossChance, a.Margin.LossChance, 0.01)
	roughly(t, "gain", b.Gain, a.Gain, 20)
	roughly(t, "stop", b.HighestBid.Pounds(), a.HighestBid.Pounds(), 50)
}

func TestALotThatNothingGivesAValueSaysWhatToWrite(t *testing.T) {
	s := starter(t)
	m := evidenceOf(t, s, 0)
	l := aLot(t, "nose c3", 0, 2000)
	l.Make, l.Model = "Velmary", "Tiffet"
	_, err := evaluatorOf(t, s, evaluate.Options{Prices: m}).Evaluate(l)
	var fault *evaluate.Fault
	if !errors.As(err, &fault) || fault.Column != "value" || !strings.Contains(err.Error(), "copy 3 more adverts") {
		t.Errorf("got %v", err)
	}
}

func roughly(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tolerance)
	}
}

// What judging a lot takes, without evidence, with it, and with the top-bidder allowance.
func BenchmarkWithEvidence(b *testing.B) {
	s := starter(b)
	m := evidenceOf(b, s, 40)
	with := corrected(s, 0, 1, 0.25)
	l := aLot(b, "nose c3 m2; rear-near c2", 8000, 2000)
	for _, v := range []struct {
		name string
		shop *shop.Shop
		opt  evaluate.Options
	}{
		{"none", s, evaluate.Options{}}, {"evidence", s, evaluate.Options{Prices: m}},
		{"winning", with, evaluate.Options{Prices: evidenceOf(b, with, 40)}},
	} {
		b.Run(v.name, func(b *testing.B) {
			bench := evaluatorOf(b, v.shop, v.opt).Worker()
			for b.Loop() {
				if _, err := bench.Evaluate(l); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Tau by hand, METHOD.md 15.29: a car of unknown age in the segment whose multipliers are 1; a tenth of the sale price
// goes on selling it. The quoted mark has no doubt, a grade below the least and one that the cost table lacks has no
// chance.
func TestTauByHand(t *testing.T) {
	s := starter(t)
	s.SellPercent = 0.1
	s.Evidence.ListingShare = 0.5
	m, err := prices.Fit(nil, nil, nil, s.PriceSettings(invented.Today))
	if err != nil {
		t.Fatal(err)
	}
	l := aLot(t, "nose s2; bay m1; tail c3", 8000, 2000)
	l.Year = 0
	l.Quotes = []evaluate.Quote{{Item: code(t, "tail c3").Marks()[0].Item, Spend: 500, Hours: 5, HasHours: true}}
	r, err := evaluatorOf(t, s, evaluate.Options{Prices: m}).Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	cost := func(item string) float64 {
		row, ok := s.Costs.RowOf(code(t, item).Marks()[0].Item)
		if !ok {
			t.Fatalf("no row for %s", item)
		}
		x := s.Costs.Rows()[row]
		return x.Spend.Mean() + s.LabourRate*x.Hours.Mean()
	}
	variance := func(chances []float64, costs ...float64) (v float64) {
		mean := 0.0
		for i, p := range chances {
			mean += p * costs[i]
		}
		for i, p := range chances {
			v += p * (costs[i] - mean) * (costs[i] - mean)
		}
		return v
	}
	up, down := s.CodingUp[damage.Structural], s.CodingDown[damage.Structural]
	structure := variance([]float64{(1 - up) * down, (1 - up) * (1 - down), up}, cost("nose s1"), cost("nose s2"),
		cost("nose s3"))
	up = s.CodingUp[damage.Mechanical]
	mechanical := variance([]float64{1 - up, up}, cost("bay m1"), cost("bay m2"))
	category, _ := s.Category("N", "family")
	sale := 0.9 * 8000 * (1 - s.Categories[category].Share.Mean())
	want := math.Sqrt(sale*sale*0.5*0.08*0.08 + structure + mechanical)
	if got := r.Appraisal.Tau; math.Abs(got-want) > 1e-6*want {
		t.Errorf("tau %.4f, by hand %.4f", got, want)
	}
}
