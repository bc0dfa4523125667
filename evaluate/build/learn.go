package build

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/conjugate"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A Lesson is what finished builds say that a shop's book should say next time.
type Lesson struct {
	// Builds are the names of those learned from.
	Builds []string
	// Rows are the book rows with evidence, Rules the hidden rules with evidence, in
	// the book's order.
	Rows  []RowLesson
	Rules []RuleLesson
	// Spend and Hours are the errors that the shop's rows were found to share.
	Spend, Hours Habit
	// Left says what was not learned from, and why.
	Left []string
}

// A Habit is what all rows share on the log scale, and what each class adds, in
// the order of damage.Classes.
type Habit struct {
	Shop    conjugate.Shift
	Classes []conjugate.Shift
	// N is the number of actuals of each class.
	N []int
}

// Factor returns what the estimates of a class worth nothing would have to be
// multiplied by: the shop's error and the class's.
func (h Habit) Factor(c damage.Class) float64 { return math.Exp(h.Shop.Mean + h.Classes[c].Mean) }

// A RowLesson is one row of the book before and after.
type RowLesson struct {
	Old, New costs.Row
	// Spend and Hours say how many actuals of each there were.
	Spend, Hours int
	// Changed says that the new row differs; Why, where it does not, why not.
	Changed bool
	Why     string
	// Evidence are the actuals.
	Evidence []Evidence
}

// Evidence is one actual of a row, scaled back by the segment to that of a
// segment whose multipliers are 1. A nil amount is missing.
type Evidence struct {
	Build string
	Item  damage.Item
	// Sure is false where the ledger did not name the grade and it was taken to be
	// the likeliest.
	Sure         bool
	Spend, Hours *float64
	// Odd says that it lost weight, as it lies far from all else.
	Odd bool
}

// A RuleLesson is one hidden rule before and after. Found, of Looked cases, is
// whole unless several rules could have brought the same damage: each is then
// credited by its chance.
type RuleLesson struct {
	Old, New costs.Rule
	Found    float64
	Looked   int
}

// Learn returns what finished builds teach a shop. Amounts are learned on the log
// scale, spend and hours apart: a factor for the shop, one for each class, then the
// row's own departure (conjugate.Learn); chances by beta-binomial counts.
//
// Hidden damage comes with hard hits, and jobs after hard hits are dear. So the jobs
// of a build are first brought down by how hard its hit must have been, as far as
// that can be told from which damage was there (posterior.Factor): otherwise the
// rows of hidden damage, which are seen after hard hits only, would be learned too
// dear, and the estimate, which counts the hit itself, would count it twice.
func Learn(workshop *shop.Shop, outcomes []*Outcome) (*Lesson, error) {
	l := &lessonReader{shop: workshop, out: &Lesson{}, rows: map[int]*RowLesson{}, rules: map[int]*RuleLesson{}}
	for i, o := range outcomes {
		l.out.Builds = append(l.out.Builds, o.Build.Name)
		l.amounts(i, o, l.chances(o))
	}
	if err := l.learnRows(); err != nil {
		return nil, err
	}
	return l.out, l.learnRules()
}

type lessonReader struct {
	shop  *shop.Shop
	out   *Lesson
	rows  map[int]*RowLesson
	rules map[int]*RuleLesson

	spend, hours     []conjugate.Observation
	ofSpend, ofHours []sighting
}

// sighting says which evidence an observation came from.
type sighting struct{ row, evidence int }

func (l *lessonReader) leave(format string, args ...any) {
	l.out.Left = append(l.out.Left, fmt.Sprintf(format, args...))
}

// amounts takes the actuals of one build whose severity factor is believed to be
// hit.
func (l *lessonReader) amounts(build int, o *Outcome, hit float64) {
	if o.Stopped() {
		l.leave("%s: given up after the strip: no costs to learn, only what was found", o.Build.Name)
		return
	}
	segment := o.Frozen.Segment()
	for i := range o.Lines {
		line := &o.Lines[i]
		if line.Job == nil || !line.Job.Found() {
			continue
		}
		what := fmt.Sprintf("%s: %s", o.Build.Name, line.Spot)
		grade, sure := o.Grade(line)
		if grade == 0 {
			l.leave("%s: unplanned, and the ledger names no grade: no row to learn", what)
			continue
		}
		item := damage.Item{Spot: line.Spot, Grade: grade}
		n, ok := l.shop.Costs.RowOf(item)
		if !ok {
			l.leave("%s: the book has no row for %s", what, item)
			continue
		}
		r := l.rows[n]
		if r == nil {
			r = &RowLesson{Old: l.shop.Costs.Rows()[n]}
			l.rows[n] = r
		}
		e := Evidence{Build: o.Build.Name, Item: item, Sure: sure}
		at := sighting{n, len(r.Evidence)}
		z := math.Sqrt(o.Frozen.Shop().SeverityLink) * hit
		if line.Job.Paid {
			l.observe(&l.spend, &l.ofSpend, at, build, line.Job.Spend.Pounds(), segment.Spend, ease(r.Old.Spend, z), &e.Spend, what, "spend")
		}
		if line.Job.Worked {
			l.observe(&l.hours, &l.ofHours, at, build, line.Job.Hours, segment.Hours, ease(r.Old.Hours, z), &e.Hours, what, "hours")
		}
		r.Evidence = append(r.Evidence, e)
	}
}

