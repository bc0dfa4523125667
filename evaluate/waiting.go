package evaluate

import (
	"math"
	"slices"

	"wreckoner/evaluate/amount"
	"wreckoner/evaluate/convolve"
)

// waiting is the days for parts, where the longest lead times of what was seen and of
// what was not are known.
type waiting struct {
	// parts is the mean of the days for parts, square that of their squares.
	parts, square float64
	// days for parts, times a unit.
	days convolve.Part
}

// lead is a pair of longest lead times, in days, and what a day counts.
type lead struct{ seen, hidden, unit float64 }

// waiting returns that of a pair of lead times, from memory.
func (e *exact) waiting(l lead) *waiting {
	if w, ok := e.waits.Load(l); ok {
		return w.(*waiting)
	}
	w, _ := e.waits.LoadOrStore(l, e.newWaiting(l))
	return w.(*waiting)
}

// scored is an amount at scores of equal distance, with their chances.
type scored struct{ value, chance []float64 }

func scores(a amount.Amount, step float64) scored {
	if a.Certain() {
		return scored{[]float64{a.Mid}, []float64{1}}
	}
	var s scored
	total := 0.0
	for z := -7.0; z <= 7; z += step { // the square of a long tail rests on scores of 5
		w := math.Exp(-z * z / 2)
		s.value, s.chance = append(s.value, a.At(z)), append(s.chance, w)
		total += w
	}
	for i := range s.chance {
		s.chance[i] /= total
	}
	return s
}

func (e *exact) newWaiting(l lead) *waiting {
	w := &waiting{}
	w.days.Amounts, w.days.Chances = make([]float64, len(e.stretch.value)), e.stretch.chance
	for i, t := range e.stretch.value {
		days := max(l.seen*t, e.strip+l.hidden*t)
		w.days.Amounts[i] = l.unit * days
		w.parts += e.stretch.chance[i] * days
		w.square += e.stretch.chance[i] * days * days
	}
	return w
}

// selling returns the days to sell, times a unit, from memory.
func (e *exact) selling(unit float64) *convolve.Part {
	if p, ok := e.sales.Load(unit); ok {
		return p.(*convolve.Part)
	}
	days := &convolve.Part{Amounts: slices.Clone(e.sale.value), Chances: e.sale.chance}
	for i := range days.Amounts {
		days.Amounts[i] *= unit
	}
	p, _ := e.sales.LoadOrStore(unit, days)
	return p.(*convolve.Part)
}
