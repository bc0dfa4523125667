package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/source"
	"wreckoner/evaluate/tabular"
)

// A Sourcing is a comparison of the ways of getting jobs done.
type Sourcing struct {
	*source.Result
	Rejected []tabular.Problem
	Notices  []string
	Currency string
	Folder   string // of the shop; "" where it is built in
	// Own says that the cost of a day is the user's, not the shop's.
	Own bool
	// Quiet leaves out footnotes.
	Quiet bool
}

// mostPlans is the number of plans of a job that a person is shown at most.
const mostPlans = 12

// Document returns the comparison for a person: for each job the advice in words,
// then the plans, then what would change the advice.
func (s *Sourcing) Document(int) *Document {
	d := &Document{}
	if s.Car != nil {
		s.whole(d)
	}
	for i := range s.Jobs {
		s.job(d, &s.Jobs[i])
	}
	if len(s.Rejected) > 0 {
		d.Say(fmt.Sprintf("%s could not be read and %s left out. The messages say why.", tabular.Count(len(s.Rejected),
			"row"),
			isAre(len(s.Rejected))))
	}
	if !s.Quiet {
		d.Say(s.legend())
	}
	for _, c := range s.cautions() {
		d.Say("Caution, " + strings.Join(c.jobs, ", ") + ": " + c.class.Caution() + " " + onlyMoney)
	}
	d.Say(Caution)
	return d
}

// sum writes an amount with its sign, to the nearest ten pounds.
func (s *Sourcing) sum(x float64) string { return about(s.Currency, x) }

// whole says how the car stands, and which jobs hold it up.
func (s *Sourcing) whole(d *Document) {
	c := s.Car
	text := fmt.Sprintf("On average it costs %s (1 time in 10 more than %s) and takes %s (1 time in 10 more than %s).",
		s.sum(c.Cost.Mean), s.sum(c.Cost.P90), days(c.Days.Mean), dayNumber(c.Days.P90))
	var most, idle []string
	for i := range s.Jobs {
		switch j := &s.Jobs[i]; {
		case j.Timing.Critical >= 0.25:
			most = append(most, Clean(j.Name)+" ("+Percent(j.Timing.Critical)+")")
		case j.Timing.Critical < 0.05:
			idle = append(idle, Clean(j.Name))
		}
	}
	if len(most) > 0 {
		text += " Most likely to hold it up: " + strings.Join(most, ", ") + "."
	}
	if len(idle) > 0 {
		text += " Hardly ever: " + strings.Join(idle, ", ") + ", where slow costs little."
	}
	if c.Left > 0 {
		text += fmt.Sprintf(" The chance that no listed way works for some job is %s; the days then count up to the last "+
			"try.", Percent(c.Left))
	}
	if c.OwnDays > c.Days.Mean {
		text += fmt.Sprintf(" But your hours alone take %s, as the jobs are taken to run side by side. Say in the column "+
			"after what the same hands do one after the other.", days(c.OwnDays))
	}
	d.Blocks = append(d.Blocks, Block{Heading: fmt.Sprintf("The whole car (%s)", unit(s.Currency)), Text: text})
	t := tableOf(wraps("job"), right("days"), right("start"), right("finish"), right("latest\nfinish"),
		right("spare\ndays"), right("holds\nup"), right("a day more\ncosts"), wraps("after"))
	for i := range s.Jobs {
		j := &s.Jobs[i]
		x := j.Timing
		t.Add(Clean(j.Name), dayNumber(j.Best().Days.Mean), dayNumber(x.EarlyStart), dayNumber(x.EarlyFinish),
			dayNumber(x.LateFinish), dayNumber(x.Slack),
			Percent(x.Critical), rate(x.Day), strings.Join(s.after(j), ", "))
	}
	d.Show("Timetable, at the average days of each job", t)
}

// after returns the names of the jobs that a job waits for.
func (s *Sourcing) after(j *source.Comparison) []string {
	var names []string
	for _, k := range j.After {
		names = append(names, Clean(s.Jobs[k].Name))
	}
	return names
}

