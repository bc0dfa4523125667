package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// A Lesson is what was learned, and where the new folder is.
type Lesson struct {
	Lesson *build.Lesson
	// From is the shop folder that was learned on from, "" for the starter; To the
	// new one.
	From, To string
	// Skipped are builds that it was learned from before, by its learned.csv, Listed those that its builds.csv has;
	// Aside those that could not be used.
	Skipped  []string
	Listed   []string
	Aside    []Aside
	Currency string
	Quiet    bool
	// Evidence is what was added to the evidence of the new folder; nil for nothing.
	Evidence *Gathered
}

type (
	threeJSON     [3]float64
	rowLessonJSON struct {
		Row       string    `json:"row"`
		Changed   bool      `json:"changed"`
		Jobs      int       `json:"jobs"`
		Builds    int       `json:"builds"`
		Shift     float64   `json:"log_shift"`
		ShiftSD   float64   `json:"log_shift_sd"`
		OldSpend  threeJSON `json:"old_spend"`
		NewSpend  threeJSON `json:"new_spend"`
		OldHours  threeJSON `json:"old_hours"`
		NewHours  threeJSON `json:"new_hours"`
		OldBuilds float64   `json:"old_builds"`
		NewBuilds float64   `json:"new_builds"`
	}
	ruleLessonJSON struct {
		Rule      string  `json:"rule"`
		OldChance float64 `json:"old_chance"`
		NewChance float64 `json:"new_chance"`
		OldSeen   float64 `json:"old_seen"`
		NewSeen   float64 `json:"new_seen"`
		Found     float64 `json:"found"`
		Expected  float64 `json:"expected"`
		Looked    int     `json:"looked"`
	}
	effectJSON struct {
		Build  string     `json:"build"`
		Before spreadJSON `json:"before"`
		After  spreadJSON `json:"after"`
		Actual float64    `json:"actual"`
	}
)

func threeOf(a stats.Amount) threeJSON { return threeJSON{a.Low, a.Mid, a.High} }

// rows are the rows of the cost table that change, or that builds have used.
func (l *Lesson) rows() []rowLessonJSON {
	out := []rowLessonJSON{}
	before, after := l.Lesson.Before.Costs.Rows(), l.Lesson.After.Costs.Rows()
	for i, old := range before {
		x, now := &l.Lesson.Rows[i], after[i]
		if x.Jobs == 0 && now == old {
			continue
		}
		out = append(out, rowLessonJSON{
			Row: old.Name(), Changed: now.Spend != old.Spend || now.Hours != old.Hours, Jobs: x.Jobs, Builds: x.Builds,
			Shift: share(x.Shift), ShiftSD: share(x.SD),
			OldSpend: threeOf(old.Spend), NewSpend: threeOf(now.Spend), OldHours: threeOf(old.Hours),
			NewHours:  threeOf(now.Hours),
			OldBuilds: old.Builds, NewBuilds: now.Builds,
		})
	}
	return out
}

// rules are the hidden rules that change, or that somebody has looked for.
func (l *Lesson) rules() []ruleLessonJSON {
	out := []ruleLessonJSON{}
	after := l.Lesson.After.Costs.Rules()
	for i, old := range l.Lesson.Before.Costs.Rules() {
		x, now := &l.Lesson.Rules[i], after[i]
		if x.Builds == 0 && now == old {
			continue
		}
		out = append(out, ruleLessonJSON{old.Name(), old.Chance, now.Chance, old.Seen, now.Seen, cents(x.Finds),
			cents(x.Expected), x.Builds})
	}
	return out
}

func (l *Lesson) effects() []effectJSON {
	out := []effectJSON{}
	for _, x := range l.Lesson.Effects {
		out = append(out, effectJSON{x.Build, *spreadOf(x.Before), *spreadOf(x.After), cents(x.Actual)})
	}
	return out
}

// JSON writes the lesson as one object.
func (l *Lesson) JSON(w io.Writer) error {
	out := struct {
		From    string           `json:"from"`
		To      string           `json:"to"`
		Builds  []string         `json:"builds"`
		Skipped []string         `json:"skipped"`
		Aside   []asideJSON      `json:"aside"`
		Summary []string         `json:"summary"`
		Causes  []causeJSON      `json:"causes"`
		Figures []figureJSON     `json:"figures"`
		Classes []classBiasJSON  `json:"classes"`
		Rows    []rowLessonJSON  `json:"rows"`
		Rules   []ruleLessonJSON `json:"rules"`
		Effects []effectJSON     `json:"effects"`
		Left    []string         `json:"left"`
	}{
		l.From, l.To, l.Lesson.Builds, l.skipped(), []asideJSON{}, l.words(), causesOf(l.Lesson.Learned),
		figuresOf(l.Lesson.Learned),
		[]classBiasJSON{}, l.rows(), l.rules(), l.effects(), append([]string{}, asideWords(l.Lesson.Learned,
			l.Lesson.Left)...),
	}
	for _, a := range l.Aside {
		out.Aside = append(out.Aside, asideJSON(a))
	}
	for i := range l.Lesson.Habits {
		out.Classes = append(out.Classes, habitOf(&l.Lesson.Habits[i]))
	}
	return encode(w, out)
}

