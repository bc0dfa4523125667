package prices

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestWithoutRowsEverythingIsWhatWentIn(t *testing.T) {
	s := DefaultSettings()
	s.ValueSpread, s.Markers = fixtureSettings().ValueSpread, fixtureSettings().Markers
	m, err := Fit(nil, nil, nil, s)
	if err != nil {
		t.Fatal(err)
	}
	l := Lot{Make: "Brantholt", Model: "Aldra", Segment: "family", Year: 2019, Category: "N", Value: 9400,
		Guide: 2000, MeanDays: 40}
	v, err := m.Value(&l)
	if err != nil {
		t.Fatal(err)
	}
	want := Value{Mean: 9400, LogSD: 0.08, Source: FromListing}
	if got := (Value{Mean: v.Mean, LogSD: v.LogSD, Source: v.Source, Fall: v.Fall, ListingBias: v.ListingBias,
		Adverts: v.Adverts}); got != want {
		t.Errorf("value %+v, want what the list says", v)
	}
	k, err := m.Marker("N", "family")
	if err != nil || k.Points != (Points{0.14, 0.20, 0.28}) {
		t.Errorf("marker %v, %v, want the row", k, err)
	}
	p, err := m.Price(&l)
	if err != nil {
		t.Fatal(err)
	}
	if m.HasResults() || p.Source != PriceFromGuide {
		t.Errorf("the price comes from %s", p.Source)
	}
	c := m.Selection(9400, 800, 1e6, &p)
	if !c.Identity() || c.Shift(1500, 2000) != 0 || c.Corrected(1500, 2000) != 2000 {
		t.Errorf("selection %+v changes the margin", c)
	}
	if len(m.Notices()) != 0 {
		t.Errorf("notices without rows: %v", m.Notices())
	}
}

