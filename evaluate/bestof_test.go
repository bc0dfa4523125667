package evaluate_test

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
	"wreckoner/evaluate/shop"
)

var fiftyPools = flag.Int("fifty-pools", 5, "lots of how many sales TestTheBestThreeOfFiftyMakeWhatTheyPromise draws")

// A fiftyWorld is how far true margins differ, as a share of the value, whether codes are off by a grade one in seven,
// and what shop.toml has for margin_spread.
type fiftyWorld struct {
	spread float64
	off    bool
	said   float64
}

// The starter's margin_spread is 0.08. Where true margins differ by 0.16 of the value it is what past lots would say of
// it: with 0.08 the promise is some 900 too low there, the safe side.
var fiftyWorlds = []fiftyWorld{{0.05, true, 0.08}, {0.05, true, 0.05}, {0.08, true, 0.08}, {0.16, true, 0.16},
	{0.08, false, 0.08}}

const (
	fifty  = 50
	rounds = 8 // how often the lots of a pool are put together anew, with other guides
)

// A sale of fifty lots is listed by somebody whose values and codes are a little off, and a market that
// knows the truth has set the guides: the true mean margin at the guide is normal about the usual one. The
// three lots that promise most are bought at the guide. What was promised of them must be what they make,
// within 450 a car, and what they make no less than 0.97 of what the best three make without the
// correction. An invented world; the bounds are the project's own. With -fifty-pools 100 the standard error is
// below 0.005.
func TestTheBestThreeOfFiftyMakeWhatTheyPromise(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	pools := make([][]outcomeOfThree, *fiftyPools)
	inParallel(len(pools), func() func(int) {
		f := newFifty(t)
		return func(i int) { pools[i] = f.pool(rand.New(rand.NewPCG(17, uint64(i)))) }
	})
	for k, w := range fiftyWorlds {
		var all outcomeOfThree
		for _, p := range pools {
			all.add(p[k], float64(len(pools)))
		}
		ratio, spread := all.made[0]/all.made[1], 0.0
		for _, p := range pools {
			d := p[k].made[0] - ratio*p[k].made[1]
			spread += d * d
		}
		n := float64(len(pools))
		se := math.Sqrt(spread/(n*max(1, n-1))) / all.made[1]
		t.Logf("spread %.2f, codes off %v, said %.2f: promised %.0f, made %.0f; without: promised %.0f, made %.0f; "+
			"ratio %.3f, standard error %.3f", w.spread, w.off, w.said, all.promised[0], all.made[0], all.promised[1],
			all.made[1], ratio, se)
		if d := all.promised[0] - all.made[0]; math.Abs(d) > 450 {
			t.Errorf("%+v: promised less made is %.0f", w, d)
		}
		if ratio < 0.97 {
			t.Errorf("%+v: made %.3f of what the best three make without the correction", w, ratio)
		}
	}
}

// inParallel calls what worker returns with 0 to n-1.
func inParallel(n int, worker func() func(int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			work := worker()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				work(i)
			}
		})
	}
	wait.Wait()
}

// outcomeOfThree is what the best three of fifty promise and make, a car, in pounds: with the correction, without.
type outcomeOfThree struct{ promised, made [2]float64 }

func (o *outcomeOfThree) add(x outcomeOfThree, of float64) {
	for k := range 2 {
		o.promised[k] += x.promised[k] / of
		o.made[k] += x.made[k] / of
	}
}

// A fiftyTrial has the evaluators of one worker.
type fiftyTrial struct {
	t     *testing.T
	s     *shop.Shop
	truth *evaluate.Evaluator      // who knows each grade
	seen  [][2]*evaluate.Evaluator // for each world: with the correction, without
}

func newFifty(t *testing.T) *fiftyTrial {
	f := &fiftyTrial{t: t, s: starter(t), seen: make([][2]*evaluate.Evaluator, len(fiftyWorlds))}
	known := *f.s
	known.CodingUp, known.CodingDown = [damage.ClassCount]float64{}, [damage.ClassCount]float64{}
	f.truth = evaluatorOf(t, &known, evaluate.Options{})
	for k, w := range fiftyWorlds {
		s := corrected(f.s, 0, 1, 0.25)
		s.Evidence.MarginSpread = prices.Some(w.said)
		m, err := prices.Fit(nil, nil, nil, s.PriceSettings(invented.Today))
		if err != nil {
			t.Error(err)
			continue
		}
		for i, asCoded := range []bool{false, true} {
			f.seen[k][i] = evaluatorOf(t, s, evaluate.Options{Prices: m, AsCoded: asCoded})
		}
	}
	return f
}

