package conjugate

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// An Observation is one actual of one row, in the row's unit.
type Observation struct {
	// Row is the index of the row, from 0.
	Row int
	// Build numbers what the actuals of one occasion share: those with equal
	// Build run dear or cheap together, by Options.Link. Below 0: nothing shared.
	Build int
	// Actual is the amount that it came to.
	Actual float64
}

// Options say how a table learns. The zero value is ready to use.
type Options struct {
	// Shop is the standard deviation, on the log scale, of the habitual error that
	// all rows share. Zero means 0.2; below zero there is none.
	Shop float64
	// Class is the same of the error that the rows of one class share.
	Class float64
	// Link is the correlation, from 0 to below 1, of the normal scores of actuals
	// of one build. Zero takes them as independent.
	Link float64
	// Odd is how many standard deviations from its row an actual may lie before
	// it loses weight: further out it pulls no harder. Zero means 2.5; below zero
	// every actual has full weight.
	Odd float64
}

// A Learned is what became of a row.
type Learned struct {
	// Row is the row as it should be next time, its Worth grown by N. With N = 0,
	// or Fixed, it is the row as it was, to the last bit.
	Row Row
	// N is the number of observations used.
	N int
	// Shift is how far the row is believed to be off, on the log scale: 0.26 is
	// 30 % over. With N = 0 it is what the shop's and the class's errors suggest;
	// the row is not moved by it.
	Shift float64
	// Spread is the ratio, on the log scale, of the new distance between low and
	// high to the old.
	Spread float64
	// Fixed says that the row has no spread to learn from, so that it is reported
	// and not updated.
	Fixed bool
}

// A Shift is a habitual error on the log scale, with its standard deviation:
// Mean 0.26 is 30 % over. It is the error of rows worth nothing; Learned.Shift is
// each row's own.
type Shift struct{ Mean, SD float64 }

// Factor returns exp(Mean).
func (s Shift) Factor() float64 { return math.Exp(s.Mean) }

// A Table is what became of all rows.
type Table struct {
	Rows []Learned
	// Shop is the error that all rows share, Classes what each class adds.
	Shop    Shift
	Classes []Shift
	// Left are the indices of observations that were not learned from: actuals of
	// zero or below, or of a fixed row.
	Left []int
	// Odd are the indices of observations that lost weight.
	Odd []int
}

// Learn returns the table after observations of its rows, of which the classes
// are numbered from 0 to below classes. It fails where a row, an index or an
// option is out of range.
//
// The model, on the log scale. An actual of row j in build b departs from its mid by
//
//	l_j (S + C_class) + D_j + sqrt(link) r_j Z_b + sqrt(1 - link) s_j e
//
// with shop error S ~ N(0, Shop^2), class error C ~ N(0, Class^2), the row's own
// D_j ~ N(0, l_j^2 s_j^2 / worth), Z and e standard normal, and s_j^2 scaled
// inverse chi-squared, worth as many observations as the row. r_j is the row's
// standard deviation as it was written: what one bad build adds must not grow
// with what it taught of s_j.
//
// l_j^2 = o / (o + Shop^2 + Class^2) with o = s_j^2 / worth: the errors shared, as
// they stand once the observations that the row is already worth have been
// counted. So every row's shift has the prior variance s_j^2 / worth, neither more
// nor less than its worth says, the Student t predictive of every row has the
// row's own P10 and P90, and one odd build does not swing a well-founded row,
// however it is shared out. Where there are no shared errors, no link, no skew and
// nothing odd, it is Normal.Update of every row alone.
//
// The errors are jointly normal given the variances and are solved for exactly;
// the variances are then their conjugate update given the errors, and so on until
// neither moves (expectation-maximisation: Dempster, Laird and Rubin 1977, Journal
// of the Royal Statistical Society B 39, 1-38; Gelman et al. 2013, Bayesian Data
// Analysis, sections 3.3, 13.6 and 15.1). Weights of odd actuals: Huber (1981),
// Robust Statistics, section 7.8.
func Learn(rows []Row, classes int, observations []Observation, options Options) (Table, error) {
	l, err := newLearner(rows, classes, observations, options)
	if err != nil {
		return Table{}, err
	}
	if len(l.seen) > 0 {
		if err := l.settle(); err != nil {
			return Table{}, err
		}
	}
	return l.table(), nil
}

// setting returns an option of which zero means a default and below zero none.
func setting(x, byDefault, none float64) float64 {
	switch {
	case x == 0:
		return byDefault
	case x < 0:
		return none
	}
	return x
}

// A learner holds the state of Learn. Errors are held as standard normals: of the
// shop first, then the classes, then the rows.
type learner struct {
	rows    []belief
	classes int
	shop    float64
	class   float64
	link    float64
	odd     float64

	seen   []sighting
	builds [][]int // indices into seen
	left   []int

	mean  *mat.VecDense // of the errors
	cov   *mat.SymDense
	pace  float64 // share of a step that is taken
	moved float64 // the largest change of the last step
}

