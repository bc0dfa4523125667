package learn_test

import (
	"encoding/csv"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/stats"
)

// This file and world_test.go are a simulator of workshops whose truth is not their cost table's. They are written
// apart from the estimator and from the engine, after the model of METHOD.md, so that neither can hide a fault of
// the other.

// priced is the date of the table's prices in every simulated workshop.
var priced = time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)

// A shop is what is true, or what is believed, of a workshop.
type shop struct {
	rate, rho, rhoH, suspected, infl float64
	spend, hours                     [][3]float64
	row                              []learn.Row // what each row prices
	at                               map[string]int
	rules                            []rule
	chance, seen                     []float64
	segment                          map[string][2]float64
	up, down                         [damage.ClassCount]float64
	heavy                            [2]float64 // truth only: chance of a job that runs away, its factor
	apart                            float64    // truth only: how far hours scatter beside spend, on the log scale
	coin                             bool       // truth only: grades coded low, never high
	spendShape, hoursShape           []gShape
}

type rule struct {
	whenZone, whenClass string
	whenGrade           int
	thenZone, thenClass string
	thenGrade           int
}

func readCSV(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(name, err)
	}
	var all []map[string]string
	for _, l := range lines[1:] {
		m := map[string]string{}
		for i, h := range lines[0] {
			m[h] = l[i]
		}
		all = append(all, m)
	}
	return all
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// starter is the workshop of testdata/shop: the cost rows and hidden rules of a starter folder.
func starter(t testing.TB) *shop {
	s := &shop{rate: 30, rho: 0.25, rhoH: 0.25, suspected: 0.4, infl: 0.03,
		at: map[string]int{}, segment: map[string][2]float64{}}
	for i, r := range readCSV(t, "shop/book.csv") {
		n := func(c string) float64 { return number(t, r[c]) }
		sp := [3]float64{n("spend_low"), n("spend_mid"), n("spend_high")}
		hr := [3]float64{n("hours_low"), n("hours_mid"), n("hours_high")}
		s.spend, s.hours = append(s.spend, sp), append(s.hours, hr)
		class, err := damage.ParseClass(r["class"])
		if err != nil {
			t.Fatal(err)
		}
		item := damage.Item{Spot: damage.Spot{Class: class}, Grade: damage.Grade(n("grade"))}
		row := learn.Row{Item: item, Builds: n("builds"), Any: r["zone"] == "*"}
		if !row.Any {
			if row.Item.Zone, err = damage.ParseZone(r["zone"]); err != nil {
				t.Fatal(err)
			}
		}
		s.row = append(s.row, row)
		s.at[r["zone"]+" "+r["class"]+r["grade"]] = i
	}
	for _, r := range readCSV(t, "shop/hidden.csv") {
		if r["segment"] != "*" {
			continue
		}
		s.rules = append(s.rules, rule{r["when_zone"], r["when_class"], int(number(t, r["when_grade"])),
			r["then_zone"], r["then_class"], int(number(t, r["then_grade"]))})
		s.chance, s.seen = append(s.chance, number(t, r["chance"])), append(s.seen, number(t, r["seen"]))
	}
	for _, r := range readCSV(t, "shop/segments.csv") {
		s.segment[r["segment"]] = [2]float64{number(t, r["spend"]), number(t, r["hours"])}
	}
	for c := range s.up {
		s.up[c], s.down[c] = 0.10, 0.08
	}
	return s
}

func (s *shop) copy() *shop {
	c := *s
	c.spend, c.hours, c.chance = slices.Clone(s.spend), slices.Clone(s.hours), slices.Clone(s.chance)
	return &c
}

// rowOf is the row of a grade of a spot, -1 where none prices it.
func (s *shop) rowOf(zone, class string, g int) int {
	for _, z := range []string{zone, "*"} {
		if i, ok := s.at[z+" "+class+strconv.Itoa(g)]; ok {
			return i
		}
	}
	return -1
}

// table and settings are the workshop's beliefs as the estimator takes them.
func (s *shop) table() learn.Table {
	var t learn.Table
	for i, r := range s.row {
		r.Spend = stats.Amount{Low: s.spend[i][0], Mid: s.spend[i][1], High: s.spend[i][2]}
		r.Hours = stats.Amount{Low: s.hours[i][0], Mid: s.hours[i][1], High: s.hours[i][2]}
		t.Rows = append(t.Rows, r)
	}
	for i := range s.chance {
		t.Rules = append(t.Rules, learn.Rule{Chance: s.chance[i], Seen: s.seen[i]})
	}
	return t
}

