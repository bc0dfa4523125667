package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"wreckoner/damage"
	"wreckoner/evaluate/stats"
)

// A policy says how much of what was estimated is written. Only `averaged` is used; the others are what it was chosen
// from, and the simulator measures them (METHOD.md 16.22).
type policy uint8

const (
	averaged policy = iota // each hypothesis by its posterior weight
	plain                  // everything as estimated, by costs alone
	named                  // only what the diagnosis names
	shrunk                 // everything times its cause's weight
)

// Chances, before anything is known, that a shared column differs from 0 (METHOD.md 16.22).
const levelOff, classOff, driftOff = 0.3, 0.25, 0.5

// keeps are the shares, 0 to 1, of each channel's change that are written.
type keeps struct{ codes, hidden, link, scatter float64 }

func (p policy) keeps(v []Verdict) keeps {
	if p == plain {
		return keeps{1, 1, 1, 1}
	}
	share := func(c Cause) float64 {
		if p != named {
			return v[c].Weight
		}
		if v[c].Named {
			return 1
		}
		return 0
	}
	k := keeps{share(Codes), share(Hidden), share(Link), share(Scatter)}
	if p == averaged {
		k.hidden, k.link = evenly(v[Hidden].Evidence), evenly(v[Link].Evidence)
		k.scatter += v[Runaway].Weight // a few jobs that ran away widen the scatter too
	}
	return k
}

// evenly is the posterior weight of a cause with a log Bayes factor, at even odds against nothing.
func evenly(evidence float64) float64 { return 1 / (1 + math.Exp(-evidence)) }

// costWeights returns the weight of each hypothesis about costs.
func (p policy) costWeights(f *fit, v []Verdict) []float64 {
	w := make([]float64, len(f.hypotheses))
	if len(w) == 0 {
		return w
	}
	switch p {
	case named:
		// As the estimate of everything together, where anything shared is named; else the rows' own alone.
		w[onlyRows] = 1
		for _, c := range costChannel() {
			if v[c].Named {
				w[onlyRows], w[everything] = 0, 1
			}
		}
	case shrunk:
		w[onlyRows] = 1
		for _, c := range costChannel() {
			w[onlyRows] -= v[c].Weight
		}
		w[everything] = 1 - w[onlyRows]
	default:
		return averagedWeights(f)
	}
	return w
}

// averagedWeights are the posterior weights of the hypotheses: each shared column differs from 0 or not, whatever the
// others do.
func averagedWeights(f *fit) []float64 {
	var off [shared]float64
	off[colLevel], off[colDrift] = levelOff, driftOff
	for c := range damage.ClassCount {
		off[colClass+c] = classOff
	}
	w := make([]float64, len(f.hypotheses))
	for mask, h := range f.hypotheses {
		w[mask] = h.evidence
		for k, chance := range off {
			if mask>>k&1 == 0 {
				chance = 1 - chance
			}
			w[mask] += math.Log(chance)
		}
	}
	normalize(w)
	return w
}

// A writer turns estimates into rows.
type writer struct {
	hyps    []hypothesis
	weights []float64
	kappa   float64
	half    float64 // half the span from the date of the prices to today, years
	column  []int   // of each row, 0 where it was not used
}

func (o *outcome) writer(p policy) *writer {
	f := o.fit
	w := &writer{hyps: f.hypotheses, weights: p.costWeights(f, o.verdicts), half: o.span / 2,
		column: make([]int, len(o.table.Rows))}
	if p == plain && len(w.hyps) > 0 {
		w.hyps, w.weights = []hypothesis{{beta: f.beta, v: f.v}}, []float64{1}
	}
	w.kappa = math.Exp(f.scatter.Mean * p.keeps(o.verdicts).scatter)
	for i, r := range f.rows {
		w.column[r] = colRow + i
	}
	return w
}