func TestALotWithoutAValueSaysWhatIsMissing(t *testing.T) {
	m, err := Fit(nil, nil, nil, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Value(&Lot{Make: "Velmary", Model: "Tiffet", Year: 2019}); err == nil ||
		err.Error() != "blank, and adverts.csv has 0 Velmary Tiffet; write the value, or copy 3 more adverts" {
		t.Errorf("a lot without a value: %v", err)
	}
}

// Without results a usual lot (of the usual value and repair, the guide at guide_share) has the P10 and P90 of
// guide_spread, about its geometric middle.
func TestWithoutResultsTheGuidesSpreadHolds(t *testing.T) {
	m, err := Fit(nil, nil, nil, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	guide := 8000 * UsualGuideShare("N")
	l := Lot{Category: "N", Value: 8000, Guide: guide, Repair: Some(2400), Starts: Yes, Keys: Yes}
	p, err := m.Price(&l)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{1 / math.Sqrt(1.8), 1, math.Sqrt(1.8)} {
		same(t, "price over guide", p.HammerQuantile([]float64{0.1, 0.5, 0.9}[i])/guide, want, 1e-9)
	}
	// Without an as-of day and rows, the day of a sale says nothing.
	undated := fixtureSettings()
	undated.AsOf = time.Time{}
	n, err := Fit(nil, nil, nil, undated)
	if err != nil {
		t.Fatal(err)
	}
	l.SaleDate = time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	if q, err := n.Price(&l); err != nil || q.Location != p.Location || q.Scale != p.Scale {
		t.Errorf("with a date alone %v, %v, want %v", q, err, p)
	}
	// Without a repair cost, a guide or a value the answers are still there, or say why not.
	if _, err := m.Price(&Lot{Category: "N", Guide: 900}); err != nil {
		t.Errorf("a guide alone: %v", err)
	}
	if _, err := m.Price(&Lot{Category: "N"}); err == nil {
		t.Error("a price without guide and value")
	}
}

func TestOrderOfRowsChangesNothing(t *testing.T) {
	adverts, results, builds := fixture(t)
	more, past := manyRows(400, 300, 12)
	adverts, results = append(adverts, more...), append(results, past...)
	for i := range adverts {
		adverts[i].Line = i + 2
	}
	for i := range results {
		results[i].Line = i + 2
	}
	answers := func() []any {
		m, err := Fit(adverts, results, builds, fixtureSettings())
		if err != nil {
			t.Fatal(err)
		}
		out := []any{m.Told(), m.Sites(), m.Notices()}
		for _, r := range past[:40] {
			v, err := m.Value(&r.Lot)
			if err != nil {
				continue
			}
			p, err := m.Price(&r.Lot)
			if err != nil {
				t.Fatal(err)
			}
			k, err := m.Marker(r.Category, r.Segment)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, v, p.Location, p.Scale, p.DF, k)
		}
		return out
	}
	want := answers()
	rng := rand.New(rand.NewPCG(5, 5))
	for range 3 {
		rng.Shuffle(len(adverts), func(i, j int) { adverts[i], adverts[j] = adverts[j], adverts[i] })
		rng.Shuffle(len(results), func(i, j int) { results[i], results[j] = results[j], results[i] })
		rng.Shuffle(len(builds), func(i, j int) { builds[i], builds[j] = builds[j], builds[i] })
		if diff := cmp.Diff(want, answers()); diff != "" { // bit for bit, which is more than was asked
			t.Fatal(diff)
		}
	}
}

// With margin_spread no stop is raised and no chance of a loss lowered, whatever the coefficients.
func TestCorrectionOnlyTakesAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := fixtureSettings()
		s.MarginSpread, s.UsualMargin = Some(rapid.Float64Range(0, 0.3).Draw(t, "spread")),
			Some(rapid.Float64Range(-500, 3000).Draw(t, "usual"))
		s.Selection = [3]float64{rapid.Float64Range(-500, 500).Draw(t, "A"), rapid.Float64Range(-1, 3).Draw(t, "B"),
			rapid.Float64Range(-1, 2).Draw(t, "r")}
		m, err := Fit(nil, nil, nil, s)
		if err != nil {
			t.Fatal(err)
		}
		value := rapid.Float64Range(500, 60000).Draw(t, "value")
		l := Lot{Category: "N", Value: value}
		p, err := m.Price(&l)
		if err != nil {
			t.Fatal(err)
		}
		c := m.Selection(value, rapid.Float64Range(0, 5000).Draw(t, "repair sd"), rapid.Float64Range(0, 1e7).Draw(t,
			"tau2"), &p)
		if c.Reliability < 0 || c.Reliability > 1 {
			t.Fatalf("reliability %v", c.Reliability)
		}
		top := rapid.Float64Range(0, 20000).Draw(t, "margin at nothing")
		stop, before, sd := 0.0, 0.0, 1500.0
		open, openBefore := true, true
		fall, last := rapid.Float64Range(1/1.2, 1.3).Draw(t, "fall"), math.Inf(1)
		for h := 25.0; h < 20000; h += 25 {
			margin := top - fall*h
			got := c.Corrected(h, margin)
			if s.Selection[1] >= 0 && got > last+1e-6 {
				t.Fatalf("at %v the corrected margin rose from %v to %v", h, last, got)
			}
			last = got
			if got > margin {
				t.Fatalf("at %v a margin of %v became %v", h, margin, got)
			}
			// A normal margin's chance of a loss falls as its mean rises.
			if math.Erfc(got/sd) < math.Erfc(margin/sd) {
				t.Fatalf("at %v the chance of a loss fell", h)
			}
			open, openBefore = open && got >= 800, openBefore && margin >= 800
			if open {
				stop = h
			}
			if openBefore {
				before = h
			}
		}
		if stop > before {
			t.Fatalf("the stop rose from %v to %v", before, stop)
		}
	})
}

