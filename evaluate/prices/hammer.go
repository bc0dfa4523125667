package prices

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Model 2's prior, METHOD.md 15.18: mean and sd of each coefficient without a guide, and with one. From memory.
type hammerPrior struct{ bare, guided Normal }

var (
	priorOne      = hammerPrior{Normal{0, 0.15}, Normal{0, 0.12}}
	priorValue    = hammerPrior{Normal{0, 0.10}, Normal{0, 0.05}}     // per unit of ln(value / 8,000)
	priorGuide    = hammerPrior{Normal{0, 0}, Normal{0, 0.15}}        // per unit of ln(guide / (guide_share x value))
	priorRepair   = hammerPrior{Normal{-1.2, 0.6}, Normal{0, 0.30}}   // per unit of repair / value, from 0.3
	priorUncoded  = hammerPrior{Normal{0, 0.10}, Normal{0, 0.05}}     // where there is no damage code
	priorStarts   = hammerPrior{Normal{-0.08, 0.08}, Normal{0, 0.05}} // does not start
	priorKeys     = hammerPrior{Normal{-0.04, 0.06}, Normal{0, 0.05}} // no keys
	priorVAT      = hammerPrior{Normal{-0.15, 0.06}, Normal{0, 0.05}} // VAT on top of the hammer price
	priorYear     = hammerPrior{Normal{0, 0.08}, Normal{0, 0.08}}     // what a year makes dearer
	priorCategory = hammerPrior{Normal{0, 0.20}, Normal{0, 0.05}}     // mean without a guide: ln guide_share
	priorSite     = hammerPrior{Normal{0, 0.12}, Normal{0, 0.10}}
)

const (
	hammerDF     = 8    // degrees of freedom of the prior
	usualValue   = 8000 // pounds
	usualRepair  = 0.3  // of the value
	mostRepair   = 1    // of the value: more counts as this
	priorShare   = 0.5  // part of the predictive variance that is the coefficients'
	badShare     = 0.01 // chance that a hammer price is mistyped
	badSD        = 1.2  // log sd of a mistyped price's error
	yearDays     = 365
	hammerRounds = 50
	hammerStill  = 1e-9
)

// fixedColumns stand before the categories' and the sites'.
const fixedColumns = 9

// maxFilled is the most columns that one row fills.
const maxFilled = fixedColumns + 2

// A past is one past lot as model 2 sees it; also a lot to be foretold.
type past struct {
	line      int
	value     float64 // pounds, the list's or model 1's
	guide     float64
	hammer    float64
	category  string
	site      string
	share     float64 // guide_share of the category
	repair    Optional
	starts    float64 // 1: does not start
	keys      float64 // 1: has none
	vat       float64
	days      int // before the as-of day
	stop      float64
	won       Answer
	unusual   float64 // log of what it was knocked down at over what the others say
	plausible float64 // g
}

// filled is one row's columns that are not 0.
type filled struct {
	n  int
	at [maxFilled]int
	x  [maxFilled]float64
}

func (f *filled) add(at int, x float64) {
	if x != 0 {
		f.at[f.n], f.x[f.n] = at, x
		f.n++
	}
}

func (f *filled) dot(v []float64) float64 {
	s := 0.0
	for i := range f.n {
		s += f.x[i] * v[f.at[i]]
	}
	return s
}

// hammers is model 2 once it is fitted, with or without a guide.
type hammers struct {
	guided     bool
	categories map[string]int // columns
	sites      map[string]int
	prior      regressionPrior
	scale0     float64 // s0
	stretch    float64 // what the sds of METHOD.md 15.18 are multiplied by
	half       float64 // H: the scale of the prior predictive
	mid        float64 // log of the spread's mid
	fit        *conjugate
	used       []past
	rows       []filled
	weight     []float64 // f g
	total      float64
	gap        float64
	curve      *curve
	halflife   float64
}

// of picks the guided or the bare prior.
func (h *hammers) of(p hammerPrior) Normal {
	if h.guided {
		return p.guided
	}
	return p.bare
}

// fitHammers fits model 2. quick leaves out the last QR and the table, for
// back-tests.
func fitHammers(s *Settings, rows []past, guided, quick bool) (*hammers, error) {
	h := &hammers{guided: guided, categories: map[string]int{}, sites: map[string]int{}, halflife: s.ResultHalflife}
	fade := h.choose(rows)
	spread := s.ShareSpread
	if guided {
		spread = s.guideSpread()
	}
	h.setPrior(s, spread)
	h.rows = make([]filled, len(h.used))
	y := make([]float64, len(h.used))
	for i := range h.used {
		r := &h.used[i]
		h.rows[i] = h.columns(r)
		y[i] = math.Log(r.hammer / h.base(r))
	}
	if err := h.converge(fade, y, quick); err != nil {
		return nil, err
	}
	if !quick {
		h.curve = newCurve(h.fit.df())
	}
	h.gap = h.learnGap(s.RivalGap, fade)
	return h, nil
}