func (s *shop) settings(today time.Time) learn.Settings {
	return learn.Settings{LabourRate: s.rate, SeverityLink: s.rho, HiddenLink: s.rhoH, CodingUp: s.up, CodingDown: s.down,
		Inflation: s.infl, Priced: priced, Today: today}
}

// learned is the workshop with what was learned written into it.
func (s *shop) learned(l *learn.Learned) *shop {
	c := s.copy()
	t := l.Table(s.table())
	for i, r := range t.Rows {
		c.spend[i] = [3]float64{r.Spend.Low, r.Spend.Mid, r.Spend.High}
		c.hours[i] = [3]float64{r.Hours.Low, r.Hours.Mid, r.Hours.High}
	}
	for i, r := range t.Rules {
		c.chance[i] = r.Chance
	}
	c.up, c.down, c.rho, c.infl = l.CodingUp, l.CodingDown, l.Rho.Written, l.Inflation
	return c
}

// A lot is one coded car: its spots, coded ones first, and what hidden damage rules make likely.
type lot struct {
	segment, text string
	factor        [2]float64
	zone, class   []string
	classNumber   []int
	coded         []codedSpot
	hidden        []hiddenItem
	row           [][5]int
}

type codedSpot struct {
	g, clear  int
	suspected []suspicion
}

type suspicion struct {
	g      int
	chance float64
}

type hiddenItem struct {
	spot, g  int
	triggers []trigger
}

type trigger struct {
	spot int
	rule [5]int
}

var markPattern = regexp.MustCompile(`^([scrme])([1-4])(\?(\d+)?|-)?$`)

func (l *lot) find(zone, class string) int {
	for i := range l.zone {
		if l.zone[i] == zone && l.class[i] == class {
			return i
		}
	}
	return -1
}

func (l *lot) add(zone, class string) int {
	l.zone, l.class = append(l.zone, zone), append(l.class, class)
	return len(l.zone) - 1
}

// compile reads a code and works out its hidden items.
func (s *shop) compile(t testing.TB, segment, text string) *lot {
	l := &lot{segment: segment, text: text, factor: s.segment[segment]}
	plain := strings.NewReplacer(":", " ", ",", " ", "/", " ").Replace(strings.ToLower(text))
	for group := range strings.SplitSeq(plain, ";") {
		words := strings.Fields(group)
		for _, w := range words[1:] {
			m := markPattern.FindStringSubmatch(w)
			if m == nil {
				t.Fatalf("%q is not a mark", w)
			}
			i := l.find(words[0], m[1])
			if i < 0 {
				i = l.add(words[0], m[1])
				l.coded = append(l.coded, codedSpot{clear: 9})
			}
			g := int(m[2][0] - '0')
			switch {
			case m[3] == "":
				l.coded[i].g = g
			case m[3] == "-":
				l.coded[i].clear = g
			case m[4] != "":
				l.coded[i].suspected = append(l.coded[i].suspected, suspicion{g, number(t, m[4]) / 100})
			default:
				l.coded[i].suspected = append(l.coded[i].suspected, suspicion{g, s.suspected})
			}
		}
	}
	s.addHidden(l)
	for i := range l.zone {
		l.classNumber = append(l.classNumber, classNumber[l.class[i]])
		r := [5]int{-1}
		for g := 1; g <= 4; g++ {
			r[g] = s.rowOf(l.zone[i], l.class[i], g)
		}
		l.row = append(l.row, r)
	}
	return l
}

type hiddenKey struct {
	zone, class string
	g           int
}

// rulesAt lists, for one coded spot at a grade, the rule of each result: the one of the own zone before that of
// any, then the one of the highest grade.
func (s *shop) rulesAt(zone, class string, g int) map[hiddenKey]int {
	best, rank := map[hiddenKey]int{}, map[hiddenKey]int{}
	for ri, r := range s.rules {
		if r.whenClass != class || r.whenGrade > g || r.whenZone != "*" && r.whenZone != zone {
			continue
		}
		k := hiddenKey{r.thenZone, r.thenClass, r.thenGrade}
		if k.zone == "same" {
			k.zone = zone
		}
		of := r.whenGrade
		if r.whenZone != "*" {
			of += 10
		}
		if _, ok := best[k]; !ok || of > rank[k] {
			best[k], rank[k] = ri, of
		}
	}
	return best
}

