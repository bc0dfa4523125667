package build_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
)

// bestShops is how many workshops are taught in each world; each then goes to two sales of fifty lots.
var bestShops = flag.Int("best-shops", 1, "workshops a world for the best of fifty after learning")

// A stall sells lots by their true worth, whatever its list says of them.
type stall struct {
	real  *shop.Shop
	e     *evaluate.Evaluator
	rng   *rand.Rand
	count int
}

// An offer is a lot as it is, as it is listed, and its true mean margin at its guide.
type offer struct {
	real, listed *evaluate.Lot
	margin       float64
}

// offers draws n lots. The guide of each is where its true mean margin is normal about 300 with a standard deviation of
// 0.08 of its value; values are listed off by what the workshop's settings say, codes by a grade one in seven.
func (s *stall) offers(t *testing.T, n int) (all []offer) {
	t.Helper()
	const usual, spread, offCodes = 300, 0.08, 1.0 / 7
	listing := math.Sqrt(s.real.Evidence.ListingShare) * 0.08 // of a family car's value
	for len(all) < n {
		marks := s.marks()
		value := math.Round(math.Exp(math.Log(9000) + 0.35*s.rng.NormFloat64()))
		s.count++
		l := &evaluate.Lot{Number: fmt.Sprint(s.count), Segment: "family", Category: "N", Year: 2018, Odometer: 60000,
			Site: s.real.Tariff.Sites()[0], Value: money.FromPounds(value), Code: parse(t, written(marks))}
		study, err := s.e.Assess(l)
		if err != nil {
			t.Fatal(err)
		}
		want := usual + spread*value*s.rng.NormFloat64()
		low, high := 0, int(0.8*value/5) // the margin falls with the price
		for high-low > 1 {
			if mid := (low + high) / 2; study.MeanMargin(money.FromPounds(float64(5*mid))) >= want {
				low = mid
			} else {
				high = mid
			}
		}
		if low < 20 { // nobody sells a car that is worth less than nothing
			continue
		}
		l.Guide = money.FromPounds(float64(5 * low))
		listed := *l
		listed.Value = money.FromPounds(value * math.Exp(listing*s.rng.NormFloat64()))
		for i := range marks {
			if s.rng.Float64() < offCodes {
				marks[i].Grade = s.beside(marks[i])
			}
		}
		listed.Code = parse(t, written(marks))
		all = append(all, offer{l, &listed, study.MeanMargin(l.Guide)})
	}
	return all
}

// marks draws two to five seen marks that the cost table prices.
func (s *stall) marks() (out []damage.Item) {
	classes := []damage.Class{damage.Cosmetic, damage.Cosmetic, damage.Mechanical, damage.Structural}
	for want := 2 + s.rng.IntN(4); len(out) < want; {
		i := damage.Item{Spot: damage.Spot{Zone: damage.Zone(s.rng.IntN(damage.ZoneCount)),
			Class: classes[s.rng.IntN(len(classes))]}, Grade: damage.Grade(1 + s.rng.IntN(3))}
		taken := slices.ContainsFunc(out, func(o damage.Item) bool { return o.Spot == i.Spot })
		if _, priced := s.real.Costs.RowOf(i); priced && i.Zone != damage.Whole && !taken {
			out = append(out, i)
		}
	}
	return out
}

// beside is a grade beside an item's, if the cost table has it.
func (s *stall) beside(i damage.Item) damage.Grade {
	was := i.Grade
	i.Grade++
	if s.rng.IntN(2) == 0 && was > 1 {
		i.Grade = was - 1
	}
	if _, priced := s.real.Costs.RowOf(i); i.Grade.Valid() && priced {
		return i.Grade
	}
	return was
}

func written(marks []damage.Item) (text string) {
	for k, i := range marks {
		if k > 0 {
			text += "; "
		}
		text += i.String()
	}
	return text
}

