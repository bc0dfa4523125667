package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
)

// A Reforecast is what is believed of one build in progress.
type Reforecast struct {
	Build    string
	Lot      *evaluate.Lot
	Forecast *reforecast.Forecast
	// LabourRate that the estimate was frozen with, in pounds an hour.
	LabourRate float64
	Currency   string
	Seed       uint64
	Points     int
	// Quiet leaves out notices and footnotes.
	Quiet bool
}

// The JSON of a reforecast.
type (
	worthJSON struct {
		Choice string      `json:"choice"`
		Worth  *spreadJSON `json:"worth"`
		Best   float64     `json:"best_chance"`
	}
	adviceFlipJSON struct {
		Against string   `json:"against,omitempty"`
		Lead    *float64 `json:"lead"`
		Cost    *float64 `json:"cost_to_come"`
		Times   *float64 `json:"times_to_come"`
		Days    *float64 `json:"days_later"`
		Resale  *float64 `json:"resale_lower"`
		Offer   float64  `json:"offer"`
	}
	jobLineJSON struct {
		Zone      string      `json:"zone"`
		Class     string      `json:"class"`
		Grade     int         `json:"grade"`
		State     string      `json:"state"`
		Unplanned bool        `json:"unplanned"`
		Over      bool        `json:"over"`
		Chance    float64     `json:"chance"`
		Spent     float64     `json:"spent"`
		Hours     float64     `json:"hours"`
		Actual    float64     `json:"actual"`
		Expected  *spreadJSON `json:"expected_at_freeze"`
		ToCome    *spreadJSON `json:"to_come"`
	}
	severityJSON struct {
		Mean   float64 `json:"mean"`
		SD     float64 `json:"sd"`
		Jobs   int     `json:"jobs"`
		Bounds int     `json:"bounds"`
		Looks  int     `json:"looks"`
	}
	reforecastJSON struct {
		Lot          string          `json:"lot"`
		Build        string          `json:"build"`
		Seed         uint64          `json:"seed"`
		Points       int             `json:"points"`
		Finished     bool            `json:"finished"`
		Spent        float64         `json:"spent"`
		HoursSpent   float64         `json:"hours_spent"`
		Overhead     float64         `json:"overhead"`
		ToCome       *spreadJSON     `json:"to_come"`
		AtCompletion *spreadJSON     `json:"at_completion"`
		AtFreeze     *spreadJSON     `json:"expected_at_freeze"`
		HoursToCome  *spreadJSON     `json:"hours_to_come"`
		Hours        *spreadJSON     `json:"hours"`
		HoursFreeze  *spreadJSON     `json:"hours_at_freeze"`
		OtherToCome  *spreadJSON     `json:"other_to_come"`
		Other        *spreadJSON     `json:"other"`
		OtherFreeze  *spreadJSON     `json:"other_at_freeze"`
		Elapsed      float64         `json:"days_elapsed"`
		ElapsedKnown bool            `json:"days_elapsed_known"`
		DaysLeft     *spreadJSON     `json:"days_left"`
		Days         *spreadJSON     `json:"days"`
		DaysFreeze   *spreadJSON     `json:"days_at_freeze"`
		Margin       *marginJSON     `json:"margin"`
		MarginFreeze *marginJSON     `json:"margin_at_freeze"`
		Severity     severityJSON    `json:"severity"`
		Jobs         []jobLineJSON   `json:"jobs"`
		Choices      []worthJSON     `json:"choices"`
		Flip         *adviceFlipJSON `json:"flip"`
		Advice       string          `json:"advice"`
		Summary      []string        `json:"summary"`
		Notices      []string        `json:"notices"`
	}
)

// knownOr returns nil for what cannot be told.
func knownOr(x float64, round func(float64) float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x = round(x)
	return &x
}

