package learn

import (
	"cmp"
	"math"
	"slices"

	"wreckoner/damage"
)

// A RowLesson is what was learned of one row of the table.
type RowLesson struct {
	Old, Estimate, Written Row
	// Shift is the estimated log of new mid over old, SD how sure that is: level, class and the row's own together.
	Shift, SD float64
	// Jobs of Builds that it rests on; 0 for a row that nobody used, which moves with its class.
	Jobs, Builds int
}

// Learned is what finished builds say of the workshop's figures. Means are the estimate as it stands; Written is
// what to write, which keeps near the workshop's own figure while the builds do not speak for another.
type Learned struct {
	// Builds learned from, by name.
	Builds []string
	// Up and Down are the chances that a seen mark is one grade worse, or one better; one figure each.
	Up, Down Chance
	// CodingUp and CodingDown are the settings to write, by class.
	CodingUp, CodingDown [damage.ClassCount]float64
	// Omega is the log odds by which all hidden rules are off. Rho is the severity link. Kappa is how much wider jobs
	// scatter than their rows say; its SD is that of its log.
	Omega, Rho, Kappa Figure
	// Level, Classes and Drift are logs: everything, one class beside that, and prices a year beyond `inflation`.
	Level   Figure
	Classes [damage.ClassCount]Figure
	Drift   Figure
	// Beside is the drift by what jobs cost over how long they took, Risen the drift by that and by costs, given that
	// there is one. Level, Classes, Drift and rows as estimated are by costs alone; all that is written counts both.
	Beside Figure
	Risen  float64
	// Inflation is the setting to write.
	Inflation float64
	Rows      []RowLesson
	Rules     []RuleLesson
	// Verdicts, one a cause, in the order of the causes.
	Verdicts []Verdict
	// Habits, one a class.
	Habits []Habit
	// Aside is what was left out and why, by build.
	Aside []Aside
	// Jobs whose costs count, Marks whose grade is known, Looks for hidden or suspected damage and Finds among them.
	Jobs, Marks, Looks, Finds int
	// Stopped builds whose limit counts.
	Stopped int
}

// Named returns the causes that the builds speak for; none is "cannot tell yet".
func (l *Learned) Named() []Verdict {
	return slices.DeleteFunc(slices.Clone(l.Verdicts), func(v Verdict) bool { return !v.Named })
}

// Table returns the table as it should be written.
func (l *Learned) Table(old Table) Table {
	t := Table{Rows: make([]Row, len(l.Rows)), Rules: slices.Clone(old.Rules)}
	for i := range l.Rows {
		t.Rows[i] = l.Rows[i].Written
	}
	for i := range l.Rules {
		t.Rules[i].Chance = l.Rules[i].Written
	}
	return t
}

// Settings returns the settings as they should be written.
func (l *Learned) Settings(old Settings) Settings {
	old.CodingUp, old.CodingDown = l.CodingUp, l.CodingDown
	old.SeverityLink, old.Inflation = l.Rho.Written, l.Inflation
	return old
}

// Learn works out what builds say of the table and the settings. The order of the builds, and of what is in them,
// changes nothing. It returns an error where the table or the settings make no sense; what is wrong with a build is
// in Aside.
func Learn(t Table, builds []Build, s Settings) (*Learned, error) {
	return learn(t, builds, s, averaged)
}

// An outcome is everything that was estimated, before it is decided what to write.
type outcome struct {
	table    *Table
	settings *Settings
	span     float64
	coding   coding
	hit      *hit
	fit      *fit
	verdicts []Verdict
	cars     []*car
	marks    []watched
	findings []finding
}

func learn(t Table, builds []Build, s Settings, p policy) (*Learned, error) {
	o, aside, err := estimate(t, builds, s)
	if err != nil {
		return nil, err
	}
	l := o.report(p)
	slices.SortStableFunc(aside, func(a, b Aside) int {
		return cmp.Or(cmp.Compare(a.Build, b.Build), cmp.Compare(a.Spot.Index(), b.Spot.Index()),
			cmp.Compare(a.Grade, b.Grade), cmp.Compare(a.Reason, b.Reason), cmp.Compare(a.Note, b.Note))
	})
	l.Aside = aside
	return l, nil
}

// estimate goes through the steps of METHOD.md 16.3.
func estimate(t Table, builds []Build, s Settings) (*outcome, []Aside, error) {
	if err := s.check(); err != nil {
		return nil, nil, err
	}
	rows, err := t.index()
	if err != nil {
		return nil, nil, err
	}
	settler := &settler{rows: rows, table: &t, settings: &s}
	o := &outcome{table: &t, settings: &s}
	o.cars = settler.cars(builds)
	today := s.Today
	if today.IsZero() {
		today = last(o.cars)
	}
	o.span = max(0, s.years(today))
	o.marks = watch(o.cars, &t, rows)
	o.coding = learnCodes(o.marks, mean(s.CodingUp), mean(s.CodingDown))
	o.findings = findings(o.cars, rows)
	o.hit = learnHidden(o.findings, len(o.cars), t.Rules, s.HiddenLink)
	o.fit = fitCosts(newCosts(o.cars, &t, rows, &s, o.hit), s.SeverityLink)
	o.verdicts = diagnose(o.evidence(&o.fit.alone))
	return o, settler.aside, nil
}