// base is what the regression's hammer price is divided by: the guide or the value.
func (h *hammers) base(r *past) float64 {
	if h.guided {
		return r.guide
	}
	return r.value
}

// choose keeps the rows that count, numbers their categories and sites, and returns their fading weights.
func (h *hammers) choose(rows []past) (fade []float64) {
	var categories, sites []string
	for i := range rows {
		r := &rows[i]
		f, counts := faded(r.days, h.halflife)
		if !counts || r.hammer <= 0 || r.value <= 0 || h.guided && r.guide <= 0 {
			continue
		}
		h.used = append(h.used, *r)
		fade = append(fade, f)
		categories, sites = append(categories, r.category), append(sites, r.site)
	}
	n := fixedColumns
	for _, set := range []struct {
		names []string
		at    map[string]int
	}{{categories, h.categories}, {sites, h.sites}} {
		slices.Sort(set.names)
		for _, name := range slices.Compact(set.names) {
			set.at[name] = n
			n++
		}
	}
	return fade
}

// setPrior works out METHOD.md 15.18: half of a usual lot's predictive variance is the coefficients'.
func (h *hammers) setPrior(s *Settings, spread Points) {
	h.half = 0.5 * math.Log(spread[2]/spread[0]) / (distuv.StudentsT{Sigma: 1, Nu: hammerDF}).Quantile(0.9)
	h.mid = math.Log(spread[1])
	one, category, site := h.of(priorOne).SD, h.of(priorCategory).SD, h.of(priorSite).SD
	h.stretch = h.half * math.Sqrt(priorShare/(one*one+category*category+site*site))
	h.scale0 = h.half * math.Sqrt(1-priorShare)
	p := &h.prior
	add := func(mean, sd float64) {
		p.mean = append(p.mean, mean)
		p.sd = append(p.sd, sd*h.stretch/h.scale0)
	}
	for i, c := range []hammerPrior{priorOne, priorValue, priorGuide, priorRepair, priorUncoded, priorStarts,
		priorKeys, priorVAT, priorYear} {
		n := h.of(c)
		if i == 0 {
			n.Mean += h.mid
		}
		if n.SD == 0 { // the guide's column, without a guide: never filled
			n.SD = 1
		}
		add(n.Mean, n.SD)
	}
	names := make([]string, len(h.categories))
	for name, at := range h.categories {
		names[at-fixedColumns] = name
	}
	for _, name := range names {
		add(h.categoryMean(s.guideShare(name)), category)
	}
	for range h.sites {
		add(0, site)
	}
	p.a, p.b = hammerDF/2, hammerDF/2*h.scale0*h.scale0
}

// categoryMean is the prior mean of a category's column.
func (h *hammers) categoryMean(share float64) float64 {
	if h.guided {
		return 0
	}
	return math.Log(share)
}

// columns is a lot's row. Categories and sites without results have no column here: see foretell.
func (h *hammers) columns(r *past) filled {
	var f filled
	f.add(0, 1)
	f.add(1, math.Log(r.value/usualValue))
	if h.guided {
		f.add(2, math.Log(r.guide/(r.share*r.value)))
	}
	if r.repair.Known {
		f.add(3, min(r.repair.V/r.value, mostRepair)-usualRepair)
	} else {
		f.add(4, 1)
	}
	f.add(5, r.starts)
	f.add(6, r.keys)
	f.add(7, r.vat)
	f.add(8, -float64(r.days)/yearDays)
	if at, ok := h.categories[r.category]; ok {
		f.add(at, 1)
	}
	if at, ok := h.sites[r.site]; ok {
		f.add(at, 1)
	}
	return f
}

// converge weighs the rows by the chance that they are not mistyped, METHOD.md 15.19. The rounds on the way use the
// normal equations, which the prior keeps well conditioned; the last fit is by QR.
func (h *hammers) converge(fade, y []float64, quick bool) error {
	n := len(h.used)
	h.weight = make([]float64, n)
	mean, scale := make([]float64, n), h.half
	for i := range h.rows {
		mean[i] = h.rows[i].dot(h.prior.mean)
	}
	var err error
	for range hammerRounds {
		for i := range h.used {
			h.used[i].unusual = y[i] - mean[i]
			h.used[i].plausible = plausible(y[i]-mean[i], scale)
			h.weight[i] = fade[i] * h.used[i].plausible
		}
		if h.fit, err = h.normalEquations(y); err != nil {
			return err
		}
		scale = math.Sqrt(h.fit.s2())
		moved := 0.0
		for i := range h.rows {
			m := h.rows[i].dot(h.fit.mean)
			moved = max(moved, math.Abs(m-mean[i]))
			mean[i] = m
		}
		if moved < hammerStill {
			break
		}
	}
	for _, w := range h.weight {
		h.total += w
	}
	if quick {
		return nil
	}
	h.fit, err = fitConjugate(n, len(h.prior.mean), func(i int, row []float64) {
		f := &h.rows[i]
		for j := range f.n {
			row[f.at[j]] = f.x[j]
		}
	}, y, h.weight, &h.prior)
	return err
}