func (r *Reforecast) json() reforecastJSON {
	f := r.Forecast
	out := reforecastJSON{
		Lot: r.Lot.Number, Build: r.Build, Seed: r.Seed, Points: r.Points, Finished: f.Finished,
		Spent: cents(f.Spent), HoursSpent: cents(f.HoursSpent), Overhead: cents(f.Overhead),
		ToCome: spreadOf(f.ToCome), AtCompletion: spreadOf(f.Now.Repair), AtFreeze: spreadOf(f.Start.Repair),
		HoursToCome: spreadOf(f.HoursToCome), Hours: spreadOf(f.Now.Hours), HoursFreeze: spreadOf(f.Start.Hours),
		OtherToCome: spreadOf(f.OtherToCome), Other: spreadOf(f.Now.Other), OtherFreeze: spreadOf(f.Start.Other),
		Elapsed: cents(f.Elapsed), ElapsedKnown: f.ElapsedKnown, DaysLeft: spreadOf(f.DaysLeft), Days: spreadOf(f.Now.Days), DaysFreeze: spreadOf(f.Start.Days),
		Margin: marginOf(f.Now.Margin), MarginFreeze: marginOf(f.Start.Margin),
		Severity: severityJSON{share(f.Severity.Mean), share(f.Severity.SD), f.Severity.Jobs, f.Severity.Bounds, f.Severity.Looks},
		Jobs:     []jobLineJSON{}, Choices: []worthJSON{}, Advice: r.advice(), Summary: r.summary(), Notices: []string{},
	}
	for _, l := range f.Jobs {
		out.Jobs = append(out.Jobs, jobLineJSON{
			Zone: l.Zone.String(), Class: l.Class.Letter(), Grade: int(l.Grade), State: string(l.State), Unplanned: l.Unplanned, Over: l.Over, Chance: share(l.Chance),
			Spent: cents(l.Spent), Hours: cents(l.Hours), Actual: cents(l.Actual), Expected: spreadOf(l.Start), ToCome: spreadOf(l.ToCome),
		})
	}
	for _, c := range f.Choices {
		out.Choices = append(out.Choices, worthJSON{c.Name, spreadOf(c.Worth), share(c.Best)})
	}
	if len(f.Choices) > 0 {
		x := f.Flip
		out.Flip = &adviceFlipJSON{Against: x.Against, Offer: cents(x.Offer)}
		if x.Against != "" {
			out.Flip.Lead, out.Flip.Cost = knownOr(x.Lead, cents), knownOr(x.Cost, cents)
			out.Flip.Times, out.Flip.Days, out.Flip.Resale = knownOr(x.Times, share), knownOr(x.Days, cents), knownOr(x.Resale, share)
		}
	}
	out.Notices = append(out.Notices, f.Notices...)
	return out
}

// JSON writes the forecast as one object.
func (r *Reforecast) JSON(w io.Writer) error { return encode(w, r.json()) }

// Records returns a row for each figure, job and choice; part says which.
func (r *Reforecast) Records() *Records {
	out := &Records{Columns: []Field{
		{Name: "build", Text: true}, {Name: "lot", Text: true}, {Name: "part"}, {Name: "name"}, {Name: "state"}, {Name: "chance"}, {Name: "spent"}, {Name: "hours"},
		{Name: "mean"}, {Name: "p10"}, {Name: "p50"}, {Name: "p90"}, {Name: "freeze_mean"}, {Name: "freeze_p10"}, {Name: "freeze_p50"}, {Name: "freeze_p90"},
	}}
	j := r.json()
	spread := func(s *spreadJSON) []any {
		if s == nil {
			return make([]any, 4)
		}
		return []any{s.Mean, s.P10, s.P50, s.P90}
	}
	row := func(part, name, state string, chance, spent, hours any, now, freeze *spreadJSON) {
		cells := append([]any{j.Build, j.Lot, part, name, state, chance, spent, hours}, spread(now)...)
		out.Rows = append(out.Rows, append(cells, spread(freeze)...))
	}
	money := func(m *marginJSON) *spreadJSON { return &spreadJSON{m.Mean, m.P10, m.P50, m.P90} }
	row("total", "repair to come", "", nil, j.Spent, j.HoursSpent, j.ToCome, nil)
	row("total", "repair", "", nil, j.Spent, j.HoursSpent, j.AtCompletion, j.AtFreeze)
	row("total", "own hours", "", nil, nil, j.HoursSpent, j.Hours, j.HoursFreeze)
	row("total", "other to come", "", nil, j.Overhead, nil, j.OtherToCome, nil)
	row("total", "other", "", nil, j.Overhead, nil, j.Other, j.OtherFreeze)
	row("total", "days left", "", nil, nil, nil, j.DaysLeft, nil)
	row("total", "days", "", nil, nil, nil, j.Days, j.DaysFreeze)
	row("total", "margin", "", nil, nil, nil, money(j.Margin), money(j.MarginFreeze))
	for i, l := range r.Forecast.Jobs {
		x := j.Jobs[i]
		row("job", jobName(l), x.State, x.Chance, x.Spent, x.Hours, x.ToCome, x.Expected)
	}
	for _, c := range j.Choices {
		row("choice", c.Choice, "", c.Best, nil, nil, c.Worth, nil)
	}
	return out
}