// finish buys lots as they are listed and lets them turn out as they are.
func (s *stall) finish(t *testing.T, believed *shop.Shop, lots []offer, seed uint64) (all []*build.Outcome) {
	t.Helper()
	e, turns := newEvaluator(t, believed, evaluate.Options{Points: 64}), newTruth(t, s.real, seed)
	for i, o := range lots {
		name := fmt.Sprintf("car %d", i+1)
		f, err := build.Freeze(e, o.listed, o.listed.Guide, name, "test")
		if err != nil {
			t.Fatal(err)
		}
		outcome, err := build.Compare(f, turns.build(t, o.real, name))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, outcome)
	}
	return all
}

// best returns what the three lots of a sale that promise most promise and make, on average.
func best(t *testing.T, believed *shop.Shop, sale []offer, asCoded bool) (promised, made float64) {
	t.Helper()
	m, err := prices.Fit(nil, nil, nil, believed.PriceSettings(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)))
	if err != nil {
		t.Fatal(err)
	}
	e := newEvaluator(t, believed, evaluate.Options{Prices: m, AsCoded: asCoded})
	truth := map[string]float64{}
	results := make([]*evaluate.Result, len(sale))
	for i, o := range sale {
		truth[o.listed.Number] = o.margin
		if results[i], err = e.Evaluate(o.listed); err != nil {
			t.Fatal(err)
		}
	}
	evaluate.Rank(results, bid.ByMargin)
	for _, r := range results[:3] {
		promised += r.Margin.Mean / 3
		made += truth[r.Lot.Number] / 3
	}
	return promised, made
}

// What is asked of the best three of fifty holds after learning from 12, 30 and 60 builds too: what they promise is
// within 450 a car of what they make, and they make no less than 0.85 of what the best three make without the
// correction: 0.97 is aimed at, and takes -best-shops 16 to be told from luck; where the cost table was right, and where every job cost 1.3 times what it said. An invented world; the
// bounds are the project's own.
func TestTheBestThreeOfFiftyAfterLearning(t *testing.T) {
	if testing.Short() {
		t.Skip("teaches several workshops")
	}
	for _, dear := range []float64{1, 1.3} {
		t.Run(fmt.Sprintf("costs %.1f times the table", dear), func(t *testing.T) {
			t.Parallel()
			bestAfterLearning(t, dear)
		})
	}
}

// bestAfterLearning teaches workshops where every job costs so many times what the cost table says.
func bestAfterLearning(t *testing.T, dear float64) {
	var promised, made [3][2]float64 // after 12, 30, 60 builds; with the correction, without
	sizes := []int{12, 30, 60}
	sales := float64(2 * *bestShops)
	for k := range *bestShops {
		believed := starter(t, func(s *shop.Shop) {
			s.Evidence.Selection = [3]float64{0, 1, 0.25}
			s.Evidence.MarginSpread, s.Evidence.UsualMargin = prices.Some(0.08), prices.Some(300)
		})
		real := scaled(t, believed, func(costs.Row) float64 { return dear })
		s := &stall{real: real, e: newEvaluator(t, real, evaluate.Options{}),
			rng: rand.New(rand.NewPCG(18, uint64(k)))}
		past := s.finish(t, believed, s.offers(t, sizes[len(sizes)-1]), uint64(k)+1)
		market := [][]offer{s.offers(t, 50), s.offers(t, 50)}
		for i, n := range sizes {
			lesson, err := build.Learn(believed, past[:n])
			if err != nil {
				t.Fatal(err)
			}
			for _, sale := range market {
				for w, asCoded := range []bool{false, true} {
					p, m := best(t, lesson.After, sale, asCoded)
					promised[i][w] += p / sales
					made[i][w] += m / sales
				}
			}
		}
	}
	for i, n := range sizes {
		p, m := promised[i], made[i]
		t.Logf("%d builds: promised %.0f, made %.0f; without the correction %.0f, %.0f", n, p[0], m[0], p[1], m[1])
		if d := p[0] - m[0]; math.Abs(d) > 450 {
			t.Errorf("%d builds: promised less made is %.0f", n, d)
		}
		const least = 0.85 // with 32 sales a ratio has a standard error of some 0.04
		if m[0] < least*m[1] {
			t.Errorf("%d builds: made %.0f, without the correction %.0f", n, m[0], m[1])
		}
	}
}
