package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// manyBuilds is the number of builds below which a cost table that is nearly right is better left as it is
// (METHOD.md 16.22).
const manyBuilds = 30

// causes says what the builds speak for, a sentence each; none where they cannot tell yet.
func causes(l *learn.Learned) []string {
	var out []string
	for _, v := range l.Named() {
		out = append(out, causeText(l, v.Cause))
	}
	return out
}

func causeText(l *learn.Learned, c learn.Cause) string {
	if class, ok := c.ClassOf(); ok {
		return fmt.Sprintf("your %s jobs cost %s the cost table says", class, times(l.Level.Mean+l.Classes[class].Mean))
	}
	switch c {
	case learn.Codes:
		return codesText(l)
	case learn.Hidden:
		return "hidden damage turns up " + oftener(asListed(l)) + " as listed"
	case learn.Link:
		how := "more"
		if l.Rho.Mean < l.Rho.Set {
			how = "less"
		}
		return fmt.Sprintf("the jobs of one car run dear together %s than severity_link has it: about %.2f, where %.2f "+
			"is set",
			how, l.Rho.Mean, l.Rho.Set)
	case learn.Scatter:
		only := ""
		if l.Kappa.Mean < 1 {
			only = "only "
		}
		return fmt.Sprintf("jobs differ from each other %s%.1f times as much as low and high in the cost table say", only,
			l.Kappa.Mean)
	case learn.Runaway:
		return "a few jobs cost several times their row, more of them than low and high allow for"
	case learn.Level:
		return "everything costs " + times(l.Level.Mean) + " the cost table says"
	}
	how := "faster"
	if l.Risen < 0 {
		how = "slower"
	}
	return fmt.Sprintf("prices have risen %s than inflation has it: about %.0f%% a year", how,
		100*math.Expm1(l.Inflation-l.Drift.Written+l.Risen))
}

// codesText says which way grades are off: the way in which they are furthest from what is set, in its own standard
// deviations.
func codesText(l *learn.Learned) string {
	off := func(c learn.Chance) float64 {
		if c.SD == 0 {
			return 0
		}
		return math.Abs(c.Mean-c.Set) / c.SD
	}
	way, of := "one too low", l.Up
	if off(l.Down) > off(l.Up) {
		way, of = "one too high", l.Down
	}
	only := ""
	if of.Mean < of.Set {
		only = "only "
	}
	return fmt.Sprintf("your grades come out %s in %s%.0f of %.0f jobs, where the settings expect %.0f",
		way, only, of.Hits, of.Marks, of.Set*of.Marks)
}

// asListed is how many times as often as the table lists it hidden damage turned up, at the odds that were learned:
// over the rules, each as often as somebody looked.
func asListed(l *learn.Learned) float64 {
	was, is := 0.0, 0.0
	k := math.Exp(l.Omega.Mean)
	for _, r := range l.Rules {
		n := float64(r.Builds)
		was += n * r.Set
		is += n * k * r.Set / (1 - r.Set + k*r.Set)
	}
	if was == 0 {
		return 1
	}
	return is / was
}

func oftener(x float64) string {
	if x < 1 {
		return fmt.Sprintf("only %.1f times as often", x)
	}
	return fmt.Sprintf("%.1f times as often", x)
}

// times says a log factor in words: "about 30% more than".
func times(log float64) string {
	percent := 100 * math.Expm1(log)
	if percent < 0 {
		return fmt.Sprintf("about %.0f%% less than", -percent)
	}
	return fmt.Sprintf("about %.0f%% more than", percent)
}

// diagnosis says what is wrong, or that the builds cannot tell yet.
func diagnosis(l *learn.Learned) string {
	if named := causes(l); len(named) > 0 {
		return "What the builds speak for: " + strings.Join(named, "; ") + "."
	}
	text := "Whether anything is wrong with your grades, costs or hidden damage, the builds cannot tell yet."
	if slices.ContainsFunc(l.Habits, func(h learn.Habit) bool { return h.Fact }) {
		text = "What is behind that, and whether grades or hidden damage are off too, the builds cannot tell yet."
	}
	if len(l.Builds) < manyBuilds {
		text += fmt.Sprintf(" That is usual under %d builds.", manyBuilds)
	}
	return text
}

// habitsText says what may be said of every class, "" where none has a job.
func habitsText(l *learn.Learned, more ...string) string {
	var said []string
	for i := range l.Habits {
		said = append(said, habitWords(&l.Habits[i]))
	}
	said = slices.DeleteFunc(append(said, more...), func(text string) bool { return text == "" })
	if len(said) == 0 {
		return ""
	}
	text := capital(strings.Join(said, "; ")) + "."
	if slices.ContainsFunc(l.Habits, nearMiss) {
		text += " A range that only just leaves out 1.00 is not enough: with several classes looked at together, one of " +
			"them does so by chance often enough."
	}
	return text
}

// nearMiss reports whether a class's own range leaves out 1, and the classes together still don't make it a habit.
func nearMiss(h learn.Habit) bool {
	return h.Jobs > 0 && !h.TooFew && !h.Fact && (h.Low > 1 || h.High < 1) && !(h.Low > 1/1.25 && h.High < 1.25)
}

// habitWords says what may be said of a class: a habit as a fact only where it holds with the other classes looked at
// together (METHOD.md 16.23).
func habitWords(h *learn.Habit) string {
	jobs := h.Class.String() + " jobs"
	switch {
	case h.Jobs == 0:
		return ""
	case h.TooFew:
		return fmt.Sprintf("too few %s to judge (%d)", jobs, h.Jobs)
	}
	evidence := fmt.Sprintf(" (%.2f to %.2f times, %s)", h.Low, h.High, tabular.Count(h.Builds, "build"))
	switch {
	case h.Fact:
		return "your " + jobs + " run " + over(h.Ratio) + evidence
	case h.Low > 1/1.25 && h.High < 1.25:
		return "your " + jobs + " are about right" + evidence
	}
	return "your " + jobs + " could still be right" + evidence
}

