package source

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Published networks: each job's days, what it waits for, and its earliest start
// and finish, latest start and finish, and slack.
func TestCriticalPath(t *testing.T) {
	type job struct {
		name  string
		days  float64
		after string
		want  Times
	}
	for _, x := range []struct {
		source string
		length float64
		jobs   []job
	}{
		{"Heizer and Render, Operations Management, chapter on project management, the example of eight activities in " +
			"weeks (from memory)", 15, []job{
			{"A", 2, "", Times{0, 2, 0, 2, 0}}, {"B", 3, "", Times{0, 3, 1, 4, 1}}, {"C", 2, "A", Times{2, 4, 2, 4, 0}}, {"D",
				4, "AB", Times{3, 7, 4, 8, 1}},
			{"E", 4, "C", Times{4, 8, 4, 8, 0}}, {"F", 3, "C", Times{4, 7, 10, 13, 6}}, {"G", 5, "DE",
				Times{8, 13, 8, 13, 0}}, {"H", 2, "FG", Times{13, 15, 13, 15, 0}},
		}},
		{"course exercise on the installation of a server, ten activities in days, with its printed solution (read at " +
			"wizedu.com/questions/558936)", 27, []job{
			{"A", 2, "", Times{0, 2, 0, 2, 0}}, {"B", 4, "A", Times{2, 6, 3, 7, 1}}, {"C", 5, "A", Times{2, 7, 2, 7, 0}}, {"D",
				2, "B", Times{6, 8, 15, 17, 9}}, {"E", 1, "B", Times{6, 7, 16, 17, 10}},
			{"F", 8, "BC", Times{7, 15, 7, 15, 0}}, {"G", 3, "DE", Times{8, 11, 17, 20, 9}}, {"H", 5, "F",
				Times{15, 20, 15, 20, 0}}, {"I", 4, "F", Times{15, 19, 16, 20, 1}}, {"J", 7, "GHI", Times{20, 27, 20, 27, 0}},
		}},
	} {
		before, days := make([][]int, len(x.jobs)), make([]float64, len(x.jobs))
		for i, j := range x.jobs {
			days[i] = j.days
			for _, name := range j.after {
				before[i] = append(before[i], int(name-'A'))
			}
		}
		times, length := CriticalPath(before, days)
		if length != x.length {
			t.Errorf("%s: length %v, want %v", x.source, length, x.length)
		}
		for i, j := range x.jobs {
			if times[i] != j.want {
				t.Errorf("%s: %s: %+v, want %+v", x.source, j.name, times[i], j.want)
			}
		}
	}
}

func TestRing(t *testing.T) {
	if got := Ring([][]int{{1}, {2}, {3}, {1}}); !slices.Equal(got, []int{1, 2, 3}) {
		t.Errorf("ring %v", got)
	}
	if got := Ring([][]int{nil, {0}, {0, 1}}); got != nil {
		t.Errorf("ring %v in none", got)
	}
}

// randomNetwork returns jobs that wait for some of those before them; the last
// waits for the first at least.
func randomNetwork(rng *rand.Rand, n, uncertain int) []Job {
	jobs := make([]Job, n)
	for j := range jobs {
		jobs[j] = Job{Name: fmt.Sprint("job ", j), Options: randomOptions(rng, uncertain)}
		for k := range j {
			if j == n-1 && k == 0 || rng.IntN(3) == 0 {
				jobs[j].After = append(jobs[j].After, k)
			}
		}
	}
	return jobs
}

// whole evaluates a combination of plans by its definition: every way that each
// plan can go, the longest path found by following each job back.
func whole(jobs []Job, orders [][]int, r Rates) (cost, length float64) {
	days := make([]float64, len(jobs))
	var finish func(j int) float64
	finish = func(j int) float64 {
		start := 0.0
		for _, k := range jobs[j].After {
			start = max(start, finish(k))
		}
		return start + days[j]
	}
	var next func(j int, chance, money float64)
	next = func(j int, chance, money float64) {
		if j == len(jobs) {
			end := 0.0
			for k := range jobs {
				end = max(end, finish(k))
			}
			length += chance * end
			cost += chance * (money + r.Holding*end)
			return
		}
		spent, reach, took := 0.0, 1.0, 0.0
		for _, o := range orders[j] {
			x := jobs[j].Options[o]
			took += x.LeadDays + x.Hours/r.HoursPerDay
			spent += r.Labour * x.Hours
			days[j] = took
			next(j+1, chance*reach*x.Works, money+spent+x.Spend.Mid)
			reach *= 1 - x.Works
			if x.Refund {
				spent += x.Lost
			} else {
				spent += x.Spend.Mid
			}
		}
	}
	next(0, 1, 0)
	return cost, length
}

