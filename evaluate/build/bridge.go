package build

import (
	"fmt"
	"slices"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/shop"
)

// A bridge turns finished builds into what package learn takes: plain figures, without files. Builds frozen by any
// version serve: what counts of them is the code and the kind of car; costs and chances are compared with the
// workshop's tables as they are now.
type bridge struct {
	shop *shop.Shop
	e    *evaluate.Evaluator
	left []string
	// asFrozen says that costs and chances are compared with the tables that each build was frozen with.
	asFrozen bool
	// rules are those that chances are compared with, at their places in rule.
	rules []learn.Rule
	rule  map[frozenRule]int
}

// A frozenRule tells the rules of several workshops apart: by name, and by what it said.
type frozenRule struct {
	name         string
	chance, seen float64
}

func newBridge(workshop *shop.Shop, asFrozen bool) (*bridge, error) {
	b := &bridge{shop: workshop, asFrozen: asFrozen, rule: map[frozenRule]int{}}
	if asFrozen {
		return b, nil
	}
	for _, r := range workshop.Costs.Rules() {
		b.ruleOf(&r)
	}
	var err error
	b.e, err = evaluate.New(workshop, evaluate.Options{Points: 64})
	return b, err
}

// ruleOf returns the place of a rule among those that chances are compared with.
func (b *bridge) ruleOf(r *costs.Rule) int {
	key := frozenRule{r.Name(), r.Chance, r.Seen}
	n, ok := b.rule[key]
	if !ok {
		n = len(b.rules)
		b.rule[key] = n
		b.rules = append(b.rules, learn.Rule{Chance: r.Chance, Seen: max(r.Seen, leastSeen)})
	}
	return n
}

func (b *bridge) leave(format string, args ...any) {
	b.left = append(b.left, fmt.Sprintf(format, args...))
}

// table returns the workshop's cost rows and hidden rules.
func (b *bridge) table() learn.Table {
	t := learn.Table{Rules: b.rules}
	for _, r := range b.shop.Costs.Rows() {
		t.Rows = append(t.Rows, learn.Row{Item: r.Item, Any: r.Any, Spend: r.Spend, Hours: r.Hours, Builds: r.Builds,
			Priced: r.Priced})
	}
	return t
}

// leastSeen stands for the builds behind a rule that nobody has seen: package learn takes none of 0.
const leastSeen = 0.01

// mostLink is the strongest link that learning works with.
const mostLink = 0.99

// mostCoding is the largest chance of a misread mark that learning works with.
const mostCoding = 0.95

// settings returns the workshop's figures that learning starts from.
func (b *bridge) settings() learn.Settings {
	s := &b.shop.Settings
	out := learn.Settings{
		LabourRate: s.LabourRate, SeverityLink: min(s.SeverityLink, mostLink), HiddenLink: min(s.HiddenLink, mostLink),
		Inflation: s.Inflation, Priced: s.CostsAsOf,
	}
	for c := range s.CodingUp {
		out.CodingUp[c], out.CodingDown[c] = min(s.CodingUp[c], mostCoding), min(s.CodingDown[c], mostCoding)
	}
	return out
}

// all returns the builds that the tables have a place for.
func (b *bridge) all(outcomes []*Outcome) (builds []learn.Build) {
	for _, o := range outcomes {
		x, err := b.build(o)
		if err != nil {
			b.leave("%s: %v: the whole build is left out", o.Build.Name, err)
			continue
		}
		builds = append(builds, x)
	}
	return builds
}

// build returns one build. It fails where the tables have no place for the car, as where its kind of car or its
// category is not in them any more.
func (b *bridge) build(o *Outcome) (learn.Build, error) {
	lot, err := o.Frozen.Lot()
	if err != nil {
		return learn.Build{}, err
	}
	e := b.e
	if b.asFrozen {
		if e, err = evaluate.New(o.Frozen.workshop, evaluate.Options{Points: 64}); err != nil {
			return learn.Build{}, err
		}
	}
	p, err := e.Resolve(lot)
	if err != nil {
		return learn.Build{}, err
	}
	out := learn.Build{Name: o.Build.Name, Sale: o.Build.Bought, State: learn.Closed}
	if o.Stopped() {
		out.State, out.Limit = learn.Stopped, limit(o)
	}
	out.Marks = marks(lot, p.Case)
	rules := e.Shop().Costs.Rules()
	for _, c := range p.Case {
		if c.Kind != costs.Hidden {
			continue
		}
		x := learn.Candidate{Item: c.Item}
		for _, t := range c.Triggers {
			for g, n := range t.Rule {
				if n >= 0 {
					t.Rule[g] = b.ruleOf(&rules[n])
				}
			}
			x.Triggers = append(x.Triggers, learn.Trigger{Spot: t.Spot, Rule: t.Rule})
		}
		out.Candidates = append(out.Candidates, x)
	}
	times, err := o.Frozen.Multipliers()
	if err != nil {
		return learn.Build{}, err
	}
	for _, j := range o.Build.Jobs {
		out.Jobs = append(out.Jobs, b.jobs(o, &times, j)...)
	}
	return out, nil
}

