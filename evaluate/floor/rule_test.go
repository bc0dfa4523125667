package floor_test

import (
	"math/rand/v2"
	"testing"

	"wreckoner/evaluate/floor"
)

// Smith (1956): for one worker no order costs less than that by w / p. All orders of up to
// seven works are tried.
func TestSmithAgainstEveryOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 20))
	for range 60 {
		works := make([]floor.Work, 1+r.IntN(7))
		for i := range works {
			works[i] = floor.Work{Delay: 1 + 30*r.Float64(), Hours: 0.5 + 80*r.Float64()}
		}
		best, tried := -1.0, 0
		var try func(order []int, k int)
		try = func(order []int, k int) {
			if k == len(order) {
				tried++
				if c := floor.Cost(works, order, 8); best < 0 || c < best {
					best = c
				}
				return
			}
			for i := k; i < len(order); i++ {
				order[k], order[i] = order[i], order[k]
				try(order, k+1)
				order[k], order[i] = order[i], order[k]
			}
		}
		all := make([]int, len(works))
		for i := range all {
			all[i] = i
		}
		try(all, 0)
		if got := floor.Cost(works, floor.Order(works), 8); got > best*(1+1e-12) {
			t.Errorf("%v: %v by the rule, %v at best of %d orders", works, got, best, tried)
		}
	}
}

// On paper, at 8 hours a day: 10 a day for 8 hours before 12 a day for 16: 10 x 1 + 12 x 3 =
// 46; the other way round 12 x 2 + 10 x 3 = 54.
func TestCostOnPaper(t *testing.T) {
	works := []floor.Work{{Delay: 12, Hours: 16}, {Delay: 10, Hours: 8}}
	if order := floor.Order(works); order[0] != 1 {
		t.Errorf("order %v", order)
	}
	for order, want := range map[[2]int]float64{{1, 0}: 46, {0, 1}: 54} {
		if got := floor.Cost(works, order[:], 8); got != want {
			t.Errorf("%v costs %v, want %v", order, got, want)
		}
	}
}