// Records returns a row for each amount, chance and setting, and for what was left.
func (l *Lesson) Records() *Records {
	r := &Records{Columns: columnsOf("what name* changed builds old_low old_mid old_high new_low new_mid new_high " +
		"old_builds new_builds found note*")}
	for _, j := range l.rows() {
		row := func(what string, before, after threeJSON) {
			r.Add(map[string]any{"what": what, "name": j.Row, "changed": tabular.YesNo(before != after), "old_low": before[0],
				"old_mid": before[1], "old_high": before[2], "new_low": after[0], "new_mid": after[1], "new_high": after[2]}, &j)
		}
		row("spend", j.OldSpend, j.NewSpend)
		row("hours", j.OldHours, j.NewHours)
	}
	for _, j := range l.rules() {
		r.Add(map[string]any{"what": "chance", "name": j.Rule, "changed": tabular.YesNo(j.OldChance != j.NewChance),
			"builds": j.Looked, "old_mid": j.OldChance, "new_mid": j.NewChance, "old_builds": j.OldSeen,
			"new_builds": j.NewSeen}, &j)
	}
	for _, f := range figuresOf(l.Lesson.Learned) {
		r.Add(map[string]any{"what": "figure", "name": f.Figure, "changed": tabular.YesNo(f.Set != f.Written),
			"builds":  f.Builds,
			"old_mid": f.Set, "new_mid": f.Written})
	}
	for _, text := range asideWords(l.Lesson.Learned, l.Lesson.Left) {
		r.Add(map[string]any{"what": "left", "changed": "no", "note": text})
	}
	return r
}

// words says what was learned, a paragraph each.
func (l *Lesson) words() []string {
	n := len(l.Lesson.Builds)
	from := "the built-in starter"
	if l.From != "" {
		from = Clean(l.From)
	}
	out := []string{fmt.Sprintf("Learned from %s: %s. The new folder is %s; %s is as it was.",
		tabular.Count(n, "build"), strings.Join(CleanAll(l.Lesson.Builds), ", "), Clean(l.To), from)}
	if text := l.Evidence.words(); text != "" {
		out = append(out, text)
	}
	out = append(out, l.already()...)
	if len(l.Lesson.Earlier) > 0 {
		out = append(out, fmt.Sprintf("Frozen by another version of wreckoner, and learned from all the same: %s. Their "+
			"code and ledger count; what they were expected to cost does not.",
			strings.Join(CleanAll(l.Lesson.Earlier), ", ")))
	}
	switch {
	case n == 1:
		out = append(out, "One car: noted, moved a little.")
	case n < 3:
		out = append(out, "Two cars: noted, moved a little.")
	}
	if text := habitsText(l.Lesson.Learned); text != "" {
		out = append(out, text)
	}
	out = append(out, diagnosis(l.Lesson.Learned))
	if n < manyBuilds {
		out = append(out, fmt.Sprintf("Under %d builds, a cost table that was nearly right is better left as it was: use "+
			"the new folder where you have reason to think that the old one was wrong. What both say of these cars is below.",
			manyBuilds))
	}
	return out
}

// Document returns the lesson for a person: words first.
func (l *Lesson) Document(int) *Document {
	d := &Document{}
	for _, text := range l.words() {
		d.Say(text)
	}
	l.showEffects(d)
	l.showSettings(d)
	l.showRows(d)
	l.showRules(d)
	if left := asideWords(l.Lesson.Learned, l.Lesson.Left); len(left) > 0 {
		d.Say("Not learned from:\n" + strings.Join(left, "\n"))
	}
	aside := tableOf(gives("build"), wraps("why"))
	for _, a := range l.Aside {
		aside.Add(Clean(a.Build), Clean(a.Reason))
	}
	d.Show("Not used", aside)
	if !l.Quiet && l.Lesson.Before.CostsAsOf.IsZero() {
		d.Say("shop.toml does not say of which day the prices in costs.csv are (costs_as_of), so nothing is learned of " +
			"how prices rise.")
	}
	if !l.Quiet {
		d.Say("Builds: cars learned from, on top of those the row already counted for. Rows that none of them used move " +
			"with their class, if at all. Write the grade in the ledger when a job is done: the grade tells a wrong code " +
			"from a wrong cost.")
	}
	return d
}

// showEffects shows what the figures said of the builds' cars and what they say now.
func (l *Lesson) showEffects(d *Document) {
	t := tableOf(gives("build"), right("before: likely,\nlikely range"), right("after: likely,\nlikely range"),
		right("it cost"))
	for _, x := range l.Lesson.Effects {
		t.Add(Clean(x.Build), Pounds(x.Before.P50)+"\n"+Range(x.Before.P10, x.Before.P90),
			Pounds(x.After.P50)+"\n"+Range(x.After.P10, x.After.P90), Pounds(x.Actual))
	}
	d.Show(fmt.Sprintf("Repair of these cars, by the old figures and by the new (%s)", unit(l.Currency)), t)
}