// ease returns what an actual is to be multiplied by to bring its score down by z.
func ease(a stats.Amount, z float64) float64 {
	a = tenths(a)
	if a.Certain() || a.Low <= 0 {
		return 1
	}
	return math.Exp(-z * math.Log(a.High/a.Low) / (2 * stats.Z90))
}

// observe keeps one actual, scaled back by the segment, and learns from it eased.
func (l *lessonReader) observe(all *[]conjugate.Observation, of *[]sighting, at sighting, build int, actual, multiplier, ease float64, into **float64, what, kind string) {
	if actual <= 0 {
		l.leave("%s: %s of %.2f has no logarithm: not learned from", what, kind, actual)
		return
	}
	if multiplier <= 0 {
		l.leave("%s: the segment's multiplier of %s is 0: nothing can be scaled back by it", what, kind)
		return
	}
	x := actual / multiplier
	*into = &x
	*all = append(*all, conjugate.Observation{Row: at.row, Build: build, Actual: x * ease})
	*of = append(*of, at)
}

// tenths returns P10, P50 and P90 of an amount of any shape.
func tenths(a stats.Amount) stats.Amount {
	if a.Shape == stats.Skewed || a.Certain() {
		return stats.Amount{Low: a.Low, Mid: a.Mid, High: a.High}
	}
	return stats.Amount{Low: a.Quantile(0.1), Mid: a.Quantile(0.5), High: a.Quantile(0.9)}
}

func (l *lessonReader) learnRows() error {
	rows := l.shop.Costs.Rows()
	learn := func(of func(costs.Row) stats.Amount, seen []conjugate.Observation, at []sighting, habit *Habit) (conjugate.Table, error) {
		beliefs := make([]conjugate.Row, len(rows))
		for i, r := range rows {
			a := tenths(of(r))
			beliefs[i] = conjugate.Row{Low: a.Low, Mid: a.Mid, High: a.High, Worth: r.Builds, Class: int(r.Item.Class)}
		}
		t, err := conjugate.Learn(beliefs, damage.ClassCount, seen, conjugate.Options{Link: min(l.shop.SeverityLink, 0.99)})
		if err != nil {
			return t, err
		}
		for _, i := range t.Odd {
			e := &l.rows[at[i].row].Evidence[at[i].evidence]
			e.Odd = true
		}
		*habit = Habit{Shop: t.Shop, Classes: t.Classes, N: make([]int, damage.ClassCount)}
		for i, o := range seen {
			if !slices.Contains(t.Left, i) {
				habit.N[rows[o.Row].Item.Class]++
			}
		}
		return t, nil
	}
	spend, err := learn(func(r costs.Row) stats.Amount { return r.Spend }, l.spend, l.ofSpend, &l.out.Spend)
	if err != nil {
		return fmt.Errorf("spend: %w", err)
	}
	hours, err := learn(func(r costs.Row) stats.Amount { return r.Hours }, l.hours, l.ofHours, &l.out.Hours)
	if err != nil {
		return fmt.Errorf("hours: %w", err)
	}
	for n := range rows {
		if r := l.rows[n]; r != nil {
			r.settle(spend.Rows[n], hours.Rows[n])
			l.out.Rows = append(l.out.Rows, *r)
		}
	}
	return nil
}

// settle makes the new row of what was learned of its spend and hours.
func (r *RowLesson) settle(spend, hours conjugate.Learned) {
	r.New, r.Spend, r.Hours = r.Old, spend.N, hours.N
	var why []string
	take := func(what string, of conjugate.Learned, old stats.Amount, given bool) stats.Amount {
		switch {
		case of.Fixed && given:
			why = append(why, what+" is fixed in the book: reported, not learned")
			return old
		case of.N == 0:
			return old
		}
		a, err := stats.New(cents(of.Row.Low), cents(of.Row.Mid), cents(of.Row.High), stats.Skewed)
		if err != nil {
			why = append(why, fmt.Sprintf("%s would become %v: look at its row and its receipts", what, err))
			return old
		}
		r.Changed = true
		return a
	}
	has := func(of func(Evidence) *float64) bool {
		return slices.ContainsFunc(r.Evidence, func(e Evidence) bool { return of(e) != nil })
	}
	newSpend := take("spend", spend, r.Old.Spend, has(func(e Evidence) *float64 { return e.Spend }))
	newHours := take("hours", hours, r.Old.Hours, has(func(e Evidence) *float64 { return e.Hours }))
	r.Why = strings.Join(why, "; ")
	if !r.Changed {
		if r.Why == "" {
			r.Why = "no amount above 0 to learn from"
		}
		return
	}
	// Both amounts of a row have one shape: with one learned, the other is written
	// as its P10, P50 and P90.
	r.New.Spend, r.New.Hours = tenths(newSpend), tenths(newHours)
	r.New.Builds = r.Old.Builds + float64(max(r.Spend, r.Hours))
	r.New.Basis = basis(r.Old.Basis, max(r.Spend, r.Hours))
}

const learnedMark = "; learned from "

// basis adds to a row's basis from how many builds it was learned.
func basis(old string, n int) string {
	before, count := old, 0
	if i := strings.LastIndex(old, learnedMark); i >= 0 {
		var k int
		if _, err := fmt.Sscanf(old[i+len(learnedMark):], "%d", &k); err == nil {
			before, count = old[:i], k
		}
	}
	if n += count; n == 1 {
		return before + learnedMark + "1 build"
	}
	return fmt.Sprintf("%s%s%d builds", before, learnedMark, n)
}
