package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/tabular"
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
	// Unsaid are the jobs of which no row says how they stand, and IfDone is the forecast if they are done; none, and
	// nil, where there are none.
	Unsaid []damage.Spot
	IfDone *reforecast.Forecast
}

// The JSON of a reforecast.
type (
	worthJSON struct {
		Choice string      `json:"choice"`
		Worth  *spreadJSON `json:"worth"`
		Best   float64     `json:"best_chance"`
	}
	lookFirstJSON struct {
		Look  string   `json:"look"`
		Price float64  `json:"price"`
		Worth float64  `json:"worth"`
		Gain  float64  `json:"gain"`
		Clear float64  `json:"clear_chance"`
		Items []string `json:"items"`
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
		Looks        []lookFirstJSON `json:"looks"`
		Flip         *adviceFlipJSON `json:"flip"`
		Advice       string          `json:"advice"`
		Summary      []string        `json:"summary"`
		Notices      []string        `json:"notices"`
	}
)

func (r *Reforecast) json() reforecastJSON {
	f := r.Forecast
	out := reforecastJSON{
		Lot: r.Lot.Number, Build: r.Build, Seed: r.Seed, Points: r.Points, Finished: f.Finished,
		Spent: cents(f.Spent), HoursSpent: cents(f.HoursSpent), Overhead: cents(f.Overhead),
		ToCome: spreadOf(f.ToCome), AtCompletion: spreadOf(f.Now.Repair), AtFreeze: spreadOf(f.Start.Repair),
		HoursToCome: spreadOf(f.HoursToCome), Hours: spreadOf(f.Now.Hours), HoursFreeze: spreadOf(f.Start.Hours),
		OtherToCome: spreadOf(f.OtherToCome), Other: spreadOf(f.Now.Other), OtherFreeze: spreadOf(f.Start.Other),
		Elapsed: cents(f.Elapsed), ElapsedKnown: f.ElapsedKnown, DaysLeft: spreadOf(f.DaysLeft), Days: spreadOf(f.Now.Days),
		DaysFreeze: spreadOf(f.Start.Days),
		Margin:     marginOf(f.Now.Margin), MarginFreeze: marginOf(f.Start.Margin),
		Severity: severityJSON{share(f.Severity.Mean), share(f.Severity.SD), f.Severity.Jobs, f.Severity.Bounds,
			f.Severity.Looks},
		Jobs: []jobLineJSON{}, Choices: []worthJSON{}, Looks: []lookFirstJSON{}, Advice: r.advice(), Summary: r.Words(),
		Notices: []string{},
	}
	for _, l := range f.Jobs {
		out.Jobs = append(out.Jobs, jobLineJSON{
			Zone: l.Zone.String(), Class: l.Class.Letter(), Grade: int(l.Grade), State: string(l.State), Unplanned: l.Unplanned,
			Over: l.Over, Chance: share(l.Chance),
			Spent: cents(l.Spent), Hours: cents(l.Hours), Actual: cents(l.Actual), Expected: spreadOf(l.Start),
			ToCome: spreadOf(l.ToCome),
		})
	}
	for _, c := range f.Choices {
		out.Choices = append(out.Choices, worthJSON{c.Name, spreadOf(c.Worth), share(c.Best)})
	}
	for i := range f.Looks {
		l := &f.Looks[i]
		x := lookFirstJSON{l.Name, cents(l.Price), cents(l.Worth), cents(l.Gain()), share(l.Clear), []string{}}
		for _, item := range l.Items {
			x.Items = append(x.Items, item.String())
		}
		out.Looks = append(out.Looks, x)
	}
	if len(f.Choices) > 0 {
		x := f.Flip
		out.Flip = &adviceFlipJSON{Against: x.Against, Offer: cents(x.Offer)}
		if x.Against != "" {
			out.Flip.Lead, out.Flip.Cost = finite(x.Lead, cents), finite(x.Cost, cents)
			out.Flip.Times, out.Flip.Days, out.Flip.Resale = finite(x.Times, share), finite(x.Days, cents), finite(x.Resale,
				share)
		}
	}
	out.Notices = append(out.Notices, f.Notices...)
	return out
}