// priceFact is the chance of a false fact about sale prices, 1 - its confidence; it is beside the 5 % of the classes.
const priceFact = 0.01

// priceWords says whether sale prices were as expected, "" where there is too little to go by.
func priceWords(b stats.LogRatio) string {
	if b.N == 0 {
		return ""
	}
	if b.Interval == nil || math.Exp(b.Interval.High-b.Interval.Low) > 10 {
		return fmt.Sprintf("too few sale prices to judge (%d)", b.N)
	}
	evidence := fmt.Sprintf(" (%.2f to %.2f times, %s)", math.Exp(b.Interval.Low), math.Exp(b.Interval.High),
		tabular.Count(b.N, "build"))
	switch near := math.Log(1.1); {
	case b.P() < priceFact && math.Abs(b.Mean) >= math.Log(1.03):
		return "your sale prices run " + over(b.Factor()) + evidence
	case b.Interval.Low > -near && b.Interval.High < near:
		return "your sale prices are about right" + evidence
	}
	return "your sale prices could still be right" + evidence
}

// over says a factor in words: "39% over", "25% under".
func over(factor float64) string {
	if factor >= 1.95 {
		return fmt.Sprintf("%.1f times what was expected", factor)
	}
	if factor < 1 {
		return fmt.Sprintf("%.0f%% under", 100*(1-factor))
	}
	return fmt.Sprintf("%.0f%% over", 100*(factor-1))
}

// sumIn writes an amount in the workshop's currency to the nearest ten.
func sumIn(currency string, x float64) string {
	return draw.Money(currency).Value(money.Tens(x))
}

// asideWords says what was not learned from, job by job, and counts jobs without a grade or without a date.
func asideWords(l *learn.Learned, left []string) (out []string) {
	blank := map[learn.Reason]int{}
	for _, a := range l.Aside {
		if a.Reason == learn.NoGrade || a.Reason == learn.NoDate {
			blank[a.Reason]++
			continue
		}
		out = append(out, Clean(build.AsideWords(a)))
	}
	if n := blank[learn.NoDate]; n > 0 {
		out = append([]string{fmt.Sprintf("%s without a date: taken at the prices of the day of costs.csv, so nothing is "+
			"learned from them of how prices rise", tabular.Count(n, "job"))}, out...)
	}
	if n := blank[learn.NoGrade]; n > 0 {
		out = append([]string{fmt.Sprintf("%s without a grade: the grade tells most, fill it in when the job is done",
			tabular.Count(n, "job"))}, out...)
	}
	return append(out, CleanAll(left)...)
}

// classJSON is what the builds say of one class.
func habitOf(h *learn.Habit) classBiasJSON {
	x := classBiasJSON{Class: h.Class.Letter(), Jobs: h.Jobs, TooFew: h.TooFew, Fact: h.Fact, P: share(h.P)}
	x.Builds = h.Builds
	if h.Jobs > 0 && !h.TooFew {
		mean, low, high := share(math.Log(h.Ratio)), share(math.Log(h.Low)), share(math.Log(h.High))
		x.Mean, x.CILow, x.CIHigh = &mean, &low, &high
	}
	return x
}

type causeJSON struct {
	Cause    string  `json:"cause"`
	Weight   float64 `json:"weight"`
	Evidence float64 `json:"log_bayes_factor"`
	Named    bool    `json:"named"`
	Words    string  `json:"words,omitempty"`
}

func causesOf(l *learn.Learned) []causeJSON {
	out := []causeJSON{}
	for _, v := range l.Verdicts {
		x := causeJSON{Cause: v.Cause.String(), Weight: share(v.Weight), Evidence: share(v.Evidence), Named: v.Named}
		if v.Named {
			x.Words = causeText(l, v.Cause)
		}
		out = append(out, x)
	}
	return out
}

type figureJSON struct {
	Figure  string  `json:"figure"`
	Set     float64 `json:"set"`
	Mean    float64 `json:"estimate"`
	SD      float64 `json:"sd"`
	Written float64 `json:"written"`
	Builds  int     `json:"builds"`
}

// figuresOf are the figures that all jobs share. Level, classes, drift and hidden odds are logs.
func figuresOf(l *learn.Learned) []figureJSON {
	mean := func(x [damage.ClassCount]float64) (sum float64) {
		for _, v := range x {
			sum += v / float64(len(x))
		}
		return sum
	}
	out := []figureJSON{
		{"coding_up", l.Up.Set, l.Up.Mean, l.Up.SD, mean(l.CodingUp), l.Up.Builds},
		{"coding_down", l.Down.Set, l.Down.Mean, l.Down.SD, mean(l.CodingDown), l.Down.Builds},
	}
	add := func(name string, f learn.Figure) {
		out = append(out, figureJSON{name, f.Set, f.Mean, f.SD, f.Written, f.Builds})
	}
	add("hidden_odds", l.Omega)
	add("severity_link", l.Rho)
	add("scatter", l.Kappa)
	add("level", l.Level)
	for _, c := range damage.Classes() {
		add(c.String(), l.Classes[c])
	}
	add("drift", l.Drift)
	add("drift_beside_hours", l.Beside)
	for i := range out {
		f := &out[i]
		f.Set, f.Mean, f.SD, f.Written = share(f.Set), share(f.Mean), share(f.SD), share(f.Written)
	}
	return out
}