// A fiftieth is one lot as it is and as the list has it, with codes right and off.
type fiftieth struct {
	value             float64
	truth, right, off *evaluate.Assessment
}

// pool draws so many lots and puts them together to sales several times. The guides are drawn anew each time.
func (f *fiftyTrial) pool(rng *rand.Rand) []outcomeOfThree {
	out := make([]outcomeOfThree, len(fiftyWorlds))
	lots := make([]fiftieth, 4*fifty)
	for i := range lots {
		lots[i] = f.draw(rng)
	}
	sales := len(lots) / fifty * rounds
	for range rounds {
		rng.Shuffle(len(lots), func(i, j int) { lots[i], lots[j] = lots[j], lots[i] })
		for sale := range slices.Chunk(lots, fifty) {
			scores := make([]float64, len(sale))
			for i := range scores {
				scores[i] = rng.NormFloat64()
			}
			for k, w := range fiftyWorlds {
				out[k].add(f.bestThree(sale, scores, k, w), float64(sales))
			}
		}
	}
	return out
}

// bestThree buys the three lots of a sale that promise most at their guides.
func (f *fiftyTrial) bestThree(sale []fiftieth, scores []float64, k int, w fiftyWorld) (out outcomeOfThree) {
	type seen struct{ truth, promised float64 }
	lots := [2][]seen{}
	for i, l := range sale {
		guide, truth, ok := l.guide(300 + w.spread*l.value*scores[i])
		if !ok { // nobody sells a car that is worth less than nothing
			continue
		}
		study := l.right
		if w.off {
			study = l.off
		}
		for c := range lots {
			study.At(f.seen[k][c], guide)
			lots[c] = append(lots[c], seen{truth, study.MeanMargin(guide)})
		}
	}
	for c := range lots {
		slices.SortFunc(lots[c], func(a, b seen) int { return cmp.Compare(b.promised, a.promised) })
		for _, l := range lots[c][:3] {
			out.promised[c] += l.promised / 3
			out.made[c] += l.truth / 3
		}
	}
	return out
}

// guide is the price, in steps of 10, at which the true mean margin is what a market wants, or a little more.
func (l *fiftieth) guide(want float64) (guide money.Pence, margin float64, ok bool) {
	const step = 10
	at := func(n int) (money.Pence, float64) {
		p := money.FromPounds(float64(step * n))
		return p, l.truth.MeanMargin(p)
	}
	low, high := 0, int(0.8*l.value/step) // the margin falls with the price
	for high-low > 1 {
		mid := (low + high) / 2
		if _, m := at(mid); m >= want {
			low = mid
		} else {
			high = mid
		}
	}
	guide, margin = at(low)
	return guide, margin, low >= 100/step
}

// draw draws a lot.
func (f *fiftyTrial) draw(rng *rand.Rand) fiftieth {
	marks := someMarks(rng, f.s)
	l := fiftieth{value: math.Round(math.Exp(math.Log(9000) + 0.35*rng.NormFloat64()))}
	listing := math.Sqrt(f.s.Evidence.ListingShare) * 0.08 // of a family car's value
	listed := l.value * math.Exp(listing*rng.NormFloat64())
	l.truth, l.right = f.study(f.truth, marks, l.value), f.study(f.seen[0][0], marks, listed)
	for i := range marks {
		if rng.Float64() < 1.0/7 {
			marks[i].Grade = beside(rng, f.s, marks[i])
		}
	}
	l.off = f.study(f.seen[0][0], marks, listed)
	return l
}

func (f *fiftyTrial) study(e *evaluate.Evaluator, marks []damage.Item, value float64) *evaluate.Assessment {
	s, err := e.Assess(&evaluate.Lot{Number: "1", Segment: "family", Category: "N", Year: 2018, Odometer: 60000,
		Site: f.s.Tariff.Sites()[0], Value: money.FromPounds(value), Code: code(f.t, written(marks))})
	if err != nil {
		panic(fmt.Sprint(written(marks), err))
	}
	return s
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