func (s *Sourcing) job(d *Document, j *source.Comparison) {
	d.Blocks = append(d.Blocks, Block{Heading: fmt.Sprintf("%s (%s)", Clean(j.Name), unit(s.Currency)), Text: s.advice(j)})
	t := tableOf(wraps("plan"), right("average"), right("likely range"), right("1 in 20\nabove"), right("days"),
		right("9 in 10\nwithin"))
	if s.Car != nil {
		t.Columns = append(t.Columns, right("holds\nup"))
	}
	if !j.Certain {
		t.Columns = append(t.Columns, right("left\nwithout"))
	}
	for i := range min(len(j.Plans), mostPlans) {
		p := &j.Plans[i]
		row := []string{strings.Join(s.names(j, p), ", then "), Pounds(p.Cost.Mean), Range(p.Cost.P10, p.Cost.P90),
			Pounds(p.Cost.P95), dayNumber(p.Days.Mean), dayNumber(p.Days.P90)}
		if s.Car != nil {
			row = append(row, dayNumber(p.Held))
		}
		if !j.Certain {
			row = append(row, Percent(p.Left))
		}
		t.Add(row...)
	}
	if j.Of > 1 {
		heading := "Plans, cheapest first"
		if more := j.Of - len(t.Rows); more > 0 {
			heading += fmt.Sprintf("; %s more", money.Group(int64(more)))
		}
		d.Show(heading, t)
	}
	d.Show("What would change it", s.changes(j))
	if text := notes(j, j.Best()); text != "" {
		d.Say("Note on " + Clean(text) + ".")
	}
}

// names returns the names of a plan's options.
func (s *Sourcing) names(j *source.Comparison, p *source.Plan) []string {
	names := make([]string, len(p.Order))
	for i, o := range p.Order {
		names[i] = Clean(j.Options[o].Name)
	}
	return names
}

// advice says in a sentence what to do about a job.
func (s *Sourcing) advice(j *source.Comparison) string {
	p := j.Best()
	names := s.names(j, p)
	text := "Try " + names[0]
	if len(names) == 1 && j.Certain {
		text = "Go straight to " + names[0]
	}
	for i, n := range names[1:] {
		if i == 0 {
			text += "; if it does not fit or work, " + n
		} else {
			text += "; if that fails too, " + n
		}
	}
	if len(j.Options) == 1 {
		text = "The only way listed is " + names[0]
	}
	text += fmt.Sprintf(": %s on average (1 time in 10 more than %s), %s", s.sum(p.Cost.Mean), s.sum(p.Cost.P90),
		days(p.Days.Mean))
	if s.Car != nil {
		text += ", of which " + dayNumber(p.Held) + " hold up the car"
		if p.Held < 0.05 {
			text = strings.TrimSuffix(text, ", of which 0 hold up the car") + ", none of which holds up the car"
		}
	}
	text += "."
	if other := surer(j); other != nil {
		text += fmt.Sprintf(" A close call: %s comes to %s and is surer (1 time in 10 more than %s).",
			strings.Join(s.names(j, other), ", then "), s.sum(other.Cost.Mean), s.sum(other.Cost.P90))
	}
	if !j.Certain {
		text += fmt.Sprintf(" Nothing listed is certain: the chance that none works is %s, and %s is then spent for "+
			"nothing. List a way that is certain before you rely on this.", Percent(p.Left), s.sum(p.LeftCost))
	}
	return text
}

// Bounds of a close call: another plan costs at most so much more on average, and
// its P90 is at most so much of the best one's.
const (
	closeCost = 1.05
	surerP90  = 0.9
)

// surer returns the surest plan that costs little more than the best; nil where
// the best is as sure.
func surer(j *source.Comparison) *source.Plan {
	best := j.Best()
	limit := surerP90 * best.Cost.P90
	var out *source.Plan
	for i := range j.Plans[1:] {
		if p := &j.Plans[1+i]; p.Cost.Mean <= closeCost*best.Cost.Mean && p.Cost.P90 <= limit && p.Left <= best.Left {
			out, limit = p, p.Cost.P90
		}
	}
	return out
}

// notes joins the notes of a plan's options.
func notes(j *source.Comparison, p *source.Plan) string {
	var out []string
	for _, o := range p.Order {
		if x := &j.Options[o]; x.Note != "" {
			out = append(out, x.Name+": "+x.Note)
		}
	}
	return strings.Join(out, "; ")
}

