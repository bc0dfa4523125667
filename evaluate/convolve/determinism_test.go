package convolve_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// figures prints all that a sum says of a car, to the last digit.
func figures(sum *convolve.Sum, measure int, d *convolve.Distribution) string {
	sum.Distribution(measure, 0, d)
	leads := sum.Leads(func(float64, float64) bool { return true }, nil)
	text := fmt.Sprintf("%v %v %v %v\n", sum.Moments(), sum.Candidates(nil), sum.Places(), leads)
	x := convolve.Extra{Mean: d.Mean + 100, SD: d.SD + 50}
	for _, l := range leads {
		x.Waits = append(x.Waits, added(40+20*l.Seen+30*l.Hidden))
	}
	var with convolve.Distribution
	sum.With(measure, x, &with)
	text += fmt.Sprintln(with.Cells, with.Beyond, with.Blur)
	text += fmt.Sprintln(sum.Charged(func(i damage.Item) bool { return i.Grade >= 3 }))
	return text + fmt.Sprintln(d.Mean, d.SD, d.Zero, d.Step, d.Cells, d.Beyond, d.Blur)
}

// The same car has the same figures, to the last digit, whatever cars the sum had
// before, in whatever order, from another engine, and beside other goroutines.
func TestACarDependsOnNothingElse(t *testing.T) {
	n := 16
	if testing.Short() { // as many goroutines and ways through, of fewer cars
		n = 5
	}
	shop := cars.Example(3)
	var cases []costs.Case
	random := shop.cases()
	for seed := range n {
		cases = append(cases, random.Example(seed))
	}
	engine := func() (*convolve.Engine, int) {
		e, err := convolve.New(shop.b, 0.25, 0.2)
		if err != nil {
			t.Fatal(err)
		}
		return e, e.Measure(1, 30, nil)
	}
	add := func(sum *convolve.Sum, c costs.Case) {
		if err := sum.Add(c); err != nil {
			t.Error(err)
		}
	}
	want := make([]string, n)
	for i, c := range cases { // each from an engine of its own
		e, m := engine()
		sum := e.NewSum()
		add(sum, c)
		want[i] = figures(sum, m, new(convolve.Distribution))
	}
	e, m := engine()
	e.Forget(64_000)
	var wait sync.WaitGroup
	for g := range 4 {
		wait.Go(func() {
			sum, d := e.NewSum(), new(convolve.Distribution)
			for k := range 3 * n {
				i := (k*(2*g+1) + g) % n
				add(sum, cases[i])
				if got := figures(sum, m, d); got != want[i] {
					t.Errorf("goroutine %d, car %d:\n%s\nwant\n%s", g, i, got, want[i])
					return
				}
			}
		})
	}
	wait.Wait()
}

// Ten doubtful triggers of one hidden item turn out in 1,024 ways.
func TestTooManyDoubtfulTriggers(t *testing.T) {
	tangled := func(n int) error {
		then := at(damage.Whole, damage.Electrical, 2)
		rows := []costs.Row{{Item: then, Spend: stats.Fixed(100), Builds: 1, Basis: "test"}}
		var rules []costs.Rule
		var found []costs.Finding
		for i := range n {
			x := at(damage.Zone(i), damage.Mechanical, 2)
			rows = append(rows, costs.Row{Item: x, Spend: stats.Fixed(100), Builds: 1, Basis: "test"})
			rules = append(rules, costs.Rule{When: x, Then: then, Chance: 0.3, Seen: 1, Why: "test"})
			found = append(found, costs.Finding{Item: x, State: damage.Suspected, Chance: 0.5})
		}
		b, err := costs.New(rows, rules)
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.Case("", found)
		if err != nil {
			t.Fatal(err)
		}
		e, err := convolve.New(b, 0.25, 0.25)
		if err != nil {
			t.Fatal(err)
		}
		sum := e.NewSum()
		failed := sum.Add(c)
		// The sum serves the next car all the same.
		if err := sum.Add(c[:0]); err != nil || sum.Moments() != (convolve.Moments{}) {
			t.Errorf("an undamaged car: %v, %v", sum.Moments(), err)
		}
		return failed
	}
	if err := tangled(10); !errors.Is(err, convolve.ErrTangled) {
		t.Errorf("ten doubtful triggers: %v", err)
	}
	if err := tangled(9); err != nil {
		t.Errorf("nine doubtful triggers: %v", err)
	}
}

func TestLinksAreChecked(t *testing.T) {
	b, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, link := range []float64{-0.1, 0.951, 1} {
		if _, err := convolve.New(b, link, 0); err == nil {
			t.Errorf("a severity link of %v passes", link)
		}
		if _, err := convolve.New(b, 0, link); err == nil {
			t.Errorf("a hidden link of %v passes", link)
		}
	}
}