// jobName prints a job with its grade, where one is known.
func jobName(l reforecast.Line) string {
	if l.Grade == 0 {
		return l.Spot.String()
	}
	return fmt.Sprintf("%s%d", l.Spot, l.Grade)
}

// advice is the choice that is worth most.
func (r *Reforecast) advice() string {
	switch {
	case r.Forecast.Finished:
		return "sold"
	case len(r.Forecast.Choices) == 0:
		return ""
	}
	return r.Forecast.Choices[0].Name
}

// more prints an amount with its sign.
func more(x float64) string {
	if text := Pounds(x); x < 0 || text == "0" {
		return text
	} else {
		return "+" + text
	}
}

// between prints an interval in a sentence.
func between(s evaluate.Spread) string {
	return fmt.Sprintf("8 in 10 between %s and %s", Pounds(s.P10), Pounds(s.P90))
}

// tenths prints hours to the tenth, without one where it is zero.
func tenths(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

func daysText(x float64) string { return fmt.Sprintf("%.0f", x) }

// summary says in words how the build stands and what to do.
func (r *Reforecast) summary() []string {
	f := r.Forecast
	actual := f.Actual(r.LabourRate)
	if f.Finished {
		return []string{fmt.Sprintf("Sold. The repair came to %s, where %s was expected; the margin is %s, where %s was.",
			Pounds(f.Now.Repair.Mean), Pounds(f.Start.Repair.Mean), Pounds(f.Now.Margin.Mean), Pounds(f.Start.Margin.Mean))}
	}
	if len(f.Jobs) > 0 && !r.begun() {
		return append([]string{fmt.Sprintf("No job has been begun: the repair stands where it did at the freeze, %s, %s.", Pounds(f.ToCome.Mean), between(f.ToCome))}, r.decision()...)
	}
	lines := []string{fmt.Sprintf("Spent on the repair so far: %s and %s own hours, %s in all. Still to come: %s, %s.", Pounds(f.Spent), tenths(f.HoursSpent), Pounds(actual), Pounds(f.ToCome.Mean), between(f.ToCome))}
	lines = append(lines, fmt.Sprintf("So the repair comes to %s, where %s was expected at the freeze: %s. The margin is %s, where %s was; the chance of a loss %s.",
		Pounds(f.Now.Repair.Mean), Pounds(f.Start.Repair.Mean), more(f.Now.Repair.Mean-f.Start.Repair.Mean), Pounds(f.Now.Margin.Mean), Pounds(f.Start.Margin.Mean), Percent(f.Now.Margin.LossChance)))
	lines = append(lines, fmt.Sprintf("Days left until the money is there: %s, 8 in 10 between %s and %s.", daysText(f.DaysLeft.Mean), daysText(f.DaysLeft.P10), daysText(f.DaysLeft.P90)))
	if text := r.teaches(); text != "" {
		lines = append(lines, text)
	}
	if over := r.over(); over != "" {
		lines = append(lines, over)
	}
	return append(lines, r.decision()...)
}

// begun reports whether the ledger says anything of a job.
func (r *Reforecast) begun() bool {
	return slices.ContainsFunc(r.Forecast.Jobs, func(l reforecast.Line) bool { return l.State != reforecast.Untouched })
}

// teaches says what was learned of how hard the car was hit.
func (r *Reforecast) teaches() string {
	s := r.Forecast.Severity
	if s.Jobs+s.Bounds+s.Looks == 0 {
		return ""
	}
	how := "as hard a case as was believed"
	switch {
	case s.Mean >= 1:
		how = "a much harder case than was believed"
	case s.Mean >= 0.25:
		how = "a harder case than was believed"
	case s.Mean <= -1:
		how = "a much milder case than was believed"
	case s.Mean <= -0.25:
		how = "a milder case than was believed"
	}
	return fmt.Sprintf("What was seen (%s, %s, %s) says that this car is %s: its severity stands at %+.2f, where 0 is the average car and 1 one in six or worse. The jobs to come are forecast with that.",
		count(s.Jobs, "done job"), count(s.Bounds, "open job"), count(s.Looks, "look"), how, s.Mean)
}

// over names the open jobs that have cost more than was expected of the whole.
func (r *Reforecast) over() string {
	var names []string
	for _, l := range r.Forecast.Jobs {
		if l.Over && l.State == reforecast.Open {
			names = append(names, fmt.Sprintf("%s (%s of %s)", jobName(l), Pounds(l.Actual), Pounds(l.Start.Mean)))
		}
	}
	if names == nil {
		return ""
	}
	return "Overspent and still open: " + strings.Join(names, ", ") + "."
}

// decision says what to do, and what would change it.
func (r *Reforecast) decision() []string {
	f := r.Forecast
	if len(f.Choices) == 0 {
		return nil
	}
	best := f.Choices[0]
	worth := Pounds(best.Worth.Mean)
	if best.Worth.P10 != best.Worth.P90 {
		worth += ", " + between(best.Worth)
	}
	lines := []string{fmt.Sprintf("Advice: %s. From here on, with what is spent left out, that is worth %s.", best.Name, worth)}
	x := f.Flip
	if x.Against == "" {
		return append(lines, fmt.Sprintf("It would change if somebody paid more than %s for the car as it stands; --as-is and --parts weigh that up.", Pounds(x.Offer)))
	}
	var others []string
	for _, c := range f.Choices[1:] {
		others = append(others, fmt.Sprintf("%s: %s", c.Name, Pounds(c.Worth.Mean)))
	}
	lines = append(lines, fmt.Sprintf("Against that, %s. In %s of all outcomes the advice turns out best; on average it leads by %s.", strings.Join(others, ", "), Percent(best.Best), Pounds(x.Lead)))
	return append(lines, r.flips(best))
}

// flips says how far off the forecast would have to be.
func (r *Reforecast) flips(best reforecast.Choice) string {
	x := r.Forecast.Flip
	expected := r.Forecast.ToCome.Mean + r.Forecast.OtherToCome.Mean
	if best.Name == reforecast.Finish {
		parts := []string{fmt.Sprintf("all that is still to be paid came to more than %s instead of %s", Pounds(x.Cost), Pounds(expected))}
		if !math.IsNaN(x.Times) && x.Times < 100 {
			parts[0] += fmt.Sprintf(" (%.1f times)", x.Times)
		}
		if !math.IsNaN(x.Days) {
			parts = append(parts, fmt.Sprintf("it took more than %s days longer", daysText(x.Days)))
		}
		if !math.IsNaN(x.Resale) {
			parts = append(parts, fmt.Sprintf("it sold for more than %.0f %% less", 100*x.Resale))
		}
		return "The advice flips if " + strings.Join(parts, ", or ") + "."
	}
	if x.Cost <= 0 {
		return fmt.Sprintf("Finishing would not pay even if all that is still to be paid, %s, cost nothing: it would take %s more for the finished car.", Pounds(expected), Pounds(-x.Resale*r.Forecast.Now.Resale.Mean))
	}
	return fmt.Sprintf("Finishing would pay if all that is still to be paid came to less than %s instead of %s, or if the finished car brought %s more.", Pounds(x.Cost), Pounds(expected), Pounds(-x.Resale*r.Forecast.Now.Resale.Mean))
}

// Document returns the forecast for a person: words first.
func (r *Reforecast) Document(int) *Document {
	f := r.Forecast
	d := &Document{}
	head := fmt.Sprintf("Build %s (lot %s", clean(r.Build), clean(r.Lot.Number))
	if car := clean(r.Lot.Car()); car != "" {
		head += ", " + car
	}
	head += ")"
	switch {
	case f.ElapsedKnown:
		head += fmt.Sprintf(", day %s", daysText(f.Elapsed))
	case f.Elapsed > 0:
		head += fmt.Sprintf(", day %s or later", daysText(f.Elapsed))
	}
	d.Blocks = append(d.Blocks, Block{Heading: head, Text: strings.Join(r.summary(), "\n")})
	r.choices(d)
	r.totals(d)
	r.jobs(d)
	if !r.Quiet && len(f.Notices) > 0 {
		lines := make([]string, len(f.Notices))
		for i, n := range f.Notices {
			lines[i] = "- " + clean(n)
		}
		d.Blocks = append(d.Blocks, Block{Heading: "How the ledger was read", Text: strings.Join(lines, "\n")})
	}
	if !r.Quiet {
		d.Say("Every figure is a mean, with the range of 8 in 10 outcomes by it. Own hours count at the frozen labour rate. Done jobs count at what they cost; open ones, given that they cost at least what they have; " +
			"what was looked for and is not there drops out.")
	}
	d.Say(Caution)
	return d
}

func (r *Reforecast) choices(d *Document) {
	t := &Table{Columns: []Column{{Head: "choice"}, {Head: "worth", Right: true}, {Head: "8 in 10", Right: true}, {Head: "best in", Right: true}}}
	if len(r.Forecast.Choices) > 1 {
		for _, c := range r.Forecast.Choices {
			t.Add(c.Name, Pounds(c.Worth.Mean), Range(c.Worth.P10, c.Worth.P90), Percent(c.Best))
		}
	}
	d.Show(fmt.Sprintf("From here on, what is spent left out (%s)", r.Currency), t)
}

func (r *Reforecast) totals(d *Document) {
	f := r.Forecast
	t := &Table{Columns: []Column{{Head: ""}, {Head: "at the freeze\n8 in 10", Right: true}, {Head: "so far", Right: true}, {Head: "to come", Right: true}, {Head: "now, in all\n8 in 10", Right: true}}}
	add := func(what string, before, now evaluate.Spread, text func(float64) string, far, left string) {
		t.Add(what, text(before.Mean)+"\n"+text(before.P10)+" to "+text(before.P90), far, left, text(now.Mean)+"\n"+text(now.P10)+" to "+text(now.P90))
	}
	hours := func(x float64) string { return fmt.Sprintf("%.0f", x) }
	add("repair", f.Start.Repair, f.Now.Repair, Pounds, Pounds(f.Actual(r.LabourRate)), Pounds(f.ToCome.Mean))
	add("own hours", f.Start.Hours, f.Now.Hours, hours, hours(f.HoursSpent), hours(f.HoursToCome.Mean))
	add("other", f.Start.Other, f.Now.Other, Pounds, Pounds(f.Overhead), Pounds(f.OtherToCome.Mean))
	far := daysText(f.Elapsed)
	if !f.ElapsedKnown && f.Elapsed > 0 {
		far += "+"
	}
	add("days", f.Start.Days, f.Now.Days, daysText, far, daysText(f.DaysLeft.Mean))
	add("resale", f.Start.Resale, f.Now.Resale, Pounds, "", "")
	m := func(x evaluate.Margin) evaluate.Spread {
		return evaluate.Spread{Mean: x.Mean, P10: x.P10, P50: x.P50, P90: x.P90}
	}
	add("margin", m(f.Start.Margin), m(f.Now.Margin), Pounds, "", "")
	d.Show(fmt.Sprintf("Believed at the freeze and now (%s)", r.Currency), t)
}

func (r *Reforecast) jobs(d *Document) {
	t := &Table{Columns: []Column{{Head: "job"}, {Head: "stands", Wraps: true}, {Head: "expected", Right: true}, {Head: "8 in 10", Right: true}, {Head: "spent", Right: true}, {Head: "hours", Right: true}, {Head: "to come", Right: true}, {Head: "8 in 10", Right: true}}}
	for _, l := range r.Forecast.Jobs {
		state := string(l.State)
		switch {
		case l.Unplanned:
			state += ", unplanned"
		case l.Over && l.State == reforecast.Open:
			state += ", overspent"
		case l.State == reforecast.Untouched && l.Chance < 1:
			state = Percent(l.Chance)
		case l.State == reforecast.Untouched:
			state = "to do"
		case l.State == reforecast.Open && l.Chance < 1:
			state += ", " + Percent(l.Chance)
		}
		before, after, left := "", "", ""
		if !l.Unplanned {
			before = Range(l.Start.P10, l.Start.P90)
		}
		if l.State == reforecast.Open || l.State == reforecast.Untouched {
			after, left = Range(l.ToCome.P10, l.ToCome.P90), Pounds(l.ToCome.Mean)
		}
		spent, hours := "", ""
		if l.State == reforecast.Open || l.State == reforecast.Done || l.Actual != 0 {
			spent, hours = Pounds(l.Spent), tenths(l.Hours)
		}
		t.Add(jobName(l), state, Pounds(l.Start.Mean), before, spent, hours, left, after)
	}
	d.Show("Job by job; a job at a percentage has not been looked at yet", t)
}
