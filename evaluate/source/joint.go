package source

import (
	"cmp"
	"math"
	"slices"
)

// A Method is how the plans of a file were chosen.
type Method string

// The methods.
const (
	// Alone: no job waits for another; each has its own best plan.
	Alone Method = "each job alone"
	// Every: every combination of plans that can be best was compared.
	Every Method = "every combination"
	// Descent: one job's plan was bettered at a time until none could be, from
	// several starts. A better combination may have been missed.
	Descent Method = "one job at a time"
)

// Bounds of the search: the ways for the jobs to turn out that are gone through
// one by one, beyond which Points stand in for them; and the work, in steps of
// one job in one outcome of one combination, beyond which not every combination
// is compared.
const (
	maxOutcomes = 4096
	maxWork     = 4e7
	maxSweeps   = 100
)

// A candidate is a plan that may be part of the best combination.
type candidate struct {
	order   []int
	money   float64
	lengths []weighted
	mean    float64 // days
}

// candidates returns the plans of a task that no other beats in money without
// being slower: longer than some number of days more often. The others can not
// be part of the only best combination, since the length of the whole rises with
// that of every job.
func candidates(t *task) []candidate {
	all := make([]candidate, len(t.plans))
	for i, order := range t.plans {
		c := candidate{order: order, lengths: t.lengths(order)}
		c.money, c.mean = t.expect(order, nil, -1, 0)
		all[i] = c
	}
	slices.SortFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(tenthPence(a.money), tenthPence(b.money)), cmp.Compare(a.mean, b.mean),
			cmp.Compare(len(a.order), len(b.order)), t.byName(a.order, b.order))
	})
	var out []candidate
	for _, c := range all {
		if !slices.ContainsFunc(out, func(o candidate) bool { return noSlower(o.lengths, c.lengths) }) {
			out = append(out, c)
		}
	}
	return out
}

// noSlower reports whether a is longer than any number of days at most as often
// as b: first-order stochastic dominance.
func noSlower(a, b []weighted) bool {
	k, byA, byB := 0, 0.0, 0.0 // the chances to have ended
	for _, x := range b {
		byB += x.weight
		for k < len(a) && a[k].value <= x.value {
			byA += a[k].weight
			k++
		}
		if byA < byB-1e-12 {
			return false
		}
	}
	return true
}

// A joint is the jobs of one car with their candidates.
type joint struct {
	*network
	tasks   []*task
	among   [][]candidate
	holding float64
	// exact: outcomes are gone through one by one, else read at the points.
	exact bool
	luck  [][]float64 // a coordinate of the points for each job
}

func newJoint(n *network, tasks []*task, holding float64) *joint {
	g := &joint{network: n, tasks: tasks, holding: holding}
	outcomes := 1.0
	for _, t := range tasks {
		list := candidates(t)
		g.among = append(g.among, list)
		longest := 0
		for _, order := range t.plans { // any may be shown
			longest = max(longest, len(order))
		}
		outcomes *= float64(longest)
		g.luck = append(g.luck, shuffled(t.Name))
	}
	g.exact = outcomes <= maxOutcomes
	return g
}

// outcomes calls visit for the ways in which all jobs but skip turn out: the
// days of each, those of skip being 0, with the chance. days is valid during the
// call.
func (g *joint) outcomes(choice []*candidate, skip int, visit func(days []float64, chance float64)) {
	days := make([]float64, len(choice))
	if !g.exact {
		g.sampled(choice, skip, func(_ int, days []float64) { visit(days, 1.0/Points) })
		return
	}
	var next func(j int, chance float64)
	next = func(j int, chance float64) {
		switch {
		case j == len(choice):
			visit(days, chance)
		case j == skip:
			next(j+1, chance)
		default:
			for _, l := range choice[j].lengths {
				days[j] = l.value
				next(j+1, chance*l.weight)
			}
		}
	}
	next(0, 1)
}

// sampled is outcomes at the points.
func (g *joint) sampled(choice []*candidate, skip int, visit func(point int, days []float64)) {
	days := make([]float64, len(choice))
	for i := range Points {
		for j, c := range choice {
			if j != skip {
				days[j] = atShare(c.lengths, g.luck[j][i])
			}
		}
		visit(i, days)
	}
}

// atShare returns the value below which the share u of the weight lies.
func atShare(values []weighted, u float64) float64 {
	for _, v := range values[:len(values)-1] {
		if u < v.weight {
			return v.value
		}
		u -= v.weight
	}
	return values[len(values)-1].value
}

// hold returns that of job j beside the plans chosen for the others; with the
// gaps at the points where they are wanted.
func (g *joint) hold(choice []*candidate, j int, points bool) *hold {
	start, tail := make([]float64, len(choice)), make([]float64, len(choice))
	gap := func(days []float64) (gap, length float64) {
		length = g.forward(days, start)
		g.backward(days, tail)
		return length - start[j] - tail[j], length
	}
	var gaps []weighted
	base := 0.0
	g.outcomes(choice, j, func(days []float64, chance float64) {
		x, length := gap(days)
		gaps = append(gaps, weighted{x, chance})
		base += chance * length
	})
	h := newHold(gaps, base)
	if points {
		h.sampled = make([]float64, Points)
		g.sampled(choice, j, func(i int, days []float64) { h.sampled[i], _ = gap(days) })
	}
	return h
}

// held returns the expected days by which the whole is the later for the plan.
func (c *candidate) held(h *hold) float64 {
	sum := 0.0
	for _, l := range c.lengths {
		sum += l.weight * h.days(l.value)
	}
	return sum
}

