package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/stats"
)

// A Lesson is what was learned, and where the new folder is.
type Lesson struct {
	Lesson *build.Lesson
	// From is the shop folder that was learned on from, "" for the starter; To the
	// new one.
	From, To string
	// Skipped are builds that it was learned from before; Aside those that could not
	// be used.
	Skipped  []string
	Aside    []Aside
	Currency string
	Quiet    bool
	// Evidence is what was added to the evidence of the new folder; nil for nothing.
	Evidence *Gathered
}

type (
	threeJSON    [3]float64
	evidenceJSON struct {
		Build   string   `json:"build"`
		Item    string   `json:"item"`
		Assumed bool     `json:"grade_assumed"`
		Spend   *float64 `json:"spend"`
		Hours   *float64 `json:"hours"`
		Odd     bool     `json:"odd"`
	}
	rowLessonJSON struct {
		Row       string         `json:"row"`
		Changed   bool           `json:"changed"`
		Why       string         `json:"why,omitempty"`
		SpendN    int            `json:"spend_builds"`
		HoursN    int            `json:"hours_builds"`
		OldSpend  threeJSON      `json:"old_spend"`
		NewSpend  threeJSON      `json:"new_spend"`
		OldHours  threeJSON      `json:"old_hours"`
		NewHours  threeJSON      `json:"new_hours"`
		OldBuilds float64        `json:"old_builds"`
		NewBuilds float64        `json:"new_builds"`
		Evidence  []evidenceJSON `json:"evidence"`
	}
	ruleLessonJSON struct {
		Rule      string  `json:"rule"`
		OldChance float64 `json:"old_chance"`
		NewChance float64 `json:"new_chance"`
		OldSeen   float64 `json:"old_seen"`
		NewSeen   float64 `json:"new_seen"`
		Found     float64 `json:"found"`
		Looked    int     `json:"looked"`
	}
	habitJSON struct {
		Class  string  `json:"class"`
		SpendN int     `json:"spend_actuals"`
		Spend  float64 `json:"spend_factor"`
		HoursN int     `json:"hours_actuals"`
		Hours  float64 `json:"hours_factor"`
	}
)

func threeOf(a stats.Amount) threeJSON { return threeJSON{a.Low, a.Mid, a.High} }

func (l *Lesson) habits() []habitJSON {
	out := []habitJSON{}
	for _, c := range damage.Classes() {
		s, h := l.Lesson.Spend, l.Lesson.Hours
		if s.N[c]+h.N[c] > 0 {
			out = append(out, habitJSON{c.Letter(), s.N[c], share(s.Factor(c)), h.N[c], share(h.Factor(c))})
		}
	}
	return out
}

func rowLessonOf(r build.RowLesson) rowLessonJSON {
	out := rowLessonJSON{
		Row: r.Old.Name(), Changed: r.Changed, Why: r.Why, SpendN: r.Spend, HoursN: r.Hours, OldSpend: threeOf(r.Old.Spend), NewSpend: threeOf(r.New.Spend),
		OldHours: threeOf(r.Old.Hours), NewHours: threeOf(r.New.Hours), OldBuilds: r.Old.Builds, NewBuilds: r.New.Builds, Evidence: []evidenceJSON{},
	}
	for _, e := range r.Evidence {
		x := evidenceJSON{Build: e.Build, Item: e.Item.String(), Assumed: !e.Sure, Odd: e.Odd}
		if e.Spend != nil {
			s := cents(*e.Spend)
			x.Spend = &s
		}
		if e.Hours != nil {
			h := cents(*e.Hours)
			x.Hours = &h
		}
		out.Evidence = append(out.Evidence, x)
	}
	return out
}

func ruleLessonOf(r build.RuleLesson) ruleLessonJSON {
	return ruleLessonJSON{r.Old.Name(), r.Old.Chance, r.New.Chance, r.Old.Seen, r.New.Seen, cents(r.Found), r.Looked}
}