// changes tells the chances and holding costs at which a job's advice changes.
func (s *Sourcing) changes(j *source.Comparison) *Table {
	t := tableOf(wraps("option"), right("works"), right("worth trying"), wraps("going straight to it is best"))
	for _, f := range j.Flips {
		o := &j.Options[f.Option]
		text := "from " + Percent(f.From)
		switch {
		case math.IsNaN(f.From):
			text = "never"
		case f.From < 0.005:
			text = "however unlikely"
		}
		t.Add(Clean(o.Name), Percent(o.Works), text, "")
	}
	for _, x := range j.Straights {
		t.Add(Clean(j.Options[x.Option].Name), "certain", "", s.straight(&x))
	}
	return t
}

// straight says in words at which cost of a day a certain option is best.
func (s *Sourcing) straight(x *source.Straight) string {
	text := ""
	switch {
	case x.Never:
		return "never"
	case x.From == 0 && math.IsInf(x.To, 1):
		return "whatever a day costs"
	case math.IsInf(x.To, 1):
		text = "from " + rate(x.From) + " a day"
	case x.From == 0:
		text = "up to " + rate(x.To) + " a day"
	default:
		text = rate(x.From) + " to " + rate(x.To) + " a day"
	}
	return text + " (now " + rate(s.Holding) + ")"
}

// legend says what the figures mean and where the rates come from.
func (s *Sourcing) legend() string {
	text := fmt.Sprintf("Cost: what you pay and don't get back, your hours at %s, and %s for each day",
		withSign(s.Currency, rate(s.Labour)), withSign(s.Currency, rate(s.Holding)))
	if s.Own {
		text += " (as you gave it)"
	}
	if s.Car == nil {
		text += " of the job. "
		if len(s.Jobs) > 1 {
			text += "No row says what a job comes after, so each is costed as if it alone held up the car. "
		}
	} else {
		text += " by which the job makes the whole car late. " +
			"Spare days: how late it can be before it delays the car. Holds up: the chance that it does; of a plan, the days. "
	}
	text += fmt.Sprintf("A day has %s of your hours. Likely range: 8 times in 10. "+
		"Worth trying: how likely it must be to work. Workshop: %s.",
		dayNumber(s.HoursPerDay), cmp.Or(Clean(s.Folder), "the built-in starter figures"))
	if s.Method == source.Descent {
		text += " With so many combinations the best was searched for job by job, so a better one may have been missed."
	}
	return text
}

// A caution is a class of dangerous work and the jobs whose words speak of it.
type caution struct {
	class damage.Class
	jobs  []string
}

// onlyMoney is said where a choice may be unlawful or unsafe.
const onlyMoney = "The choice above counts money and days only, not what is allowed or safe: cross out anything " +
	"that is not allowed or not safe."

// dangers are words for work that can hurt someone, at the start of a word.
var dangers = []struct {
	class damage.Class
	words *regexp.Regexp
}{
	{damage.Structural, regexp.MustCompile(`(?i)\b(structur|chassis|sills?\b|[abcd][- ]?(pillar|post)|pillar|` +
		`inner wing|strut tower|turret|crash box|crumple|rails?\b|front leg|body ?shell|subframe|weld|jig\b|` +
		`cut and join|sectioned|quarter panel)`)},
	{damage.Restraint, regexp.MustCompile(`(?i)\b(restraint|air[- ]?bag|bag set|pre[- ]?tension|seat[- ]?belt|` +
		`belts?\b|srs|clock ?spring|curtain|crash sensor)`)},
	{damage.Electrical, regexp.MustCompile(`(?i)\b(traction|high[- ]?voltage|hv\b|battery (pack|case|module|tray)|` +
		`drive battery|inverter)`)},
}

// cautions finds the jobs whose name, options or notes speak of such work.
func (s *Sourcing) cautions() []caution {
	var out []caution
	for _, x := range dangers {
		c := caution{class: x.class}
		for i := range s.Jobs {
			j := &s.Jobs[i]
			texts := []string{j.Name}
			for _, o := range j.Options {
				texts = append(texts, o.Name, o.Note)
			}
			if slices.ContainsFunc(texts, func(text string) bool {
				return x.words.MatchString(strings.ReplaceAll(text, "_",
					" "))
			}) {
				c.jobs = append(c.jobs, Clean(j.Name))
			}
		}
		if len(c.jobs) > 0 {
			out = append(out, c)
		}
	}
	return out
}

// days prints a number of days with its word, dayNumber without.
func days(x float64) string {
	if n := dayNumber(x); n != "1" {
		return n + " days"
	}
	return "1 day"
}

func dayNumber(x float64) string {
	if x >= 9.95 {
		return money.Whole(x)
	}
	return Tenths(x)
}