// A belief is a row with what is believed of it.
type belief struct {
	Row
	scale
	fixed    bool
	prior    float64 // variance of one actual before learning
	variance float64
	loading  float64 // on the shop's and the class's errors
	shift    float64
	unsure   float64 // variance of shift
	n        int
}

// A sighting is an observation that is learned from.
type sighting struct {
	Observation
	index  int
	log    float64 // of actual over mid
	weight float64
}

func newLearner(rows []Row, classes int, observations []Observation, o Options) (*learner, error) {
	if !(o.Link >= 0 && o.Link < 1) {
		return nil, fmt.Errorf("link %v is not from 0 to below 1", o.Link)
	}
	l := &learner{
		rows:    make([]belief, len(rows)),
		classes: classes,
		shop:    setting(o.Shop, 0.2, 0),
		class:   setting(o.Class, 0.2, 0),
		link:    o.Link,
		pace:    1,
		odd:     setting(o.Odd, 2.5, math.Inf(1)),
	}
	size := 1 + classes + len(rows)
	l.mean = mat.NewVecDense(size, nil)
	l.cov = mat.NewSymDense(size, nil)
	for i := range size {
		l.cov.SetSym(i, i, 1)
	}
	for j, r := range rows {
		if err := r.check(classes); err != nil {
			return nil, fmt.Errorf("row %d: %w", j+1, err)
		}
		b := belief{Row: r, fixed: r.fixed(), loading: 1}
		if !b.fixed {
			b.scale = r.scale()
			normal, err := NewNormal(-z90*b.even, z90*b.even, r.Worth)
			if err != nil {
				return nil, fmt.Errorf("row %d: %w", j+1, err)
			}
			b.prior = normal.Variance
			l.believe(&b, normal.Variance)
			b.unsure = b.variance / b.Worth
		}
		l.rows[j] = b
	}
	return l, l.see(observations)
}

// see sorts the observations by build.
func (l *learner) see(observations []Observation) error {
	place := map[int]int{}
	for i, o := range observations {
		if o.Row < 0 || o.Row >= len(l.rows) {
			return fmt.Errorf("observation %d: row %d of %d", i+1, o.Row, len(l.rows))
		}
		if math.IsNaN(o.Actual) || math.IsInf(o.Actual, 0) {
			return fmt.Errorf("observation %d: %v is not an amount", i+1, o.Actual)
		}
		b := &l.rows[o.Row]
		if b.fixed || o.Actual <= 0 {
			l.left = append(l.left, i)
			continue
		}
		b.n++
		at, ok := place[o.Build]
		if !ok || o.Build < 0 {
			at = len(l.builds)
			place[o.Build] = at
			l.builds = append(l.builds, nil)
		}
		l.builds[at] = append(l.builds[at], len(l.seen))
		l.seen = append(l.seen, sighting{o, i, math.Log(o.Actual / b.mid), 1})
	}
	return nil
}

// settle alternates errors and variances until neither moves.
func (l *learner) settle() error {
	const most = 2000
	last := math.Inf(1)
	for range most {
		l.moved = 0
		if err := l.solve(); err != nil {
			return err
		}
		l.spread()
		if l.moved < 1e-10*l.pace {
			return nil
		}
		// Very unequal sides and a close link can overshoot: then go slower.
		if l.moved > last {
			l.pace = max(l.pace*0.7, 1.0/64)
		}
		last = l.moved
	}
	if l.moved < 1e-6 {
		return nil
	}
	return fmt.Errorf("learning did not settle: the last of %d steps still moved a row by %.1g; look for a row whose two sides are very unequal, or lower the link", most, l.moved)
}

// terms are the errors that make up the shift of a row, and their coefficients.
func (l *learner) terms(j int) (at [3]int, by [3]float64) {
	b := &l.rows[j]
	own := b.loading * math.Sqrt(b.variance/b.Worth)
	return [3]int{0, 1 + b.Class, 1 + l.classes + j},
		[3]float64{b.loading * l.shop, b.loading * l.class, own}
}