// shift returns how much dearer a row is on the log scale, and the variance of that, drift taken at half the span.
// Rows that no build used have what is shared.
func (w *writer) shift(row int, class damage.Class) (mean, variance float64) {
	at := func(beta []float64) float64 {
		s := beta[colLevel] + beta[colClass+int(class)]
		if k := w.column[row]; k > 0 {
			s += beta[k]
		}
		return s
	}
	var own float64
	for i, h := range w.hyps {
		m := at(h.beta)
		mean += w.weights[i] * m
		own += w.weights[i] * m * m
		if w.weights[i] > 1e-9 {
			variance += w.weights[i] * w.variance(h.v, row, class)
		}
	}
	return mean, variance + max(0, own-mean*mean)
}

func (w *writer) variance(v *mat.SymDense, row int, class damage.Class) (sum float64) {
	cols := []int{colLevel, colClass + int(class), colDrift}
	x := []float64{1, 1, w.half}
	if k := w.column[row]; k > 0 {
		cols, x = append(cols, k), append(x, 1)
	}
	for i, a := range cols {
		for k, b := range cols {
			sum += x[i] * x[k] * v.At(a, b)
		}
	}
	return sum
}

// drift returns the averaged drift.
func (w *writer) drift() (sum float64) {
	for i, h := range w.hyps {
		sum += w.weights[i] * h.beta[colDrift]
	}
	return sum
}

// row writes one row: mid moved by the shift, the tenths as wide as the scatter and the doubt about the shift make
// them, the mean not raised by the doubt (METHOD.md 16.15).
func (w *writer) row(r Row, i int) Row {
	if len(w.hyps) == 0 {
		return r
	}
	shift, variance := w.shift(i, r.Item.Class)
	r.Spend = stretch(r.Spend, shift-variance/2, w.kappa, variance)
	r.Hours = stretch(r.Hours, shift-variance/2, w.kappa, variance)
	return r
}

// stretch moves an amount's mid by exp(by) and scales the logs of its sides to it. Where that would make a tail
// that no amount may have, it is scaled by less.
func stretch(a stats.Amount, by, kappa, variance float64) stats.Amount {
	m := math.Exp(by)
	if a.Certain() || a.Mid == 0 {
		return stats.Amount{Low: a.Low * m, Mid: a.Mid * m, High: a.High * m, Shape: a.Shape}
	}
	s := math.Log(a.High/a.Low) / 2 / z90
	if a.Low == 0 {
		s = math.Log(a.High/a.Mid) / z90
	}
	k := math.Sqrt(kappa*kappa + variance/(s*s))
	for {
		out := stats.Amount{Low: a.Mid * m * math.Pow(a.Low/a.Mid, k), Mid: a.Mid * m,
			High: a.Mid * m * math.Pow(a.High/a.Mid, k), Shape: a.Shape}
		if _, err := stats.New(out.Low, out.Mid, out.High, out.Shape); err == nil || math.Abs(k-1) < 1e-3 {
			return out
		}
		k = 1 + 0.9*(k-1)
	}
}

// priorSD is how far a row's mean may be off before anything is learned, on the log scale.
func priorSD(r *Row, rate float64) float64 {
	s := newCurve(r, curveKey{spend: 1, hours: 1, rate: rate}).spread
	return math.Sqrt(levelSD*levelSD + classSD*classSD + s*s/r.Builds)
}

// hold keeps a row's mean within as many prior standard deviations of the old one as builds were learned from: one
// build notes a thing and moves it a little (METHOD.md 16.16).
func hold(old, row Row, rate float64, builds int) Row {
	before := old.Spend.Mean() + rate*old.Hours.Mean()
	after := row.Spend.Mean() + rate*row.Hours.Mean()
	if before <= 0 || after <= 0 {
		return row
	}
	limit := priorSD(&old, rate) * float64(builds)
	moved := math.Log(after / before)
	if math.Abs(moved) <= limit {
		return row
	}
	k := math.Exp(math.Copysign(limit, moved) - moved)
	scale := func(a stats.Amount) stats.Amount {
		return stats.Amount{Low: a.Low * k, Mid: a.Mid * k, High: a.High * k, Shape: a.Shape}
	}
	row.Spend, row.Hours = scale(row.Spend), scale(row.Hours)
	return row
}
