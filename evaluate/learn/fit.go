package learn

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Rounds of step 5, METHOD.md 16.14: at least, at most, and from which the scatter is learned.
const (
	leastRounds, mostRounds, scatterRound = 5, 8, 2
	settled                               = 1e-3
)

// A fit is what the costs say: every column together, and the log evidence of each cause alone.
type fit struct {
	*costs
	beta          []float64
	v             *mat.SymDense
	link, scatter Figure // scatter is log kappa
	linkEvidence  float64
	widerEvidence float64
	tailEvidence  float64
	// hypotheses, by which of the shared columns may differ from 0; nil without costs. alone are the log Bayes factors
	// of one column against none. Both rest on costs and on spend beside hours; aloneByCosts on costs only.
	hypotheses          []hypothesis
	alone, aloneByCosts [shared]float64
	beside              Figure // what spend beside hours says of the drift
	rounds              int
}

// A hypothesis is what the costs say if only some of the shared columns are not 0; rows always have their own. Its
// place in the list has bit k set where column k is one of them.
type hypothesis struct {
	beta     []float64
	v        *mat.SymDense
	evidence float64
}

// The shared columns, level, classes and drift, are the first; everything and nothing are two of the hypotheses.
const (
	shared     = colRow
	onlyRows   = 0
	everything = 1<<shared - 1
)

// fitCosts is steps 4 and 5, METHOD.md 16.10 to 16.14.
func fitCosts(c *costs, link float64) *fit {
	p := len(c.prior)
	f := &fit{costs: c, beta: make([]float64, p), link: Figure{Set: link, Mean: link}, scatter: Figure{}}
	all := make([]int, p)
	for i := range all {
		all[i] = i
	}
	f.v = mat.NewSymDense(p, nil)
	for i, v := range c.prior {
		f.v.SetSym(i, i, v)
	}
	if len(c.jobs) == 0 && len(c.limits) == 0 {
		return f
	}
	r := make([]float64, len(c.jobs))
	var sys *system
	for f.rounds = 1; f.rounds <= mostRounds; f.rounds++ {
		f.ease(f.beta, math.Exp(f.scatter.Mean), r)
		if len(c.jobs) > 0 {
			f.learnLink(r, all)
		}
		if f.rounds > scatterRound && len(c.jobs) > 0 {
			f.learnScatter(all)
		}
		kappa := math.Exp(f.scatter.Mean)
		f.ease(f.beta, kappa, r)
		sys = f.equations(r, f.link.Mean, kappa)
		sys.limit(c.limits, f.beta, kappa)
		next := sys.solve(c.prior, all)
		moved := 0.0
		for i := range next.beta {
			moved = max(moved, math.Abs(next.beta[i]-f.beta[i]))
		}
		f.beta, f.v = next.beta, next.covariance(p)
		if moved < settled && f.rounds >= leastRounds || f.rounds == mostRounds {
			break
		}
	}
	f.ease(f.beta, 1, r)
	f.tailEvidence = f.tails(r)
	f.beside = f.askBeside()
	f.suppose(sys, all)
	return f
}

// learnLink takes the posterior mean of the link over its grid.
func (f *fit) learnLink(r []float64, all []int) {
	kappa := math.Exp(f.scatter.Mean)
	ev := make([]float64, len(linkGrid))
	for i, x := range linkGrid {
		s := f.equations(r, x, kappa)
		s.limit(f.limits, f.beta, kappa)
		ev[i] = s.solve(f.prior, all).evidence
	}
	set := f.link.Set
	prior := linkPrior(set)
	post := make([]float64, len(ev))
	for i := range ev {
		post[i] = ev[i] + prior[i]
	}
	f.linkEvidence = logSum(post) - interpolate(linkGrid, ev, set)
	normalize(post)
	f.link.Mean, f.link.SD = moments(linkGrid, post)
}

// linkPrior returns the log weights of the grid: a beta distribution of the set mean, worth 10; flat at 0 and 1.
func linkPrior(set float64) []float64 {
	w := make([]float64, len(linkGrid))
	if set > 0 && set < 1 {
		for i, x := range linkGrid {
			w[i] = (linkWorth*set-1)*math.Log(max(x, 0.01)) + (linkWorth*(1-set)-1)*math.Log1p(-x)
		}
	}
	total := logSum(w)
	for i := range w {
		w[i] -= total
	}
	return w
}