// limit returns what a car that was given up after the strip tells of its cost: the repair at which finishing it would
// have left as much as was made, by the frozen means. It is nil where that says nothing.
func limit(o *Outcome) *learn.Limit {
	p := &o.Frozen.Predicted
	l := &learn.Limit{Above: p.Repair.Mean + p.Margin.Mean - o.MarginActual.Pounds(), Mean: p.Repair.Mean, SD: p.Repair.SD}
	if !(l.Above > 0 && l.Mean > 0 && l.SD > 0) {
		return nil
	}
	sum := 0.0
	for i := range p.Classes {
		sum += p.Classes[i].Mean
	}
	whole := max(l.Mean, sum) // the means are rounded
	for i := range p.Classes {
		if c, err := damage.ParseClass(p.Classes[i].Class); err == nil { // checked when it was read
			l.Shares[c] = p.Classes[i].Mean / whole
		}
	}
	return l
}

// factors returns what a car multiplies the row of an item by, as it was frozen. Where builds are compared with the
// tables that they were frozen with, that is how its own row's mid compares with the workshop's, too.
func (b *bridge) factors(f *Frozen, times *shop.Multipliers, item damage.Item) (spend, hours float64) {
	was, ok := f.workshop.Costs.RowOf(item)
	now, also := b.shop.Costs.RowOf(item)
	spend, hours = times.Classes[item.Class], times.Hours
	if !ok || !also {
		return spend, hours
	}
	old, row := f.workshop.Costs.Rows()[was], b.shop.Costs.Rows()[now]
	if !b.asFrozen {
		return row.Times(spend), hours
	}
	spend = old.Times(spend)
	if row.Spend.Mid > 0 && old.Spend.Mid > 0 {
		spend *= old.Spend.Mid / row.Spend.Mid
	}
	if row.Hours.Mid > 0 && old.Hours.Mid > 0 {
		hours *= old.Hours.Mid / row.Hours.Mid
	}
	return spend, hours
}

// marks returns what the code says of each place, with what the estimate suspects there beside it.
func marks(lot *evaluate.Lot, candidates costs.Case) []learn.Mark {
	var out []learn.Mark
	at := func(s damage.Spot) *learn.Mark {
		i := slices.IndexFunc(out, func(m learn.Mark) bool { return m.Spot == s })
		if i < 0 {
			i, out = len(out), append(out, learn.Mark{Spot: s})
		}
		return &out[i]
	}
	for _, m := range lot.Code.Marks() {
		switch x := at(m.Spot); m.State {
		case damage.Seen:
			x.Seen, x.Quoted, x.CodedFrom = m.Grade, lot.Quoted(m.Item), lot.CodedFrom.Times()
		case damage.Absent:
			x.Clear = m.Grade
		}
	}
	for _, c := range candidates {
		if c.Kind == costs.Suspected && c.Chance > 0 && c.Chance < 1 {
			x := at(c.Spot)
			x.Suspected = append(x.Suspected, learn.Suspicion{Grade: c.Grade, Chance: c.Chance})
		}
	}
	return out
}

// jobs returns what a finished build's ledger says of one place. A place that was found and is marked clear gives both,
// which learning sets aside.
func (b *bridge) jobs(o *Outcome, times *shop.Multipliers, j *Job) []learn.Job {
	var day time.Time
	for _, e := range j.Entries {
		if e.Date.After(day) {
			day = e.Date
		}
	}
	if !j.Found() {
		if j.ClearFrom > 1 {
			b.leave("%s: %s is marked clear from grade %d, but lesser damage may have been there: nothing is learned from it",
				o.Build.Name, j.Spot, j.ClearFrom)
			return []learn.Job{{Spot: j.Spot, Done: true, Day: day}}
		}
		return []learn.Job{{Spot: j.Spot, Clear: true, Done: true, Day: day}}
	}
	out := learn.Job{
		Spot: j.Spot, Grade: j.Grade, Done: true, Spend: j.Spend.Pounds(), Hours: j.Hours, NoHours: !j.Worked, Day: day,
	}
	item := damage.Item{Spot: j.Spot, Grade: max(j.Grade, 1)}
	out.SpendFactor, out.HoursFactor = b.factors(o.Frozen, times, item)
	if row, ok := b.shop.Costs.RowOf(item); ok && !j.Paid && b.shop.Costs.Rows()[row].Spend.Mid > 0 {
		// Hours alone are not the whole cost: its grade counts, its cost does not.
		out.Hours = 0
	}
	all := []learn.Job{out}
	if j.ClearFrom > 0 && (j.Grade == 0 || j.Grade >= j.ClearFrom) {
		all = append(all, learn.Job{Spot: j.Spot, Clear: true, Done: true, Day: day})
	}
	return all
}
