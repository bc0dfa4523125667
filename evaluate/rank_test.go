package evaluate_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
)

// Sorted by their keys, whatever the order of the list, results stand as Rank puts
// them; of lots that tie in all else the number decides, as text.
func TestKeys(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.SampledFrom([]bid.Order{bid.ByMargin, bid.ByReturn, bid.ByLoss, bid.ByBayDay}).Draw(t, "by")
		numbers := rapid.SliceOfNDistinct(rapid.StringMatching(`[0-9A-c]{1,3}`), 0, 40, rapid.ID[string]).Draw(t, "numbers")
		results := make([]*evaluate.Result, len(numbers))
		for i, number := range numbers {
			few := rapid.IntRange(1, 2) // so that many tie
			results[i] = &evaluate.Result{
				Lot:    &evaluate.Lot{Number: number, Value: 1000000},
				Status: rapid.SampledFrom([]bid.Status{bid.Ranked, bid.Unpriced, bid.Uncoded, bid.Excluded}).Draw(t, "status"),
				Margin: evaluate.Margin{Mean: float64(few.Draw(t, "mean")), LossChance: float64(few.Draw(t, "loss")) / 2},
				Days:   evaluate.Spread{Mean: float64(few.Draw(t, "days"))}, Outlay: 100, HighestBid: 100,
			}
		}
		keys := make([]bid.Key, len(results))
		for i, r := range results {
			keys[i] = evaluate.KeyOf(r, by)
		}
		slices.SortFunc(keys, func(a, b bid.Key) int { return a.Compare(&b) })
		evaluate.Rank(results, by)
		rank := 0
		for i, r := range results {
			if keys[i].Number != r.Lot.Number {
				t.Fatalf("place %d: lot %s by its key, %s by Rank", i, keys[i].Number, r.Lot.Number)
			}
			want := 0
			if r.Status == bid.Ranked {
				rank++
				want = rank
			}
			if r.Rank != want || keys[i].Ranked() != (want > 0) {
				t.Fatalf("lot %s: rank %d, want %d", r.Lot.Number, r.Rank, want)
			}
			if i > 0 && keys[i-1].Merit == keys[i].Merit && keys[i-1].Mean == keys[i].Mean &&
				keys[i-1].Block == keys[i].Block && keys[i-1].Number >= keys[i].Number {
				t.Fatalf("lots %s and %s tie, and are not in the order of their numbers", keys[i-1].Number, keys[i].Number)
			}
		}
	})
}