// showSettings shows the keys of shop.toml that change.
func (l *Lesson) showSettings(d *Document) {
	t := tableOf(gives("setting"), right("old"), right("new"), right("builds"))
	old, now := &l.Lesson.Before.Settings, &l.Lesson.After.Settings
	byClass := func(name string, before, after []float64, builds int) {
		for i := range before {
			if before[i] != after[i] {
				t.Add(name, listOf(before), listOf(after), fmt.Sprint(builds))
				return
			}
		}
	}
	byClass("coding_up", old.CodingUp[:], now.CodingUp[:], l.Lesson.Up.Builds)
	byClass("coding_down", old.CodingDown[:], now.CodingDown[:], l.Lesson.Down.Builds)
	byClass("severity_link", []float64{old.SeverityLink}, []float64{now.SeverityLink}, l.Lesson.Rho.Builds)
	byClass("inflation", []float64{old.Inflation}, []float64{now.Inflation}, l.Lesson.Drift.Builds)
	d.Show("Settings", t)
}

// listOf prints shares, one where all are equal.
func listOf(x []float64) string {
	parts := make([]string, len(x))
	same := true
	for i, v := range x {
		parts[i] = fmt.Sprintf("%.3g", v)
		same = same && v == x[0]
	}
	if same {
		return parts[0]
	}
	return strings.Join(parts, " ")
}

// showRows shows the rows that builds used, and counts those that moved with them.
func (l *Lesson) showRows(d *Document) {
	t := tableOf(gives("row"), left("what"), right("old: low, mid, high"), right("new"), right("mid"), right("builds"))
	before, after := l.Lesson.Before.Costs.Rows(), l.Lesson.After.Costs.Rows()
	moved := 0
	for i, old := range before {
		x, now := &l.Lesson.Rows[i], after[i]
		if x.Jobs == 0 {
			if now != old {
				moved++
			}
			continue
		}
		line := func(what string, before, after stats.Amount, digits int) {
			if before != after {
				t.Add(old.Name(), what, threeText(before, digits), threeText(after, digits), change(before.Mid, after.Mid),
					fmt.Sprintf("%d on %g", x.Builds, old.Builds))
			}
		}
		line("spend", old.Spend, now.Spend, 0)
		line("hours", old.Hours, now.Hours, 1)
	}
	d.Show(fmt.Sprintf("Cost table (%s, hours)", l.Currency), t)
	if moved > 0 {
		d.Say(fmt.Sprintf("%s without receipts moved with the others: %s.", capital(tabular.Count(moved, "row")),
			classMoves(l.Lesson.Learned, before)))
	}
}

// mostRules is how many rules of hidden damage a person is shown: those that moved most.
const mostRules = 12

func (l *Lesson) showRules(d *Document) {
	looked := slices.DeleteFunc(l.rules(), func(j ruleLessonJSON) bool { return j.Looked == 0 })
	moved := func(j ruleLessonJSON) float64 { return -math.Abs(j.NewChance - j.OldChance) }
	slices.SortStableFunc(looked, func(a, b ruleLessonJSON) int { return cmp.Compare(moved(a), moved(b)) })
	t := tableOf(gives("hidden damage"), right("old chance"), right("new"), right("likely finds"), right("builds"))
	for _, j := range looked[:min(mostRules, len(looked))] {
		t.Add(j.Rule, tenth(j.OldChance), tenth(j.NewChance), fmt.Sprintf("%.1f", j.Found), fmt.Sprint(j.Looked))
	}
	d.Show("Chances of hidden damage that moved most", t)
	if more := len(looked) - mostRules; more > 0 {
		d.Say(fmt.Sprintf("%s more moved less; --format csv has all.", capital(tabular.Count(more, "chance"))))
	}
}

// classMoves says by how much the rows of each class that nobody used move.
func classMoves(l *learn.Learned, rows []costs.Row) string {
	var said []string
	for i := range l.Habits {
		class := l.Habits[i].Class
		for k := range rows {
			x := &l.Rows[k]
			if rows[k].Item.Class == class && x.Jobs == 0 && x.Old.Spend.Mid > 0 {
				said = append(said, fmt.Sprintf("%s %s", class, change(x.Old.Spend.Mid, x.Written.Spend.Mid)))
				break
			}
		}
	}
	return strings.Join(said, ", ")
}

func threeText(a stats.Amount, digits int) string {
	if digits == 0 {
		return fmt.Sprintf("%.0f, %.0f, %.0f", a.Low, a.Mid, a.High)
	}
	return fmt.Sprintf("%.*f, %.*f, %.*f", digits, a.Low, digits, a.Mid, digits, a.High)
}

// change prints how far a figure moved.
func change(before, after float64) string {
	if before == 0 {
		return ""
	}
	if percent := math.Round(100 * (after/before - 1)); percent != 0 {
		return fmt.Sprintf("%+.0f%%", percent)
	}
	return "0%"
}

// tenth prints a share to a tenth of a percent.
func tenth(x float64) string { return fmt.Sprintf("%.1f%%", 100*x) }