// The combination chosen is the cheapest of all, those included that are passed
// over as dominated, and its figures are those of the definition.
func TestTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	r := Rates{Labour: 20, HoursPerDay: 8}
	missed, networks := 0, 40
	if testing.Short() { // every way of each is tried
		networks = 10
	}
	for range networks {
		jobs := randomNetwork(rng, 3, 2)
		r.Holding = 5 + 60*rng.Float64()
		least := math.Inf(1)
		orders := make([][]int, len(jobs))
		var every func(j int)
		every = func(j int) {
			if j == len(jobs) {
				cost, _ := whole(jobs, orders, r)
				least = min(least, cost)
				return
			}
			for _, o := range plans(jobs[j].Options) {
				orders[j] = o
				every(j + 1)
			}
		}
		every(0)
		out := compare(t, jobs, r, 0)
		near(t, "cost", out.Car.Cost.Mean, least, 2e-3)
		for j := range out.Jobs {
			orders[j] = out.Jobs[j].Best().Order
		}
		cost, length := whole(jobs, orders, r)
		near(t, "cost of the plans", cost, out.Car.Cost.Mean, 1e-9)
		near(t, "days", out.Car.Days.Mean, length, 1e-9)

		// A job done at once instead: what it holds up is the difference.
		for j := range jobs {
			orders[j] = out.Jobs[j].Best().Order
			idle := slices.Clone(jobs)
			idle[j].Options = []Option{fixed("none", 0, 0, 0, 1)}
			less := slices.Clone(orders)
			less[j] = []int{0}
			_, without := whole(idle, less, r)
			near(t, "held", out.Jobs[j].Best().Held, length-without, 1e-9)
		}

		// One job at a time can miss the best, but not beat it.
		tasks, before := make([]*task, len(jobs)), make([][]int, len(jobs))
		for j := range jobs {
			tasks[j], before[j] = newTask(&jobs[j], r), jobs[j].After
		}
		g := newJoint(newNetwork(before), tasks, r.Holding)
		for j, c := range g.descent() {
			orders[j] = c.order
		}
		if cost, _ := whole(jobs, orders, r); cost < least-2e-3 {
			t.Errorf("descent %v beats the best, %v", cost, least)
		} else if cost > least+2e-3 {
			missed++
		}
	}
	if missed > 2 {
		t.Errorf("one job at a time missed the best in %d of %d", missed, networks)
	}
}

// Going straight to a certain option is said to be best where it is chosen.
func TestStraightTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	met, networks := 0, 30
	if testing.Short() {
		networks = 3
	}
	for range networks {
		jobs := randomNetwork(rng, 3, 1)
		for j := range jobs { // a dear quick way beside the certain one
			jobs[j].Options = append(jobs[j].Options, fixed("quick", 1100+300*rng.Float64(), 1, 1, 1))
		}
		first := compare(t, jobs, Rates{Labour: 20, HoursPerDay: 8, Holding: 0}, 1)
		for j := range jobs {
			for _, s := range first.Jobs[j].Straights {
				for _, holding := range []float64{s.From * 0.99, s.From*1.01 + 0.01, s.To * 0.99, s.From + 1, 2 * s.From} {
					inside := holding >= s.From && holding < s.To
					if s.Never || math.IsInf(holding, 0) || !inside && holding > s.To {
						continue
					}
					best := compare(t, jobs, Rates{Labour: 20, HoursPerDay: 8, Holding: holding}, 1).Jobs[j].Best()
					if chosen := slices.Equal(best.Order, []int{s.Option}); chosen != inside {
						t.Errorf("at %v a day, range %v to %v: chosen %v", holding, s.From, s.To, chosen)
					}
					met++
				}
			}
		}
	}
	if met < 2*networks {
		t.Errorf("only %d ranges met", met)
	}
}

