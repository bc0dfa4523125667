package probe

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// maxItems bounds the things of an inspection that are told apart: 64 patterns.
const maxItems = 6

// An InspectionWorth is what an inspection is worth on one lot.
type InspectionWorth struct {
	shop.Inspection
	// Items are what it could show, those that count most first; Counted of
	// them are told apart.
	Items   []damage.Item
	Counted int
	// Trip is what the trip to the sale costs that it needs, in pounds; 0 for none.
	Trip float64
	// Worth is what is gained on average by having looked, before its price, in pounds,
	// by the workshop's limits as that of an Unknown.
	Worth float64
	// ClearChance is that of its showing nothing.
	ClearChance float64
	// Clear and Bad are how the lot stands where it shows nothing, and where it
	// shows something; nil where that does not happen.
	Clear, Bad *Outcome
}

// Gain is the worth less the price, and the trip, if it is made for this alone.
func (l InspectionWorth) Gain() float64 { return l.Worth - l.Price - l.Trip }

// WorthAsking reports whether the inspection gains more than it costs.
func (l InspectionWorth) WorthAsking() bool { return l.Gain() > 0 }

// look values one inspection; it is false where that can show nothing of the lot.
// The set is valued as a set, since information does not add up: every pattern
// of what it may show is an answer of its own.
func (p *Probe) look(s *largerRun, l shop.Inspection, prices []money.Pence,
	whole func(money.Pence) float64) (InspectionWorth, bool) {
	out := InspectionWorth{Inspection: l}
	if l.Visit {
		out.Trip = s.e.Shop().Visit
	}
	var places []int
	for i, c := range s.p.Case {
		if n := s.totals.Count(i); c.Kind != costs.Seen && n > 0 && n < len(s.margin) && l.Shows(c.Item) {
			places = append(places, i)
		}
	}
	if len(places) == 0 {
		return out, false
	}
	weight := func(i int) (float64, float64) {
		at := slices.IndexFunc(p.Unknowns, func(u Unknown) bool { return u.Item == s.p.Case[i].Item })
		return p.Unknowns[at].Worth, p.Unknowns[at].VarianceShare
	}
	slices.SortStableFunc(places, func(a, b int) int {
		wa, va := weight(a)
		wb, vb := weight(b)
		return cmp.Or(cmp.Compare(wb, wa), cmp.Compare(vb, va))
	})
	for _, i := range places {
		out.Items = append(out.Items, s.p.Case[i].Item)
	}
	out.Counted = min(len(places), maxItems)
	places = places[:out.Counted]

	shown := s.shown(places, func(damage.Item) float64 { return l.Finds })
	out.Worth = s.setWorth(shown, out.Counted, prices, whole)
	p.clearAndBad(s, &out, shown)
	return out, true
}

// shown is the pattern of what an inspection shows in each world: each thing that is
// there is found with its chance, by itself, and nothing that is not.
func (s *largerRun) shown(places []int, chance func(damage.Item) float64) []uint8 {
	shown := make([]uint8, len(s.margin))
	draws := s.e.Draws()
	last := simulate.ShopDim + simulate.ShopDims() - 1
	for bit, i := range places {
		worlds, _ := s.totals.Occurs(i)
		finds := chance(s.p.Case[i].Item)
		if finds >= 1 {
			for _, w := range worlds {
				shown[w] |= 1 << bit
			}
			continue
		}
		// The last coordinates are those that no workshop is likely to use.
		limit := distuv.UnitNormal.Quantile(1 - finds)
		score := draws.Score(last - bit)
		for _, w := range worlds {
			if score[w] > limit {
				shown[w] |= 1 << bit
			}
		}
	}
	return shown
}

// setWorth is what is gained on average by an inspection that shows patterns of k things.
// Each pattern is bid on as far as the limits allow at it. How far is found on one half of
// the worlds and valued on the other, and the other way round, since the best of several
// noisy means is too good.
func (s *largerRun) setWorth(shown []uint8, k int, prices []money.Pence, whole func(money.Pence) float64) float64 {
	half := len(shown) / 2
	var seen [2][]answer
	for h := range seen {
		seen[h] = s.patterns(shown, h*half, (h+1)*half, k)
	}
	var crossed []answer
	for h := range seen {
		for o := range seen[h] {
			a := seen[1-h][o]
			a.chance /= 2
			a.bid = seen[h][o].bid
			crossed = append(crossed, a)
		}
	}
	return worthOf(crossed, answer{1, s.bid, whole}, prices)
}

// patterns are the answers of an inspection over the worlds from one to another.
func (s *largerRun) patterns(shown []uint8, from, to, k int) []answer {
	counts := make([]int, 1<<k)
	for _, o := range shown[from:to] {
		counts[o]++
	}
	out := make([]answer, 1<<k)
	mask := make([]bool, len(shown))
	var sel stats.Selector
	for o, n := range counts {
		if n == 0 {
			continue
		}
		for i := from; i < to; i++ {
			mask[i] = int(shown[i]) == o
		}
		w := s.worlds.Select(mask, true)
		bid, _ := w.HighestBid(&sel)
		out[o] = answer{float64(n) / float64(to-from), bid, w.MeanMargin()}
	}
	return out
}

// clearAndBad finds how the lot stands where the inspection shows nothing, and where it
// shows something.
func (p *Probe) clearAndBad(s *largerRun, l *InspectionWorth, shown []uint8) {
	bad := make([]bool, len(shown))
	count := 0
	for i, o := range shown {
		if bad[i] = o != 0; bad[i] {
			count++
		}
	}
	l.ClearChance = 1 - float64(count)/float64(len(bad))
	if w := s.worlds.Select(bad, false); w != nil {
		l.Clear = outcome(w, p.Price)
		l.Clear.Error = s.errorOf(bad, false)
	}
	if w := s.worlds.Select(bad, true); w != nil {
		l.Bad = outcome(w, p.Price)
		l.Bad.Error = s.errorOf(bad, true)
	}
}
