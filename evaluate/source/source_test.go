package source

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/stats"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tolerance)
	}
}

func compare(t *testing.T, jobs []Job, r Rates, top int) *Result {
	t.Helper()
	out, err := Compare(jobs, r, top)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func fixed(name string, spend, hours, lead, works float64) Option {
	return Option{Name: name, Spend: stats.Fixed(spend), Hours: hours, LeadDays: lead, Works: works}
}

// randomOptions returns n uncertain options and a certain one.
func randomOptions(rng *rand.Rand, n int) []Option {
	var out []Option
	for i := range n {
		o := fixed(fmt.Sprint("way ", i), 10+rng.Float64()*500, rng.Float64()*10, rng.Float64()*9, 0.05+0.9*rng.Float64())
		if rng.IntN(2) == 0 {
			o.Refund, o.Lost = true, rng.Float64()*o.Spend.Mid
		}
		out = append(out, o)
	}
	return append(out, fixed("sure", 100+rng.Float64()*900, rng.Float64()*6, rng.Float64()*20, 1))
}

// Mitten (1960), Journal of Industrial Engineering 11: of independent tests that
// end at the first success, the sequence of least expected cost has ascending
// cost over chance. Here nothing is refunded and days cost nothing. The sequence
// is checked against every order, evaluated in this test by its definition.
func TestLeastCostSequence(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		options := randomOptions(rng, 1+rng.IntN(5))
		for i := range options {
			options[i].Refund, options[i].Lost = false, 0
		}
		cost := func(order []int) float64 {
			sum, reach := 0.0, 1.0
			for _, o := range order {
				sum += reach * options[o].Spend.Mid
				reach *= 1 - options[o].Works
			}
			return sum
		}
		rule := make([]int, len(options))
		for i := range rule {
			rule[i] = i
		}
		slices.SortFunc(rule, func(a, b int) int {
			return cmp.Compare(options[a].Spend.Mid/options[a].Works, options[b].Spend.Mid/options[b].Works)
		})
		rule = rule[:slices.Index(rule, len(options)-1)+1]

		least := math.Inf(1)
		var every func(order []int)
		every = func(order []int) {
			for o := range options {
				if slices.Contains(order, o) {
					continue
				}
				next := append(slices.Clone(order), o)
				if options[o].Works == 1 {
					least = min(least, cost(next))
				} else {
					every(next)
				}
			}
		}
		every(nil)
		best := compare(t, []Job{{Name: "j", Options: options}}, Rates{HoursPerDay: 8}, 1).Jobs[0].Best()
		near(t, "cost against every order", best.Cost.Mean, least, 1e-9)
		near(t, "cost of the rule", cost(rule), least, 1e-9)
		if !slices.Equal(best.Order, rule) {
			t.Errorf("order %v, want %v", best.Order, rule)
		}
	}
}

// With refunds, labour and holding the same rule holds for a job that stands
// alone, the cost of an option being what trying it costs on average.
func TestSequenceWithRefunds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	r := Rates{Labour: 30, HoursPerDay: 8, Holding: 14}
	for range 100 {
		options := randomOptions(rng, 4)
		ratio := func(o int) float64 {
			x := options[o]
			lost := x.Spend.Mid
			if x.Refund {
				lost = x.Lost
			}
			return (x.Works*x.Spend.Mid + (1-x.Works)*lost + r.Labour*x.Hours +
				r.Holding*(x.LeadDays+x.Hours/r.HoursPerDay)) / x.Works
		}
		rule := []int{0, 1, 2, 3, 4}
		slices.SortFunc(rule, func(a, b int) int { return cmp.Compare(ratio(a), ratio(b)) })
		rule = rule[:slices.Index(rule, 4)+1]
		if best := compare(t, []Job{{Name: "j", Options: options}}, r, 1).Jobs[0].Best(); !slices.Equal(best.Order, rule) {
			t.Errorf("order %v, want %v", best.Order, rule)
		}
	}
}