func TestUWithoutAPriceIsNought(t *testing.T) {
	m, err := Fit(nil, nil, nil, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	c := m.Selection(9000, 1000, 0, nil)
	if c.U(5) != 0 || BuildU(1000, nil) != 0 {
		t.Error("u without a price")
	}
	// A - (1 - B)(m - P): -50 - 0.25 (2000 - 800).
	near(t, "shift", c.Shift(1000, 2000), -350)
}

// A grade that may be one higher or lower: two equal steps of 100 with chances 1/4 each way have a variance of 5,000.
func TestTau2(t *testing.T) {
	spot := Spot{Costs: [3]float64{200, 300, 400}, Up: 0.25, Down: 1.0 / 3}
	near(t, "a spot's", Tau2(0, 0, 0, []Spot{spot}), 5000)
	near(t, "with the value's", Tau2(0.9, 5000, 0.0032, []Spot{spot, spot}), 10000+0.9*5000*0.9*5000*0.0032)
}

// Margins that differ by 0.08 of the value, seen with errors of 0.10: the spread of true margins comes back.
func TestMarginSpreadLeavesErrorsOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	rows := make([]SpreadRow, 4000)
	for i := range rows {
		v := 4000 + 8000*rng.Float64()
		rows[i] = SpreadRow{Margin: 300 + v*(0.08*rng.NormFloat64()+0.10*rng.NormFloat64()), Tau: 0.10 * v, Value: v}
	}
	got, enough := MarginSpread(rows)
	if !enough || math.Abs(got-0.08) > 0.006 {
		t.Errorf("spread %v, %v", got, enough)
	}
	if _, enough := MarginSpread(rows[:29]); enough {
		t.Error("29 rows are too few")
	}
	for i := range rows {
		rows[i].Tau *= 3
	}
	if got, _ := MarginSpread(rows); got != leastMarginSpread {
		t.Errorf("where errors explain it all: %v", got)
	}
}

// With models' slopes held equal one slope is left; with slopes free each model has its own.
func TestSlopesPoolAsFarAsModelsAgree(t *testing.T) {
	oldVaries, oldN := ageVaries, variesN
	defer func() { ageVaries, variesN = oldVaries, oldN }()
	variesN = 1e12
	var adverts []Advert
	for k, slope := range []float64{-0.08, -0.20} {
		for i := range 30 {
			a := Advert{Line: len(adverts) + 2, Make: "Maker", Model: []string{"Slow", "Fast"}[k], Year: 2012 + i%12,
				Miles: 50000, LastSeen: fixtureSettings().AsOf}
			a.Asked = math.Exp(9.2 + slope*float64(12-i%12-8))
			adverts = append(adverts, a)
		}
	}
	for _, c := range []struct{ varies, apart float64 }{{1e-6, 0}, {1, 0.12}} {
		ageVaries = c.varies
		m, err := Fit(adverts, nil, nil, fixtureSettings())
		if err != nil {
			t.Fatal(err)
		}
		fall := func(model string) float64 {
			v, err := m.Value(&Lot{Make: "Maker", Model: model, Year: 2018, Miles: Some(50000)})
			if err != nil {
				t.Fatal(err)
			}
			return v.FallAYear
		}
		if got := fall("Slow") - fall("Fast"); math.Abs(got-c.apart) > 0.005 {
			t.Errorf("slopes may differ by %v: they differ by %.4f, want %.2f", c.varies, got, c.apart)
		}
	}
}

