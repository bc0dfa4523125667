package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/stats"
)

func must(t testing.TB, s *shop, b []learn.Build) *learn.Learned {
	t.Helper()
	l, err := learn.Learn(s.table(), b, s.settings(priced.AddDate(3, 3, 0)))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestOrderChangesNothing: builds, jobs, marks, candidates and triggers may come in any order.
func TestOrderChangesNothing(t *testing.T) {
	s := starter(t)
	n, orders := 25, 3
	if testing.Short() {
		n, orders = 10, 1
	}
	builds := drawBuilds(t, s, lots(t, s), n, 3, rand.New(rand.NewPCG(5, 5)))
	want := fmt.Sprintf("%v", must(t, s, builds))
	r := rand.New(rand.NewPCG(6, 6))
	for range orders {
		other := slices.Clone(builds)
		for i := range other {
			b := &other[i]
			b.Jobs, b.Marks, b.Candidates = slices.Clone(b.Jobs), slices.Clone(b.Marks), slices.Clone(b.Candidates)
			r.Shuffle(len(b.Jobs), func(i, j int) { b.Jobs[i], b.Jobs[j] = b.Jobs[j], b.Jobs[i] })
			r.Shuffle(len(b.Marks), func(i, j int) { b.Marks[i], b.Marks[j] = b.Marks[j], b.Marks[i] })
			r.Shuffle(len(b.Candidates), func(i, j int) { b.Candidates[i], b.Candidates[j] = b.Candidates[j], b.Candidates[i] })
			for k := range b.Candidates {
				c := slices.Clone(b.Candidates[k].Triggers)
				slices.Reverse(c)
				b.Candidates[k].Triggers = c
			}
		}
		r.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		if got := fmt.Sprintf("%v", must(t, s, other)); got != want {
			t.Fatalf("another order gives other figures:\n%s\n%s", got, want)
		}
	}
}

// TestInputIsLeftAlone: learning writes nothing into what it is given.
func TestInputIsLeftAlone(t *testing.T) {
	s := starter(t)
	draw := func() []learn.Build { return drawBuilds(t, s, lots(t, s), 6, 3, rand.New(rand.NewPCG(5, 5))) }
	builds := draw()
	slices.Reverse(builds[2].Jobs)
	copied := draw()
	slices.Reverse(copied[2].Jobs)
	must(t, s, builds)
	if !reflect.DeepEqual(builds, copied) {
		t.Error("the builds were changed")
	}
}

// TestNoBuildsNoChange: without a build every figure stays as it was, to the last bit.
func TestNoBuildsNoChange(t *testing.T) {
	s := starter(t)
	s.up[damage.Restraint] = 0.03
	l := must(t, s, nil)
	if got := l.Table(s.table()); !reflect.DeepEqual(got, s.table()) {
		t.Error("the table changed")
	}
	set := s.settings(priced)
	got := l.Settings(set)
	for c := range set.CodingUp { // scaled by 1, computed
		if math.Abs(got.CodingUp[c]-set.CodingUp[c]) > 1e-15 || math.Abs(got.CodingDown[c]-set.CodingDown[c]) > 1e-15 {
			t.Errorf("coding of class %d changed: %v", c, got)
		}
	}
	if got.SeverityLink != set.SeverityLink || got.Inflation != set.Inflation {
		t.Errorf("settings changed: %+v", got)
	}
	if len(l.Named()) > 0 || len(l.Builds) > 0 {
		t.Errorf("named %v from nothing", l.Named())
	}
	for _, h := range l.Habits {
		if !h.TooFew || h.Fact {
			t.Errorf("a habit from nothing: %+v", h)
		}
	}
}

func rowMean(r learn.Row) float64 { return r.Spend.Mean() + 30*r.Hours.Mean() }

// TestOneBuildMovesLittle: after one build, whatever it cost, no row's mean moves by more than its prior standard
// deviation: level 0.2, class 0.15 and the row's own spread over the root of its builds, on the log scale.
func TestOneBuildMovesLittle(t *testing.T) {
	s := starter(t)
	all := lots(t, s)
	seeds := uint64(40)
	if testing.Short() {
		seeds = 8
	}
	for seed := range seeds {
		b := drawBuilds(t, s, all, 1, 3, rand.New(rand.NewPCG(seed, 9)))
		k := []float64{1, 0.001, 30, 1000}[seed%4]
		for i := range b[0].Jobs {
			b[0].Jobs[i].Spend *= k
			b[0].Jobs[i].Hours *= k
		}
		for i, r := range must(t, s, b).Rows {
			sp, hr := s.spend[i], s.hours[i]
			high := math.Log((sp[2] + 30*hr[2]) / (sp[1] + 30*hr[1]))
			low := math.Log((sp[0] + 30*hr[0]) / (sp[1] + 30*hr[1]))
			sd := math.Sqrt(0.04 + 0.0225 + math.Pow((high-low)/2/1.2815515655446004, 2)/r.Old.Builds)
			if moved := math.Abs(math.Log(rowMean(r.Written) / rowMean(r.Old))); moved > sd*1.001 {
				t.Errorf("costs times %v: row %s moved by %.3f, its standard deviation is %.3f", k, r.Old.Name(), moved, sd)
			}
		}
	}
}

// Learning from 500 builds; it is to take less than 10 s.
func BenchmarkFiveHundredBuilds(b *testing.B) {
	s := starter(b)
	builds := drawBuilds(b, s, lots(b, s), 500, 5, rand.New(rand.NewPCG(1, 2)))
	for b.Loop() {
		must(b, s, builds)
	}
}

// TestLearnedAmountsAreValid: whatever is learned, an amount that a table may hold comes out.
func TestLearnedAmountsAreValid(t *testing.T) {
	s := starter(t)
	truth := s.copy()
	truth.widen(2.5)
	truth.scale(4, "")
	for _, n := range []int{1, 3, 40} {
		for _, r := range must(t, s, drawBuilds(t, truth, lots(t, s), n, 3, rand.New(rand.NewPCG(2, 2)))).Rows {
			for _, a := range []stats.Amount{r.Written.Spend, r.Written.Hours, r.Estimate.Spend} {
				if _, err := stats.New(a.Low, a.Mid, a.High, a.Shape); err != nil {
					t.Errorf("%s: %v", r.Old.Name(), err)
				}
			}
		}
	}
}

// small is one build that a test can edit: nose c2 seen, a hidden nose s1 that it may bring.
func small(s *shop, t *testing.T, name string) learn.Build {
	b := s.compile(t, "family", "nose c2").build(t, name, priced.AddDate(0, 6, 0))
	c := damage.Spot{Zone: damage.Nose, Class: damage.Cosmetic}
	b.Jobs = []learn.Job{{Spot: c, Grade: 2, Done: true, Spend: 200, Hours: 9}}
	return b
}

func nose(c damage.Class) damage.Spot { return damage.Spot{Zone: damage.Nose, Class: c} }

// TestSetAside: everything that is not learned from is listed with its reason.
func TestSetAside(t *testing.T) {
	s := starter(t)
	cases := []struct {
		name   string
		edit   func(b *learn.Build)
		reason learn.Reason
		jobs   int // whose costs still count
		marks  int
	}{
		{"no grade", func(b *learn.Build) { b.Jobs[0].Grade = 0 }, learn.NoGrade, 0, 0},
		{"no cost", func(b *learn.Build) { b.Jobs[0].Spend, b.Jobs[0].Hours = 0, 0 }, learn.NoCost, 0, 1},
		{"found and clear", func(b *learn.Build) {
			b.Jobs = append(b.Jobs, learn.Job{Spot: nose(damage.Cosmetic), Clear: true})
		}, learn.Contradiction, 0, 0},
		{"negative", func(b *learn.Build) { b.Jobs[0].Spend = -5 }, learn.Negative, 0, 0},
		{"not a number", func(b *learn.Build) { b.Jobs[0].Hours = math.NaN() }, learn.Negative, 0, 0},
		{"no row", func(b *learn.Build) { b.Jobs[0].Grade = 9 }, learn.NoRow, 0, 0},
		{"unfinished", func(b *learn.Build) { b.Jobs[0].Done = false }, learn.Unfinished, 0, 1},
		{"open", func(b *learn.Build) { b.State = learn.Open }, learn.NotLooked, 1, 1},
		{"no date", func(b *learn.Build) { b.Sale = time.Time{} }, learn.NoDate, 1, 1},
		{"bad chance", func(b *learn.Build) {
			b.Marks[0].Suspected = []learn.Suspicion{{Grade: 3, Chance: 1.5}}
		}, learn.BadCode, 1, 0},
		{"bad rule", func(b *learn.Build) { b.Candidates[0].Triggers[0].Rule[2] = 999 }, learn.BadCode, 1, 1},
	}
	for _, c := range cases {
		b := small(s, t, "a")
		c.edit(&b)
		l := must(t, s, []learn.Build{b})
		if len(l.Aside) != 1 || l.Aside[0].Reason != c.reason || l.Aside[0].Build != "a" {
			t.Errorf("%s: set aside %+v", c.name, l.Aside)
		}
		if l.Jobs != c.jobs || l.Marks != c.marks {
			t.Errorf("%s: %d jobs and %d marks count, want %d and %d", c.name, l.Jobs, l.Marks, c.jobs, c.marks)
		}
	}
}

func TestOpenBuildTellsNothingOfHidden(t *testing.T) {
	s := starter(t)
	b := small(s, t, "a")
	closed := must(t, s, []learn.Build{b})
	b.State = learn.Open
	open := must(t, s, []learn.Build{b})
	if closed.Looks == 0 || open.Looks != 0 {
		t.Errorf("closed: %d looks, open: %d", closed.Looks, open.Looks)
	}
	// Nor does what was found and done already: what is not there would be counted later, or never.
	h := b.Candidates[0].Item
	b.Jobs = append(b.Jobs, learn.Job{Spot: h.Spot, Grade: h.Grade, Done: true, Spend: 300, Hours: 4})
	if open = must(t, s, []learn.Build{b}); open.Looks != 0 || open.Finds != 0 || open.Jobs != 2 {
		t.Errorf("open, with hidden damage found: %d looks, %d finds, %d jobs", open.Looks, open.Finds, open.Jobs)
	}
}

// TestCountedTwice: the same build again, under its own name or another, counts once; two that differ under one
// name do not count; which comes first changes nothing.
func TestCountedTwice(t *testing.T) {
	s := starter(t)
	a := small(s, t, "a")
	z := a
	z.Name = "z"
	other := small(s, t, "a")
	other.Jobs[0].Spend = 333
	alone := must(t, s, []learn.Build{a})
	for name, builds := range map[string][]learn.Build{"same name": {a, a}, "another name": {z, a}} {
		l := must(t, s, builds)
		if len(l.Aside) != 1 || l.Aside[0].Reason != learn.CountedTwice {
			t.Errorf("%s: set aside %+v", name, l.Aside)
		}
		l.Aside = nil
		if !reflect.DeepEqual(l, alone) {
			t.Errorf("%s: other figures than from one", name)
		}
	}
	for _, builds := range [][]learn.Build{{a, other}, {other, a}} {
		l := must(t, s, builds)
		if len(l.Aside) != 1 || l.Aside[0].Reason != learn.NameTwice || len(l.Builds) != 0 {
			t.Errorf("two builds of one name: %+v, %v", l.Aside, l.Builds)
		}
	}
}

// TestFaultsOfTheTable: a table or a setting that makes no sense is an error that says what.
func TestFaultsOfTheTable(t *testing.T) {
	s := starter(t)
	for want, edit := range map[string]func(*learn.Table, *learn.Settings){
		"severity_link is 1.5":          func(_ *learn.Table, s *learn.Settings) { s.SeverityLink = 1.5 },
		"is there twice":                func(t *learn.Table, _ *learn.Settings) { t.Rows = append(t.Rows, t.Rows[3]) },
		"low":                           func(t *learn.Table, _ *learn.Settings) { t.Rows[0].Spend.Low = 1e9 },
		"builds of cost row * s1 is -1": func(t *learn.Table, _ *learn.Settings) { t.Rows[0].Builds = -1 },
		"chance of hidden rule 1 is 2":  func(t *learn.Table, _ *learn.Settings) { t.Rules[0].Chance = 2 },
		"coding_up of structural is -1": func(_ *learn.Table, s *learn.Settings) { s.CodingUp[0] = -1 },
		"inflation is NaN":              func(_ *learn.Table, s *learn.Settings) { s.Inflation = math.NaN() },
	} {
		table, settings := s.table(), s.settings(priced)
		edit(&table, &settings)
		_, err := learn.Learn(table, nil, settings)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
	}
}

// TestStoppedBuild: a stopped car teaches no cost, but that it would have been dear raises the level; the further
// it would have gone over, the more; a limit far below what was expected tells nothing.
func TestStoppedBuild(t *testing.T) {
	s := starter(t)
	level := func(above float64) float64 {
		b := small(s, t, "a")
		b.State = learn.Stopped
		b.Limit = &learn.Limit{Above: above, Mean: 3000, SD: 1200, Shares: [5]float64{.3, .3, .1, .1, .1}}
		l := must(t, s, []learn.Build{b})
		if l.Jobs != 0 || l.Stopped != 1 {
			t.Fatalf("%d jobs, %d stopped", l.Jobs, l.Stopped)
		}
		return l.Level.Mean
	}
	nothing, some, much := level(300), level(4000), level(8000)
	if !(math.Abs(nothing) < 1e-3 && some > 0.01 && much > some) {
		t.Errorf("level %v, %v, %v", nothing, some, much)
	}
}

// TestStoppedBuildsCounterSelection: where dear cars are stopped, the finished ones alone make the table look dear
// by less than it is; the limits bring most of it back.
func TestStoppedBuildsCounterSelection(t *testing.T) {
	if testing.Short() {
		t.Skip("twenty workshops")
	}
	s := starter(t)
	truth := s.copy()
	truth.scale(1.3, "")
	all := lots(t, s)
	var finished, with float64
	for seed := range uint64(20) {
		builds := drawBuilds(t, truth, all, 80, 3, rand.New(rand.NewPCG(seed, 77)))
		var kept, closed []learn.Build
		for i, b := range builds {
			cost := 0.0
			var shares [5]float64
			for _, j := range b.Jobs {
				cost += j.Spend + 30*j.Hours
			}
			mean, sd := predicted(s, b, t)
			if cost > 1.3*mean {
				b.State = learn.Stopped
				for c := range shares {
					shares[c] = 0.2
				}
				b.Limit = &learn.Limit{Above: 1.3 * mean, Mean: mean, SD: sd, Shares: shares}
				for k := range b.Jobs {
					b.Jobs[k].Spend, b.Jobs[k].Hours, b.Jobs[k].Done = 0, 0, false
				}
			} else {
				closed = append(closed, builds[i])
			}
			kept = append(kept, b)
		}
		finished += must(t, s, closed).Level.Mean / 20
		with += must(t, s, kept).Level.Mean / 20
	}
	t.Logf("level %.3f from finished cars, %.3f with the stopped ones; the truth is %.3f", finished, with, math.Log(1.3))
	if !(with > finished+0.02) {
		t.Errorf("limits moved the level from %.3f to %.3f", finished, with)
	}
}

// predicted is what the workshop expects of a car given the grades that were found: mean and standard deviation.
func predicted(s *shop, b learn.Build, t *testing.T) (mean, sd float64) {
	r := rand.New(rand.NewPCG(4, 4))
	const n = 400
	s.ready()
	var sum, square float64
	for range n {
		z, total := r.NormFloat64(), 0.0
		for _, j := range b.Jobs {
			if j.Grade == 0 {
				continue
			}
			row := s.rowOf(j.Spot.Zone.String(), j.Spot.Class.Letter(), int(j.Grade))
			u := math.Sqrt(s.rho)*z + math.Sqrt(1-s.rho)*r.NormFloat64()
			total += s.spendShape[row].at(u)*j.SpendFactor + 30*s.hoursShape[row].at(u)*j.HoursFactor
		}
		sum, square = sum+total, square+total*total
	}
	mean = max(sum/n, 1)
	return mean, math.Sqrt(max(square/n-mean*mean, 1))
}

// TestHoursNotWritten: a job without hours is compared by its spend, not taken as one of no hours.
func TestHoursNotWritten(t *testing.T) {
	s := starter(t)
	with, without, zero := small(s, t, "a"), small(s, t, "a"), small(s, t, "a")
	row := s.rowOf("nose", "c", 2)
	with.Jobs[0].Spend, with.Jobs[0].Hours = s.spend[row][1], s.hours[row][1]
	without.Jobs[0] = with.Jobs[0]
	without.Jobs[0].Hours, without.Jobs[0].NoHours = 0, true
	zero.Jobs[0] = with.Jobs[0]
	zero.Jobs[0].Hours = 0
	level := func(b learn.Build) float64 { return must(t, s, []learn.Build{b}).Level.Mean }
	if w, o, z := level(with), level(without), level(zero); math.Abs(w-o) > 0.02 || z > w-0.05 {
		t.Errorf("level %v with hours, %v without, %v with none", w, o, z)
	}
}

// A row that has its own date of prices is held against prices of that day, however old the rest of the table is.
func TestRowOfItsOwnDay(t *testing.T) {
	s := starter(t)
	b := small(s, t, "a")
	row := s.rowOf("nose", "c", 2)
	b.Jobs[0].Spend, b.Jobs[0].Hours = s.spend[row][1], s.hours[row][1]
	level := func(whole, own time.Time) float64 {
		table, settings := s.table(), s.settings(b.Sale)
		settings.Inflation, settings.Priced, table.Rows[row].Priced = 0.05, whole, own
		l, err := learn.Learn(table, []learn.Build{b}, settings)
		if err != nil {
			t.Fatal(err)
		}
		return l.Level.Mean
	}
	today, old := b.Sale, b.Sale.AddDate(-10, 0, 0)
	own, fresh, stale := level(old, today), level(today, time.Time{}), level(old, time.Time{})
	if math.Abs(own-fresh) > 1e-9 || stale > fresh-0.02 {
		t.Errorf("level %v by the row's own day, %v by that day for all, %v by ten years before for all", own, fresh, stale)
	}
}

// A workshop that sets no chance of a misread code, and misreads none, is told of nothing; one that misreads half of
// its marks is.
func TestCodesThatAreSetAsCertain(t *testing.T) {
	s := starter(t)
	zero := s.settings(time.Time{})
	zero.CodingUp, zero.CodingDown = [damage.ClassCount]float64{}, [damage.ClassCount]float64{}
	for _, low := range []int{0, 2} {
		var builds []learn.Build
		spot := damage.Spot{Zone: damage.Nose, Class: damage.Cosmetic}
		for i := range 300 {
			g := damage.Grade(2)
			if low > 0 && i%low == 0 {
				g = 3
			}
			builds = append(builds, learn.Build{Name: fmt.Sprint(i), Marks: []learn.Mark{{Spot: spot, Seen: 2}},
				Jobs: []learn.Job{{Spot: spot, Grade: g, Done: true, Spend: 300 + float64(i), Hours: 10}}})
		}
		l, err := learn.Learn(s.table(), builds, zero)
		if err != nil {
			t.Fatal(err)
		}
		if v := l.Verdicts[learn.Codes]; v.Named != (low > 0) {
			t.Errorf("one in %d is one too low: %+v, up %+v, down %+v", low, v, l.Up, l.Down)
		}
		if want := map[int]float64{0: 0, 2: 0.5}[low]; math.Abs(l.Up.Mean-want) > 0.02 {
			t.Errorf("one in %d is one too low: up %+v", low, l.Up)
		}
	}
}

// What is written of hidden odds and of the link is the estimate times its weight at even odds against nothing, by the
// same Bayes factors that the diagnosis shows; of misread codes times the diagnosis's own weight (METHOD.md 16.22).
func TestWrittenIsTheEstimateByItsWeight(t *testing.T) {
	s := starter(t)
	truth := s.copy()
	truth.rho, truth.up = 0.45, [damage.ClassCount]float64{0.2, 0.2, 0.2, 0.2, 0.2}
	truth.oddsTimes(1.6)
	l := must(t, s, drawBuilds(t, truth, lots(t, s), 25, 3, rand.New(rand.NewPCG(18, 18))))
	weight := func(c learn.Cause) float64 {
		b := math.Exp(l.Verdicts[c].Evidence)
		return b / (1 + b)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 || math.Abs(want) < 1e-3 {
			t.Errorf("%s written %v, want %v", what, got, want)
		}
	}
	near("hidden odds", l.Omega.Written, weight(learn.Hidden)*l.Omega.Mean)
	near("link", l.Rho.Written-l.Rho.Set, weight(learn.Link)*(l.Rho.Mean-l.Rho.Set))
	near("coding_up", l.CodingUp[0]-0.1, l.Verdicts[learn.Codes].Weight*(l.Up.Mean-l.Up.Set))
}

// A rule's own chance is METHOD.md 16.9: three times the builds behind it against what was found and expected.
func TestRuleChanceByItsFinds(t *testing.T) {
	s := starter(t)
	l := must(t, s, drawBuilds(t, s, lots(t, s), 40, 3, rand.New(rand.NewPCG(19, 19))))
	looked := 0
	for i, r := range l.Rules {
		odds := r.Set / (1 - r.Set) * math.Exp(l.Omega.Mean)
		p := odds / (1 + odds)
		want := p * (3*s.seen[i]*p + r.Finds) / (3*s.seen[i]*p + r.Expected)
		want = min(max(want, 0.005), 0.97)
		if math.Abs(r.Mean-want) > 1e-9 {
			t.Errorf("rule %d: %.2f finds of %.2f expected: chance %v, want %v", i, r.Finds, r.Expected, r.Mean, want)
		}
		if r.Builds > 0 && math.Abs(r.Finds-r.Expected) > 0.1 {
			looked++
		}
	}
	if looked < 10 {
		t.Errorf("only %d rules were looked for", looked)
	}
}

// What one job says of its class, the prior taken off: its own cost over its row, as unsure as one job is and the row
// on top (s^2 + s^2 / builds, METHOD.md 16.11 and 16.23).
func TestHabitOfOneJob(t *testing.T) {
	s := starter(t)
	b := small(s, t, "a")
	row := s.rowOf("nose", "c", 2)
	b.Sale = priced
	b.Jobs[0].Spend, b.Jobs[0].Hours = 1.3*s.spend[row][1], 1.3*s.hours[row][1]
	b.Jobs[0].Day = priced
	l, err := learn.Learn(s.table(), []learn.Build{b}, s.settings(priced))
	if err != nil {
		t.Fatal(err)
	}
	cost := func(k int) float64 { return s.spend[row][k] + s.rate*s.hours[row][k] }
	spread := math.Log(cost(2)/cost(0)) / 2 / 1.2815515655446004
	sd := spread * math.Sqrt(1+1/s.row[row].Builds)
	h := l.Habits[damage.Cosmetic]
	if said := math.Log(h.High/h.Low) / 2 / 1.959964; h.TooFew || math.Abs(said/sd-1) > 0.1 {
		t.Errorf("%+v: standard deviation %.3f, %.3f is expected", h, said, sd)
	}
	if math.Abs(math.Log(h.Ratio)-math.Log(1.3)) > 0.06 {
		t.Errorf("%+v: the job cost 1.3 times its row", h)
	}
}
