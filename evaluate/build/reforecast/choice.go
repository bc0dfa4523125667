package reforecast

import (
	"cmp"
	"math"
	"slices"

	"wreckoner/evaluate"
	"wreckoner/evaluate/stats"
)

// The choices that a build in progress leaves.
const (
	Finish     = "finish"
	AsItStands = "sell as it stands"
	ForParts   = "break for parts"
)

// A Choice is one thing that can be done with the car.
type Choice struct {
	Name string
	// Worth is the money from here on, in pounds: what comes in less what still
	// goes out. What was spent already counts in none.
	Worth evaluate.Spread
	// Best is the chance that it turns out worth more than each of the others.
	Best float64
}

// A Flip says how far off the forecast would have to be for the advice to change.
// The advice is the choice with the highest mean worth.
type Flip struct {
	// Against is the second best choice; "" where there is only finishing.
	Against string
	// Lead is how much better the advice is on average, in pounds.
	Lead float64
	// The rest compares finishing with the best of the others, where there is one.
	// Cost is what the jobs, fixed items and extras still to come would have to
	// cost in all, in pounds; below 0: at no cost. Times is that over what is
	// expected. Days is by how many days, and Resale by what share of the price, the
	// forecast would have to be off: above 0, later and lower.
	Cost, Times, Days, Resale float64
	// Offer is what the car would have to bring as it stands to be worth as much as
	// finishing it, in pounds.
	Offer float64
}

// choose values the choices over the same worlds.
func (s *state) choose(out *Forecast, o Offers) {
	n := s.opt.Points
	saved := s.refinance(o)
	finish := make([]float64, n)
	for i, m := range s.margin {
		finish[i] = m + s.sunk + saved*s.daysLeft[i]
	}
	worths, chosen := [][]float64{finish}, []Choice{{Name: Finish, Worth: spreadOf(finish)}}
	add := func(name string, a *stats.Amount, dim int) {
		if a == nil {
			return
		}
		worth := read(*a, s.e.Draws().Score(dim))
		for i, x := range worth {
			worth[i] = x - s.price.Due(x)
		}
		worths, chosen = append(worths, worth), append(chosen, Choice{Name: name, Worth: spreadOf(worth)})
	}
	// An offer varies with nothing else: it has a coordinate of its own.
	add(AsItStands, o.AsItStands, s.e.Draws().Stream("offer as it stands"))
	add(ForParts, o.ForParts, s.e.Draws().Stream("offer for parts"))
	for i := range n {
		best := 0
		for c := range worths {
			if worths[c][i] > worths[best][i] {
				best = c
			}
		}
		chosen[best].Best += 1 / float64(n)
	}
	for c := range chosen {
		chosen[c].Best = min(1, chosen[c].Best)
	}
	slices.SortStableFunc(chosen, func(a, b Choice) int { return cmp.Compare(b.Worth.Mean, a.Worth.Mean) })
	out.Choices, out.Flip = chosen, s.flip(out, chosen)
	if rival := bestOther(chosen); !math.IsInf(rival, -1) {
		out.Looks = s.looks(finish, rival)
	}
}

// refinance returns what a day of finishing costs less where the money in the car is what it would bring today rather
// than what was paid for it: in this comparison the outlay is gone either way (METHOD.md 17.6). 0 where nobody says
// what it would bring.
func (s *state) refinance(o Offers) (saved float64) {
	brings := math.Inf(-1)
	for _, a := range []*stats.Amount{o.AsItStands, o.ForParts} {
		if a != nil {
			brings = max(brings, a.Mean()-s.price.Due(a.Mean()))
		}
	}
	if math.IsInf(brings, -1) {
		return 0
	}
	saved = s.price.Finance * (s.price.Outlay - max(0, brings))
	s.perDay -= saved
	return saved
}

// bestOther returns the largest mean worth of the choices but finishing, minus infinity where there is none.
func bestOther(chosen []Choice) float64 {
	rival := math.Inf(-1)
	for _, c := range chosen {
		if c.Name != Finish {
			rival = max(rival, c.Worth.Mean)
		}
	}
	return rival
}

func (s *state) flip(out *Forecast, chosen []Choice) Flip {
	var f Flip
	finish, rival := 0.0, bestOther(chosen)
	for _, c := range chosen {
		if c.Name == Finish {
			finish = c.Worth.Mean
		}
	}
	f.Offer = finish
	if len(chosen) < 2 {
		return f
	}
	f.Against, f.Lead = chosen[1].Name, chosen[0].Worth.Mean-chosen[1].Worth.Mean
	spare := finish - rival
	expected := out.ToCome.Mean + out.OtherToCome.Mean
	f.Cost, f.Times = expected+spare, math.NaN()
	if expected > 0 {
		f.Times = f.Cost / expected
	}
	f.Days, f.Resale = math.NaN(), math.NaN()
	if s.perDay > 0 {
		f.Days = spare / s.perDay
	}
	kept := s.price.Kept
	if out.Now.Resale.Mean > s.price.Bought {
		kept -= s.price.Scheme
	}
	if price := out.Now.Resale.Mean * kept; price > 0 {
		f.Resale = spare / price
	}
	return f
}
