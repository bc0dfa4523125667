package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/learn"
)

// points are the normal draws of one lot, kept so that every workshop is predicted on the same ones.
type points struct {
	n            int
	z            []float64
	score, heavy [][]float64 // by spot
	ladder       [][3][]float64
	coin         [][]float64
	hidden       [][]float64
}

func drawPoints(l *lot, n int, link float64, r *rand.Rand) *points {
	normals := func() []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		return x
	}
	uniforms := func() []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = r.Float64()
		}
		return x
	}
	p := &points{n: n, z: normals()}
	for range l.zone {
		p.score, p.heavy = append(p.score, normals()), append(p.heavy, uniforms())
	}
	for range l.coded {
		p.ladder = append(p.ladder, [3][]float64{uniforms(), uniforms(), p.linked(normals(), link)})
		p.coin = append(p.coin, uniforms())
	}
	for range l.hidden {
		p.hidden = append(p.hidden, p.linked(normals(), link))
	}
	return p
}

// linked turns normal draws into uniform ones that are linked with the severity: damage of chance c is there where
// they are above 1 - c.
func (p *points) linked(x []float64, link float64) []float64 {
	for k := range x {
		x[k] = 0.5 * math.Erfc(-(math.Sqrt(link)*p.z[k]+math.Sqrt(1-link)*x[k])/math.Sqrt2)
	}
	return x
}

// A result is one world of one lot: the final grade, spend and hours of each spot.
type result struct {
	grade        []int
	spend, hours []float64
}

// world works out point k of a lot, at t years after the date of the prices.
func (s *shop) world(l *lot, p *points, k int, t float64, out *result) {
	n := len(l.zone)
	out.grade, out.spend, out.hours = out.grade[:0], out.spend[:0], out.hours[:0]
	for i := range n {
		g := 0
		if i < len(l.coded) {
			g = s.coded(l, p, i, k)
		}
		out.grade = append(out.grade, g)
	}
	var coded [32]int
	copy(coded[:], out.grade[:len(l.coded)])
	for j, h := range l.hidden {
		not := 1.0
		for _, tr := range h.triggers {
			if r := tr.rule[coded[tr.spot]]; r >= 0 {
				not *= 1 - s.chance[r]
			}
		}
		if p.hidden[j][k] > not {
			out.grade[h.spot] = max(out.grade[h.spot], h.g)
		}
	}
	inflated := math.Exp(s.infl * t)
	for i, g := range out.grade {
		sp, hr := 0.0, 0.0
		if g > 0 {
			row := l.row[i][g]
			u := math.Sqrt(s.rho)*p.z[k] + math.Sqrt(1-s.rho)*p.score[i][k]
			sp = s.spendShape[row].at(u) * l.factor[0] * inflated
			hr = s.hoursShape[row].at(u) * l.factor[1]
			if p.heavy[i][k] < s.heavy[0] {
				sp, hr = sp*s.heavy[1], hr*s.heavy[1]
			}
		}
		out.spend, out.hours = append(out.spend, sp), append(out.hours, hr)
	}
}

// coded is the grade at a coded spot: the seen one or a step from it, or a suspected one.
func (s *shop) coded(l *lot, p *points, i, k int) int {
	c := l.coded[i]
	g := c.g
	class := l.classNumber[i]
	if c.g > 0 {
		if l.exists(i, c.g-1) && !s.coin && p.ladder[i][0][k] < s.down[class] {
			g = c.g - 1
		}
		if l.exists(i, c.g+1) && c.g+1 < c.clear {
			worse := p.ladder[i][1][k] > 1-s.up[class]
			if s.coin {
				worse = p.coin[i][k] < s.up[class]
			}
			if worse {
				g = c.g + 1
			}
		}
	}
	for _, x := range c.suspected {
		if p.ladder[i][2][k] > 1-x.chance {
			g = max(g, x.g)
		}
	}
	return g
}

var classNumber = map[string]int{"s": int(damage.Structural), "c": int(damage.Cosmetic),
	"r": int(damage.Restraint), "m": int(damage.Mechanical), "e": int(damage.Electrical)}