// plausible is g, the chance that a row is what it says: of two normals, METHOD.md 15.19; Aitkin and Wilson (1980),
// Technometrics 22, 325.
func plausible(off, scale float64) float64 {
	wide := math.Hypot(scale, badSD)
	good := math.Log(1-badShare) - math.Log(scale) - 0.5*(off/scale)*(off/scale)
	bad := math.Log(badShare) - math.Log(wide) - 0.5*(off/wide)*(off/wide)
	return 1 / (1 + math.Exp(bad-good))
}

// normalEquations is the same posterior as fitConjugate's, by Cholesky of the sparse rows' sums.
func (h *hammers) normalEquations(y []float64) (*conjugate, error) {
	p := len(h.prior.mean)
	a, rhs := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil)
	data := a.RawSymmetric().Data
	for j := range p {
		w := 1 / (h.prior.sd[j] * h.prior.sd[j])
		data[j*p+j] = w
		rhs.SetVec(j, w*h.prior.mean[j])
	}
	b := rhs.RawVector().Data
	c := &conjugate{a: h.prior.a, b: h.prior.b, mean: make([]float64, p)}
	for i := range h.rows {
		f, w := &h.rows[i], h.weight[i]
		for j := range f.n {
			wx := w * f.x[j]
			b[f.at[j]] += wx * y[i]
			row := data[f.at[j]*p:]
			for k := j; k < f.n; k++ { // columns rise, so this is the upper triangle
				row[f.at[k]] += wx * f.x[k]
			}
		}
		c.a += w / 2
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, errSingular
	}
	if err := chol.SolveVecTo(mat.NewVecDense(p, c.mean), rhs); err != nil {
		return nil, err
	}
	c.r = mat.NewTriDense(p, mat.Upper, nil)
	chol.UTo(c.r)
	for i := range h.rows {
		off := y[i] - h.rows[i].dot(c.mean)
		c.b += h.weight[i] * off * off / 2
	}
	for j, m := range c.mean {
		off := (m - h.prior.mean[j]) / h.prior.sd[j]
		c.b += off * off / 2
	}
	return c, nil
}

// foretell is the predictive Student t of the log hammer price: location, and scale. A category or site without
// results adds its prior mean and variance.
func (h *hammers) foretell(r *past) (location, scale float64) {
	f := h.columns(r)
	location = f.dot(h.fit.mean) + math.Log(h.base(r))
	x := make([]float64, len(h.fit.mean))
	for i := range f.n {
		x[f.at[i]] = f.x[i]
	}
	lever := h.fit.lever(x)
	if _, ok := h.categories[r.category]; !ok {
		location += h.categoryMean(r.share)
		lever += h.unseen(priorCategory)
	}
	if _, ok := h.sites[r.site]; !ok {
		lever += h.unseen(priorSite)
	}
	return location, math.Sqrt(h.fit.s2() * (1 + lever))
}

// unseen is the prior variance, over s2, of a column that no row has.
func (h *hammers) unseen(p hammerPrior) float64 {
	sd := h.of(p).SD * h.stretch / h.scale0
	return sd * sd
}

// The grid of the gap between hammer price and price to beat.
const gapStep, gapSteps = 0.01, 41

// learnGap is the posterior mean of the gap on a grid, METHOD.md 15.21: each own bid says whether it was enough.
func (h *hammers) learnGap(prior Normal, fade []float64) float64 {
	var logs [gapSteps]float64
	for j := range logs {
		z := (float64(j)*gapStep - prior.Mean) / prior.SD
		logs[j] = -z * z / 2
	}
	df := h.fit.df()
	for i := range h.used {
		r := &h.used[i]
		if r.stop <= 0 || r.won == Unknown {
			continue
		}
		location, scale := h.foretell(r)
		for j := range logs {
			c := (distuv.StudentsT{Sigma: 1, Nu: df}).CDF((math.Log(r.stop) - location - float64(j)*gapStep) / scale)
			if r.won == No {
				c = 1 - c
			}
			logs[j] += fade[i] * math.Log(min(1, max(leastChance, c)))
		}
	}
	top := slices.Max(logs[:])
	sum, mean := 0.0, 0.0
	for j, l := range logs {
		p := math.Exp(l - top)
		sum += p
		mean += p * float64(j) * gapStep
	}
	return mean / sum
}

// leastChance keeps one bid from ruling a gap out.
const leastChance = 1e-9