// rate prints an amount per hour or day: to the pound, small ones to the tenth.
func rate(x float64) string { return dayNumber(x) }

// The JSON of a comparison: money in pounds, shares as fractions.
type (
	planCostJSON struct {
		Mean float64 `json:"mean"`
		P10  float64 `json:"p10"`
		P50  float64 `json:"p50"`
		P90  float64 `json:"p90"`
		P95  float64 `json:"p95"`
	}
	planDaysJSON struct {
		Mean float64 `json:"mean"`
		P90  float64 `json:"p90"`
	}
	planJSON struct {
		Plan     []string     `json:"plan"`
		Cost     planCostJSON `json:"cost"`
		Money    float64      `json:"money"`
		Days     planDaysJSON `json:"days"`
		Held     float64      `json:"days_held_up"`
		Left     float64      `json:"left_without"`
		LeftCost *float64     `json:"left_without_cost"`
	}
	wayJSON struct {
		Option string  `json:"option"`
		Works  float64 `json:"works"`
		Days   float64 `json:"lead_days"`
		Note   string  `json:"note,omitempty"`
	}
	flipJSON struct {
		Option string   `json:"option"`
		Works  float64  `json:"works"`
		From   *float64 `json:"worth_trying_from"`
	}
	straightJSON struct {
		Option string   `json:"option"`
		From   *float64 `json:"holding_from"`
		To     *float64 `json:"holding_to"`
		Never  bool     `json:"never"`
	}
	timingJSON struct {
		EarlyStart  float64 `json:"early_start"`
		EarlyFinish float64 `json:"early_finish"`
		LateStart   float64 `json:"late_start"`
		LateFinish  float64 `json:"late_finish"`
		Slack       float64 `json:"slack"`
		Critical    float64 `json:"holds_up_chance"`
		Day         float64 `json:"day_more_costs"`
	}
	jobJSON struct {
		Job       string         `json:"job"`
		After     []string       `json:"after"`
		Advice    string         `json:"advice"`
		Certain   bool           `json:"certain"`
		Options   []wayJSON      `json:"options"`
		Plans     []planJSON     `json:"plans"`
		Of        int            `json:"plans_in_all"`
		Flips     []flipJSON     `json:"worth_trying"`
		Straights []straightJSON `json:"straight"`
		Timing    *timingJSON    `json:"timing"`
	}
	wholeCarJSON struct {
		Cost    planCostJSON `json:"cost"`
		Days    planDaysJSON `json:"days"`
		OwnDays float64      `json:"own_days"`
		Left    float64      `json:"left_without"`
	}
)

func costOf(s source.Spread) planCostJSON {
	return planCostJSON{cents(s.Mean), cents(s.P10), cents(s.P50), cents(s.P90), cents(s.P95)}
}

func (s *Sourcing) planOf(j *source.Comparison, p *source.Plan) planJSON {
	out := planJSON{Plan: s.rawNames(j, p), Cost: costOf(p.Cost), Money: cents(p.Money),
		Days: planDaysJSON{cents(p.Days.Mean), cents(p.Days.P90)}, Held: cents(p.Held), Left: share(p.Left)}
	if p.Left > 0 {
		x := cents(p.LeftCost)
		out.LeftCost = &x
	}
	return out
}

// rawNames returns the names of a plan's options as the file has them.
func (s *Sourcing) rawNames(j *source.Comparison, p *source.Plan) []string {
	names := make([]string, len(p.Order))
	for i, o := range p.Order {
		names[i] = j.Options[o].Name
	}
	return names
}

// finite returns the rounded number, or nil where it is none.
func finite(x float64, round func(float64) float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x = round(x)
	return &x
}

func (s *Sourcing) jobOf(j *source.Comparison) jobJSON {
	out := jobJSON{Job: j.Name, After: []string{}, Advice: s.advice(j), Certain: j.Certain, Of: j.Of, Flips: []flipJSON{},
		Straights: []straightJSON{}}
	for _, k := range j.After {
		out.After = append(out.After, s.Jobs[k].Name)
	}
	for _, o := range j.Options {
		out.Options = append(out.Options, wayJSON{o.Name, share(o.Works), cents(o.LeadDays), o.Note})
	}
	for i := range j.Plans {
		out.Plans = append(out.Plans, s.planOf(j, &j.Plans[i]))
	}
	for _, f := range j.Flips {
		out.Flips = append(out.Flips, flipJSON{j.Options[f.Option].Name, share(j.Options[f.Option].Works),
			finite(f.From, share)})
	}
	for _, x := range j.Straights {
		out.Straights = append(out.Straights, straightJSON{j.Options[x.Option].Name, finite(x.From, cents),
			finite(x.To, cents), x.Never})
	}
	if t := j.Timing; t != nil {
		out.Timing = &timingJSON{cents(t.EarlyStart), cents(t.EarlyFinish), cents(t.LateStart), cents(t.LateFinish),
			cents(t.Slack), share(t.Critical), cents(t.Day)}
	}
	return out
}