// addHidden lists what rules may add to a lot, in the order of the names of the results.
func (s *shop) addHidden(l *lot) {
	all := map[hiddenKey]map[int]*[5]int{}
	for si := range l.coded {
		for g := 1; g <= 4; g++ {
			for k, r := range s.rulesAt(l.zone[si], l.class[si], g) {
				if all[k] == nil {
					all[k] = map[int]*[5]int{}
				}
				if all[k][si] == nil {
					all[k][si] = &[5]int{-1, -1, -1, -1, -1}
				}
				all[k][si][g] = r
			}
		}
	}
	keys := slices.SortedFunc(maps.Keys(all), func(a, b hiddenKey) int {
		return strings.Compare(a.zone+" "+a.class+strconv.Itoa(a.g), b.zone+" "+b.class+strconv.Itoa(b.g))
	})
	nc := len(l.coded)
	for _, k := range keys {
		i := l.find(k.zone, k.class)
		if i >= 0 && i < nc && l.coded[i].silences(k.g) || s.rowOf(k.zone, k.class, k.g) < 0 {
			continue
		}
		if i < 0 {
			i = l.add(k.zone, k.class)
		}
		h := hiddenItem{spot: i, g: k.g}
		for si := range nc {
			if r := all[k][si]; r != nil {
				h.triggers = append(h.triggers, trigger{si, *r})
			}
		}
		l.hidden = append(l.hidden, h)
	}
}

// silences reports whether a code says enough of a grade that no rule adds it.
func (c codedSpot) silences(g int) bool {
	return g <= c.g || g >= c.clear || slices.ContainsFunc(c.suspected, func(x suspicion) bool { return x.g == g })
}

func (l *lot) exists(i, g int) bool { return g >= 1 && g <= 4 && l.row[i][g] >= 0 }

func (l *lot) spot(t testing.TB, i int) damage.Spot {
	z, err := damage.ParseZone(l.zone[i])
	if err != nil {
		t.Fatal(err)
	}
	c, err := damage.ParseClass(l.class[i])
	if err != nil {
		t.Fatal(err)
	}
	return damage.Spot{Zone: z, Class: c}
}

// build is the lot as the estimator takes it, without jobs.
func (l *lot) build(t testing.TB, name string, day time.Time) learn.Build {
	b := learn.Build{Name: name, Sale: day}
	for i, c := range l.coded {
		m := learn.Mark{Spot: l.spot(t, i), Seen: damage.Grade(c.g)}
		if c.clear < 9 {
			m.Clear = damage.Grade(c.clear)
		}
		for _, x := range c.suspected {
			m.Suspected = append(m.Suspected, learn.Suspicion{Grade: damage.Grade(x.g), Chance: x.chance})
		}
		b.Marks = append(b.Marks, m)
	}
	for _, h := range l.hidden {
		c := learn.Candidate{Item: damage.Item{Spot: l.spot(t, h.spot), Grade: damage.Grade(h.g)}}
		for _, tr := range h.triggers {
			c.Triggers = append(c.Triggers, learn.Trigger{Spot: l.spot(t, tr.spot), Rule: tr.rule})
		}
		b.Candidates = append(b.Candidates, c)
	}
	return b
}

func lots(t testing.TB, s *shop) (all []*lot) {
	for _, r := range readCSV(t, "shop/lots.csv") {
		all = append(all, s.compile(t, r["segment"], r["damage"]))
	}
	return all
}

// A gShape is Tukey's g-distribution through three points: mid + scale expm1(s u).
type gShape struct{ mid, scale, s float64 }

func newShape(p [3]float64) gShape {
	a, b := p[1]-p[0], p[2]-p[1]
	if a <= 0 {
		return gShape{mid: p[1]}
	}
	s := math.Log(b/a) / 1.2815515655446004
	if math.Abs(s) < 1e-9 {
		s = 1e-9
	}
	return gShape{p[1], a / -math.Expm1(-s*1.2815515655446004), s}
}

func (g gShape) at(u float64) float64 { return max(0, g.mid+g.scale*math.Expm1(g.s*u)) }

// ready works out the shapes of the rows as they stand.
func (s *shop) ready() {
	s.spendShape, s.hoursShape = make([]gShape, len(s.spend)), make([]gShape, len(s.hours))
	for i := range s.spend {
		s.spendShape[i], s.hoursShape[i] = newShape(s.spend[i]), newShape(s.hours[i])
	}
}
