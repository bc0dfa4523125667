package reforecast

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A Look is an inspection that can be made before it is decided what to do with the car, and what it is worth to have
// made it: the mean worth of the choice that is best given what it shows, less that of the choice that is best now
// (METHOD.md 17.7). Money in pounds.
type Look struct {
	shop.Inspection
	// Items are what it could show, those that count most first; the first Counted are told apart.
	Items   []damage.Item
	Counted int
	// Worth is before its price.
	Worth float64
	// Clear is the chance that it shows nothing.
	Clear float64
}

// Gain is what looking is worth once it is paid for.
func (l *Look) Gain() float64 { return l.Worth - l.Price }

// fromAfar is the chance of finding what is there up to which a look is one that is made before the car is in the yard,
// as by photographs; nobody makes it of a car that is being worked on.
const fromAfar = 0.5

// mostTold bounds the things of a look that are told apart: 64 patterns.
const mostTold = 6

// looks values each inspection that can show something of the car that is not known yet, the best first. finish is the
// worth of finishing in each simulated car, other the mean worth of the best of the other choices.
func (s *state) looks(finish []float64, other float64) []Look {
	var all []Look
	for _, x := range s.shop.Inspections {
		if len(s.progress.Jobs) > 0 && x.Finds <= fromAfar || byEye(&x) && s.progress.apart() {
			continue
		}
		if l, ok := s.look(x, finish, other); ok {
			all = append(all, l)
		}
	}
	slices.SortStableFunc(all, func(a, b Look) int { return cmp.Compare(b.Gain(), a.Gain()) })
	return all
}

// byEye reports whether a look is one at the panels and the structure of a car that stands at the sale: whoever takes
// the car apart sees that and more.
func byEye(x *shop.Inspection) bool {
	bodywork := func(c damage.Class) bool { return c == damage.Structural || c == damage.Cosmetic }
	return x.Visit && (x.Classes == nil || slices.ContainsFunc(x.Classes, bodywork))
}

func (s *state) look(x shop.Inspection, finish []float64, other float64) (Look, bool) {
	l := Look{Inspection: x}
	n := float64(len(finish))
	type place struct {
		candidate int
		weight    float64
	}
	var places []place
	all := stats.Mean(finish)
	for i, c := range s.known.now {
		worlds, certain := s.totals.Occurs(i)
		if c.Kind == costs.Seen || certain || len(worlds) == 0 || len(worlds) == len(finish) || !x.Shows(c.Item) {
			continue
		}
		sum := 0.0
		for _, w := range worlds {
			sum += finish[w]
		}
		there := float64(len(worlds)) / n
		// How much of the variance of finishing knowing it takes away.
		places = append(places,
			place{i, there / (1 - there) * (sum/float64(len(worlds)) - all) * (sum/float64(len(worlds)) - all)})
	}
	if len(places) == 0 {
		return l, false
	}
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(b.weight, a.weight) })
	for _, p := range places {
		l.Items = append(l.Items, s.known.now[p.candidate].Item)
	}
	l.Counted = min(len(places), mostTold)
	there := make([]uint8, len(finish))
	for bit, p := range places[:l.Counted] {
		worlds, _ := s.totals.Occurs(p.candidate)
		for _, w := range worlds {
			there[w] |= 1 << bit
		}
	}
	// What to do is chosen on one half of the simulated cars and valued on the other, and the other way round, since
	// the larger of noisy means is too large.
	half := len(finish) / 2
	halves := [2][]shown{
		showing(finish[:half], there[:half], l.Counted, x.Finds),
		showing(finish[half:], there[half:], l.Counted, x.Finds),
	}
	value := 0.0
	for answer := range halves[0] {
		for h := range halves {
			choose, judge := halves[h][answer], halves[1-h][answer]
			if choose.sum > choose.share*other {
				value += judge.sum / 2
			} else {
				value += judge.share * other / 2
			}
		}
	}
	l.Worth = max(0, value-max(all, other))
	l.Clear = (halves[0][0].share + halves[1][0].share) / 2
	return l, true
}

// shown is the share of one answer of a look, and the mean worth of finishing given it times that.
type shown struct{ share, sum float64 }

// showing returns the answers by their patterns: of k things each that is there is shown with chance finds, and none
// that is not.
func showing(finish []float64, there []uint8, k int, finds float64) []shown {
	is := make([]shown, 1<<k)
	for i, x := range finish {
		is[there[i]].share += 1 / float64(len(finish))
		is[there[i]].sum += x / float64(len(finish))
	}
	out := make([]shown, 1<<k)
	for pattern, p := range is {
		for seen := range out {
			if p.share == 0 || seen&^pattern != 0 {
				continue
			}
			hit := bits.OnesCount(uint(seen))
			weight := math.Pow(finds, float64(hit)) * math.Pow(1-finds, float64(bits.OnesCount(uint(pattern))-hit))
			out[seen].share += weight * p.share
			out[seen].sum += weight * p.sum
		}
	}
	return out
}
