package prices_test

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
)

func TestBacktestForetellsEachDayFromTheDaysBefore(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 1))
	results := invented.Results(invented.FiveRivals.Sales(rng, 300))
	for i := range results {
		results[i].SaleDate = invented.Today.AddDate(0, 0, -14*rng.IntN(20))
		if i%2 == 0 {
			results[i].Guide = 0
		}
	}
	market := invented.NewMarket(rng, 4, true)
	adverts := market.OwnSales(20)
	for k := range 4 {
		adverts = append(adverts, market.Adverts(k, 15, 0.05)...)
	}
	s := invented.Settings()
	got, err := prices.Backtest(adverts, results, s)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("guide %+v, none %+v, sales %+v", got.Guided, got.Bare, got.Sales)
	if got.Guided.Lots+got.Bare.Lots != 300 || got.Sales.Lots != 20 || got.Days == 0 {
		t.Errorf("%+v", got)
	}
	for name, x := range map[string]prices.Score{"guide": got.Guided, "no guide": got.Bare} {
		if inside := float64(x.Inside) / float64(x.Lots); x.CRPS >= x.FixedCRPS || inside < 0.65 || inside > 0.95 {
			t.Errorf("%s: score %.3f against %.3f, %.2f inside 8 in 10", name, x.CRPS, x.FixedCRPS, inside)
		}
	}
	laterDaysDoNotMatter(t, results, s)
	rng.Shuffle(len(results), func(i, j int) { results[i], results[j] = results[j], results[i] })
	shuffled, err := prices.Backtest(adverts, results, s)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, shuffled); diff != "" {
		t.Error(diff)
	}
}

// laterDaysDoNotMatter: what comes later cannot change what was foretold. The first half of the
// days alone gives the same of those days.
func laterDaysDoNotMatter(t *testing.T, results []prices.Result, s prices.Settings) {
	t.Helper()
	var early []prices.Result
	for _, r := range results {
		if r.SaleDate.Before(invented.Today.AddDate(0, 0, -140)) {
			early = append(early, r)
		}
	}
	alone, err := prices.Backtest(nil, early, s)
	if err != nil {
		t.Fatal(err)
	}
	spoilt := append([]prices.Result{}, results...)
	for i := range spoilt {
		if !spoilt[i].SaleDate.Before(invented.Today.AddDate(0, 0, -140)) {
			spoilt[i].Hammer = 0
		}
	}
	again, err := prices.Backtest(nil, spoilt, s)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(alone.Bare, again.Bare); diff != "" {
		t.Error(diff)
	}
}