// JSON writes the lesson as one object.
func (l *Lesson) JSON(w io.Writer) error {
	out := struct {
		From    string           `json:"from"`
		To      string           `json:"to"`
		Builds  []string         `json:"builds"`
		Skipped []string         `json:"skipped"`
		Aside   []asideJSON      `json:"aside"`
		Classes []habitJSON      `json:"classes"`
		Rows    []rowLessonJSON  `json:"rows"`
		Rules   []ruleLessonJSON `json:"rules"`
		Left    []string         `json:"left"`
	}{l.From, l.To, l.Lesson.Builds, append([]string{}, l.Skipped...), []asideJSON{}, l.habits(), []rowLessonJSON{}, []ruleLessonJSON{}, append([]string{}, l.Lesson.Left...)}
	for _, a := range l.Aside {
		out.Aside = append(out.Aside, asideJSON(a))
	}
	for _, r := range l.Lesson.Rows {
		out.Rows = append(out.Rows, rowLessonOf(r))
	}
	for _, r := range l.Lesson.Rules {
		out.Rules = append(out.Rules, ruleLessonOf(r))
	}
	return encode(w, out)
}

// Records returns a row for each amount and chance, and for what was left.
func (l *Lesson) Records() *Records {
	r := &Records{Columns: []Field{
		{Name: "what"}, {Name: "name", Text: true}, {Name: "changed"}, {Name: "builds"}, {Name: "old_low"}, {Name: "old_mid"}, {Name: "old_high"}, {Name: "new_low"}, {Name: "new_mid"}, {Name: "new_high"},
		{Name: "old_builds"}, {Name: "new_builds"}, {Name: "found"}, {Name: "note", Text: true},
	}}
	for _, x := range l.Lesson.Rows {
		j := rowLessonOf(x)
		row := func(what string, n int, before, after threeJSON) {
			r.Rows = append(r.Rows, []any{what, j.Row, yesNo(before != after), n, before[0], before[1], before[2], after[0], after[1], after[2], j.OldBuilds, j.NewBuilds, nil, j.Why})
		}
		row("spend", j.SpendN, j.OldSpend, j.NewSpend)
		row("hours", j.HoursN, j.OldHours, j.NewHours)
	}
	for _, x := range l.Lesson.Rules {
		j := ruleLessonOf(x)
		r.Rows = append(r.Rows, []any{"chance", j.Rule, yesNo(j.OldChance != j.NewChance), j.Looked, nil, j.OldChance, nil, nil, j.NewChance, nil, j.OldSeen, j.NewSeen, j.Found, ""})
	}
	for _, text := range l.Lesson.Left {
		r.Rows = append(r.Rows, []any{"left", "", "no", nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, text})
	}
	return r
}

