package probe

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/evaluate"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
)

// maxItems bounds the things of a look that are told apart: 64 patterns.
const maxItems = 6

// A InspectionWorth is what a look is worth on one lot.
type InspectionWorth struct {
	shop.Inspection
	// Items are what it could show, those that count most first; Counted of
	// them are told apart.
	Items   []damage.Item
	Counted int
	// Worth is what it is worth to have looked, before its price, in pounds.
	Worth float64
	// ClearChance is that of its showing nothing.
	ClearChance float64
	// Clear and Bad are how the lot stands where it shows nothing, and where it
	// shows something; nil where that does not happen.
	Clear, Bad *Outcome
}

// Gain is the worth less the price.
func (l InspectionWorth) Gain() float64 { return l.Worth - l.Price }

// WorthAsking reports whether the look gains more than it costs.
func (l InspectionWorth) WorthAsking() bool { return l.Gain() > 0 }

// look values one look; it is false where the look can show nothing of the lot.
// The set is valued as a set, since information does not add up: every pattern
// of what it may show is an outcome of its own.
func (p *Probe) look(s *study, l shop.Inspection, prices []money.Pence, whole func(money.Pence) float64) (InspectionWorth, bool) {
	out := InspectionWorth{Inspection: l}
	var places []int
	for i, c := range s.p.Case {
		if n := s.tally.Count(i); c.Kind != costs.Seen && n > 0 && n < len(s.margin) && l.Shows(c.Item) {
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

	there := make([]uint8, len(s.margin)) // what is there in each world
	for bit, i := range places {
		worlds, _ := s.tally.Occurs(i)
		for _, w := range worlds {
			there[w] |= 1 << bit
		}
	}
	out.Worth = setWorth(s.worlds, there, out.Counted, l.Finds, prices, whole)
	p.clearAndBad(s, &out, places)
	return out, true
}

// setWorth is the expected value of the information which of k things are
// there, each shown with chance finds where it is. there is the pattern of each
// world. What to do is chosen on one half of the worlds and valued on the other,
// and the other way round, since the largest of several noisy means is too
// large.
func setWorth(w *evaluate.Worlds, there []uint8, k int, finds float64, prices []money.Pence, whole func(money.Pence) float64) float64 {
	half := len(there) / 2
	var sums [2]patternMeans
	for h := range sums {
		mask := make([]bool, len(there))
		for i := h * half; i < (h+1)*half; i++ {
			mask[i] = true
		}
		sums[h] = meansByPattern(w, there, mask, k)
	}
	total := 0.0
	for _, price := range prices {
		var seen [2][]weighted
		for h := range sums {
			seen[h] = sums[h].observed(price, k, finds)
		}
		value := 0.0
		for o := range seen[0] {
			for h := range seen {
				choose, judge := seen[h][o], seen[1-h][o]
				if choose.share > 0 && choose.sum > 0 {
					value += judge.sum / 2
				}
			}
		}
		total += value - max(whole(price), 0)
	}
	return max(0, total/float64(len(prices)))
}

// patternMeans is the share and the mean margin by what is there.
type patternMeans struct {
	share []float64
	at    []func(money.Pence) float64
}

func meansByPattern(w *evaluate.Worlds, there []uint8, half []bool, k int) patternMeans {
	p := patternMeans{make([]float64, 1<<k), make([]func(money.Pence) float64, 1<<k)}
	n := 0
	for _, yes := range half {
		if yes {
			n++
		}
	}
	mask := make([]bool, len(there))
	for pattern := range p.share {
		count := 0
		for i, t := range there {
			if mask[i] = half[i] && int(t) == pattern; mask[i] {
				count++
			}
		}
		if count > 0 {
			p.share[pattern] = float64(count) / float64(n)
			p.at[pattern] = w.Select(mask, true).MeanMargin()
		}
	}
	return p
}

// weighted is the share of an observation, and its mean margin times that.
type weighted struct{ share, sum float64 }

// observed mixes what is there into what a look shows: it misses each thing
// that is there with chance 1 - finds, and never shows what is not.
func (p patternMeans) observed(price money.Pence, k int, finds float64) []weighted {
	out := make([]weighted, 1<<k)
	for there, share := range p.share {
		if share == 0 {
			continue
		}
		margin := p.at[there](price)
		for seen := range out {
			if seen&^there != 0 {
				continue
			}
			shown := bits.OnesCount(uint(seen))
			missed := bits.OnesCount(uint(there)) - shown
			weight := share * math.Pow(finds, float64(shown)) * math.Pow(1-finds, float64(missed))
			out[seen].share += weight
			out[seen].sum += weight * margin
		}
	}
	return out
}

// clearAndBad finds how the lot stands where the look shows nothing, and where
// it shows something.
func (p *Probe) clearAndBad(s *study, l *InspectionWorth, places []int) {
	bad := make([]bool, len(s.margin))
	space := s.e.Space()
	last := simulate.ShopDim + simulate.ShopDims() - 1
	for k, i := range places {
		worlds, _ := s.tally.Occurs(i)
		if l.Finds >= 1 {
			for _, w := range worlds {
				bad[w] = true
			}
			continue
		}
		// The last coordinates are those that no shop is likely to use.
		limit := distuv.UnitNormal.Quantile(1 - l.Finds)
		score := space.Score(last - k)
		for _, w := range worlds {
			if score[w] > limit {
				bad[w] = true
			}
		}
	}
	count := 0
	for _, b := range bad {
		if b {
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
