package prices

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// rowKind is which line of METHOD.md 15.8's table an equation is.
type rowKind int

const (
	priceRow   rowKind = iota // an advert, or an own sale's price: its error is to be learned
	haggleRow                 // asked over got
	listedRow                 // listed over got
	listingRow                // a past lot's value against the adverts
)

// maxShared is the most shared coefficients that one equation has: age, miles, haggle, standing, G, b, two marker
// rows.
const maxShared = 8

// equation is one row of model 1: y = shared and model's coefficients, and an error of Student's t.
type equation struct {
	kind   rowKind
	line   int
	model  int // -1: no model's coefficients
	n      int
	at     [maxShared]column
	x      [maxShared]float64
	xm     vec3 // 1, age, miles
	y      float64
	fade   float64
	inform float64 // j
	scale2 float64 // known part of the error's scale squared
	amount float64 // the price that a notice names
	weight float64 // w
	miss   float64 // E
}

func (e *equation) add(c column, x float64) {
	if x == 0 {
		return
	}
	e.at[e.n], e.x[e.n] = c, x
	e.n++
}

// market is model 1 once it is fitted, METHOD.md 15.6 to 15.14.
type market struct {
	s      *Settings
	list2  float64        // B2: variance of the error that all listings share
	models map[string]int // by name
	marks  []int          // column of e by marker row, -1 where nothing of the row was seen
	marked bool           // whether any equation has a marker in it
	prior  []Normal       // of the shared coefficients
	rows   []equation
	arrow  *arrow
	error2 float64 // S2
	age2   float64 // TA2
	miles2 float64 // TM2
	weight []float64
	count  []int
	rounds int
}

// sale2 is the variance of sale luck, listing2 of a listing's own error, METHOD.md 15.5.
func (k *market) sale2(v float64) float64    { return (1 - k.s.ListingShare) * v * v }
func (k *market) listing2(v float64) float64 { return k.s.ListingShare*v*v - k.list2 }

// fitMarket fits model 1 to adverts, own sales and past listings.
func fitMarket(s *Settings, sales []sale) (*market, error) {
	k := &market{s: s, models: map[string]int{}}
	least := math.Inf(1)
	for _, v := range s.ValueSpread {
		least = min(least, v)
	}
	k.list2 = 0.5 * s.ListingShare * least * least
	k.nameModels(sales)
	k.nameMarks(sales)
	for i := range sales {
		k.equations(&sales[i])
	}
	slices.SortStableFunc(k.rows, func(a, b equation) int { return compareEquations(&a, &b) })
	if err := k.converge(); err != nil {
		return nil, err
	}
	k.weight, k.count = make([]float64, len(k.models)), make([]int, len(k.models))
	for i := range k.rows {
		if r := &k.rows[i]; r.kind == priceRow {
			k.weight[r.model] += r.fade
			k.count[r.model]++
		}
	}
	return k, nil
}

// nameModels numbers the models of adverts and own sales by name.
func (k *market) nameModels(sales []sale) {
	var names []string
	for i := range sales {
		if !sales[i].past {
			names = append(names, sales[i].name)
		}
	}
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		k.models[name] = len(k.models)
	}
}

// nameMarks gives every marker row that was seen a column of its own, and the shared coefficients their priors.
func (k *market) nameMarks(sales []sale) {
	k.marks = make([]int, len(k.s.Markers))
	for i := range k.marks {
		k.marks[i] = -1
	}
	k.prior = []Normal{ageSlope, milesSlope, haggle, standing, {0, 1}, {0, math.Sqrt(k.list2)}}
	seen := make([]bool, len(k.marks))
	for i := range sales {
		if sales[i].fade == 0 {
			continue
		}
		for _, row := range sales[i].mark.rows {
			if row >= 0 {
				seen[row] = true
			}
		}
	}
	for row := range seen {
		own := k.s.Markers[row].prior().own
		if !seen[row] || own == 0 {
			continue
		}
		k.marked = true
		k.marks[row] = len(k.prior)
		k.prior = append(k.prior, Normal{0, own})
	}
}

// mark adds cG + e to an equation.
func (k *market) mark(e *equation, m marking) {
	e.add(colMarker, m.common)
	k.markOwn(e, m, 1)
}

// markOwn adds e, times a factor.
func (k *market) markOwn(e *equation, m marking, factor float64) {
	for j, row := range m.rows { // marking puts the lower row first, so that columns rise
		if row >= 0 && k.marks[row] >= 0 {
			e.add(column(k.marks[row]), factor*m.shares[j])
		}
	}
}

// line starts an equation with the model's line, METHOD.md 15.8.
func (k *market) line(kind rowKind, r *sale, model int) equation {
	e := equation{kind: kind, line: r.line, model: model, fade: r.fade, inform: 1, weight: 1}
	e.xm = vec3{1, r.age - centreAge, r.miles - centreMiles}
	e.add(colAge, e.xm[1])
	e.add(colMiles, e.xm[2])
	return e
}