// interpolate reads y at x by straight lines; beyond the ends it is the end's.
func interpolate(xs, ys []float64, x float64) float64 {
	i, _ := slices.BinarySearch(xs, x)
	switch {
	case i == 0:
		return ys[0]
	case i == len(xs):
		return ys[i-1]
	}
	return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
}

// learnScatter takes the posterior mean of log kappa over its grid, with the change of variable from costs to scores.
func (f *fit) learnScatter(all []int) {
	r := make([]float64, len(f.jobs))
	ev := make([]float64, len(scatterGrid))
	post := make([]float64, len(scatterGrid))
	wide := make([]float64, len(scatterGrid))
	slab := make([]float64, len(scatterGrid))
	for i, g := range scatterGrid {
		kappa := math.Exp(g)
		u := f.ease(f.beta, kappa, r)
		s := f.equations(r, f.link.Mean, kappa)
		s.limit(f.limits, f.beta, kappa)
		ev[i] = s.solve(f.prior, all).evidence
		for j := range u {
			c := &f.jobs[j]
			ev[i] += math.Log(c.spread / max(c.slope(u[j]), 1e-3))
		}
		post[i] = ev[i] + scatterPrior.log(g)
		slab[i] = -0.5 * (g / scatterCauseSD) * (g / scatterCauseSD)
		wide[i] = slab[i] + ev[i]
	}
	f.widerEvidence = logSum(wide) - logSum(slab) - ev[len(ev)/2]
	normalize(post)
	f.scatter.Mean, f.scatter.SD = moments(scatterGrid, post)
}

// suppose solves for each hypothesis.
func (f *fit) suppose(costs *system, all []int) {
	both := costs.observed(colDrift, f.beside.Mean, f.beside.SD)
	rows := all[colRow:]
	for mask := range everything + 1 {
		sol := both.solve(f.prior, slices.Concat(columnsOf(mask), rows))
		f.hypotheses = append(f.hypotheses, hypothesis{sol.beta, sol.covariance(len(f.prior)), sol.evidence})
	}
	none := costs.solve(f.prior, rows).evidence
	for k := range shared {
		f.alone[k] = f.hypotheses[1<<k].evidence - f.hypotheses[onlyRows].evidence
		f.aloneByCosts[k] = costs.solve(f.prior, slices.Concat([]int{k}, rows)).evidence - none
	}
}

// columnsOf lists the shared columns of a hypothesis.
func columnsOf(mask int) (cols []int) {
	for k := range shared {
		if mask>>k&1 == 1 {
			cols = append(cols, k)
		}
	}
	return cols
}

// Of jobs that ran away: the median factor, its spread on the log scale, and the shares tried (METHOD.md 16.20).
const (
	runawayFactor = 3.5
	runawaySD     = 0.4
	runawayShare  = 0.03
)

var runawayShares = []float64{.003, .006, .01, .02, .03, .05, .08, .12, .18}

// tails returns the log Bayes factor of a few jobs having run away, each judged given the others of its build.
func (f *fit) tails(r []float64) float64 {
	const kappa = 1
	link := f.link.Mean
	precision := make([]float64, f.cars)
	weighted := make([]float64, f.cars)
	for i := range f.cars {
		precision[i] = 1 / f.vari[i]
		weighted[i] = f.mean[i] / f.vari[i]
	}
	parts := func(i int) (j *cost, pull, d, e float64) {
		j = &f.jobs[i]
		ks := kappa * j.spread
		return j, ks * math.Sqrt(link), ks * ks * (1 - link), r[i] - j.shift(f.beta)
	}
	for i := range f.jobs {
		j, pull, d, e := parts(i)
		precision[j.car] += pull * pull / d
		weighted[j.car] += pull * e / d
	}
	ratio := make([]float64, len(f.jobs))
	for i := range f.jobs {
		j, pull, d, e := parts(i)
		others := precision[j.car] - pull*pull/d
		x := e - pull*(weighted[j.car]-pull*e/d)/others
		sd := math.Sqrt(d + pull*pull/others)
		wide := math.Hypot(sd, runawaySD)
		a, b := (x-math.Log(runawayFactor))/wide, x/sd
		ratio[i] = math.Exp(-0.5*a*a+0.5*b*b) * sd / wide
	}
	prior := make([]float64, len(runawayShares))
	both := make([]float64, len(runawayShares))
	for k, share := range runawayShares {
		d := math.Log(share / runawayShare)
		prior[k] = -0.5 * d * d
		both[k] = prior[k]
		for _, x := range ratio {
			both[k] += math.Log1p(-share + share*x)
		}
	}
	return logSum(both) - logSum(prior)
}