// A job on paper. A day costs 20, an hour 30, a day has 10 hours.
//
//	used:  400, 200 of it lost if it does not fit; 10 h, 4 days' wait; works 0.6
//	new:   1,000; 5 h, 9.5 days' wait; certain
//
// used takes 4 + 1 = 5 days, new 9.5 + 0.5 = 10 days; labour 300 and 150.
//
//	new alone:        1,000 + 150 + 20 x 10                    = 1,350, 10 days
//	used, it works:   400 + 300 + 20 x 5                       =   800,  5 days
//	used, then new:   200 + 300 + 20 x 5 + 1,350               = 1,950, 15 days
//	expected:         0.6 x 800 + 0.4 x 1,950                  = 1,260,  9 days
//
// P50 is 800, P90 and P95 are 1,950. Trying used costs 0.6 x 400 + 0.4 x 200 +
// 300 + 100 = 720 and 0.6 of 1,350 saved, 810. At chance p: 400 p + 200 (1 - p) +
// 400 = 1,350 p, p = 600 / 1,150. At H a day used first costs 620 + 5 H + 0.4
// (1,150 + 10 H) = 1,080 + 9 H against 1,150 + 10 H: used is always cheaper by
// 70 + H, so that going straight to new is best at no holding cost.
//
// With new in stock (lead 1.5, so 2 days) it costs 1,150 + 2 H against 1,080 +
// 5.8 H: new is best from H = 70 / 3.8.
func TestOnPaper(t *testing.T) {
	used := fixed("used", 400, 10, 4, 0.6)
	used.Refund, used.Lost = true, 200
	job := Job{Name: "j", Options: []Option{fixed("new", 1000, 5, 9.5, 1), used}}
	r := Rates{Labour: 30, HoursPerDay: 10, Holding: 20}
	c := compare(t, []Job{job}, r, 0).Jobs[0]
	if len(c.Plans) != 2 || c.Of != 2 || !c.Certain {
		t.Fatalf("%d plans of %d, certain %v", len(c.Plans), c.Of, c.Certain)
	}
	best, straight := c.Best(), &c.Plans[1]
	if !slices.Equal(best.Order, []int{1, 0}) || !slices.Equal(straight.Order, []int{0}) {
		t.Fatalf("orders %v, %v", best.Order, straight.Order)
	}
	want := Plan{Cost: Spread{1260, 800, 800, 1950, 1950}, Money: 1080, Days: Days{9, 15}, Held: 9}
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"mean", best.Cost.Mean, want.Cost.Mean}, {"P10", best.Cost.P10, want.Cost.P10}, {"P50", best.Cost.P50,
			want.Cost.P50},
		{"P90", best.Cost.P90, want.Cost.P90}, {"P95", best.Cost.P95, want.Cost.P95}, {"money", best.Money, want.Money},
		{"days", best.Days.Mean, want.Days.Mean}, {"P90 of days", best.Days.P90, want.Days.P90}, {"held", best.Held,
			want.Held},
		{"left", best.Left, 0}, {"straight", straight.Cost.Mean, 1350},
		{"flip", c.Flips[0].From, 600.0 / 1150},
	} {
		near(t, x.what, x.got, x.want, 1e-9)
	}
	if !c.Straights[0].Never {
		t.Errorf("straight %+v, want never", c.Straights[0])
	}
	job.Options[0].LeadDays = 1.5
	s := compare(t, []Job{job}, r, 0).Jobs[0].Straights[0]
	near(t, "straight from", s.From, 70/3.8, 1e-9)
	if s.Never || !math.IsInf(s.To, 1) {
		t.Errorf("straight %+v, want no end", s)
	}
}

// No option is certain: all are tried, and what is left is said. On paper: ways
// of 100 (chance 0.5) and 300 (0.8), no time. First 100: 100 + 0.5 x 300 = 250;
// first 300: 300 + 0.2 x 100 = 320. Left without 0.5 x 0.2 = 0.1, at 400.
func TestNothingCertain(t *testing.T) {
	c := compare(t, []Job{{Name: "j", Options: []Option{fixed("b", 300, 0, 0, 0.8), fixed("a", 100, 0, 0, 0.5)}}},
		Rates{HoursPerDay: 8}, 0).Jobs[0]
	best := c.Best()
	if c.Certain || !slices.Equal(best.Order, []int{1, 0}) || len(c.Plans) != 2 || c.Flips != nil || c.Straights != nil {
		t.Fatalf("%+v", c)
	}
	near(t, "cost", best.Cost.Mean, 250, 1e-9)
	near(t, "left", best.Left, 0.1, 1e-12)
	near(t, "cost when left", best.LeftCost, 400, 1e-9)
}

// A refund cannot be more than was paid: of a spend that may be less than what is
// said to be lost, no more than the spend is lost. E[min(S, L)] of a normal S:
// mu - (mu - L) Phi(u) - sd phi(u), u = (mu - L) / sd, the unit normal loss.
func TestLostAtMostTheSpend(t *testing.T) {
	o := Option{Name: "o", Spend: stats.Amount{Low: 300, Mid: 500, High: 700}, Works: 0.5, Refund: true, Lost: 450}
	x := newTask(&Job{Name: "j", Options: []Option{o}}, Rates{HoursPerDay: 8})
	sd := 200 / stats.Z90
	u := (500 - 450) / sd
	n := distuv.UnitNormal
	near(t, "mean lost", x.trials[0].lost, 500-(500-450)*n.CDF(u)-sd*n.Prob(u), 0.05)
}

// The distribution is the mixture over the ways that a plan can go. With normal
// amounts it is a mixture of normals: 0.6 N(500, a) + 0.4 N(500 + 900, a + b). Of
// a share read at n independent points the standard error is at most 0.5 / sqrt n,
// 0.008 here; a Latin hypercube does better.
func TestMixture(t *testing.T) {
	a, b := 120/stats.Z90, 200/stats.Z90
	job := Job{Name: "j", Options: []Option{
		{Name: "used", Spend: stats.Amount{Low: 380, Mid: 500, High: 620}, Works: 0.6},
		{Name: "new", Spend: stats.Amount{Low: 700, Mid: 900, High: 1100}, Works: 1},
	}}
	best := compare(t, []Job{job}, Rates{HoursPerDay: 8}, 1).Jobs[0].Best()
	if len(best.Order) != 2 {
		t.Fatalf("order %v", best.Order)
	}
	cdf := func(x float64) float64 {
		return 0.6*distuv.UnitNormal.CDF((x-500)/a) + 0.4*distuv.UnitNormal.CDF((x-1400)/math.Hypot(a, b))
	}
	for _, q := range []struct{ p, got float64 }{{0.1, best.Cost.P10}, {0.5, best.Cost.P50}, {0.9, best.Cost.P90},
		{0.95, best.Cost.P95}} {
		near(t, fmt.Sprint("share below the quantile ", q.p), cdf(q.got), q.p, 0.005)
	}
	near(t, "mean", best.Cost.Mean, 860, 0.01)
}