// equations adds the one to three rows that an advert, an own sale or a past listing makes.
func (k *market) equations(r *sale) {
	model, known := k.models[r.name]
	if r.fade == 0 || !known {
		return
	}
	v := k.s.ValueSpread[r.segment]
	if r.past {
		e := k.line(listingRow, r, model)
		e.add(colListing, 1)
		e.y, e.scale2, e.amount = math.Log(r.listed)-v*v/2, k.listing2(v)/(tailFactor*tailFactor), r.listed
		k.rows = append(k.rows, e)
		return
	}
	e := k.line(priceRow, r, model)
	e.inform = saleError * saleError / (saleError*saleError + r.mark.car2)
	if r.got == 0 {
		e.add(colHaggle, 1)
		e.add(colStand, math.Log1p(r.stand/30)-math.Log1p(k.s.SellDays/30))
		k.mark(&e, r.mark)
		e.y, e.amount = math.Log(r.asked)-r.mark.offset, r.asked
		k.rows = append(k.rows, e)
		return
	}
	k.mark(&e, r.mark)
	e.y, e.amount = math.Log(r.got)-r.mark.offset, r.got
	k.rows = append(k.rows, e)
	if r.asked > 0 {
		h := equation{kind: haggleRow, line: r.line, model: -1, fade: r.fade, inform: 1, weight: 1}
		h.add(colHaggle, 1)
		h.y, h.scale2 = math.Log(r.asked/r.got), haggleError*haggleError/(tailFactor*tailFactor)
		k.rows = append(k.rows, h)
	}
	if r.listed > 0 {
		l := equation{kind: listedRow, line: r.line, model: -1, fade: r.fade, inform: 1, weight: 1}
		l.add(colMarker, -r.mark.common)
		l.add(colListing, 1)
		k.markOwn(&l, r.mark, -1)
		l.y = math.Log(r.listed/r.got) - v*v/2 + r.mark.offset
		l.scale2 = (k.listing2(v) + k.sale2(v) + r.mark.car2) / (tailFactor * tailFactor)
		k.rows = append(k.rows, l)
	}
}

// compareEquations orders rows by model and content alone, so that sums do not depend on the file's order.
func compareEquations(a, b *equation) int {
	if a.model != b.model {
		return cmp.Compare(a.model, b.model)
	}
	if a.y != b.y {
		return cmp.Compare(a.y, b.y)
	}
	if c := cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.xm[1], b.xm[1]), cmp.Compare(a.xm[2], b.xm[2]),
		cmp.Compare(a.fade, b.fade), cmp.Compare(a.scale2, b.scale2), cmp.Compare(a.n, b.n)); c != 0 {
		return c
	}
	for i := range a.n {
		if c := cmp.Or(cmp.Compare(a.at[i], b.at[i]), cmp.Compare(a.x[i], b.x[i])); c != 0 {
			return c
		}
	}
	return cmp.Compare(a.line, b.line)
}

// EM stops where no coefficient moves by settled, or after maxRounds.
const settled, maxRounds = 1e-10, 200

// converge runs the variational EM, METHOD.md 15.10 to 15.12.
func (k *market) converge() error {
	n := len(k.prior)
	k.error2, k.age2, k.miles2 = saleError*saleError, ageVaries*ageVaries, milesVaries*milesVaries
	k.arrow = newArrow(n, len(k.models))
	old := make([]float64, n)
	for i, p := range k.prior {
		old[i] = p.Mean
	}
	oldModels := make([]vec3, len(k.models))
	for i := range oldModels {
		oldModels[i] = vec3{modelLevel.Mean}
	}
	var trail trail
	for k.rounds = 1; ; k.rounds++ {
		k.assemble()
		if err := k.arrow.solve(); err != nil {
			return err
		}
		k.reweigh()
		k.respread()
		trail.follow(k)
		moved := 0.0
		for i, x := range k.arrow.mu {
			moved = max(moved, math.Abs(x-old[i]))
		}
		copy(old, k.arrow.mu)
		for i, b := range k.arrow.blocks {
			for j := range 3 {
				moved = max(moved, math.Abs(b.mu[j]-oldModels[i][j]))
			}
			oldModels[i] = b.mu
		}
		if moved < settled || k.rounds == maxRounds {
			return nil
		}
	}
}

// trail is how the three variances moved over the last rounds. EM creeps towards where it ends by steps that shrink by
// nearly the same factor; from a round on they are summed to their end (Aitken's extrapolation), which changes how soon
// it ends, not where.
type trail [3][3]float64

// The first round that extrapolates, how often after it, and the slowest shrinking that it trusts.
const leapEvery, slowestLeap = 4, 0.98

var firstLeap = 24 // a test goes without

