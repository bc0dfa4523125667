package convolve_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// places at which the random cars are damaged; any of them may bring damage at any.
var places = []damage.Spot{
	{Zone: damage.Nose, Class: damage.Structural}, {Zone: damage.Nose, Class: damage.Cosmetic},
	{Zone: damage.Under, Class: damage.Electrical}, {Zone: damage.Bay, Class: damage.Mechanical},
}

func randomAmount(t *rapid.T, name string, scale float64) stats.Amount {
	low := rapid.Float64Range(0.05, 1).Draw(t, name) * scale
	down := rapid.Float64Range(0.1, 1).Draw(t, name) * low
	a := stats.Amount{Low: low, Mid: low + down, High: low + down + down*rapid.Float64Range(0.4, 4).Draw(t, name)}
	a.Shape = rapid.SampledFrom([]stats.Shape{stats.Skewed, stats.Skewed, stats.PERT, stats.Triangle}).Draw(t, name)
	return a
}

// randomBook has a row for every grade of the places, and rules of all kinds.
func randomBook(t *rapid.T) *costs.Table {
	var rows []costs.Row
	for _, at := range places {
		for g := damage.Grade(1); g <= damage.GradeCount; g++ {
			hours := randomAmount(t, "hours", 10)
			if rapid.IntRange(0, 4).Draw(t, "fixed hours") == 0 {
				hours = stats.Fixed(hours.Mid)
			}
			rows = append(rows, costs.Row{Item: damage.Item{Spot: at, Grade: g}, Spend: randomAmount(t, "spend",
				400*float64(g)), Hours: hours,
				LeadDays: float64(rapid.IntRange(0, 5).Draw(t, "lead")), Builds: 1, Basis: "test"})
		}
	}
	var rules []costs.Rule
	seen := map[string]bool{}
	item := func(name string) damage.Item {
		return damage.Item{Spot: rapid.SampledFrom(places).Draw(t, name),
			Grade: damage.Grade(rapid.IntRange(1, damage.GradeCount).Draw(t, name))}
	}
	for range rapid.IntRange(0, 5).Draw(t, "rules") {
		r := costs.Rule{When: item("when"), Then: item("then"), Chance: rapid.Float64Range(0.05, 1).Draw(t, "chance"),
			Seen: 1, Why: "test"}
		if r.When.Spot == r.Then.Spot && r.When.Grade >= r.Then.Grade || seen[r.Name()] {
			continue
		}
		seen[r.Name()] = true
		rules = append(rules, r)
	}
	b, err := costs.New(rows, rules)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// randomCase is a car with seen, suspected and absent marks, several at a place, and at
// most eight things in doubt.
func randomCase(t *rapid.T, b *costs.Table) costs.Case {
	var found []costs.Finding
	doubts := 0
	for _, at := range places {
		seen := damage.Grade(rapid.IntRange(0, 2).Draw(t, "seen"))
		if seen > 0 {
			f := costs.Finding{Item: damage.Item{Spot: at, Grade: seen}, Chance: 1}
			if rapid.IntRange(0, 2).Draw(t, "misread") == 0 {
				f.Up, f.Down = rapid.Float64Range(0, 0.4).Draw(t, "up"), rapid.Float64Range(0, 0.4).Draw(t, "down")
			}
			found = append(found, f)
		}
		for g := seen + 1; g <= damage.GradeCount; g++ {
			x := costs.Finding{Item: damage.Item{Spot: at, Grade: g}, State: damage.Suspected}
			switch rapid.IntRange(0, 5).Draw(t, "mark") {
			case 0, 1:
				if doubts++; doubts > 4 {
					continue
				}
				x.Chance = rapid.Float64Range(0.03, 0.97).Draw(t, "chance")
				found = append(found, x)
				continue
			case 2:
				x.State = damage.Absent
				found = append(found, x)
			default:
				continue
			}
			break
		}
	}
	c, err := b.Case("", found)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// brute works a case out by trying every way in which it may turn out, at a fine
// grid of the factor, by nothing but the sentences of the model.
type brute struct {
	b                *costs.Table
	c                costs.Case
	severity, hidden float64
	z, weight        []float64
	scores           []float64
	jobs             []*job // by candidate
	shown            []costs.Shown

	moments convolve.Moments
	likely  []convolve.CandidateChance
	places  map[damage.Spot]convolve.Place
	coded   map[damage.Spot]*[damage.GradeCount + 1]float64
	leads   map[[2]float64]convolve.Event
	charged convolve.Event         // something matches
	without map[[2]float64]float64 // chances of leads where nothing does
}

// job is a row's amounts at the scores, and its means at the factor's grid.
type job struct {
	spend, hours                                   []float64
	meanSpend, meanHours, square, both, hourSquare []float64
}

const scoreStep = 0.01

func newBrute(b *costs.Table, c costs.Case, severity, hidden float64) *brute {
	x := &brute{b: b, c: c, severity: severity, hidden: hidden,
		likely: make([]convolve.CandidateChance,
			len(c)), places: map[damage.Spot]convolve.Place{}, coded: map[damage.Spot]*[damage.GradeCount +
			1]float64{}, leads: map[[2]float64]convolve.Event{}, without: map[[2]float64]float64{}}
	total := 0.0
	for z := -6.0; z < 6.01; z += 0.2 {
		x.z, x.weight = append(x.z, z), append(x.weight, distuv.UnitNormal.Prob(z))
		total += distuv.UnitNormal.Prob(z)
	}
	for i := range x.weight {
		x.weight[i] /= total
	}
	for u := -9.0; u < 9; u += scoreStep {
		x.scores = append(x.scores, u)
	}
	for i := range c {
		j, row := &job{}, b.Rows()[c[i].Row]
		for _, u := range x.scores {
			spend, hours := c[i].At(row.Spend.At(u), row.Hours.At(u))
			j.spend, j.hours = append(j.spend, spend), append(j.hours, hours)
		}
		for k := range x.z {
			var s, h, ss, sh, hh float64
			x.each(k, func(i int, w float64) {
				s += w * j.spend[i]
				h += w * j.hours[i]
				ss += w * j.spend[i] * j.spend[i]
				sh += w * j.spend[i] * j.hours[i]
				hh += w * j.hours[i] * j.hours[i]
			})
			j.meanSpend, j.meanHours = append(j.meanSpend, s), append(j.meanHours, h)
			j.square, j.both, j.hourSquare = append(j.square, ss), append(j.both, sh), append(j.hourSquare, hh)
		}
		x.jobs = append(x.jobs, j)
	}
	return x
}

// each visits the scores of a job at a place of the factor's grid, with their chances.
func (x *brute) each(k int, visit func(i int, w float64)) {
	tie, spread := math.Sqrt(x.severity), math.Sqrt(1-x.severity)
	for i, u := range x.scores {
		if e := (u - tie*x.z[k]) / spread; math.Abs(e) < 7 {
			visit(i, distuv.UnitNormal.Prob(e)*scoreStep/spread)
		}
	}
}

// occurs is the chance at a place of the factor's grid of what has this chance overall.
func (x *brute) occurs(k int, chance float64) float64 {
	switch {
	case chance <= 0:
		return 0
	case chance >= 1:
		return 1
	}
	return distuv.UnitNormal.CDF((math.Sqrt(x.hidden)*x.z[k] - distuv.UnitNormal.Quantile(1-chance)) /
		math.Sqrt(1-x.hidden))
}

// suspected visits every way in which the suspected marks, and those that may be misread,
// turn out at a place of the factor's grid: which occur, their chance, and that of each
// hidden item then.
func (x *brute) suspected(k int, visit func(p float64, there []bool, chances []float64)) {
	var marks []int
	for i, y := range x.c {
		if y.Kind != costs.Hidden && !y.Certain() {
			marks = append(marks, i)
		}
	}
	there, chances := make([]bool, len(x.c)), make([]float64, len(x.c))
	for way := range 1 << len(marks) {
		p := x.weight[k]
		for m, i := range marks {
			q := x.c[i].Chance // of a misread mark: it hangs on nothing
			if x.c[i].Kind == costs.Suspected {
				q = x.occurs(k, q)
			}
			if there[i] = way>>m&1 == 1; !there[i] {
				q = 1 - q
			}
			p *= q
		}
		for i, y := range x.c {
			switch {
			case y.Certain():
				there[i] = true
			case y.Kind == costs.Hidden:
				miss := 1.0
				for _, t := range y.Triggers {
					miss *= 1 - t.Chance[x.worst(t.Spot, there)]
				}
				there[i], chances[i] = false, 1-(1-x.occurs(k, 1-miss))*(1-y.Step)
			}
		}
		visit(p, there, chances)
	}
}

// worst is the highest coded grade that is there at a spot: what was seen counts as it was
// written.
func (x *brute) worst(at damage.Spot, there []bool) (g damage.Grade) {
	for i, y := range x.c {
		if y.Spot == at && (y.Kind == costs.Seen || y.Kind == costs.Suspected && there[i]) {
			g = max(g, y.Grade)
		}
	}
	return g
}

// enumerate tries everything.
func (x *brute) enumerate(match func(damage.Item) bool) {
	var hidden []int
	for i, y := range x.c {
		if y.Kind == costs.Hidden {
			hidden = append(hidden, i)
		}
		x.coded[y.Spot] = new([damage.GradeCount + 1]float64)
	}
	var ss, sh, hh, whole float64
	for k := range x.z {
		x.suspected(k, func(p float64, there []bool, chances []float64) {
			for spot, coded := range x.coded {
				coded[x.worst(spot, there)] += p
			}
			for way := range 1 << len(hidden) {
				p := p
				for m, i := range hidden {
					q := chances[i]
					if there[i] = way>>m&1 == 1; !there[i] {
						q = 1 - q
					}
					p *= q
				}
				if p == 0 || !x.allowed(there) {
					continue
				}
				whole += p
				var s, h, vs, vsh, vh, seen, unseen float64
				matched := false
				for i, y := range x.c {
					if !x.isCharged(i, there) {
						continue
					}
					j := x.jobs[i]
					a, b := j.meanSpend[k], j.meanHours[k]
					s += a
					h += b
					vs += j.square[k] - a*a
					vsh += j.both[k] - a*b
					vh += j.hourSquare[k] - b*b
					if lead := x.b.Rows()[y.Row].LeadDays; y.Kind == costs.Seen {
						seen = max(seen, lead)
					} else {
						unseen = max(unseen, lead)
					}
					matched = matched || match(y.Item)
					at := x.places[y.Spot]
					at.Spot, at.Spend, at.Hours = y.Spot, at.Spend+p*a, at.Hours+p*b
					x.places[y.Spot] = at
				}
				x.moments.Spend += p * s
				x.moments.Hours += p * h
				ss += p * (vs + s*s)
				sh += p * (vsh + s*h)
				hh += p * (vh + h*h)
				event := convolve.Event{Chance: p, Spend: p * s, Hours: p * h}
				add := func(e *convolve.Event) {
					e.Chance += p
					e.Spend += p * s
					e.Hours += p * h
					e.HoursHours += p * (vh + h*h)
				}
				old := x.leads[[2]float64{seen, unseen}]
				add(&old)
				x.leads[[2]float64{seen, unseen}] = old
				if matched {
					add(&x.charged)
				} else {
					x.without[[2]float64{seen, unseen}] += p
				}
				for i := range x.c {
					if there[i] {
						x.likely[i].Occurs += p
						x.likely[i].Spend += event.Spend
						x.likely[i].Hours += event.Hours
						if x.isCharged(i, there) {
							x.likely[i].Charged += p
						}
					}
				}
			}
		})
	}
	x.condition(whole)
	ss, sh, hh = ss/whole, sh/whole, hh/whole
	m := &x.moments
	m.SpendSpend, m.SpendHours, m.HoursHours = ss-m.Spend*m.Spend, sh-m.Spend*m.Hours, hh-m.Hours*m.Hours
}

// allowed reports whether what is there is what was shown.
func (x *brute) allowed(there []bool) bool {
	return !slices.ContainsFunc(x.shown, func(shown costs.Shown) bool {
		worst := damage.Grade(0)
		for i, y := range x.c {
			if there[i] && y.Spot == shown.Spot {
				worst = max(worst, y.Grade)
			}
		}
		return !shown.Allows(worst)
	})
}

// condition divides what was added up by the chance of what was shown.
func (x *brute) condition(whole float64) {
	x.moments.Spend /= whole
	x.moments.Hours /= whole
	for spot, at := range x.places {
		at.Spend, at.Hours = at.Spend/whole, at.Hours/whole
		x.places[spot] = at
	}
	over := func(e convolve.Event) convolve.Event {
		return convolve.Event{Chance: e.Chance / whole, Spend: e.Spend / whole, Hours: e.Hours / whole,
			HoursHours: e.HoursHours / whole}
	}
	for lead, e := range x.leads {
		x.leads[lead] = over(e)
		x.without[lead] /= whole
	}
	x.charged = over(x.charged)
}

// isCharged reports whether a candidate is there and nothing worse at its spot.
func (x *brute) isCharged(i int, there []bool) bool {
	for n, y := range x.c {
		if there[n] && y.Spot == x.c[i].Spot && y.Grade > x.c[i].Grade {
			return false
		}
	}
	return there[i]
}

// chances returns the distribution function of spend times a plus hours times b on a
// lattice from 0, by plain transforms of so fine a lattice that nothing need be damped.
func (x *brute) chances(a, b float64) (step float64, cumulative []float64) {
	const cells = 4096
	m := x.moments
	step = (m.Mean(a, b) + 14*math.Sqrt(m.Var(a, b))) / cells
	fft := fourier.NewFFT(cells)
	sum := make([]complex128, cells/2+1)
	for k := range x.z {
		rows := map[int][]complex128{}
		for n, j := range x.jobs {
			mass := make([]float64, cells)
			x.each(k, func(i int, w float64) { // shared between two neighbours, so that the mean stays
				at := (a*j.spend[i] + b*j.hours[i]) / step
				low := min(int(at), cells-2)
				part := min(1, at-float64(low))
				mass[low] += w * (1 - part)
				mass[low+1] += w * part
			})
			rows[n] = fft.Coefficients(nil, mass)
		}
		x.suspected(k, func(p float64, there []bool, chances []float64) {
			if p < 1e-9 {
				return
			}
			product := make([]complex128, len(sum))
			for q := range product {
				product[q] = complex(p, 0)
			}
			for from := 0; from < len(x.c); {
				to := from + 1
				for to < len(x.c) && x.c[to].Spot == x.c[from].Spot {
					to++
				}
				room, factor := 1.0, make([]complex128, len(sum))
				allows := func(damage.Grade) bool { return true }
				for _, shown := range x.shown {
					if shown.Spot == x.c[from].Spot {
						allows = shown.Allows
					}
				}
				for i := to - 1; i >= from; i-- {
					here := chances[i]
					if x.c[i].Kind != costs.Hidden {
						if here = 0; there[i] {
							here = 1
						}
					}
					if here == 0 {
						continue
					}
					for q, y := range rows[i] {
						if !allows(x.c[i].Grade) {
							break
						}
						factor[q] += complex(room*here, 0) * y
					}
					room *= 1 - here
				}
				if !allows(0) {
					room = 0
				}
				for q := range product {
					product[q] *= factor[q] + complex(room, 0)
				}
				from = to
			}
			for q, y := range product {
				sum[q] += y
			}
		})
	}
	cumulative = fft.Sequence(nil, sum)
	total := 0.0
	for i, y := range cumulative {
		total += y / cells
		cumulative[i] = total
	}
	for i := range cumulative {
		cumulative[i] /= total
	}
	return step, cumulative
}

// waited is chances of what is charged, by the spend, and what is added for its longest
// lead times.
func (x *brute) waited(wait func(seen, hidden float64) float64, far float64) (step float64, cumulative []float64) {
	const cells = 1024
	step = far / cells
	fft := fourier.NewFFT(cells)
	sum, at := make([]complex128, cells/2+1), func(amount float64) []complex128 {
		mass := make([]float64, cells)
		low := min(int(amount/step), cells-2)
		part := min(1, amount/step-float64(low))
		mass[low], mass[low+1] = 1-part, part
		return fft.Coefficients(nil, mass)
	}
	shifts := map[float64][]complex128{}
	var hidden []int
	for i, y := range x.c {
		if y.Kind == costs.Hidden {
			hidden = append(hidden, i)
		}
	}
	for k := 0; k < len(x.z); k += 2 {
		rows := map[int][]complex128{}
		for n, j := range x.jobs {
			row := make([]complex128, len(sum))
			mass := make([]float64, cells)
			x.each(k, func(i int, w float64) {
				low := min(int(j.spend[i]/step), cells-2)
				part := min(1, j.spend[i]/step-float64(low))
				mass[low] += w * (1 - part)
				mass[low+1] += w * part
			})
			rows[n] = fft.Coefficients(row, mass)
		}
		x.suspected(k, func(p float64, there []bool, chances []float64) {
			for way := range 1 << len(hidden) {
				p, seen, unseen := p, 0.0, 0.0
				for m, i := range hidden {
					q := chances[i]
					if there[i] = way>>m&1 == 1; !there[i] {
						q = 1 - q
					}
					p *= q
				}
				if p < 1e-9 {
					continue
				}
				product := make([]complex128, len(sum))
				for q := range product {
					product[q] = complex(p, 0)
				}
				for i, y := range x.c {
					if !x.isCharged(i, there) {
						continue
					}
					if lead := x.b.Rows()[y.Row].LeadDays; y.Kind == costs.Seen {
						seen = max(seen, lead)
					} else {
						unseen = max(unseen, lead)
					}
					for q, z := range rows[i] {
						product[q] *= z
					}
				}
				w := wait(seen, unseen)
				if shifts[w] == nil {
					shifts[w] = at(w)
				}
				for q, z := range shifts[w] {
					sum[q] += product[q] * z
				}
			}
		})
	}
	cumulative = fft.Sequence(nil, sum)
	total := 0.0
	for i, y := range cumulative {
		total += y
		cumulative[i] = total
	}
	for i := range cumulative { // every other place of the factor's grid was left out
		cumulative[i] /= total
	}
	return step, cumulative
}

// What is added for the longest lead times depends on what is charged.
func TestWaitsFollowWhatIsCharged(t *testing.T) {
	wait := func(seen, hidden float64) float64 { return max(180*seen, 250+300*hidden) }
	for seed := range draw(24, 1) {
		x := cars.Example(seed)
		brute := newBrute(x.b, x.c, x.severity, x.hidden)
		e, err := convolve.New(x.b, x.severity, x.hidden)
		if err != nil {
			t.Fatal(err)
		}
		measure, sum := e.Measure(1, 0, x.scales), e.NewSum()
		if err := sum.Add(x.c); err != nil {
			t.Fatal(err)
		}
		m := sum.Moments()
		mean, square, both := 0.0, 0.0, 0.0
		var waits []*convolve.Part
		for _, l := range sum.Leads(func(float64, float64) bool { return true }, nil) {
			w := wait(l.Seen, l.Hidden)
			mean += l.Chance * w
			square += l.Chance * w * w
			both += l.Spend * w
			waits = append(waits, added(w))
		}
		var d convolve.Distribution
		sd := math.Sqrt(m.SpendSpend + square - mean*mean + 2*(both-mean*m.Spend))
		sum.With(measure, convolve.Extra{Waits: waits, Mean: m.Spend + mean, SD: sd}, &d)
		step, chances := brute.waited(wait, d.Mean+12*sd+2000)
		at := func(x float64) float64 { return chances[min(max(int(x/step), 0), len(chances)-1)] }
		for _, p := range []float64{0.1, 0.2, 0.5, 0.8, 0.9, 0.95} {
			q, room := quantile(&d, p), 0.03*sd+step
			if low, high := at(q-room), at(q+room); low > p+0.005 || high < p-0.005 {
				t.Errorf("seed %d: quantile %g = %.6g, which %.4f stay below, %.4f within %.4g less, %.4f more", seed, p, q, at(q),
					low, room, high)
			}
		}
	}
}

// car is a random car in a random shop.
type car struct {
	b                *costs.Table
	c                costs.Case
	severity, hidden float64
	scales           []float64
}

var cars = rapid.Custom(func(t *rapid.T) car {
	x := car{b: randomBook(t)}
	x.c = randomCase(t, x.b)
	if rapid.Bool().Draw(t, "scaled") {
		for range x.b.Rows() {
			x.scales = append(x.scales, rapid.Float64Range(0.3, 3).Draw(t, "scale"))
		}
		for i := range x.c {
			x.c[i].Scale = x.scales[x.c[i].Row]
		}
	}
	for i := range x.c {
		if y := &x.c[i]; (y.Kind == costs.Suspected || y.Kind == costs.Seen && y.Chance == 1) && rapid.IntRange(0, 5).Draw(t,
			"quoted") == 0 {
			y.Quote = &costs.Quote{Spend: rapid.Float64Range(0, 900).Draw(t, "quote"), Hours: rapid.Float64Range(0, 9).Draw(t,
				"quoted hours"), HasHours: rapid.Bool().Draw(t, "has hours")}
		}
	}
	x.severity = rapid.SampledFrom([]float64{0, 0.25, 0.6}).Draw(t, "severity link")
	x.hidden = rapid.SampledFrom([]float64{0, 0.25, 0.6}).Draw(t, "hidden link")
	return x
})

// cases are random cars in the same shop.
func (x car) cases() *rapid.Generator[costs.Case] {
	return rapid.Custom(func(t *rapid.T) costs.Case { return randomCase(t, x.b) })
}

func (x car) sum(t testing.TB, a, b float64) (sum *convolve.Sum, measure int) {
	t.Helper()
	e, err := convolve.New(x.b, x.severity, x.hidden)
	if err != nil {
		t.Fatal(err)
	}
	measure, sum = e.Measure(a, b, x.scales), e.NewSum()
	if err := sum.Add(x.c); err != nil {
		t.Fatal(err)
	}
	return sum, measure
}

// Small random cars against trying everything.
func TestAgainstTryingEverything(t *testing.T) {
	match := func(i damage.Item) bool {
		return i.Class == damage.Structural && i.Grade >= 2 || i.Class == damage.Electrical
	}
	for seed, tried := 0, 0; tried < draw(30, 3); seed++ {
		x := cars.Example(seed)
		doubts := 0
		for _, y := range x.c {
			if y.Kind != costs.Seen {
				doubts++
			}
		}
		if doubts > draw(8, 5) || doubts < 2 {
			continue
		}
		tried++
		t.Run(fmt.Sprintf("%d-%g-%g", seed, x.severity, x.hidden), func(t *testing.T) {
			sum, measure := x.sum(t, 1.3, 35)
			want := newBrute(x.b, x.c, x.severity, x.hidden)
			want.enumerate(match)
			compare(t, sum, want, match)
			compareDistribution(t, sum, measure, want)
		})
	}
}

// The same cars where something was shown of two spots at random: that damage is of a grade at
// least, or less than one, or both; the rest, and the severity, follow by Bayes' theorem.
func TestWhatWasShownAgainstTryingEverything(t *testing.T) {
	match := func(i damage.Item) bool {
		return i.Class == damage.Structural && i.Grade >= 2 || i.Class == damage.Electrical
	}
	for seed, tried := 0, 0; tried < draw(24, 3); seed++ {
		x := cars.Example(seed)
		var open []damage.Item
		for _, y := range x.c {
			if y.Kind != costs.Seen && !y.Certain() {
				open = append(open, y.Item)
			}
		}
		if len(open) > draw(8, 5) || len(open) < 2 {
			continue
		}
		var shown []costs.Shown
		random := rand.New(rand.NewPCG(uint64(seed), 1))
		for range 2 {
			shown = costs.Show(shown, open[random.IntN(len(open))], random.IntN(2) == 0)
		}
		if slices.ContainsFunc(shown, func(s costs.Shown) bool { return !s.Possible() }) {
			continue
		}
		tried++
		t.Run(fmt.Sprintf("%d-%g-%g", seed, x.severity, x.hidden), func(t *testing.T) {
			want := newBrute(x.b, x.c, x.severity, x.hidden)
			want.shown = shown
			want.enumerate(match)
			e, err := convolve.New(x.b, x.severity, x.hidden)
			if err != nil {
				t.Fatal(err)
			}
			measure, sum := e.Measure(1.3, 35, x.scales), e.NewSum()
			err = sum.AddGiven(x.c, shown)
			if math.IsNaN(want.moments.Spend) { // no way is as it was shown
				if !errors.Is(err, convolve.ErrImpossible) {
					t.Errorf("error %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			compareSum(t, sum, want, match)
			compareDistribution(t, sum, measure, want)
			// What was shown leaves nothing behind.
			if err := sum.Add(x.c); err != nil {
				t.Fatal(err)
			}
			fresh, _ := x.sum(t, 1.3, 35)
			if sum.Moments() != fresh.Moments() {
				t.Errorf("afterwards %+v, fresh %+v", sum.Moments(), fresh.Moments())
			}
		})
	}
}

// What cannot be so is an error.
func TestWhatCannotBe(t *testing.T) {
	x := cars.Example(1)
	e, err := convolve.New(x.b, x.severity, x.hidden)
	if err != nil {
		t.Fatal(err)
	}
	at := x.c[0].Spot
	shown := []costs.Shown{{Spot: at, AtLeast: 3, Below: 2}}
	if err := e.NewSum().AddGiven(x.c, shown); !errors.Is(err, convolve.ErrImpossible) {
		t.Errorf("error %v", err)
	}
}

// draw is how many random cars are tried, or how many doubts one may have, and the same in short runs: twice the doubts
// take many times as long to try.
func draw(many, few int) int {
	if testing.Short() {
		return few
	}
	return many
}

// Tolerances, as shares: what holds with room.
const (
	meanTolerance   = 5e-4
	chanceTolerance = 3e-4
)

func compare(t *testing.T, sum *convolve.Sum, want *brute, match func(damage.Item) bool) {
	compareSum(t, sum, want, match)
	spend, hours := meanTolerance*want.moments.Spend, meanTolerance*want.moments.Hours
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if math.IsNaN(got) || math.Abs(got-want) > tolerance {
			t.Errorf("%s = %.8g, want %.8g within %g", what, got, want, tolerance)
		}
	}
	for i, x := range sum.Candidates(nil) {
		y, what := want.likely[i], want.c[i].Item.String()+" "+want.c[i].Kind.String()
		near(what+" occurs", x.Occurs, y.Occurs, chanceTolerance)
		near(what+" charged", x.Charged, y.Charged, chanceTolerance)
		near(what+" spend", x.Spend, y.Spend, 2*spend)
		near(what+" hours", x.Hours, y.Hours, 2*hours)
	}
	for spot, chances := range want.coded {
		for g, p := range sum.Coded(spot) {
			near(fmt.Sprintf("%s coded %d", spot, g), p, chances[g], chanceTolerance)
		}
	}
}

func compareSum(t *testing.T, sum *convolve.Sum, want *brute, match func(damage.Item) bool) {
	got, m := sum.Moments(), want.moments
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if math.IsNaN(got) || math.Abs(got-want) > tolerance {
			t.Errorf("%s = %.8g, want %.8g within %g", what, got, want, tolerance)
		}
	}
	spend, hours := meanTolerance*m.Spend, meanTolerance*m.Hours
	near("mean spend", got.Spend, m.Spend, spend)
	near("mean hours", got.Hours, m.Hours, hours)
	near("variance of spend", got.SpendSpend, m.SpendSpend, 0.01*m.SpendSpend)
	near("variance of hours", got.HoursHours, m.HoursHours, 0.01*m.HoursHours)
	near("covariance", got.SpendHours, m.SpendHours, 0.01*math.Sqrt(m.SpendSpend*m.HoursHours))

	var total convolve.Place
	for _, x := range sum.Places() {
		y := want.places[x.Spot]
		near(x.Spot.String()+" spend", x.Spend, y.Spend, spend)
		near(x.Spot.String()+" hours", x.Hours, y.Hours, hours)
		total.Spend += x.Spend
		total.Hours += x.Hours
	}
	near("places add up to the spend", total.Spend, got.Spend, 1e-9*m.Spend)
	near("places add up to the hours", total.Hours, got.Hours, 1e-9*m.Hours+1e-12)
	event := sum.Charged(match)
	near("chance of what matches", event.Chance, want.charged.Chance, chanceTolerance)
	near("spend with what matches", event.Spend, want.charged.Spend, 2*spend)
	near("hours with what matches", event.Hours, want.charged.Hours, 2*hours)
	near("square of the hours with what matches", event.HoursHours, want.charged.HoursHours,
		0.02*(m.HoursHours+m.Hours*m.Hours))

	var all convolve.Event
	leads := sum.Leads(func(float64, float64) bool { return true }, nil)
	for _, l := range leads {
		y := want.leads[[2]float64{l.Seen, l.Hidden}]
		what := fmt.Sprintf("leads of %v seen, %v hidden: ", l.Seen, l.Hidden)
		near(what+"chance", l.Chance, y.Chance, chanceTolerance)
		near(what+"spend", l.Spend, y.Spend, 2*spend)
		near(what+"hours", l.Hours, y.Hours, 2*hours)
		near(what+"square of the hours", l.HoursHours, y.HoursHours, 0.02*(m.HoursHours+m.Hours*m.Hours))
		all.Chance, all.Spend, all.Hours = all.Chance+l.Chance, all.Spend+l.Spend, all.Hours+l.Hours
	}
	near("leads, chance of any", all.Chance, 1, 1e-6)
	near("leads, all spend", all.Spend, got.Spend, 1e-6*m.Spend)
	near("leads, all hours", all.Hours, got.Hours, 1e-6*m.Hours)

	grouped := slices.ContainsFunc(want.c, func(c costs.Candidate) bool { return c.Kind == costs.Misread })
	none := 0.0
	for n, p := range sum.LeadsWithout(match, nil) {
		if none += p; !grouped { // a group shares out what is so of it
			l := leads[n]
			near(fmt.Sprintf("leads of %v seen, %v hidden, nothing that matches", l.Seen, l.Hidden), p,
				want.without[[2]float64{l.Seen, l.Hidden}], chanceTolerance)
		}
	}
	near("leads, nothing that matches", none, 1-want.charged.Chance, chanceTolerance)
}

func compareDistribution(t *testing.T, sum *convolve.Sum, measure int, want *brute) {
	var d convolve.Distribution
	sum.Distribution(measure, 0, &d)
	step, chances := want.chances(1.3, 35)
	at := func(x float64) float64 { // chance of at most x, each lattice point spread over its cell
		n := x/step + 0.5
		if n <= 0 {
			return 0
		}
		i := min(int(n), len(chances)-1)
		low := 0.0
		if i > 0 {
			low = chances[i-1]
		}
		return low + (n-float64(i))*(chances[i]-low)
	}
	nothing := 0.0
	for k := range want.z {
		want.suspected(k, func(p float64, there []bool, hidden []float64) {
			if slices.ContainsFunc(want.shown, func(x costs.Shown) bool { return !x.Allows(0) }) {
				return
			}
			if !slices.Contains(there, true) {
				for _, q := range hidden {
					p *= 1 - q
				}
				nothing += p
			}
		})
	}
	if math.Abs(d.Zero-nothing) > 5e-4 {
		t.Errorf("nothing is charged with chance %v, want %v", d.Zero, nothing)
	}
	shares := []float64{0.1, 0.2, 0.5, 0.8, 0.9, 0.95}
	quantiles := make([]float64, len(shares))
	d.Quantiles(shares, quantiles)
	for i, p := range shares {
		// Either the amount or the chance may be a little off.
		x, room := quantiles[i], 0.02*d.SD+d.Blur/2
		if low, high := at(x-room), at(x+room); low > p+0.002 || high < p-0.002 {
			t.Errorf("quantile %g = %.6g, which %.4f stay below, %.4f within %.4g less, %.4f more", p, x, at(x), low, room, high)
		}
	}
}

// What a distribution is made of.
func TestMassesAddUp(t *testing.T) {
	for seed := range draw(100, 8) {
		x := cars.Example(seed)
		sum, measure := x.sum(t, 1, float64(40*(seed%2)))
		for _, chunks := range []int{10, 3, 4} {
			sum.Shorten(chunks)
			for _, reach := range []float64{0, 6} {
				var d convolve.Distribution
				sum.Distribution(measure, reach, &d)
				if len(d.Cells) == 0 {
					continue
				}
				total := d.Zero + d.Beyond
				for i, y := range d.Cells {
					if total += y; !(y >= 0) {
						t.Fatalf("seed %d: cell %d holds %v", seed, i, y)
					}
				}
				if len(d.Cells)%48 != 0 || d.Zero < 0 || d.Zero > 1 || d.Beyond < 0 {
					t.Errorf("seed %d: %d cells, %v at 0, %v beyond", seed, len(d.Cells), d.Zero, d.Beyond)
				}
				if math.Abs(total-1) > 1e-9 {
					t.Errorf("seed %d, %d chunks, reach %v: the masses add up to %v; blur %v step %v sd %v zero %v", seed, chunks,
						reach, total, d.Blur, d.Step, d.SD, d.Zero)
				}
				var shares, quantiles [199]float64
				for i := range shares {
					shares[i] = float64(i+1) / 200
				}
				d.Quantiles(shares[:], quantiles[:])
				if !slices.IsSorted(quantiles[:]) || quantiles[0] < 0 {
					t.Errorf("seed %d: quantiles %v", seed, quantiles)
				}
			}
		}
	}
}

// A small job for certain beside a dear one in doubt: what the blur carries below zero must
// not come round to the window's end, where the damping is taken out most.
func TestNothingComesRound(t *testing.T) {
	e, c := one(t, 0.6, []priced{
		{chance: 1, spend: stats.Amount{Low: 40, Mid: 52, High: 85}},
		{chance: 0.44, spend: stats.Amount{Low: 800, Mid: 1490, High: 4250}},
	})
	measure, sum := e.Measure(1, 0, nil), e.NewSum()
	if err := sum.Add(c); err != nil {
		t.Fatal(err)
	}
	for _, chunks := range []int{10, 3, 4} {
		sum.Shorten(chunks)
		for _, reach := range []float64{0, 6} {
			var d convolve.Distribution
			sum.Distribution(measure, reach, &d)
			n, last := len(d.Cells), 0.0
			for _, y := range d.Cells[n-n/10:] {
				last += y
			}
			if last > 0.01 {
				t.Errorf("%d chunks, reach %g: %.4f in the last tenth of the window", chunks, reach, last)
			}
			within(t, fmt.Sprintf("%d chunks, reach %g: P50", chunks, reach), quantile(&d, 0.5), 80, 0.04*d.SD+d.Blur)
		}
	}
}

// The more jobs, the less their sum varies given the factor, and the more its distribution
// shows the nodes: eight and fifteen equal jobs come out within a hundredth of a standard deviation,
// thirty, more than any car has, within a thirtieth.
func TestManyJobs(t *testing.T) {
	for k, tolerance := range map[int]float64{8: 0.01, 15: 0.01, 30: 1. / 30} {
		if testing.Short() && k > 8 {
			continue // their fine grid takes a second each
		}
		var items []priced
		for range k {
			items = append(items, priced{chance: 1, spend: stats.Amount{Low: 180, Mid: 306, High: 520}})
		}
		b, c := shopOf(t, items)
		e, err := convolve.New(b, 0.25, 0.25)
		if err != nil {
			t.Fatal(err)
		}
		d := convolved(t, e, c, 1, 0)
		want := newBrute(b, c, 0.25, 0.25)
		want.enumerate(func(damage.Item) bool { return false })
		step, chances := want.chances(1, 0)
		for _, p := range []float64{0.1, 0.2, 0.5, 0.8, 0.9, 0.95} {
			i, _ := slices.BinarySearch(chances, p)
			within(t, fmt.Sprintf("%d jobs: quantile %g, in standard deviations", k, p), (quantile(d, p)-float64(i)*step)/d.SD,
				0, tolerance)
		}
	}
}
