package probe

import (
	"math/bits"
	"slices"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// An Answer is what looking at a car says of one item.
type Answer uint8

// The answers. NotLooked leaves the item as it was.
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

// WorkOut works out a lot again for every pattern of answers about the items, each as if
// the answers were written into its code. Of more than most patterns it works out those
// with the fewest answers. It fails as Evaluate does, and with more than MostAnswered
// items it takes the first.
func WorkOut(e *evaluate.Evaluator, lot *evaluate.Lot, items []damage.Item, most int) (*Answers, error) {
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
		code, ok := Answered(lot.Code, items, answersOf(pattern, k))
		if !ok {
			a.Stops[pattern] = Contradicts
			continue
		}
		edited := *lot
		edited.Code = code
		s, err := e.Assess(&edited)
		if err != nil {
			return nil, err
		}
		stop, _ := s.HighestBid()
		a.Stops[pattern] = stop
		if _, known := a.Pay[stop]; !known && stop > 0 {
			a.Pay[stop] = s.Outlay(stop)
		}
	}
	return a, nil
}

// Answered writes answers into a code, as a person would: what was found is seen damage and
// takes the place of lesser marks of its zone and class; what is not there rules itself and
// worse out. It is false where two answers cannot both be so.
func Answered(code damage.Code, items []damage.Item, answers []Answer) (damage.Code, bool) {
	marks := code.Marks()
	for i, item := range items {
		switch answers[i] {
		case Found:
			marks = slices.DeleteFunc(marks, func(m damage.Mark) bool {
				return m.Spot == item.Spot && m.Grade <= item.Grade && m.State != damage.Absent
			})
			worse := func(m damage.Mark) bool {
				return m.Spot == item.Spot && m.State == damage.Seen && m.Grade > item.Grade
			}
			if !slices.ContainsFunc(marks, worse) {
				marks = append(marks, damage.Mark{Item: item, State: damage.Seen})
			}
		case NotThere:
			marks = slices.DeleteFunc(marks, func(m damage.Mark) bool {
				return m.Spot == item.Spot && m.Grade >= item.Grade && m.State != damage.Seen
			})
			lesser := func(m damage.Mark) bool {
				return m.Spot == item.Spot && m.State == damage.Absent && m.Grade < item.Grade
			}
			if !slices.ContainsFunc(marks, lesser) {
				marks = append(marks, damage.Mark{Item: item, State: damage.Absent})
			}
		}
	}
	out, err := damage.NewCode(marks...)
	return out, err == nil
}