// JSON writes the comparison as one object.
func (s *Sourcing) JSON(w io.Writer) error {
	type cautionJSON struct {
		Class string   `json:"class"`
		Jobs  []string `json:"jobs"`
		Text  string   `json:"text"`
	}
	v := struct {
		Currency    string            `json:"currency"`
		LabourRate  float64           `json:"labour_rate"`
		HoursPerDay float64           `json:"hours_per_day"`
		Holding     float64           `json:"holding_per_day"`
		Points      int               `json:"points"`
		Method      string            `json:"method"`
		Exact       bool              `json:"days_exact"`
		Rejected    []tabular.Problem `json:"rejected"`
		Notices     []string          `json:"notices"`
		Car         *wholeCarJSON     `json:"car"`
		Jobs        []jobJSON         `json:"jobs"`
		Cautions    []cautionJSON     `json:"cautions"`
		Caution     string            `json:"caution"`
	}{
		Currency: s.Currency, LabourRate: s.Labour, HoursPerDay: s.HoursPerDay, Holding: s.Holding, Points: source.Points,
		Method: string(s.Method), Exact: s.Exact,
		Rejected: append([]tabular.Problem{}, s.Rejected...), Notices: append([]string{},
			s.Notices...), Jobs: []jobJSON{}, Cautions: []cautionJSON{}, Caution: Caution,
	}
	if c := s.Car; c != nil {
		v.Car = &wholeCarJSON{costOf(c.Cost), planDaysJSON{cents(c.Days.Mean), cents(c.Days.P90)}, cents(c.OwnDays),
			share(c.Left)}
	}
	for i := range s.Jobs {
		v.Jobs = append(v.Jobs, s.jobOf(&s.Jobs[i]))
	}
	for _, c := range s.cautions() {
		v.Cautions = append(v.Cautions, cautionJSON{c.class.String(), c.jobs, c.class.Caution() + " " + onlyMoney})
	}
	return encode(w, v)
}

// Records returns the plans of all jobs as flat rows, the best of each job first.
func (s *Sourcing) Records() *Records {
	r := &Records{Columns: columnsOf("job* rank plan* cost_mean cost_p10 cost_p50 cost_p90 cost_p95 money days_mean " +
		"days_p90 days_held_up left_without left_without_cost plans_in_all slack holds_up_chance day_more_costs " +
		"worth_trying_from* straight_holding* advice* notes*")}
	for i := range s.Jobs {
		j := s.jobOf(&s.Jobs[i])
		for k := range j.Plans {
			cells := map[string]any{"job": j.Job, "rank": k + 1, "plan": strings.Join(j.Plans[k].Plan, " > "),
				"plans_in_all": j.Of, "notes": notes(&s.Jobs[i], &s.Jobs[i].Plans[k])}
			from := []any{&j.Plans[k]}
			if k == 0 { // what is said of the job is said once
				cells["worth_trying_from"], cells["straight_holding"] = flipText(j.Flips), straightText(j.Straights)
				cells["advice"] = j.Advice
				if j.Timing != nil {
					from = append(from, j.Timing)
				}
			}
			r.Add(cells, from...)
		}
	}
	return r
}

func flipText(flips []flipJSON) string {
	var parts []string
	for _, f := range flips {
		from := "never"
		if f.From != nil {
			from = money.Plain(*f.From)
		}
		parts = append(parts, f.Option+": "+from)
	}
	return strings.Join(parts, "; ")
}

func straightText(straights []straightJSON) string {
	var parts []string
	for _, x := range straights {
		text := "never"
		if !x.Never {
			text = money.Plain(*x.From) + " to "
			if x.To != nil {
				text += money.Plain(*x.To)
			} else {
				text += "any"
			}
		}
		parts = append(parts, x.Option+": "+text)
	}
	return strings.Join(parts, "; ")
}
