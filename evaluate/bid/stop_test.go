package bid_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
)

// A price to stop at is worth waiting for from three quarters of the guide price on:
// one step below that it is a long shot, and at the guide price it is worth going after.
func TestVerdicts(t *testing.T) {
	for _, x := range []struct {
		status      bid.Status
		stop, guide money.Pence
		want        bid.Verdict
	}{
		{bid.Ranked, 400000, 400000, bid.GoAfter}, {bid.Ranked, 399999, 400000, bid.IfCheap}, {bid.Ranked, 300000, 400000,
			bid.IfCheap},
		{bid.Ranked, 299999, 400000, bid.LongShot}, {bid.Ranked, 240000, 400000, bid.LongShot}, {bid.Ranked, 0, 400000,
			bid.DontBid},
		{bid.Unpriced, 2500, 0, bid.NoGuide}, {bid.Unpriced, 0, 0, bid.DontBid}, {bid.Excluded, 0, 400000,
			bid.OffRoad}, {bid.Uncoded, 0, 400000, bid.NotCoded},
	} {
		if got := bid.Advise(x.status, x.stop, x.guide); got != x.want {
			t.Errorf("%s, stop %s, guide %s: %q, want %q", x.status, x.stop, x.guide, got, x.want)
		}
	}
}

// Each limit alone, at it and just past it, and the order in which they are tried.
func TestLimits(t *testing.T) {
	l := bid.Limits{Loss: 0.2, Margin: 800, Return: 0.1, Cash: 5000}
	good := bid.Standing{Loss: 0.2, Mean: 900, Outlay: 5000, Repair: 4000, Cash: 5000}
	if got := l.Broken(good); got != "" {
		t.Errorf("at every limit: %q", got)
	}
	for _, x := range []struct {
		change func(*bid.Standing)
		want   bid.Limit
	}{
		{func(s *bid.Standing) { s.Loss = 0.2001 }, bid.LossLimit},
		{func(s *bid.Standing) { s.Mean = 899.99 }, bid.MarginLimit}, // a tenth of 9,000
		{func(s *bid.Standing) { s.Outlay, s.Mean = 1000, 799.99 }, bid.MarginLimit},
		{func(s *bid.Standing) { s.Cash = 5000.01 }, bid.CashLimit},
		{func(s *bid.Standing) { s.Loss, s.Mean, s.Cash = 1, 0, 9999 }, bid.LossLimit},
		{func(s *bid.Standing) { s.Mean, s.Cash = 0, 9999 }, bid.MarginLimit},
	} {
		s := good
		if x.change(&s); l.Broken(s) != x.want {
			t.Errorf("%+v: %q, want %q", s, l.Broken(s), x.want)
		}
	}
	if l.Cash = 0; l.Broken(bid.Standing{Mean: 900, Cash: math.Inf(1)}) != "" {
		t.Error("cash is a limit where none is set")
	}
	if got := l.MayLose(64); got != 12 { // 12.8 of them
		t.Errorf("%d of 64 may lose, want 12", got)
	}
}

// The search by halves finds what trying every bid in turn finds, where limits stay
// broken between two edges of the fees.
func TestStopIsTheFirstThatBreaks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := money.Pence(rapid.IntRange(1, 700).Draw(t, "step"))
		value := money.Pence(rapid.IntRange(0, 20000).Draw(t, "value"))
		edges := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) money.Pence {
			return money.Pence(rapid.IntRange(1,
				20000).Draw(t, "edge"))
		}), 0, 4).Draw(t, "edges")
		slices.Sort(edges)
		edges = slices.Compact(edges)
		from := make([]money.Pence, len(edges)+1) // in each stretch: broken from there on
		for i := range from {
			from[i] = money.Pence(rapid.IntRange(0, 30000).Draw(t, "from"))
		}
		broken := func(h money.Pence) bid.Limit {
			i, found := slices.BinarySearch(edges, h)
			if found {
				i++
			}
			if h >= from[i] {
				return bid.MarginLimit
			}
			return ""
		}
		want, limit := money.Pence(0), bid.NoLimit
		for h := step; h <= value; h += step {
			if broken(h) != "" {
				limit = bid.MarginLimit
				break
			}
			want = h
		}
		if got, by := bid.Stop(step, value, edges, broken); got != want || by != limit {
			t.Fatalf("stop at %s by %s, want %s by %s", got, by, want, limit)
		}
	})
}