// A truth is a world: how it differs from what the workshop believes.
type truth struct {
	name  string
	cause string // what should be named; "" where nothing is wrong or no cause has that name
	make  func(s *shop, seed uint64)
}

// truths are the worlds: what is true where the workshop believes the starter table.
var truths = []truth{
	{"honest", "", func(*shop, uint64) {}},
	{"s 30 % dear", "structural level", func(s *shop, _ uint64) { s.scale(1.3, "s") }},
	{"c 30 % dear", "cosmetic level", func(s *shop, _ uint64) { s.scale(1.3, "c") }},
	{"all 30 % dear", "level", func(s *shop, _ uint64) { s.scale(1.3, "") }},
	{"prices 8 %", "drift", func(s *shop, _ uint64) { s.infl = 0.08 }},
	{"prices 0 %", "drift", func(s *shop, _ uint64) { s.infl = 0 }},
	{"prices 8 %, hours apart", "drift", func(s *shop, _ uint64) { s.infl, s.apart = 0.08, 0.4 }},
	{"hours apart", "", func(s *shop, _ uint64) { s.apart = 0.4 }},
	{"link 0.6", "link", func(s *shop, _ uint64) { s.rho = 0.6 }},
	{"link 0", "link", func(s *shop, _ uint64) { s.rho = 0 }},
	{"codes low", "codes", func(s *shop, _ uint64) {
		s.coin = true
		for c := range s.up {
			s.up[c] = 0.5
		}
	}},
	{"odds x2", "hidden", func(s *shop, _ uint64) { s.oddsTimes(2) }},
	{"odds x0.5", "hidden", func(s *shop, _ uint64) { s.oddsTimes(0.5) }},
	{"runaways", "runaways", func(s *shop, _ uint64) { s.heavy = [2]float64{0.06, 4} }},
	{"codes exact", "codes", func(s *shop, _ uint64) {
		s.up, s.down = [damage.ClassCount]float64{}, [damage.ClassCount]float64{}
	}},
	{"departs", "", func(s *shop, seed uint64) { s.depart(seed) }},
	{"wider", "scatter", func(s *shop, _ uint64) { s.widen(1.33) }},
}

func (s *shop) scale(k float64, class string) {
	for i, r := range s.row {
		if class == "" || r.Item.Class.Letter() == class {
			for j := range 3 {
				s.spend[i][j] *= k
				s.hours[i][j] *= k
			}
		}
	}
}

func (s *shop) oddsTimes(k float64) {
	for i, p := range s.chance {
		s.chance[i] = k * p / (1 - p + k*p)
	}
}

func (s *shop) widen(k float64) {
	for _, all := range [][][3]float64{s.spend, s.hours} {
		for i, p := range all {
			for j := range 3 {
				all[i][j] = p[1] * math.Pow(p[j]/p[1], k)
			}
		}
	}
}

// depart moves every row and rule by its own standard error: the spread of one job over the root of the builds
// behind it, a beta distribution of the rule's chance and what was seen.
func (s *shop) depart(seed uint64) {
	r := rand.New(rand.NewPCG(seed, 7))
	for i, row := range s.row {
		sd := math.Log(s.spend[i][2]/s.spend[i][0]) / 2 / 1.2815515655446004 / math.Sqrt(row.Builds)
		k := math.Exp(sd * r.NormFloat64())
		for j := range 3 {
			s.spend[i][j] *= k
			s.hours[i][j] *= k
		}
	}
	for i, p := range s.chance {
		a, b := gammaDraw(r, p*s.seen[i]), gammaDraw(r, (1-p)*s.seen[i])
		s.chance[i] = min(max(a/(a+b), 0.005), 0.97)
	}
}

