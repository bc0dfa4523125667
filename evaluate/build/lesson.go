package build

import (
	"fmt"
	"math"
	"slices"

	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A Lesson is what finished builds say of a workshop's figures: what learn writes, and what review says.
type Lesson struct {
	*learn.Learned
	// Before is the workshop as it was, After as the builds would have it.
	Before, After *shop.Shop
	// Left says what else was not learned from, and why.
	Left []string
	// Effects are what both say of the builds' cars, in the order of Builds; nil where nobody asked.
	Effects []Effect
	// Earlier names the builds that another version of the method froze.
	Earlier []string
}

// An Effect is the repair of one build's car: what the figures said before learning, and what they say after it.
type Effect struct {
	Build         string
	Before, After evaluate.Spread
	Actual        float64
}

// Learn works out what finished builds say of a workshop's tables and settings (METHOD.md 16). A build that the tables
// have no place for is left out, and Left says so. It fails where no build can be learned from.
func Learn(workshop *shop.Shop, outcomes []*Outcome) (*Lesson, error) {
	b, err := newBridge(workshop, false)
	if err != nil {
		return nil, err
	}
	l := &Lesson{Before: workshop}
	builds := b.all(outcomes)
	for _, o := range outcomes {
		if o.Frozen.Method != evaluate.Method {
			l.Earlier = append(l.Earlier, o.Build.Name)
		}
	}
	if l.Learned, err = learn.Learn(b.table(), builds, b.settings()); err != nil {
		return nil, err
	}
	l.Left = b.left
	if len(l.Builds) == 0 {
		return nil, fmt.Errorf("no build can be learned from: %v", append(l.Left, asides(l.Aside)...))
	}
	l.After, err = l.taught()
	return l, err
}

func asides(all []learn.Aside) (out []string) {
	for _, a := range all {
		out = append(out, a.Build+": "+a.Reason.String())
	}
	return out
}

// taught returns the workshop with what is written in place.
func (l *Lesson) taught() (*shop.Shop, error) {
	rows, rules := slices.Clone(l.Before.Costs.Rows()), slices.Clone(l.Before.Costs.Rules())
	for i := range rows {
		rows[i] = l.row(i)
	}
	for i := range rules {
		rules[i] = l.rule(i)
	}
	out := *l.Before
	var err error
	if out.Costs, err = costs.New(rows, rules); err != nil {
		return nil, err
	}
	for c := range out.CodingUp {
		out.CodingUp[c] = moved(out.CodingUp[c], l.CodingUp[c], leastCoding)
		out.CodingDown[c] = moved(out.CodingDown[c], l.CodingDown[c], leastCoding)
	}
	if l.Before.SeverityLink <= mostLink {
		out.SeverityLink = moved(out.SeverityLink, l.Rho.Written, leastLink)
	}
	out.Inflation = moved(out.Inflation, l.Inflation, leastInflation)
	return &out, nil
}

// The least changes of settings that are written: below them nothing would be seen of it.
const (
	leastCoding    = 0.002
	leastLink      = 0.02
	leastInflation = 0.0005
)

// moved returns the new value of a setting, to four decimals, or the old one where next to nothing changes.
func moved(old, now, least float64) float64 {
	if math.Abs(now-old) < least {
		return old
	}
	return rounded(now, 1e4)
}

// least is the least change of a row that no build has used that is written, on the log scale.
const least = 0.005

// row returns a row of the cost table as it is written, rounded to the penny and a hundredth of an hour; as it was
// where next to nothing changes.
func (l *Lesson) row(i int) costs.Row {
	old, x := l.Before.Costs.Rows()[i], &l.Rows[i]
	spend, hours := tidy(x.Written.Spend), tidy(x.Written.Hours)
	if x.Jobs == 0 && near(old.Spend, spend) && near(old.Hours, hours) {
		return old
	}
	row := old
	row.Spend, row.Hours = spend, hours
	row.Builds = rounded(old.Builds+float64(x.Builds), 100)
	row.Basis = basis(old.Basis, x.Builds, len(l.Builds))
	return row
}

// tidy rounds an amount where that leaves it one.
func tidy(a stats.Amount) stats.Amount {
	if out, err := stats.New(cents(a.Low), cents(a.Mid), cents(a.High), a.Shape); err == nil {
		return out
	}
	return a
}

func near(a, b stats.Amount) bool {
	for _, x := range [][2]float64{{a.Low, b.Low}, {a.Mid, b.Mid}, {a.High, b.High}} {
		if x[0] != x[1] && !(x[1] > x[0]*(1-least) && x[1] < x[0]*(1+least)) {
			return false
		}
	}
	return true
}

// ruleWorth is how many finds a build that stands behind a rule is worth, times the rule's chance.
const ruleWorth = 3

// rule returns a hidden rule as it is written: its chance, and the builds that now stand behind it, so that the next
// builds are weighed against as many finds as this chance rests on (METHOD.md 16.9).
func (l *Lesson) rule(i int) costs.Rule {
	rule, x := l.Before.Costs.Rules()[i], &l.Rules[i]
	chance := max(rounded(x.Written, 1e4), 1e-4)
	if x.Builds == 0 && chance > rule.Chance*(1-least) && chance < rule.Chance*(1+least) {
		return rule
	}
	rule.Chance = chance
	if x.Builds > 0 && x.SD > 0 {
		finds := (x.Mean / x.SD) * (x.Mean / x.SD)
		rule.Seen = rounded(finds/(ruleWorth*chance), 100)
	}
	return rule
}

func spread(r *evaluate.Repair) evaluate.Spread {
	return evaluate.Spread{Mean: r.Mean, P10: r.P10, P50: r.P50, P90: r.P90}
}

// Compare works out what the figures say of the builds' own cars before and after, with two evaluations a car.
func (l *Lesson) Compare(outcomes []*Outcome) error {
	before, err := evaluate.New(l.Before, evaluate.Options{})
	if err != nil {
		return err
	}
	after, err := evaluate.New(l.After, evaluate.Options{})
	if err != nil {
		return err
	}
	for _, o := range outcomes {
		if !slices.Contains(l.Builds, o.Build.Name) {
			continue
		}
		lot, err := o.Frozen.Lot()
		if err != nil {
			return err
		}
		x, err := before.Evaluate(lot)
		if err != nil {
			return err
		}
		y, err := after.Evaluate(lot)
		if err != nil {
			return err
		}
		l.Effects = append(l.Effects, Effect{o.Build.Name, spread(&x.Repair), spread(&y.Repair), o.Actual.Pounds()})
	}
	return nil
}
