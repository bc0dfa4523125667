package source

import (
	"cmp"
	"math"
	"slices"
)

// A trial is an option with its figures at the rates.
type trial struct {
	works float64
	own   float64 // labour, pounds
	hours float64
	days  float64
	// spend and lost are means, in pounds: if it works, and if it does not.
	spend, lost float64
	// spends and losses are the same at the points.
	spends, losses []float64
}

// A task is a job with its trials and every plan for it.
type task struct {
	*Job
	trials []trial
	plans  [][]int
}

func newTask(j *Job, r Rates) *task {
	t := &task{Job: j}
	for _, o := range j.Options {
		x := trial{
			works: o.Works, own: r.Labour * o.Hours, hours: o.Hours, days: o.LeadDays + o.Hours/r.HoursPerDay,
			spend: o.Spend.Mean(), spends: sample(o.Spend, j.Name+"\x00"+o.Name),
		}
		x.lost, x.losses = x.spend, x.spends
		if o.Refund {
			x.lost, x.losses = 0, make([]float64, Points)
			for i, s := range x.spends {
				x.losses[i] = min(s, o.Lost)
				x.lost += x.losses[i] / Points
			}
		}
		t.trials = append(t.trials, x)
	}
	t.plans = plans(j.Options)
	return t
}

// plans returns every order of trying some of the options that ends in a certain
// one; where none is certain, every order of all.
func plans(options []Option) [][]int {
	var sure, unsure []int
	for i := range options {
		if options[i].Certain() {
			sure = append(sure, i)
		} else {
			unsure = append(unsure, i)
		}
	}
	var out [][]int
	var extend func(order []int)
	extend = func(order []int) {
		for _, last := range sure {
			out = append(out, append(slices.Clone(order), last))
		}
		if len(sure) == 0 && len(order) == len(unsure) {
			out = append(out, slices.Clone(order))
		}
		for _, next := range unsure {
			if !slices.Contains(order, next) {
				extend(append(order, next))
			}
		}
	}
	extend(nil)
	return out
}

// expect returns the expected money, in pounds, and the days that a plan holds
// up the whole, where option which has another chance of working than its own;
// -1: none has.
func (t *task) expect(order []int, h *hold, which int, chance float64) (money, held float64) {
	reach, days := 1.0, 0.0
	for k, o := range order {
		x := &t.trials[o]
		works := x.works
		if o == which {
			works = chance
		}
		money += reach * (x.own + works*x.spend + (1-works)*x.lost)
		days += x.days
		ends := reach * works
		if k == len(order)-1 {
			ends = reach
		}
		held += ends * h.days(days)
		reach *= 1 - works
	}
	return money, held
}

// left returns the chance that every option of the order fails.
func (t *task) left(order []int) float64 {
	left := 1.0
	for _, o := range order {
		left *= 1 - t.trials[o].works
	}
	return left
}

// hours returns the expected own hours of a plan.
func (t *task) hours(order []int) float64 {
	sum, reach := 0.0, 1.0
	for _, o := range order {
		sum += reach * t.trials[o].hours
		reach *= 1 - t.trials[o].works
	}
	return sum
}

// lengths returns how long a plan takes, rising, with the chance of each.
func (t *task) lengths(order []int) []weighted {
	out := make([]weighted, 0, len(order))
	reach, days := 1.0, 0.0
	for k, o := range order {
		days += t.trials[o].days
		p := reach * t.trials[o].works
		if k == len(order)-1 {
			p = reach
		}
		reach -= p
		if n := len(out); n > 0 && out[n-1].value == days {
			out[n-1].weight += p
			continue
		}
		out = append(out, weighted{days, p})
	}
	return out
}

// outcomes calls visit for every way that a plan can go: its chance, its days
// and, in money, its cost at every point. money is valid during the call.
func (t *task) outcomes(order []int, visit func(chance, days float64, worked bool, money []float64)) {
	spent, money := make([]float64, Points), make([]float64, Points)
	reach, days := 1.0, 0.0
	for _, o := range order {
		x := &t.trials[o]
		days += x.days
		for i := range spent {
			money[i] = spent[i] + x.own + x.spends[i]
			spent[i] += x.own + x.losses[i]
		}
		visit(reach*x.works, days, true, money)
		reach *= 1 - x.works
	}
	if reach > 0 {
		visit(reach, days, false, spent)
	}
}

// A Spread is the distribution of a cost, in pounds. A quantile is the least
// amount that is not exceeded with that probability.
type Spread struct{ Mean, P10, P50, P90, P95 float64 }

// Days is the distribution of a time: Mean, and the least number that is not
// exceeded nine times in ten.
type Days struct{ Mean, P90 float64 }

// A Plan is an order of trying options.
type Plan struct {
	// Order holds indices of the job's options, the first to be tried first.
	Order []int
	// Cost is spend, own labour, and holding for the days that the job holds up
	// the whole: for a job that stands alone all its days.
	Cost Spread
	// Money is the expected spend and own labour, in pounds.
	Money float64
	// Days is how long the job takes; Held the expected days by which the whole
	// is the later for it.
	Days Days
	Held float64
	// Left is the chance that nothing works, and LeftCost what has then been
	// spent on average, in pounds. Both are 0 where the last option is certain.
	Left, LeftCost float64
}

// plan returns the figures of an order.
func (t *task) plan(order []int, h *hold, r Rates) Plan {
	p := Plan{Order: order, Left: t.left(order)}
	p.Money, p.Held = t.expect(order, h, -1, 0)
	var costs []weighted
	t.outcomes(order, func(chance, days float64, worked bool, money []float64) {
		total := 0.0
		for i, m := range money {
			m += r.Holding * h.at(i, days)
			total += m
			costs = append(costs, weighted{m, chance / Points})
		}
		if !worked {
			p.LeftCost = total / Points
		}
	})
	q := quantiles(costs, 0.1, 0.5, 0.9, 0.95)
	p.Cost = Spread{p.Money + r.Holding*p.Held, q[0], q[1], q[2], q[3]}
	lengths := t.lengths(order)
	for _, l := range lengths {
		p.Days.Mean += l.weight * l.value
	}
	p.Days.P90 = quantiles(lengths, 0.9)[0]
	return p
}

// ranked returns the job's plans by expected cost, the cheapest first. Among
// equals, the one chosen comes first, then the one with fewer options.
func (t *task) ranked(h *hold, r Rates, chosen []int) [][]int {
	type ranked struct {
		order []int
		cost  float64
	}
	all := make([]ranked, len(t.plans))
	for i, order := range t.plans {
		money, held := t.expect(order, h, -1, 0)
		all[i] = ranked{order, tenthPence(money + r.Holding*held)}
	}
	last := func(order []int) int {
		if slices.Equal(order, chosen) {
			return 0
		}
		return 1
	}
	slices.SortFunc(all, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(last(a.order), last(b.order)), cmp.Compare(len(a.order),
			len(b.order)), t.byName(a.order, b.order))
	})
	out := make([][]int, len(all))
	for i := range all {
		out[i] = all[i].order
	}
	return out
}

// tenthPence rounds pounds so that what is equal on paper compares equal.
func tenthPence(pounds float64) float64 { return math.Round(pounds*1000) / 1000 }

// byName compares two orders by the names of their options, so that the order of
// the rows changes nothing.
func (t *task) byName(a, b []int) int {
	return slices.CompareFunc(a, b, func(x, y int) int { return cmp.Compare(t.Options[x].Name, t.Options[y].Name) })
}