// JSON writes the forecast as one object.
func (r *Reforecast) JSON(w io.Writer) error { return encode(w, r.json()) }

// Records returns a row for each figure, job and choice; part says which.
func (r *Reforecast) Records() *Records {
	out := &Records{Columns: columnsOf("build* lot* part name state chance spent hours mean p10 p50 p90 freeze_mean " +
		"freeze_p10 freeze_p50 freeze_p90")}
	j := r.json()
	row := func(part, name, state string, chance, spent, hours any, now, freeze *spreadJSON) {
		out.Add(map[string]any{"build": j.Build, "lot": j.Lot, "part": part, "name": name, "state": state, "chance": chance,
			"spent": spent, "hours": hours}, &struct {
			*spreadJSON
			Freeze *spreadJSON `json:"freeze"`
		}{now, freeze})
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
	for _, l := range j.Looks {
		row("look", l.Look, "", l.Clear, l.Price, nil, &spreadJSON{Mean: l.Gain, P10: l.Gain, P50: l.Gain, P90: l.Gain}, nil)
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

// advice is the choice that is worth most; to look first, where that is worth more than any.
func (r *Reforecast) advice() string {
	switch {
	case r.Forecast.Finished:
		return "sold"
	case len(r.Forecast.Choices) == 0:
		return ""
	}
	if l := r.Forecast.LookFirst(); l != nil {
		return "look first: " + l.Name
	}
	return r.Forecast.Choices[0].Name
}

// sum prints an amount in the shop's currency, to the nearest ten.
func (r *Reforecast) sum(x float64) string { return sumIn(r.Currency, x) }

// likely prints the likely range in a sentence.
func (r *Reforecast) likely(s evaluate.Spread) string {
	return fmt.Sprintf("likely range %s to %s", r.sum(s.P10), r.sum(s.P90))
}

// tenths prints hours to the tenth, without one where it is zero.

func daysText(x float64) string { return fmt.Sprintf("%.0f", x) }

// Words says in words what to do and how the build stands, a paragraph each.
func (r *Reforecast) Words() []string {
	f := r.Forecast
	actual := f.Actual(r.LabourRate)
	if f.Finished {
		return []string{fmt.Sprintf("Sold. The repair came to %s (%s when bought, on average); the margin is %s (%s when "+
			"bought).",
			r.sum(f.Now.Repair.Mean), r.sum(f.Start.Repair.Mean), r.sum(f.Now.Margin.Mean), r.sum(f.Start.Margin.Mean))}
	}
	if len(f.Jobs) > 0 && !r.begun() {
		return append(r.decision(), fmt.Sprintf("No job has been started: the repair stays at the estimate when bought, %s "+
			"on average (%s).", r.sum(f.ToCome.Mean), r.likely(f.ToCome)))
	}
	lines := append(r.decision(),
		fmt.Sprintf("Spent on the repair so far: %s and %s of your hours, %s in all. Still to come: %s on average (%s).",
			r.sum(f.Spent), Tenths(f.HoursSpent), r.sum(actual), r.sum(f.ToCome.Mean), r.likely(f.ToCome)),
		fmt.Sprintf("The repair will come to about %s, %s. Margin: %s (%s when bought); chance of a loss %s.",
			r.sum(f.Now.Repair.Mean), r.against(f.Now.Repair.Mean-f.Start.Repair.Mean), r.sum(f.Now.Margin.Mean),
			r.sum(f.Start.Margin.Mean), Percent(f.Now.Margin.LossChance)))
	lines = append(lines, fmt.Sprintf("About %s days until it is sold and paid (likely range %s to %s).",
		daysText(f.DaysLeft.Mean), daysText(f.DaysLeft.P10), daysText(f.DaysLeft.P90)))
	if text := r.teaches(); text != "" {
		lines = append(lines, text)
	}
	if over := r.over(); over != "" {
		lines = append(lines, over)
	}
	if text := r.unsaid(); text != "" {
		lines = append(lines, text)
	}
	return lines
}

// unsaid says what would be if the jobs were done of which no row says how they stand.
func (r *Reforecast) unsaid() string {
	if r.IfDone == nil {
		return ""
	}
	names := make([]string, len(r.Unsaid))
	for i, s := range r.Unsaid {
		names[i] = s.String()
	}
	done := *r
	done.Forecast = r.IfDone
	return fmt.Sprintf("No state in the ledger, so counted as open: %s. If done: %s still to come, margin %s, chance "+
		"of a "+
		"loss %s; advice: %s.", strings.Join(names, ", "), r.sum(r.IfDone.ToCome.Mean), r.sum(r.IfDone.Now.Margin.Mean),
		Percent(r.IfDone.Now.Margin.LossChance), done.advice())
}

// against says how far the repair is off the estimate when bought.
func (r *Reforecast) against(off float64) string {
	switch text := r.sum(math.Abs(off)); {
	case text == r.sum(0):
		return "as estimated"
	case off > 0:
		return text + " over the estimate"
	default:
		return text + " under the estimate"
	}
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
	how, so := "about as bad as expected", "stay at the estimate"
	switch {
	case s.Mean >= 1:
		how, so = "much worse than expected", "are forecast much dearer"
	case s.Mean >= 0.25:
		how, so = "worse than expected", "are forecast dearer"
	case s.Mean <= -1:
		how, so = "much better than expected", "are forecast much cheaper"
	case s.Mean <= -0.25:
		how, so = "better than expected", "are forecast cheaper"
	}
	var by []string
	for _, x := range []struct {
		n    int
		what string
	}{{s.Jobs, "finished job"}, {s.Bounds, "open job"}, {s.Looks, "check"}} {
		if x.n > 0 {
			by = append(by, tabular.Count(x.n, x.what))
		}
	}
	return fmt.Sprintf("So far this car is %s, judged by %s: the remaining jobs %s.", how, strings.Join(by, ", "), so)
}

// over names the open jobs that have cost more than was expected of the whole.
func (r *Reforecast) over() string {
	var names []string
	for _, l := range r.Forecast.Jobs {
		if l.Over && l.State == reforecast.Open {
			names = append(names, fmt.Sprintf("%s (%s of %s)", jobName(l), r.sum(l.Actual), r.sum(l.Usual)))
		}
	}
	if names == nil {
		return ""
	}
	return "Still open, and dearer already than such a job usually is, money and hours together: " +
		strings.Join(names, ", ") + "."
}

// decision says what to do, and what would change it.
func (r *Reforecast) decision() []string {
	f := r.Forecast
	if len(f.Choices) == 0 {
		return nil
	}
	best := f.Choices[0]
	worth := r.sum(best.Worth.Mean)
	if best.Worth.P10 != best.Worth.P90 {
		worth += " on average (" + r.likely(best.Worth) + ")"
	}
	lines := []string{fmt.Sprintf("Advice: %s. From here, ignoring money already spent, that is worth %s.", best.Name,
		worth)}
	if l := f.LookFirst(); l != nil {
		lines[0] = fmt.Sprintf("Advice: look first. %s (%s): worth %s more, on average, than deciding today. Without it: "+
			"%s, worth %s from here, ignoring money already spent.",
			capital(l.Name), r.sum(l.Price), r.sum(l.Gain()), best.Name, worth)
	}
	x := f.Flip
	if x.Against == "" {
		return append(lines, fmt.Sprintf("Think again if somebody offers more than %s for the car as it stands; --as-is "+
			"and --parts weigh that up.", r.sum(x.Offer)))
	}
	var others []string
	for _, c := range f.Choices[1:] {
		others = append(others, fmt.Sprintf("%s: %s", c.Name, r.sum(c.Worth.Mean)))
	}
	lines = append(lines, fmt.Sprintf("Against that, %s. %s comes out best %.0f times in 100, by %s on average.",
		strings.Join(others, ", "), doing(best.Name), 100*best.Best, r.sum(x.Lead)))
	return append(lines, r.flips(best))
}

// doing names a choice as something that is done.
func doing(choice string) string {
	switch choice {
	case reforecast.AsItStands:
		return "Selling it as it stands"
	case reforecast.ForParts:
		return "Breaking it"
	}
	return "Finishing"
}

// flips says how far off the forecast would have to be.
func (r *Reforecast) flips(best reforecast.Choice) string {
	x := r.Forecast.Flip
	expected := r.Forecast.ToCome.Mean + r.Forecast.OtherToCome.Mean
	if best.Name == reforecast.Finish {
		parts := []string{fmt.Sprintf("what is still to come, tests and extras included, passes %s (%s expected)",
			r.sum(x.Cost), r.sum(expected))}
		if !math.IsNaN(x.Days) {
			parts = append(parts, fmt.Sprintf("it takes %s days longer", daysText(x.Days)))
		}
		last := ""
		if !math.IsNaN(x.Resale) {
			last = fmt.Sprintf(", or it sells for %.0f%% less", 100*x.Resale)
		}
		return "Think again if " + strings.Join(parts, ", ") + last + "."
	}
	dearer := r.sum(-x.Resale * r.Forecast.Now.Resale.Mean)
	if x.Cost <= 0 {
		return fmt.Sprintf("Finishing doesn't pay even if all that is still to come (%s) comes to nothing: the finished "+
			"car has to sell for %s more.", r.sum(expected), dearer)
	}
	return fmt.Sprintf("Finishing only pays if what is still to come, tests and extras included, is less than %s (%s "+
		"expected), or if the finished car sells for %s more.", r.sum(x.Cost), r.sum(expected), dearer)
}

// Document returns the forecast for a person: words first.
func (r *Reforecast) Document(int) *Document {
	f := r.Forecast
	d := &Document{}
	head := fmt.Sprintf("Build %s (lot %s", Clean(r.Build), Clean(r.Lot.Number))
	if car := Clean(r.Lot.Car()); car != "" {
		head += ", " + car
	}
	head += ")"
	switch {
	case f.ElapsedKnown:
		head += fmt.Sprintf(", day %s", daysText(f.Elapsed))
	case f.Elapsed > 0:
		head += fmt.Sprintf(", day %s or later", daysText(f.Elapsed))
	}
	d.Blocks = append(d.Blocks, Block{Heading: head, Text: strings.Join(r.Words(), "\n")})
	r.choices(d)
	r.totals(d)
	r.jobs(d)
	if !r.Quiet && len(f.Notices) > 0 {
		lines := make([]string, len(f.Notices))
		for i, n := range f.Notices {
			lines[i] = "- " + Clean(n)
		}
		d.Blocks = append(d.Blocks, Block{Heading: "How the ledger was read", Text: strings.Join(lines, "\n")})
	}
	if !r.Quiet {
		d.Say("Figures are averages, with the likely range beside them: 8 in 10 end in it. Your hours count at the " +
			"labour rate when bought. Finished jobs count at cost; open jobs at what is still to pay; " +
			"damage checked and not there is dropped.")
	}
	d.Say(Caution)
	return d
}

func (r *Reforecast) choices(d *Document) {
	t := tableOf(left("choice"), right("worth"), right("likely range"), right("best in"))
	if len(r.Forecast.Choices) > 1 {
		for _, c := range r.Forecast.Choices {
			t.Add(c.Name, Pounds(c.Worth.Mean), Range(c.Worth.P10, c.Worth.P90), Percent(c.Best))
		}
	}
	d.Show(fmt.Sprintf("From here, ignoring money already spent (%s)", unit(r.Currency)), t)
	t = tableOf(gives("look first"), right("price"), right("worth"), right("gain"))
	for i := range r.Forecast.Looks {
		if l := &r.Forecast.Looks[i]; l.Gain() > 0 {
			t.Add(Clean(l.Name), fmt.Sprintf("%.0f", l.Price), Pounds(l.Worth), Pounds(l.Gain()))
		}
	}
	d.Show(fmt.Sprintf("What looking first would be worth, over deciding today (%s)", unit(r.Currency)), t)
}

func (r *Reforecast) totals(d *Document) {
	f := r.Forecast
	t := tableOf(left(""), right("when bought,\nlikely range"), right("so far"), right("to come"),
		right("now, in all,\nlikely range"))
	add := func(what string, before, now evaluate.Spread, text func(float64) string, far, left string) {
		t.Add(what, text(before.Mean)+"\n"+text(before.P10)+" to "+text(before.P90), far, left,
			text(now.Mean)+"\n"+text(now.P10)+" to "+text(now.P90))
	}
	hours := func(x float64) string { return fmt.Sprintf("%.0f", x) }
	add("repair", f.Start.Repair, f.Now.Repair, Pounds, Pounds(f.Actual(r.LabourRate)), Pounds(f.ToCome.Mean))
	add("your hours", f.Start.Hours, f.Now.Hours, hours, hours(f.HoursSpent), hours(f.HoursToCome.Mean))
	add("tests and extras", f.Start.Other, f.Now.Other, Pounds, Pounds(f.Overhead), Pounds(f.OtherToCome.Mean))
	far := daysText(f.Elapsed)
	if !f.ElapsedKnown && f.Elapsed > 0 {
		far += "+"
	}
	add("days", f.Start.Days, f.Now.Days, daysText, far, daysText(f.DaysLeft.Mean))
	add("sale price", f.Start.Resale, f.Now.Resale, Pounds, "", "")
	m := func(x evaluate.Margin) evaluate.Spread {
		return evaluate.Spread{Mean: x.Mean, P10: x.P10, P50: x.P50, P90: x.P90}
	}
	add("margin", m(f.Start.Margin), m(f.Now.Margin), Pounds, "", "")
	d.Show(fmt.Sprintf("When bought, and now, on average (%s)", unit(r.Currency)), t)
}

// StateWords says how a job of a build in progress stands.
func StateWords(s reforecast.State) string {
	if s == reforecast.Gone {
		return "checked, not there"
	}
	return string(s)
}

// jobState says how a job stands, and what is doubtful or wrong about it.
func jobState(l reforecast.Line) string {
	state := StateWords(l.State)
	switch {
	case l.Unplanned:
		return state + ", not in the estimate"
	case l.Over && l.State == reforecast.Open:
		return state + ", overspent"
	case l.State == reforecast.Untouched && l.Chance < 1:
		return Percent(l.Chance)
	case l.State == reforecast.Untouched:
		return "to do"
	case l.State == reforecast.Open && l.Chance < 1:
		return state + ", " + Percent(l.Chance)
	}
	return state
}

func (r *Reforecast) jobs(d *Document) {
	t := tableOf(left("job"), wraps("state"), right("when\nbought"), right("likely\nrange"), right("spent"),
		right("hours"), right("to\ncome"), right("likely\nrange"))
	for _, l := range r.Forecast.Jobs {
		before, after, left := "", "", ""
		if !l.Unplanned {
			before = Range(l.Start.P10, l.Start.P90)
		}
		if l.State == reforecast.Open || l.State == reforecast.Untouched {
			after, left = Range(l.ToCome.P10, l.ToCome.P90), Pounds(l.ToCome.Mean)
		}
		spent, hours := "", ""
		if l.State == reforecast.Open || l.State == reforecast.Done || l.Actual != 0 {
			spent, hours = Pounds(l.Spent), Tenths(l.Hours)
		}
		t.Add(jobName(l), jobState(l), Pounds(l.Start.Mean), before, spent, hours, left, after)
	}
	d.Show("Job by job (a % is the chance of a job not yet checked)", t)
}