// Twenty copies of one car a day apart, asked 7,000: the line goes through it, less what is haggled off.
func TestOneCarManyTimes(t *testing.T) {
	day := fixtureSettings().AsOf
	var adverts []Advert
	for i := range 20 {
		adverts = append(adverts, Advert{Line: i + 2, Make: "Maker", Model: "Only", Year: 2018,
			Miles: float64(50000 + i), Asked: 7000,
			FirstSeen: day.AddDate(0, 0, -18), LastSeen: day})
	}
	m, err := Fit(adverts, nil, nil, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	v, err := m.Value(&Lot{Make: "maker", Model: " ONLY ", Year: 2018, Miles: Some(50000)})
	if err != nil {
		t.Fatal(err)
	}
	if want := 7000 * math.Exp(-0.04); math.Abs(v.AdvertPrice/want-1) > 0.005 {
		t.Errorf("%.0f, want about %.0f", v.AdvertPrice, want)
	}
	if low, high := v.Interval(); !(low < v.Mean && v.Mean < high) || v.Source != FromAdverts || v.Adverts != 20 {
		t.Errorf("%+v", v)
	}
}

// Five thousand builds outvote any prior: what made them comes back, own reliability and all.
func TestManyBuildsSpeakForThemselves(t *testing.T) {
	s := fixtureSettings()
	s.MarginSpread, s.UsualMargin, s.Selection = Some(0.08), Some(300), [3]float64{0, 1, 0.25}
	rng := rand.New(rand.NewPCG(8, 8))
	want := [3]float64{-220, 0.7, 0.45}
	var builds []Build
	for i := range 5000 {
		value, tau := 4000+9000*rng.Float64(), 200+900*rng.Float64()
		b := Build{Line: i + 2, SaleDate: day("2026-01-01"), Predicted: 300 + 1500*rng.NormFloat64(),
			MarginSD: 1200 + 800*rng.Float64(),
			RepairSD: 500 + 1000*rng.Float64(), U: -2 + 3*rng.Float64(), Value: Some(value), Tau: Some(tau)}
		reliability := 0.08 * value * 0.08 * value / (0.08*value*0.08*value + tau*tau)
		b.Realised = 300 + want[0] + want[1]*reliability*(b.Predicted-300) + want[2]*b.RepairSD*b.U +
			b.MarginSD*rng.NormFloat64()
		builds = append(builds, b)
	}
	m, err := Fit(nil, nil, builds, s)
	if err != nil {
		t.Fatal(err)
	}
	told := m.Told()
	for i, interval := range told.Intervals(0.999) {
		if want[i] < interval[0] || want[i] > interval[1] {
			t.Errorf("coefficient %d: %v, want %v inside", i, interval, want[i])
		}
	}
	if told.Builds != 5000 || math.Abs(told.A+220) > 60 || math.Abs(told.B-0.7) > 0.06 || math.Abs(told.R-0.45) > 0.08 {
		t.Errorf("%+v", told)
	}
	// A lot's own reliability: 0.08 of 10,000 is 800, so an error of 800 is half believed.
	c := m.Selection(10000, 0, 800*800, nil)
	near(t, "reliability", c.Reliability, 0.5)
	near(t, "shift", c.Shift(1000, 2300), told.A+(told.B*0.5-1)*2000)
}

// Extrapolated or not, the rounds end at the same point.
func TestLeapsEndWhereStepsDo(t *testing.T) {
	old := firstLeap
	defer func() { firstLeap = old }()
	adverts, results := manyRows(3000, 500, 200)
	var ends [2]*Model
	for i, first := range []int{24, maxRounds + 1} {
		firstLeap = first
		m, err := Fit(adverts, results, nil, fixtureSettings())
		if err != nil {
			t.Fatal(err)
		}
		ends[i] = m
	}
	a, b := ends[0].market, ends[1].market
	t.Logf("%d rounds and %d", a.rounds, b.rounds)
	if a.rounds >= b.rounds || b.rounds == maxRounds {
		t.Errorf("%d rounds and %d", a.rounds, b.rounds)
	}
	for i := range a.arrow.mu {
		if math.Abs(a.arrow.mu[i]-b.arrow.mu[i]) > 1e-8 {
			t.Errorf("coefficient %d: %.12f and %.12f", i, a.arrow.mu[i], b.arrow.mu[i])
		}
	}
	for k := range a.arrow.blocks {
		for j := range 3 {
			if d := a.arrow.blocks[k].mu[j] - b.arrow.blocks[k].mu[j]; math.Abs(d) > 1e-8 {
				t.Errorf("model %d, coefficient %d differs by %g", k, j, d)
			}
		}
	}
}

// By hand: thirty lots worth 10,000, margins 300 and 2,300 in turn, are 0.1 of the value from their mean on either
// side, variance 30 x 0.1^2 / 29; tau 600 takes 0.06^2 off it.
func TestMarginSpreadByHand(t *testing.T) {
	var rows []SpreadRow
	for i := range 30 {
		rows = append(rows, SpreadRow{Margin: 300 + 2000*float64(i%2), Tau: 600, Value: 10_000})
	}
	got, enough := MarginSpread(rows)
	same(t, "margin_spread", got, math.Sqrt(30*0.01/29-0.0036), 1e-12)
	if _, few := MarginSpread(rows[1:]); !enough || few {
		t.Errorf("30 rows are enough: %v; 29 are: %v", enough, few)
	}
}

// A stop of one bid step is one step of the sum: the margin at its middle, times the chance to win at its end.
func TestExpectedGainOfOneStep(t *testing.T) {
	p := Price{Location: math.Log(30), Scale: 0.3, DF: 8}
	got := p.ExpectedGain(func(price float64) float64 { return 500 - price }, 25, 25)
	same(t, "gain", got, 487.5*p.CDF(25), 1e-9)
}