// Document returns the lesson for a person: words first.
func (l *Lesson) Document(int) *Document {
	d := &Document{}
	from := "the built-in starter"
	if l.From != "" {
		from = clean(l.From)
	}
	d.Say(fmt.Sprintf("Learned from %s: %s. The new shop folder is %s; %s is as it was.", count(len(l.Lesson.Builds), "build"), strings.Join(cleanAll(l.Lesson.Builds), ", "), clean(l.To), from))
	if text := l.Evidence.words(); text != "" {
		d.Say(text)
	}
	if len(l.Skipped) > 0 {
		d.Say(fmt.Sprintf("Learned from before, and not counted again: %s.", strings.Join(cleanAll(l.Skipped), ", ")))
	}
	var said []string
	for _, h := range l.habits() {
		c, err := damage.ParseClass(h.Class)
		if err != nil {
			continue
		}
		if text := leaning(h); text != "" {
			said = append(said, fmt.Sprintf("%s jobs: %s", c, text))
		}
	}
	if len(said) > 0 {
		d.Say("What a row with no evidence of its own would be off by, as far as these builds tell: " + strings.Join(said, "; ") + ". Such rows are left as they are.")
	}
	t := &Table{Columns: []Column{{Head: "row", Gives: true}, {Head: "what"}, {Head: "old: low, mid, high", Right: true}, {Head: "new", Right: true}, {Head: "mid", Right: true}, {Head: "from", Right: true}}}
	var still []string
	for _, r := range l.Lesson.Rows {
		if r.Why != "" {
			still = append(still, r.Old.Name()+": "+r.Why)
		}
		if !r.Changed {
			continue
		}
		line := func(what string, before, after stats.Amount, n int, digits int) {
			if n > 0 {
				t.Add(r.Old.Name(), what, threeText(before, digits), threeText(after, digits), change(before.Mid, after.Mid), fmt.Sprintf("%d on %g", n, r.Old.Builds))
			}
		}
		line("spend", r.Old.Spend, r.New.Spend, r.Spend, 0)
		line("hours", r.Old.Hours, r.New.Hours, r.Hours, 1)
	}
	d.Show(fmt.Sprintf("Book rows (%s, hours)", l.Currency), t)
	t = &Table{Columns: []Column{{Head: "hidden damage", Gives: true}, {Head: "old chance", Right: true}, {Head: "new", Right: true}, {Head: "found", Right: true}, {Head: "on", Right: true}}}
	for _, r := range l.Lesson.Rules {
		t.Add(r.Old.Name(), tenth(r.Old.Chance), tenth(r.New.Chance), fmt.Sprintf("%.3g of %d", r.Found, r.Looked), fmt.Sprintf("%g", r.Old.Seen))
	}
	d.Show("Chances of hidden damage", t)
	for _, text := range still {
		d.Say("Not changed: " + clean(text) + ".")
	}
	if len(l.Lesson.Left) > 0 {
		d.Say("Not learned from:\n" + strings.Join(cleanAll(l.Lesson.Left), "\n"))
	}
	if odd := l.odd(); len(odd) > 0 {
		d.Say("Far from all else, and given less weight: " + strings.Join(odd, ", ") + ".")
	}
	if assumed := l.assumed(); len(assumed) > 0 {
		d.Say("The ledger names no grade, so that the likeliest was taken: " + strings.Join(assumed, ", ") + ".")
	}
	aside := &Table{Columns: []Column{{Head: "build", Gives: true}, {Head: "why", Wraps: true}}}
	for _, a := range l.Aside {
		aside.Add(clean(a.Build), clean(a.Reason))
	}
	d.Show("Not used", aside)
	if !l.Quiet {
		d.Say("From: so many builds' actuals, on top of so many that the row was worth. Actuals are scaled back by the kind of car. Rows and rules without evidence are as they were, to the last byte.")
	}
	return d
}

func cleanAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = clean(t)
	}
	return out
}

// leaning says what a class is off by in spend and hours, "" where both are right.
func leaning(h habitJSON) string {
	var parts []string
	for _, x := range []struct {
		what   string
		n      int
		factor float64
	}{{"spend", h.SpendN, h.Spend}, {"hours", h.HoursN, h.Hours}} {
		if x.n > 0 && math.Abs(math.Log(x.factor)) >= 0.03 {
			parts = append(parts, x.what+" "+over(x.factor))
		}
	}
	return strings.Join(parts, ", ")
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
		return fmt.Sprintf("%+.0f %%", percent)
	}
	return "0 %"
}

// tenth prints a share to a tenth of a percent.
func tenth(x float64) string { return fmt.Sprintf("%.1f %%", 100*x) }

func (l *Lesson) evidence(match func(build.Evidence) bool) []string {
	var out []string
	for _, r := range l.Lesson.Rows {
		for _, e := range r.Evidence {
			if match(e) {
				out = append(out, fmt.Sprintf("%s (%s)", e.Item, clean(e.Build)))
			}
		}
	}
	return out
}

func (l *Lesson) odd() []string { return l.evidence(func(e build.Evidence) bool { return e.Odd }) }

func (l *Lesson) assumed() []string {
	return l.evidence(func(e build.Evidence) bool { return !e.Sure })
}