// gammaDraw draws from a gamma distribution of that shape and scale 1 (Marsaglia and Tsang 2000).
func gammaDraw(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gammaDraw(r, shape+1) * math.Pow(r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := math.Pow(1+c*x, 3)
		if v > 0 && math.Log(r.Float64()) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// drawBuilds finishes n cars, spread evenly over the years.
func drawBuilds(t testing.TB, truth *shop, lots []*lot, n int, years float64, r *rand.Rand) (all []learn.Build) {
	var w result
	truth.ready()
	for i := range n {
		l := lots[r.IntN(len(lots))]
		age := years * (float64(i) + 0.5) / float64(n)
		day := priced.Add(time.Duration(math.Round(age*365.25)) * 24 * time.Hour)
		truth.world(l, drawPoints(l, 1, truth.rhoH, r), 0, age, &w)
		b := l.build(t, fmt.Sprintf("b%03d", i), day)
		for k, g := range w.grade {
			j := learn.Job{Spot: l.spot(t, k), Clear: g == 0}
			if g > 0 {
				j = learn.Job{Spot: l.spot(t, k), Grade: damage.Grade(g), Done: true,
					Spend: math.Round(100*w.spend[k]) / 100, Hours: math.Round(100*w.hours[k]) / 100,
					SpendFactor: l.factor[0], HoursFactor: l.factor[1], Day: day}
			}
			b.Jobs = append(b.Jobs, j)
		}
		all = append(all, b)
	}
	if truth.apart > 0 { // drawn last, so that the cars' luck is that of every other world
		for _, b := range all {
			for k := range b.Jobs {
				x := math.Exp(truth.apart*r.NormFloat64() - truth.apart*truth.apart/2)
				b.Jobs[k].Hours = math.Round(100*x*b.Jobs[k].Hours) / 100
			}
		}
	}
	return all
}

// An arena is fresh lots with the points that they are predicted on.
type arena struct {
	lots   []*lot
	points []*points
}

func newArena(s *shop, lots []*lot, n int) *arena {
	r := rand.New(rand.NewPCG(1, 1))
	a := &arena{lots: lots}
	for _, l := range lots {
		a.points = append(a.points, drawPoints(l, n, s.rhoH, r))
	}
	return a
}

// repairs are the repair costs of every lot at every point.
func (a *arena) repairs(s *shop, t float64) [][]float64 {
	all := make([][]float64, len(a.lots))
	var w result
	s.ready()
	for i, l := range a.lots {
		all[i] = make([]float64, a.points[i].n)
		for k := range all[i] {
			s.world(l, a.points[i], k, t, &w)
			for j := range w.spend {
				all[i][k] += w.spend[j] + s.rate*w.hours[j]
			}
		}
	}
	return all
}

// A score is how a prediction does: truth over prediction less 1 of all lots together, the share of outcomes in the
// 80 % interval, how far a lot's mean is out on average, and the interval score over the mean (Gneiting and Raftery
// 2007).
type score struct{ bias, cover, lot, interval float64 }

func (a *arena) score(s *shop, actual [][]float64, t float64) (out score) {
	predicted := a.repairs(s, t)
	var sumA, sumP float64
	for i, x := range predicted {
		y := actual[i]
		slices.Sort(x)
		lo, hi := at(x, 0.1), at(x, 0.9)
		var my, mx, in, miss float64
		for k := range y {
			my, mx = my+y[k], mx+x[k]
			if y[k] >= lo-1e-9 && y[k] <= hi+1e-9 {
				in++
			}
			miss += max(lo-y[k], 0) + max(y[k]-hi, 0)
		}
		n := float64(len(y))
		sumA, sumP = sumA+my, sumP+mx
		out.cover += in / n
		out.lot += math.Abs(math.Log(mx / my))
		out.interval += (hi - lo + 10*miss/n) / (my / n)
	}
	n := float64(len(predicted))
	return score{sumA/sumP - 1, out.cover / n, out.lot / n, out.interval / n}
}

// at is a quantile of sorted values, by straight lines.
func at(x []float64, p float64) float64 {
	h := p * float64(len(x)-1)
	i := min(int(h), len(x)-2)
	return x[i] + (h-float64(i))*(x[i+1]-x[i])
}