func TestMoreOptionsNeverDearer(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	r := Rates{Labour: 25, HoursPerDay: 8, Holding: 15}
	jobs := 60
	if testing.Short() {
		jobs = 15
	}
	for range jobs {
		options := randomOptions(rng, 4)
		last := math.Inf(1)
		for n := range 5 {
			some := append(slices.Clone(options[:n]), options[4])
			cost := compare(t, []Job{{Name: "j", Options: some}}, r, 1).Jobs[0].Best().Cost.Mean
			if cost > last+1e-3 {
				t.Errorf("%d options cost %v, one fewer %v", n+1, cost, last)
			}
			last = cost
		}
	}
}

func TestDearerDaysNeverSlower(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	networks := 30
	if testing.Short() {
		networks = 3
	}
	for range networks {
		jobs := randomNetwork(rng, 3, 2)
		alone, whole := math.Inf(1), math.Inf(1)
		for _, holding := range []float64{0, 2, 5, 10, 20, 40, 80, 200, 1000} {
			r := Rates{Labour: 25, HoursPerDay: 8, Holding: holding}
			days := compare(t, []Job{{Name: "j", Options: jobs[0].Options}}, r, 1).Jobs[0].Best().Days.Mean
			car := compare(t, jobs, r, 1)
			if car.Method != Every || !car.Exact {
				t.Fatalf("method %q, exact %v", car.Method, car.Exact)
			}
			if days > alone+1e-9 || car.Car.Days.Mean > whole+1e-9 {
				t.Errorf("at %v a day: %v days after %v, the whole %v after %v", holding, days, alone, car.Car.Days.Mean, whole)
			}
			alone, whole = days, car.Car.Days.Mean
		}
	}
}

// The rows' order, and what else is in the file, change no figure.
func TestOrderOfRows(t *testing.T) {
	options := []Option{
		{Name: "used", Spend: stats.Amount{Low: 380, Mid: 500, High: 720}, Works: 0.6, Hours: 3},
		{Name: "mend", Spend: stats.Amount{Low: 80, Mid: 100, High: 150}, Works: 0.3, LeadDays: 2},
		{Name: "new", Spend: stats.Amount{Low: 700, Mid: 900, High: 1100}, Works: 1},
	}
	r := Rates{Labour: 30, HoursPerDay: 10, Holding: 12}
	one := compare(t, []Job{{Name: "j", Options: options}}, r, 0).Jobs[0]
	turned := slices.Clone(options)
	slices.Reverse(turned)
	two := compare(t, []Job{{Name: "k", Options: options[2:]}, {Name: "j", Options: turned}}, r, 0).Jobs[1]
	for i := range one.Plans {
		a, b := one.Plans[i], two.Plans[i]
		for k := range a.Order {
			if one.Options[a.Order[k]].Name != two.Options[b.Order[k]].Name {
				t.Errorf("plan %d differs", i)
			}
		}
		near(t, "mean", b.Cost.Mean, a.Cost.Mean, 1e-9)
		near(t, "P90", b.Cost.P90, a.Cost.P90, 1e-9)
	}
}

func TestFaultyJobs(t *testing.T) {
	good := []Option{fixed("a", 1, 0, 0, 1)}
	r := Rates{HoursPerDay: 8}
	many := Job{Name: "j"}
	for i := range MaxUncertain + 1 {
		many.Options = append(many.Options, fixed(fmt.Sprint(i), 1, 0, 0, 0.5))
	}
	for name, x := range map[string]struct {
		jobs []Job
		r    Rates
	}{
		"no option":    {[]Job{{Name: "j"}}, r},
		"no hours":     {[]Job{{Name: "j", Options: good}}, Rates{}},
		"no chance":    {[]Job{{Name: "j", Options: []Option{fixed("a", 1, 0, 0, 0)}}}, r},
		"NaN":          {[]Job{{Name: "j", Options: []Option{fixed("a", 1, math.NaN(), 0, 1)}}}, r},
		"ring":         {[]Job{{Name: "j", Options: good, After: []int{1}}, {Name: "k", Options: good, After: []int{0}}}, r},
		"after itself": {[]Job{{Name: "j", Options: good, After: []int{0}}}, r},
		"no such job":  {[]Job{{Name: "j", Options: good, After: []int{3}}}, r},
		"too many":     {[]Job{many}, r},
	} {
		if _, err := Compare(x.jobs, x.r, 0); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