// best returns the candidate of job j that costs least beside the others.
func (g *joint) best(j int, h *hold) (*candidate, float64) {
	var best *candidate
	least := math.Inf(1)
	for i := range g.among[j] {
		c := &g.among[j][i]
		if cost := tenthPence(c.money + g.holding*c.held(h)); cost < least {
			best, least = c, cost
		}
	}
	return best, least
}

// length returns the expected length of the whole.
func (g *joint) length(choice []*candidate) float64 {
	start := make([]float64, len(choice))
	sum := 0.0
	g.outcomes(choice, -1, func(days []float64, chance float64) { sum += chance * g.forward(days, start) })
	return sum
}

// choose returns the combination of plans that costs least, and where every one
// was compared, the ones that are best at some holding cost.
func (g *joint) choose() ([]*candidate, []stretch, Method) {
	free := 0 // the job with most candidates needs no going through
	combinations, outcomes := 1.0, 1.0
	for j, list := range g.among {
		if len(list) > len(g.among[free]) {
			free = j
		}
		combinations *= float64(len(list))
		longest := 0
		for _, c := range list {
			longest = max(longest, len(c.lengths))
		}
		outcomes *= float64(longest)
	}
	if !g.exact {
		outcomes = Points
	}
	if combinations/float64(len(g.among[free]))*outcomes*float64(len(g.among)) > maxWork {
		return g.descent(), nil, Descent
	}
	all := g.every(free)
	var best []*candidate
	least := math.Inf(1)
	for _, x := range all {
		if cost := tenthPence(x.money + g.holding*x.days); cost < least {
			best, least = x.choice, cost
		}
	}
	return best, all, Every
}

// A stretch is the range of holding costs, in pounds a day, over which a
// combination is the best.
type stretch struct {
	choice      []*candidate
	money, days float64
	from, to    float64
}

// every compares every combination and returns those that are best at some
// holding cost, the cheapest in money first.
func (g *joint) every(free int) []stretch {
	choice := make([]*candidate, len(g.among))
	var some []stretch
	var next func(j int, money float64)
	next = func(j int, money float64) {
		switch {
		case j == len(g.among):
			h := g.hold(choice, free, false)
			for i := range g.among[free] {
				choice[free] = &g.among[free][i]
				some = append(some, stretch{choice: slices.Clone(choice), money: money + choice[free].money, days: h.base +
					choice[free].held(h)})
			}
			if len(some) > Points { // what was beaten stays beaten
				some = lowest(some)
			}
		case j == free:
			next(j+1, money)
		default:
			for i := range g.among[j] {
				choice[j] = &g.among[j][i]
				next(j+1, money+choice[j].money)
			}
		}
	}
	next(0, 0)
	return lowest(some)
}

// lowest returns those of which money + holding * days is the least for some
// holding cost from 0 up, in that order, with their ranges.
func lowest(some []stretch) []stretch {
	slices.SortStableFunc(some, func(a, b stretch) int {
		return cmp.Or(cmp.Compare(a.money, b.money),
			cmp.Compare(a.days, b.days))
	})
	var out []stretch
	for _, x := range some {
		x.from, x.to = 0, math.Inf(1)
		for len(out) > 0 {
			last := &out[len(out)-1]
			if x.days >= last.days-1e-9 {
				x.from = math.Inf(1) // dearer and no quicker
				break
			}
			if x.from = (x.money - last.money) / (last.days - x.days); x.from > last.from {
				last.to = x.from
				break
			}
			out = out[:len(out)-1]
			x.from = 0
		}
		if !math.IsInf(x.from, 1) {
			out = append(out, x)
		}
	}
	return out
}

// straights returns where going straight to each certain option of job j is part
// of the best combination: of several ranges the one that holds the holding cost
// at hand, else the lowest.
func (g *joint) straights(j int, all []stretch) []Straight {
	t := g.tasks[j]
	if len(t.plans) < 2 {
		return nil
	}
	var out []Straight
	for o := range t.Options {
		if !t.Options[o].Certain() {
			continue
		}
		s := Straight{Option: o, From: math.NaN(), To: math.NaN(), Never: true}
		for _, x := range all {
			order := x.choice[j].order
			switch {
			case len(order) > 1 || order[0] != o:
			case !s.Never && s.To == x.from:
				s.To = x.to
			case s.Never || s.To < g.holding && x.from <= g.holding:
				s = Straight{Option: o, From: x.from, To: x.to}
			}
		}
		out = append(out, s)
	}
	return out
}

// descent betters one job's plan at a time. It starts from the plans that would
// be best if every day of every job cost some part of the holding cost, from all
// of it down to nothing, and from the quickest.
func (g *joint) descent() []*candidate {
	var best []*candidate
	least := math.Inf(1)
	for _, day := range []float64{g.holding, g.holding / 2, g.holding / 4, g.holding / 8, 0, math.Inf(1)} {
		choice := make([]*candidate, len(g.among))
		for j, list := range g.among {
			choice[j] = &list[0]
			for i := range list {
				c, o := &list[i], choice[j]
				if quicker := c.mean < o.mean; math.IsInf(day, 1) && quicker || !math.IsInf(day, 1) &&
					c.money+day*c.mean < o.money+day*o.mean {
					choice[j] = c
				}
			}
		}
		for range maxSweeps {
			before := slices.Clone(choice)
			for j := range choice {
				choice[j], _ = g.best(j, g.hold(choice, j, false))
			}
			if slices.Equal(before, choice) {
				break
			}
		}
		cost := g.holding * g.length(choice)
		for _, c := range choice {
			cost += c.money
		}
		if cost = tenthPence(cost); cost < least {
			best, least = choice, cost
		}
	}
	return best
}