// In a chain every day of every job delays the whole: each job's plans are those
// of the job alone.
func TestChain(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	r := Rates{Labour: 20, HoursPerDay: 8, Holding: 25}
	chains := 20
	if testing.Short() {
		chains = 6
	}
	for range chains {
		jobs := []Job{{Name: "a", Options: randomOptions(rng, 3)}, {Name: "b", Options: randomOptions(rng, 2)},
			{Name: "c", Options: randomOptions(rng, 2)}}
		jobs[1].After, jobs[2].After = []int{0}, []int{1}
		sum := 0.0
		for i, j := range compare(t, jobs, r, 1).Jobs {
			alone := compare(t, []Job{{Name: jobs[i].Name, Options: jobs[i].Options}}, r, 1).Jobs[0]
			if !slices.Equal(j.Best().Order, alone.Best().Order) {
				t.Errorf("job %s: %v in the chain, %v alone", j.Name, j.Best().Order, alone.Best().Order)
			}
			near(t, "cost", j.Best().Cost.Mean, alone.Best().Cost.Mean, 1e-9)
			near(t, "P90", j.Best().Cost.P90, alone.Best().Cost.P90, 1e-6)
			if j.Timing.Slack != 0 || math.Abs(j.Timing.Critical-1) > 1e-9 || math.Abs(j.Timing.Day-r.Holding) > 1e-9 {
				t.Errorf("timing %+v", *j.Timing)
			}
			sum += alone.Best().Cost.Mean
		}
		near(t, "car", compare(t, jobs, r, 1).Car.Cost.Mean, sum, 1e-6)
	}
}

// Dear but quick is worth it where the job holds up the whole, and not where it
// doesn't. On paper: quick 1,000 in 2 days, slow 700 in 12; a day costs 40, so
// that quick saves 400 for 300. Beside another job of 30 days it saves nothing.
func TestQuickWhereItCounts(t *testing.T) {
	ways := []Option{fixed("quick", 1000, 0, 2, 1), fixed("slow", 700, 0, 12, 1)}
	end := []Option{fixed("end", 10, 0, 1, 1)}
	r := Rates{HoursPerDay: 8, Holding: 40}
	for _, x := range []struct {
		beside float64
		want   string
		cost   float64
	}{{1, "quick", 1000 + 20 + 40*3}, {30, "slow", 700 + 20 + 40*31}} {
		out := compare(t, []Job{
			{Name: "part", Options: ways}, {Name: "beside", Options: []Option{fixed("wait", 10, 0, x.beside, 1)}}, {Name: "end",
				Options: end, After: []int{0, 1}},
		}, r, 0)
		c := out.Jobs[0]
		if got := c.Options[c.Best().Order[0]].Name; got != x.want {
			t.Errorf("beside %v days: %s, want %s", x.beside, got, x.want)
		}
		near(t, "cost", out.Car.Cost.Mean, x.cost, 1e-9)
		near(t, "P90", out.Car.Cost.P90, x.cost, 1e-9)
	}
}

// Beyond maxOutcomes the points stand in: the expected days come near to those of
// the definition, and the plans cost about as much.
func TestManyOutcomes(t *testing.T) {
	if testing.Short() {
		t.Skip("all orders of many options, a second")
	}
	rng := rand.New(rand.NewPCG(13, 14))
	r := Rates{Labour: 20, HoursPerDay: 8, Holding: 30}
	jobs := randomNetwork(rng, 9, 2) // 3^9 outcomes
	out := compare(t, jobs, r, 1)
	if out.Exact {
		t.Fatal("exact")
	}
	orders := make([][]int, len(jobs))
	for j := range jobs {
		orders[j] = out.Jobs[j].Best().Order
	}
	cost, length := whole(jobs, orders, r)
	near(t, "days", out.Car.Days.Mean, length, 0.01*length)
	near(t, "cost", out.Car.Cost.Mean, cost, 0.01*cost)
	again := compare(t, jobs, r, 1)
	if again.Car.Cost != out.Car.Cost {
		t.Errorf("%+v, then %+v", out.Car.Cost, again.Car.Cost)
	}
}
