package probe

import (
	"errors"
	"math/bits"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/money"
)

// An Answer is what looking at a car says of one item.
type Answer uint8

// The answers. NotLooked leaves the item as it was; Found says that it is there, or worse at
// the same spot; NotThere that neither is.
const (
	NotLooked Answer = iota
	Found
	NotThere
	answerCount
)

// MostAnswered is how many items of one car answers are told apart of.
const MostAnswered = 6

// Answers are the prices to stop at for every pattern of answers about some items.
type Answers struct {
	Items []damage.Item
	// Stops has the highest bid of each pattern, in order of their numbers in base 3 with an
	// Answer as each digit, the first item's the lowest. Below zero it is one of the two that
	// follow.
	Stops []money.Pence
	// Pay is what has to be paid at a stop, with fees and transport.
	Pay map[money.Pence]money.Pence
}

// What stands in Answers.Stops where there is no price: patterns whose answers cannot all
// be so, and those that were not worked out.
const (
	Contradicts  money.Pence = -1
	NotWorkedOut money.Pence = -2
)

// answersOf is the pattern of that number of k items.
func answersOf(n, k int) []Answer {
	out := make([]Answer, k)
	for i := range out {
		out[i] = Answer(n % int(answerCount))
		n /= int(answerCount)
	}
	return out
}

// ShownBy is what answers about items show of their spots.
func ShownBy(items []damage.Item, answers []Answer) (shown []costs.Shown) {
	for i, a := range answers {
		if a != NotLooked {
			shown = costs.Show(shown, items[i], a == Found)
		}
	}
	return shown
}

// WorkOut works out a lot for every pattern of answers about the items: the price to stop at
// given the answers, with what they say of how hard the car was hit. Of more than most patterns
// it works out those with the fewest answers; and none that by the rules for hidden damage cannot
// be, or that is too rare where cars are simulated. With more than MostAnswered items it takes the first.
func WorkOut(s *evaluate.Assessment, items []damage.Item, most int) (*Answers, error) {
	items = items[:min(len(items), MostAnswered)]
	k, n := len(items), 1
	for range items {
		n *= int(answerCount)
	}
	a := &Answers{Items: items, Stops: make([]money.Pence, n), Pay: map[money.Pence]money.Pence{}}
	order := make([]int, n)
	for i := range order {
		order[i], a.Stops[i] = i, NotWorkedOut
	}
	given := func(pattern int) int {
		mask := uint(0)
		for i, x := range answersOf(pattern, k) {
			if x != NotLooked {
				mask |= 1 << i
			}
		}
		return bits.OnesCount(mask)
	}
	slices.SortStableFunc(order, func(x, y int) int { return given(x) - given(y) })
	for _, pattern := range order[:min(most, n)] {
		g, err := s.Given(ShownBy(items, answersOf(pattern, k)))
		switch {
		case errors.Is(err, evaluate.ErrRare), errors.Is(err, convolve.ErrImpossible):
			continue
		case errors.Is(err, evaluate.ErrContradiction):
			a.Stops[pattern] = Contradicts
			continue
		case err != nil:
			return nil, err
		}
		stop, _ := g.HighestBid()
		a.Stops[pattern] = stop
		if _, known := a.Pay[stop]; !known && stop > 0 {
			a.Pay[stop] = g.Outlay(stop)
		}
	}
	return a, nil
}