// follow takes in the variances of a round, as logs, and puts extrapolated ones in their place where it is time.
func (t *trail) follow(k *market) {
	for i, v := range []*float64{&k.error2, &k.age2, &k.miles2} {
		x := &t[i]
		x[0], x[1], x[2] = x[1], x[2], math.Log(*v)
		if k.rounds < firstLeap || k.rounds%leapEvery != 0 {
			continue
		}
		step, before := x[2]-x[1], x[1]-x[0]
		if ratio := step / before; ratio > 0 && ratio < slowestLeap {
			*v = math.Exp(x[2] + step*ratio/(1-ratio))
		}
	}
}

// scale2 is an equation's error scale squared as it stands.
func (k *market) scale2(e *equation) float64 {
	switch e.kind {
	case priceRow:
		return k.error2
	case listingRow:
		return k.error2 + e.scale2
	}
	return e.scale2
}

// assemble fills in the equations' sums and the priors, METHOD.md 15.10.
func (k *market) assemble() {
	a := k.arrow
	clear(a.shared)
	for i, p := range k.prior {
		w := 1 / (p.SD * p.SD)
		a.shared[i*a.n+i] = w
		a.rhs[i] = w * p.Mean
	}
	for _, b := range a.blocks {
		level := 1 / (modelLevel.SD * modelLevel.SD)
		b.d = mat3{{level}, {0, 1 / k.age2}, {0, 0, 1 / k.miles2}}
		b.rhs = vec3{level * modelLevel.Mean}
		clear(b.cross)
	}
	for i := range k.rows {
		e := &k.rows[i]
		w := e.fade * e.inform * e.weight / k.scale2(e)
		for p := range e.n {
			wx := w * e.x[p]
			row := int(e.at[p]) * a.n
			a.rhs[e.at[p]] += wx * e.y
			for q := p; q < e.n; q++ { // columns rise: the upper triangle
				a.shared[row+int(e.at[q])] += wx * e.x[q]
			}
		}
		if e.model >= 0 {
			a.blocks[e.model].gather(e, w)
		}
	}
}

// gather adds one equation to its model's sums.
func (b *block) gather(e *equation, w float64) {
	for i := range 3 {
		wx := w * e.xm[i]
		b.rhs[i] += wx * e.y
		for j := range 3 {
			b.d[i][j] += wx * e.xm[j]
		}
	}
	for p := range e.n {
		c := &b.cross[e.at[p]]
		wx := w * e.x[p]
		c[0] += wx * e.xm[0]
		c[1] += wx * e.xm[1]
		c[2] += wx * e.xm[2]
	}
}

// fitted is an equation's mean by the coefficients.
func (k *market) fitted(e *equation) float64 {
	m := 0.0
	for p := range e.n {
		m += e.x[p] * k.arrow.mu[e.at[p]]
	}
	if e.model >= 0 {
		m += dot3(e.xm, k.arrow.blocks[e.model].mu)
	}
	return m
}

// lever is x'Vx of an equation: the variance of its mean.
func (k *market) lever(e *equation) float64 {
	a, v := k.arrow, 0.0
	for p := range e.n {
		row, x := int(e.at[p])*a.n, e.x[p]
		v += x * x * a.cov[row+int(e.at[p])]
		for q := range p {
			v += 2 * x * e.x[q] * a.cov[row+int(e.at[q])]
		}
	}
	if e.model >= 0 {
		b := a.blocks[e.model]
		for p := range e.n {
			v += 2 * e.x[p] * dot3(b.with[e.at[p]], e.xm)
		}
		v += dot3(e.xm, b.own.times(e.xm))
	}
	return v
}

// reweigh gives rows far from the line little weight, and learns the adverts' error, METHOD.md 15.11.
func (k *market) reweigh() {
	var wait sync.WaitGroup
	for part := range slices.Chunk(k.rows, chunkRows) {
		wait.Go(func() {
			for i := range part {
				k.reweighRow(&part[i])
			}
		})
	}
	wait.Wait()
	sum, n := saleErrorN*saleError*saleError, saleErrorN
	for i := range k.rows {
		if e := &k.rows[i]; e.kind == priceRow {
			sum += e.fade * e.inform * e.weight * e.miss
			n += e.fade
		}
	}
	k.error2 = sum / n
}

// chunkRows is how many rows one goroutine takes; a row's weight depends on no other row.
const chunkRows = 8192

func (k *market) reweighRow(e *equation) {
	off := e.y - k.fitted(e)
	e.miss = off*off + k.lever(e)
	e.weight = (errorDF + 1) / (errorDF + e.inform*e.miss/k.scale2(e))
}

// respread learns how far models' slopes differ, METHOD.md 15.11.
func (k *market) respread() {
	age, miles := variesN*ageVaries*ageVaries, variesN*milesVaries*milesVaries
	for _, b := range k.arrow.blocks {
		age += b.mu[1]*b.mu[1] + b.own[1][1]
		miles += b.mu[2]*b.mu[2] + b.own[2][2]
	}
	n := variesN + float64(len(k.arrow.blocks))
	k.age2, k.miles2 = age/n, miles/n
}