// evidence gathers the log Bayes factors of the causes against nothing; alone are those of the shared columns.
func (o *outcome) evidence(alone *[shared]float64) (e [CauseCount]float64) {
	f := o.fit
	e[Codes], e[Hidden] = o.coding.evidence, o.hit.evidence
	e[Link], e[Scatter], e[Runaway] = f.linkEvidence, f.widerEvidence, f.tailEvidence
	for _, c := range costChannel() {
		e[c] = alone[columnOf(c)]
	}
	return e
}

// columnOf is the shared column of a cause of the cost channel.
func columnOf(c Cause) int {
	switch c {
	case Level:
		return colLevel
	case Drift:
		return colDrift
	}
	return colClass + int(c-Class0)
}

// byCosts is the same outcome, judged without spend beside hours.
func (o *outcome) byCosts() *outcome {
	out := *o
	out.verdicts = diagnose(o.evidence(&o.fit.aloneByCosts))
	return &out
}

func (o *outcome) report(p policy) *Learned {
	if p == plain {
		o = o.byCosts()
	}
	f, k := o.fit, p.keeps(o.verdicts)
	l := &Learned{Verdicts: o.verdicts, Up: o.coding.up, Down: o.coding.down, Omega: o.hit.odds, Rho: f.link}
	for _, c := range o.cars {
		l.Builds = append(l.Builds, c.build.Name)
	}
	for _, x := range o.findings {
		if x.happened {
			l.Finds++
		}
	}
	l.Jobs, l.Marks, l.Looks, l.Stopped = len(f.jobs), len(o.marks), len(o.findings), len(f.limits)
	l.CodingUp = scaled(o.settings.CodingUp, l.Up.Set+k.codes*(l.Up.Mean-l.Up.Set))
	l.CodingDown = scaled(o.settings.CodingDown, l.Down.Set+k.codes*(l.Down.Mean-l.Down.Set))
	l.Omega.Written = k.hidden * l.Omega.Mean
	l.Rho.Written = l.Rho.Set + k.link*(l.Rho.Mean-l.Rho.Set)
	l.Kappa = Figure{Set: 1, Mean: math.Exp(f.scatter.Mean), SD: f.scatter.SD,
		Written: math.Exp(k.scatter * f.scatter.Mean)}
	for i, r := range o.hit.rules {
		r.Written, _ = r.at(o.table.Rules[i], l.Omega.Written)
		l.Rules = append(l.Rules, r)
	}
	o.costs(l, p)
	l.Habits = habits(o)
	return l
}

// costs reports level, classes, drift and rows.
func (o *outcome) costs(l *Learned, p policy) {
	f := o.fit
	figure := func(col, builds int) Figure {
		return Figure{Mean: f.beta[col], SD: math.Sqrt(max(0, f.v.At(col, col))), Builds: builds}
	}
	all, drifting, byClass, byRow, jobs := o.counts()
	l.Level, l.Drift = figure(colLevel, all), figure(colDrift, drifting)
	l.Rho.Builds, l.Kappa.Builds = all, all
	w, e := o.writer(p), o.writer(plain)
	for c := range l.Classes {
		l.Classes[c] = figure(colClass+c, byClass[c])
		for i, h := range w.hyps {
			l.Classes[c].Written += w.weights[i] * h.beta[colClass+c]
		}
	}
	for i, h := range w.hyps {
		l.Level.Written += w.weights[i] * h.beta[colLevel]
	}
	l.Drift.Written = w.drift()
	l.Beside = f.beside
	if len(f.hypotheses) > 0 {
		l.Risen = f.hypotheses[everything].beta[colDrift]
	}
	l.Inflation = o.settings.Inflation + l.Drift.Written
	rate := o.settings.LabourRate
	for i, r := range o.table.Rows {
		x := RowLesson{Old: r, Estimate: e.row(r, i), Written: r, Jobs: jobs[i], Builds: byRow[i]}
		if len(f.hypotheses) > 0 {
			x.Written = hold(r, w.row(r, i), rate, len(o.cars))
		}
		var variance float64
		x.Shift, variance = e.shift(i, r.Item.Class)
		x.SD = math.Sqrt(variance)
		l.Rows = append(l.Rows, x)
	}
}

// counts returns how many builds have a cost, one with an age, one of each class and of each row, and the jobs by row.
func (o *outcome) counts() (all, drifting int, byClass [damage.ClassCount]int, byRow, jobs []int) {
	byRow, jobs = make([]int, len(o.table.Rows)), make([]int, len(o.table.Rows))
	classAt, rowAt := slices.Repeat([]int{-1}, damage.ClassCount), slices.Repeat([]int{-1}, len(jobs))
	allAt, driftAt := -1, -1
	note := func(at *int, car int, n *int) {
		if *at != car {
			*at, *n = car, *n+1
		}
	}
	for i := range o.fit.jobs {
		j := &o.fit.jobs[i]
		jobs[j.row]++
		note(&allAt, j.car, &all)
		note(&classAt[j.class], j.car, &byClass[j.class])
		note(&rowAt[j.row], j.car, &byRow[j.row])
		if j.drift != 0 {
			note(&driftAt, j.car, &drifting)
		}
	}
	return all, drifting, byClass, byRow, jobs
}