// solve finds the joint posterior of the errors, and each row's shift from it.
//
// The noise of a build is N + gg', N diagonal and g what a score of 1 of the build
// adds to each actual: its inverse is N^-1 - N^-1 gg' N^-1 / (1 + g' N^-1 g)
// (Sherman and Morrison 1950, Annals of Mathematical Statistics 21, 124-127).
func (l *learner) solve() error {
	size := l.mean.Len()
	precision := mat.NewSymDense(size, nil)
	right := mat.NewVecDense(size, nil)
	for i := range size {
		precision.SetSym(i, i, 1)
	}
	for _, build := range l.builds {
		total := map[int]float64{} // of the errors' coefficients, times g
		sum, square := 0.0, 1.0
		for _, i := range build {
			s := l.seen[i]
			b := &l.rows[s.Row]
			noise := (1 - l.link) * b.variance / s.weight
			g := math.Sqrt(l.link) * b.even
			y := b.shift + b.departure(s.log, b.shift)
			at, by := l.terms(s.Row)
			for k := range at {
				for m := range k + 1 {
					add(precision, at[k], at[m], by[k]*by[m]/noise)
				}
				right.SetVec(at[k], right.AtVec(at[k])+by[k]*y/noise)
				total[at[k]] += by[k] * g / noise
			}
			sum += y * g / noise
			square += g * g / noise
		}
		if l.link == 0 {
			continue
		}
		// In order, so that the same gives the same to the last bit.
		keys := slices.Sorted(maps.Keys(total))
		for n, k := range keys {
			for _, m := range keys[:n+1] {
				add(precision, k, m, -total[k]*total[m]/square)
			}
			right.SetVec(k, right.AtVec(k)-total[k]*sum/square)
		}
	}
	var c mat.Cholesky
	if !c.Factorize(precision) {
		return errors.New("learning failed: the rows' spreads differ too much to be solved together")
	}
	if err := c.SolveVecTo(l.mean, right); err != nil {
		return fmt.Errorf("learning failed: %w", err)
	}
	if err := c.InverseTo(l.cov); err != nil {
		return fmt.Errorf("learning failed: %w", err)
	}
	for j := range l.rows {
		if b := &l.rows[j]; !b.fixed {
			shift, unsure := l.shift(j)
			step := l.pace * (shift - b.shift)
			l.moved = max(l.moved, math.Abs(step))
			b.shift, b.unsure = b.shift+step, unsure
		}
	}
	return nil
}

func add(m *mat.SymDense, i, j int, x float64) { m.SetSym(i, j, m.At(i, j)+x) }

// shift returns the mean and the variance of a row's shift.
func (l *learner) shift(j int) (mean, variance float64) {
	at, by := l.terms(j)
	for k := range at {
		mean += by[k] * l.mean.AtVec(at[k])
		for m := range at {
			variance += by[k] * by[m] * l.cov.At(at[k], at[m])
		}
	}
	return mean, variance
}

// spread updates each row's variance, and the weights of odd actuals.
func (l *learner) spread() {
	squares := make([]float64, len(l.rows))
	for i := range l.seen {
		s := &l.seen[i]
		b := &l.rows[s.Row]
		off := b.departure(s.log, b.shift)
		s.weight = 1
		if z := math.Abs(off) / math.Sqrt(b.variance+b.unsure); z > l.odd {
			s.weight = l.odd / z
		}
		squares[s.Row] += s.weight * (off*off + b.unsure)
	}
	for j := range l.rows {
		b := &l.rows[j]
		if b.n == 0 {
			continue
		}
		own := 1 + l.classes + j
		d := l.mean.AtVec(own)
		// The row's own error is one more observation of its variance.
		sum := b.Worth*b.prior + squares[j] + b.variance*(d*d+l.cov.At(own, own))
		variance := sum / (b.Worth + float64(b.n) + 1)
		l.moved = max(l.moved, math.Abs(variance-b.variance)/b.variance)
		l.believe(b, variance)
	}
}

// believe sets the variance of a row, and with it how far the row takes part in
// the errors shared.
func (l *learner) believe(b *belief, variance float64) {
	own := variance / b.Worth
	b.variance = variance
	b.loading = math.Sqrt(own / (own + l.shop*l.shop + l.class*l.class))
}

func (l *learner) table() Table {
	t := Table{Left: l.left, Rows: make([]Learned, len(l.rows)), Classes: make([]Shift, l.classes)}
	habit := func(i int, sd float64) Shift {
		return Shift{sd * l.mean.AtVec(i), sd * math.Sqrt(l.cov.At(i, i))}
	}
	t.Shop = habit(0, l.shop)
	for c := range t.Classes {
		t.Classes[c] = habit(1+c, l.class)
	}
	for j := range l.rows {
		b := &l.rows[j]
		r := Learned{Row: b.Row, N: b.n, Shift: b.shift, Spread: 1, Fixed: b.fixed}
		if b.n > 0 {
			nu := b.Worth + float64(b.n)
			r.Spread = t90(nu) * math.Sqrt(b.variance+b.unsure) / (z90 * b.even)
			r.Row = b.Row.moved(r.Shift, r.Spread)
			r.Row.Worth = nu
		}
		t.Rows[j] = r
	}
	for _, s := range l.seen {
		if s.weight < 1 {
			t.Odd = append(t.Odd, s.index)
		}
	}
	return t
}
