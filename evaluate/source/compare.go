package source

import "fmt"

// A Car is the whole of which the jobs are parts.
type Car struct {
	// Cost of all jobs and of the days until the last is done.
	Cost Spread
	Days Days
	// OwnDays is the expected own hours of all jobs over the hours per day: the
	// whole cannot be done sooner by the same hands.
	OwnDays float64
	// Left is the chance that some job is left without a way that works.
	Left float64
}

// A Timing is how a job stands in the whole under the plans chosen.
type Timing struct {
	// Times by the critical path method, every job taking its expected days.
	Times
	// Critical is the chance that the job is on the longest path: the criticality
	// index of Van Slyke (1963), Operations Research 11.
	Critical float64
	// Day is what one day more on the job costs in holding on average, in pounds.
	Day float64
}

// A Comparison is the ways of getting one job done.
type Comparison struct {
	*Job
	// Plans are the best orders of trying the options, the best one first: the
	// plans of the other jobs as chosen. Of is how many orders there are.
	Plans []Plan
	Of    int
	// Certain says that the plans end in an option that is bound to work.
	Certain bool
	// Flips are those of the uncertain options, Straights those of the certain.
	Flips     []Flip
	Straights []Straight
	// Timing is nil for a job that stands alone.
	Timing *Timing
}

// Best returns the plan to follow.
func (c *Comparison) Best() *Plan { return &c.Plans[0] }

// A Result is what Compare finds.
type Result struct {
	Rates
	Jobs   []Comparison
	Method Method
	// Exact says that every way for the jobs to turn out was gone through; else
	// expected days of the whole are means over Points of them.
	Exact bool
	// Car is nil where each job stands alone.
	Car *Car
}

// Compare finds the plan for each job that costs least. Where any job waits for
// another, all are jobs of one car and their plans are chosen together; else each
// stands alone and all its days cost holding. top bounds the plans of a job that
// are returned; 0 returns all.
//
// In a job that stands alone the cheapest order is that of ascending cost over
// chance, where the cost of an option that is tried is its expected one, up to
// the first certain option: Mitten (1960), Journal of Industrial Engineering 11.
// In a network it need not be, and every order is compared.
func Compare(jobs []Job, r Rates, top int) (*Result, error) {
	if err := check(jobs, r); err != nil {
		return nil, err
	}
	out := &Result{Rates: r, Method: Alone, Exact: true}
	tasks, before, together := make([]*task, len(jobs)), make([][]int, len(jobs)), false
	for i := range jobs {
		tasks[i], before[i] = newTask(&jobs[i], r), jobs[i].After
		together = together || len(jobs[i].After) > 0
	}
	if !together {
		for _, t := range tasks {
			out.Jobs = append(out.Jobs, t.compare(nil, r, nil, top))
		}
		return out, nil
	}
	n := newNetwork(before)
	if n == nil {
		ring := Ring(before)
		return nil, fmt.Errorf("job %q waits for itself through others; remove one job from its after", jobs[ring[0]].Name)
	}
	g := newJoint(n, tasks, r.Holding)
	out.Exact = g.exact
	choice, all, method := g.choose()
	out.Method = method
	timings := g.timings(choice)
	for j, t := range tasks {
		c := t.compare(g.hold(choice, j, true), r, choice[j].order, top)
		c.Timing = &timings[j]
		if method == Every {
			c.Straights = g.straights(j, all)
		}
		out.Jobs = append(out.Jobs, c)
	}
	out.Car = g.car(choice, r)
	return out, nil
}

// compare ranks a job's plans.
func (t *task) compare(h *hold, r Rates, chosen []int, top int) Comparison {
	c := Comparison{Job: t.Job, Of: len(t.plans), Certain: t.left(t.plans[0]) == 0, Flips: t.flips(h, r),
		Straights: t.straights(h)}
	orders := t.ranked(h, r, chosen)
	if top > 0 && len(orders) > top {
		orders = orders[:top]
	}
	for _, order := range orders {
		c.Plans = append(c.Plans, t.plan(order, h, r))
	}
	return c
}

// timings returns how each job stands under the chosen plans.
func (g *joint) timings(choice []*candidate) []Timing {
	days := make([]float64, len(choice))
	for j, c := range choice {
		days[j] = c.mean
	}
	times, _ := CriticalPath(g.before, days)
	out := make([]Timing, len(choice))
	for j := range out {
		out[j].Times = times[j]
	}
	start, tail := make([]float64, len(choice)), make([]float64, len(choice))
	g.outcomes(choice, -1, func(days []float64, chance float64) {
		length := g.forward(days, start)
		g.backward(days, tail)
		for j := range out {
			slack := length - start[j] - days[j] - tail[j]
			if slack < 1e-9 {
				out[j].Critical += chance
			}
			out[j].Day += chance * g.holding * max(0, 1-slack)
		}
	})
	return out
}

// car returns the figures of the whole.
func (g *joint) car(choice []*candidate, r Rates) *Car {
	c := &Car{}
	start := make([]float64, len(choice))
	var lengths []weighted
	g.outcomes(choice, -1, func(days []float64, chance float64) {
		length := g.forward(days, start)
		c.Days.Mean += chance * length
		lengths = append(lengths, weighted{length, chance})
	})
	c.Days.P90 = quantiles(lengths, 0.9)[0]

	costs := make([]weighted, Points)
	g.sampled(choice, -1, func(i int, days []float64) {
		costs[i] = weighted{r.Holding * g.forward(days, start), 1.0 / Points}
	})
	through := 1.0
	for j, x := range choice {
		c.Cost.Mean += x.money
		c.OwnDays += g.tasks[j].hours(x.order) / r.HoursPerDay
		through *= 1 - g.tasks[j].left(x.order)
		passed := make([]float64, Points) // the share of luck used up
		g.tasks[j].outcomes(x.order, func(chance, _ float64, _ bool, money []float64) {
			for i, u := range g.luck[j] {
				if u >= passed[i] && u < passed[i]+chance {
					costs[i].value += money[i]
				}
				passed[i] += chance
			}
		})
	}
	q := quantiles(costs, 0.1, 0.5, 0.9, 0.95)
	c.Cost = Spread{c.Cost.Mean + r.Holding*c.Days.Mean, q[0], q[1], q[2], q[3]}
	c.Left = 1 - through
	return c
}
