package evaluate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// waiting is the days for parts, where the longest lead times of what was seen and of
// what was not are known.
type waiting struct {
	// parts is the mean of the days for parts, square that of their squares; least is the
	// shortest that they can be.
	parts, square, least float64
	// few are the means of parts of them, about dayShares.
	few [len(dayShares)]float64
	// days for parts, times a unit.
	days *convolve.Part
}

// lead is a pair of longest lead times, in days, and what a day counts.
type lead struct{ seen, hidden, unit float64 }

// waiting returns that of a pair of lead times, from memory.
func (e *shared) waiting(l lead) *waiting {
	if w, ok := e.waits.Load(l); ok {
		return w.(*waiting)
	}
	w, _ := e.waits.LoadOrStore(l, e.newWaiting(l))
	return w.(*waiting)
}

// mostWaits bounds how many pairs of lead times one worker remembers.
const mostWaits = 4096

// waitingFor is shared.waiting, from the worker's own memory.
func (r *analytic) waitingFor(l lead) *waiting {
	w, ok := r.known[l]
	if !ok {
		if w = r.e.shared.waiting(l); r.known == nil || len(r.known) >= mostWaits {
			r.known = map[lead]*waiting{}
		}
		r.known[l] = w
	}
	return w
}

// scored is an amount at scores of equal distance, with their weights; and how it is
// spread.
type scored struct {
	value, weight []float64
	convolve.Spread
}

func scores(a stats.Amount) *scored {
	if a.Certain() {
		return &scored{[]float64{a.Mid}, []float64{1}, convolve.Spread{Edges: []float64{a.Mid}}}
	}
	const step, far = 1.0 / 30, 7.0 // the square of a long tail rests on scores of 5
	s := &scored{}
	total := 0.0
	for z := -far; z <= far+step/2; z += step {
		w := math.Exp(-z * z / 2)
		s.value, s.weight = append(s.value, a.At(z)), append(s.weight, w)
		total += w
		s.Edges = append(s.Edges, a.At(z-step/2))
		s.Chances = append(s.Chances, distuv.UnitNormal.CDF(z+step/2)-distuv.UnitNormal.CDF(z-step/2))
	}
	s.Edges = append(s.Edges, a.At(far+step/2))
	for i := range s.weight {
		s.weight[i] /= total
	}
	return s
}

func (e *shared) newWaiting(l lead) *waiting {
	days := func(t float64) float64 { return max(l.seen*t, e.strip+l.hidden*t) }
	w := &waiting{days: &convolve.Part{Spread: &e.stretch.Spread,
		At: func(t float64) float64 { return l.unit * days(t) }}, least: days(e.stretch.Edges[0])}
	for i, t := range e.stretch.value {
		w.parts += e.stretch.weight[i] * days(t)
		w.square += e.stretch.weight[i] * days(t) * days(t)
	}
	for i, share := range dayShares {
		for _, at := range []float64{-0.375, -0.125, 0.125, 0.375} {
			w.few[i] += days(e.leads.Quantile(share+at*dayChances[i])) / 4
		}
	}
	return w
}

// selling returns the days to sell, times a unit, from memory.
func (e *shared) selling(unit float64) *convolve.Part {
	if p, ok := e.sales.Load(unit); ok {
		return p.(*convolve.Part)
	}
	p, _ := e.sales.LoadOrStore(unit, &convolve.Part{Spread: &e.sale.Spread,
		At: func(days float64) float64 { return unit * days }})
	return p.(*convolve.Part)
}
