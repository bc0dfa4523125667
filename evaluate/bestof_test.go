package evaluate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
	"wreckoner/evaluate/shop"
)

// A sale of fifty lots is listed by somebody whose values and codes are a little off, and a market that
// knows the truth has set the guides: the true mean margin at the guide is normal about the usual one. The
// three lots that promise most are bought at the guide. What was promised of them must be what they make,
// within 450 a car, and what they make no less than 0.97 of what the best three make without the
// correction. margin_spread is the starter's, but where true margins differ by 0.16 of the value what
// thirty past lots would say of it: with 0.08 the promise is 890 too low there, the safe side. An
// invented world; the bounds are the project's own.
func TestTheBestThreeOfFiftyMakeWhatTheyPromise(t *testing.T) {
	if testing.Short() {
		t.Skip("slow")
	}
	const sales = 24
	for _, world := range []struct {
		spread float64 // of true margins, a share of the value
		off    bool    // codes are off by a grade one in seven
		said   float64 // margin_spread in shop.toml
	}{{0.05, true, 0.08}, {0.08, true, 0.08}, {0.16, true, 0.16}, {0.08, false, 0.08}} {
		var promised, made [2]float64 // with the correction, without
		for sale := range sales {
			rng := rand.New(rand.NewPCG(17, uint64(sale)))
			lots, truth := aSale(t, rng, world.spread, world.off)
			for k, asCoded := range []bool{false, true} {
				s := corrected(starter(t), 0, 1, 0.25)
				s.Evidence.MarginSpread = prices.Some(world.said)
				m, err := prices.Fit(nil, nil, nil, s.PriceSettings(invented.Today))
				if err != nil {
					t.Fatal(err)
				}
				e := evaluatorOf(t, s, evaluate.Options{Prices: m, AsCoded: asCoded})
				results := make([]*evaluate.Result, len(lots))
				for i, l := range lots {
					if results[i], err = e.Evaluate(l); err != nil {
						t.Fatal(err)
					}
				}
				evaluate.Rank(results, bid.ByMargin)
				for _, r := range results[:3] {
					promised[k] += r.Margin.Mean / (3 * sales)
					made[k] += truth[r.Lot.Number] / (3 * sales)
				}
			}
		}
		t.Logf("spread %.2f, codes off %v: promised %.0f, made %.0f; without: promised %.0f, made %.0f", world.spread,
			world.off,
			promised[0], made[0], promised[1], made[1])
		if d := promised[0] - made[0]; math.Abs(d) > 450 {
			t.Errorf("spread %.2f, codes off %v: promised less made is %.0f", world.spread, world.off, d)
		}
		// What is aimed at is 0.97; with 24 sales a ratio has a standard error of some 0.04.
		const least = 0.90
		if made[0] < least*made[1] {
			t.Errorf("spread %.2f, codes off %v: made %.0f, without the correction %.0f", world.spread, world.off, made[0],
				made[1])
		}
	}
}

// aSale draws fifty lots, and the true mean margin of each at its guide.
func aSale(t *testing.T, rng *rand.Rand, spread float64, off bool) ([]*evaluate.Lot, map[string]float64) {
	t.Helper()
	s := starter(t)
	e := evaluatorOf(t, s, evaluate.Options{})
	listing := math.Sqrt(s.Evidence.ListingShare) * 0.08 // of a family car's value
	var lots []*evaluate.Lot
	truth := map[string]float64{}
	for len(lots) < 50 {
		marks := someMarks(rng, s)
		value := math.Round(math.Exp(math.Log(9000) + 0.35*rng.NormFloat64()))
		l := &evaluate.Lot{Number: fmt.Sprint(len(lots) + 1), Segment: "family", Category: "N", Year: 2018, Odometer: 60000,
			Site:  s.Tariff.Sites()[0],
			Value: money.FromPounds(value), Code: code(t, written(marks))}
		assessed, err := e.Assess(l)
		if err != nil {
			t.Fatal(err)
		}
		want := 300 + spread*value*rng.NormFloat64()
		steps := int(0.8 * value / 5)
		low, high := 0, steps // the margin falls with the price
		for high-low > 1 {
			if mid := (low + high) / 2; assessed.MeanMargin(money.FromPounds(float64(5*mid))) >= want {
				low = mid
			} else {
				high = mid
			}
		}
		if low < 20 { // nobody sells a car that is worth less than nothing
			continue
		}
		listed := *l
		listed.Guide = money.FromPounds(float64(5 * low))
		listed.Value = money.FromPounds(value * math.Exp(listing*rng.NormFloat64()))
		if off {
			for i := range marks {
				if rng.Float64() < 1.0/7 {
					marks[i].Grade = beside(rng, s, marks[i])
				}
			}
			listed.Code = code(t, written(marks))
		}
		truth[l.Number] = assessed.MeanMargin(listed.Guide)
		lots = append(lots, &listed)
	}
	return lots, truth
}

// someMarks draws two to five seen marks that the shop's cost table prices.
func someMarks(rng *rand.Rand, s *shop.Shop) []damage.Item {
	var out []damage.Item
	for want := 2 + rng.IntN(4); len(out) < want; {
		i := damage.Item{Spot: damage.Spot{Zone: damage.Zone(rng.IntN(damage.ZoneCount)),
			Class: []damage.Class{damage.Cosmetic, damage.Cosmetic,
				damage.Mechanical, damage.Structural}[rng.IntN(4)]}, Grade: damage.Grade(1 + rng.IntN(3))}
		if _, priced := s.Costs.RowOf(i); priced && i.Zone != damage.Whole && !slices.ContainsFunc(out,
			func(o damage.Item) bool { return o.Spot == i.Spot }) {
			out = append(out, i)
		}
	}
	return out
}

// beside is a grade beside an item's, if the cost table has it.
func beside(rng *rand.Rand, s *shop.Shop, i damage.Item) damage.Grade {
	g := i.Grade + damage.Grade(1)
	if rng.IntN(2) == 0 && i.Grade > 1 {
		g = i.Grade - 1
	}
	was := i.Grade
	if i.Grade = g; g.Valid() {
		if _, priced := s.Costs.RowOf(i); priced {
			return g
		}
	}
	return was
}

// written is the damage code of marks.
func written(marks []damage.Item) string {
	text := ""
	for k, i := range marks {
		if k > 0 {
			text += "; "
		}
		text += i.String()
	}
	return text
}
