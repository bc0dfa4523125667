package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// A Review is finished builds beside what was believed of them.
type Review struct {
	Outcomes []*build.Outcome
	// Calibration is nil where no build is finished.
	Calibration *build.Calibration
	// Winning is what the builds tell of promised margins; nil where none was bought with evidence.
	Winning *build.Winning
	// Aside are the builds that could not be reviewed.
	Aside []Aside
	// Unplaced is the number of rows of the ledger that could not be read and may be
	// any build's.
	Unplaced int
	Currency string
	// Details shows every build's lines and walk, even where there are several.
	Details bool
	Quiet   bool
}

// An Aside is a build that could not be reviewed, and why.
type Aside struct{ Build, Lot, Reason string }

type (
	strideJSON struct {
		Step     string  `json:"step"`
		Amount   float64 `json:"amount"`
		Expected float64 `json:"expected"`
		Actual   float64 `json:"actual"`
	}
	lineJSON struct {
		Zone      string      `json:"zone"`
		Class     string      `json:"class"`
		Chance    float64     `json:"chance"`
		Estimate  *spreadJSON `json:"estimate"`
		Actual    float64     `json:"actual"`
		Outside   bool        `json:"outside"`
		Unplanned bool        `json:"unplanned"`
		Absent    bool        `json:"absent"`
	}
	outcomeBuildJSON struct {
		Build            string       `json:"build"`
		Lot              string       `json:"lot"`
		Sold             string       `json:"sold,omitempty"`
		Estimate         spreadJSON   `json:"estimate"`
		Actual           float64      `json:"actual"`
		Percentile       float64      `json:"percentile"`
		MarginExpected   float64      `json:"margin_expected"`
		MarginActual     float64      `json:"margin_actual"`
		MarginPercentile float64      `json:"margin_percentile"`
		Days             *float64     `json:"days"`
		Walk             []strideJSON `json:"walk"`
		Lines            []lineJSON   `json:"lines"`
		Notes            []string     `json:"notes"`
	}
	coverageJSON struct {
		Level  float64 `json:"level"`
		Inside int     `json:"inside"`
		Share  float64 `json:"share"`
		CILow  float64 `json:"ci_low"`
		CIHigh float64 `json:"ci_high"`
	}
	biasJSON struct {
		Builds int      `json:"builds"`
		Mean   *float64 `json:"mean"`
		CILow  *float64 `json:"ci_low"`
		CIHigh *float64 `json:"ci_high"`
	}
	classBiasJSON struct {
		Class string `json:"class"`
		biasJSON
		Jobs   int     `json:"jobs"`
		TooFew bool    `json:"too_few"`
		Fact   bool    `json:"fact"`
		P      float64 `json:"p"`
	}
	rivalJSON struct {
		Rival  string   `json:"rival"`
		Builds int      `json:"builds"`
		CRPS   float64  `json:"crps"`
		Ours   float64  `json:"ours"`
		Skill  *float64 `json:"skill"`
	}
	uniformJSON struct {
		P      float64 `json:"p"`
		Bias   float64 `json:"bias_p"`
		Mean   float64 `json:"mean_score"`
		Spread float64 `json:"spread_p"`
		Ratio  float64 `json:"spread_ratio"`
	}
	calibrationJSON struct {
		Builds     int             `json:"builds"`
		Stopped    int             `json:"stopped"`
		Coverage   []coverageJSON  `json:"coverage"`
		LogBias    biasJSON        `json:"log_bias"`
		Classes    []classBiasJSON `json:"classes"`
		Price      biasJSON        `json:"sale_price"`
		Uniformity uniformJSON     `json:"uniformity"`
		CRPS       float64         `json:"crps"`
		Pinball    float64         `json:"pinball"`
		Sharpness  float64         `json:"sharpness"`
		Rivals     []rivalJSON     `json:"rivals"`
		Margins    marginsJSON     `json:"margins"`
		Causes     []causeJSON     `json:"causes"`
		Figures    []figureJSON    `json:"figures"`
		Left       []string        `json:"left"`
	}
	asideJSON struct {
		Build  string `json:"build"`
		Lot    string `json:"lot"`
		Reason string `json:"reason"`
	}
)

func forecastOf(f *build.Forecast) *spreadJSON {
	return &spreadJSON{cents(f.Mean), cents(f.P10), cents(f.P50), cents(f.P90)}
}

func biasOf(r stats.LogRatio) biasJSON {
	b := biasJSON{Builds: r.N}
	if r.N > 0 {
		x := share(r.Mean)
		b.Mean = &x
	}
	if r.Interval != nil {
		low, high := share(r.Interval.Low), share(r.Interval.High)
		b.CILow, b.CIHigh = &low, &high
	}
	return b
}

func outcomeJSONOf(o *build.Outcome) outcomeBuildJSON {
	out := outcomeBuildJSON{
		Build: o.Build.Name, Lot: o.Frozen.Kept.Lot, Estimate: *forecastOf(&o.Frozen.Predicted.Repair),
		Actual: o.Actual.Pounds(), Percentile: share(o.Percentile),
		MarginExpected: o.MarginExpected.Pounds(), MarginActual: o.MarginActual.Pounds(),
		MarginPercentile: share(o.MarginPercentile),
		Walk:             []strideJSON{}, Lines: []lineJSON{}, Notes: append([]string{}, o.Notes...),
	}
	if !o.Build.Sold.IsZero() {
		out.Sold = o.Build.Sold.Format("2006-01-02")
	}
	if o.DaysKnown {
		out.Days = &o.Days
	}
	for _, s := range o.Walk {
		out.Walk = append(out.Walk, strideJSON{s.Name, s.Difference().Pounds(), s.Expected.Pounds(), s.Actual.Pounds()})
	}
	for _, l := range o.Lines {
		x := lineJSON{Zone: l.Spot.Zone.String(), Class: l.Spot.Class.Letter(), Actual: l.Actual.Pounds(),
			Outside: l.Outside, Unplanned: l.Where == build.Unplanned, Absent: l.Where == build.Absent}
		if l.Forecast != nil {
			x.Chance, x.Estimate = l.Forecast.Chance, forecastOf(&l.Forecast.Forecast)
		}
		out.Lines = append(out.Lines, x)
	}
	return out
}

func calibrationOf(c *build.Calibration) *calibrationJSON {
	if c == nil {
		return nil
	}
	u := c.Uniformity
	out := &calibrationJSON{
		Builds: c.Builds, Stopped: c.Stopped, Coverage: []coverageJSON{}, LogBias: biasOf(c.Bias), Classes: []classBiasJSON{},
		Price:      biasOf(c.Price),
		Uniformity: uniformJSON{share(u.P), share(u.Bias), share(u.Mean), share(u.Spread), share(u.Ratio)},
		CRPS:       cents(c.CRPS), Pinball: cents(c.Pinball), Sharpness: share(c.Sharpness), Rivals: []rivalJSON{},
		Margins: marginsJSON{*promiseOf(&c.Margins.AsCoded), promiseOf(c.Margins.Corrected)},
		Causes:  causesOf(c.Account.Learned), Figures: figuresOf(c.Account.Learned),
		Left: append([]string{}, asideWords(c.Account.Learned, c.Account.Left)...),
	}
	for _, x := range c.Coverage {
		out.Coverage = append(out.Coverage, coverageJSON{x.Level, x.Inside, share(x.Share), share(x.Low), share(x.High)})
	}
	for i := range c.Account.Habits {
		out.Classes = append(out.Classes, habitOf(&c.Account.Habits[i]))
	}
	for _, r := range c.Rivals {
		x := rivalJSON{Rival: r.Name, Builds: r.Builds, CRPS: cents(r.CRPS), Ours: cents(r.Ours)}
		if r.Known {
			skill := share(r.Skill)
			x.Skill = &skill
		}
		out.Rivals = append(out.Rivals, x)
	}
	return out
}

// JSON writes the review as one object.
func (r *Review) JSON(w io.Writer) error {
	out := struct {
		Builds      []outcomeBuildJSON `json:"builds"`
		Aside       []asideJSON        `json:"aside"`
		Unplaced    int                `json:"unplaced"`
		Summary     []string           `json:"summary"`
		Calibration *calibrationJSON   `json:"calibration"`
	}{[]outcomeBuildJSON{}, []asideJSON{}, r.Unplaced, r.Words(), calibrationOf(r.Calibration)}
	for _, o := range r.Outcomes {
		out.Builds = append(out.Builds, outcomeJSONOf(o))
	}
	for _, a := range r.Aside {
		out.Aside = append(out.Aside, asideJSON(a))
	}
	return encode(w, out)
}

// Records returns a row for every build, line, step and figure; part says which.
func (r *Review) Records() *Records {
	out := &Records{Columns: columnsOf("part build* lot* name* estimate_mean p10 p50 p90 actual percentile outside where " +
		"expected difference n figure ci_low ci_high note*")}
	add := func(part, oneBuild, lot, name string, cells map[string]any) {
		cells["part"], cells["build"], cells["lot"], cells["name"] = part, oneBuild, lot, name
		out.Add(cells)
	}
	for _, o := range r.Outcomes {
		j := outcomeJSONOf(o)
		estimate := func(e *spreadJSON, cells map[string]any) map[string]any {
			if e != nil {
				cells["estimate_mean"], cells["p10"], cells["p50"], cells["p90"] = e.Mean, e.P10, e.P50, e.P90
			}
			return cells
		}
		add("build", j.Build, j.Lot, "repair", estimate(&j.Estimate, map[string]any{"actual": j.Actual,
			"percentile": j.Percentile, "note": strings.Join(j.Notes, "; ")}))
		for i, l := range o.Lines {
			add("line", j.Build, j.Lot, l.Spot.String(), estimate(j.Lines[i].Estimate,
				map[string]any{"actual": j.Lines[i].Actual, "outside": tabular.YesNo(l.Outside), "where": string(l.Where)}))
		}
		for _, s := range j.Walk {
			add("walk", j.Build, j.Lot, s.Step, map[string]any{"expected": s.Expected, "actual": s.Actual,
				"difference": s.Amount})
		}
		add("walk", j.Build, j.Lot, "margin", map[string]any{"expected": j.MarginExpected, "actual": j.MarginActual,
			"difference": (o.MarginActual - o.MarginExpected).Pounds(), "percentile": j.MarginPercentile})
	}
	for _, a := range r.Aside {
		add("aside", a.Build, a.Lot, "", map[string]any{"note": a.Reason})
	}
	if c := calibrationOf(r.Calibration); c != nil {
		for _, x := range c.Coverage {
			add("coverage", "", "", fmt.Sprintf("%g", x.Level), map[string]any{"n": x.Inside, "figure": x.Share,
				"ci_low": x.CILow, "ci_high": x.CIHigh})
		}
		bias := func(name string, b biasJSON) {
			add("log_bias", "", "", name, map[string]any{"n": b.Builds, "figure": orNil(b.Mean), "ci_low": orNil(b.CILow),
				"ci_high": orNil(b.CIHigh)})
		}
		bias("repair", c.LogBias)
		for i, x := range c.Classes {
			bias(r.Calibration.Account.Habits[i].Class.String(), x.biasJSON)
		}
		bias("sale price", c.Price)
		for _, x := range []struct {
			name   string
			figure float64
		}{{"crps", c.CRPS}, {"pinball", c.Pinball}, {"sharpness", c.Sharpness}, {"uniformity p", c.Uniformity.P}} {
			add("score", "", "", x.name, map[string]any{"n": c.Builds, "figure": x.figure})
		}
		for _, x := range c.Rivals {
			add("rival crps", "", "", x.Rival, map[string]any{"n": x.Builds, "figure": x.CRPS, "expected": x.Ours})
		}
		for _, x := range []struct {
			name string
			p    *promiseJSON
		}{{"as coded", &c.Margins.promiseJSON}, {"corrected", c.Margins.Corrected}} {
			promiseRecords(add, x.name, x.p)
		}
		for _, x := range c.Causes {
			add("cause", "", "", x.Cause, map[string]any{"figure": x.Weight, "where": map[bool]string{true: "named",
				false: ""}[x.Named], "note": x.Words})
		}
	}
	return out
}

// Document returns the review for a person: words first.
func (r *Review) Document(int) *Document {
	d := &Document{}
	for _, line := range r.Words() {
		d.Say(line)
	}
	if len(r.Outcomes) > 1 {
		d.Show(fmt.Sprintf("Repair and margin, estimate against actual (%s)", unit(r.Currency)), r.table())
	}
	if len(r.Outcomes) == 1 || r.Details {
		for _, o := range r.Outcomes {
			r.build(d, o)
		}
	}
	aside := tableOf(gives("build"), wraps("why"))
	for _, a := range r.Aside {
		aside.Add(Clean(a.Build), Clean(a.Reason))
	}
	d.Show("Not reviewed", aside)
	if r.Unplaced > 0 {
		d.Say(fmt.Sprintf("%s of the ledger could not be read, so some build is missing them. See the messages.",
			tabular.Count(r.Unplaced, "row")))
	}
	if r.Calibration != nil && len(r.Outcomes) > 1 {
		r.calibration(d)
	} else if text := winningWords(r.Winning); r.Details && text != "" {
		d.Say(text)
	}
	return d
}

func (r *Review) table() *Table {
	t := tableOf(gives("build"), right("repair\nlikely range"), right("it cost\nrank"), right("margin\npromised"),
		right("made\nrank"), wraps("surprises"))
	for _, o := range r.Outcomes {
		p := &o.Frozen.Predicted.Repair
		t.Add(Clean(o.Build.Name)+"\n"+Clean(o.Frozen.Kept.Lot), Pounds(p.P50)+"\n"+Range(p.P10, p.P90),
			Pounds(o.Actual.Pounds())+"\n"+RankWords(o.Percentile),
			Pounds(o.MarginExpected.Pounds()), Pounds(o.MarginActual.Pounds())+"\n"+RankWords(o.MarginPercentile),
			strings.Join(surprises(o), ", "))
	}
	return t
}

// RankWords writes a percentile: P63 is dearer than 63 worlds of a hundred.
func RankWords(p float64) string {
	return fmt.Sprintf("P%d", min(99, max(1, int(math.Round(100*p)))))
}

// WhereWords says in words how an actual lies to its estimate.
func WhereWords(w build.Where) string {
	switch w {
	case build.Absent:
		return "not needed"
	case build.Unplanned:
		return "not in the estimate"
	}
	return string(w)
}

func surprises(o *build.Outcome) []string {
	var out []string
	for _, l := range o.Lines {
		switch l.Where {
		case build.Absent, build.Unplanned:
			out = append(out, l.Spot.String()+" "+WhereWords(l.Where))
		case build.Above:
			out = append(out, l.Spot.String()+" above")
		case build.Below:
			out = append(out, l.Spot.String()+" below")
		}
	}
	return out
}

// build shows the lines and the walk of one build.
func (r *Review) build(d *Document, o *build.Outcome) {
	t := tableOf(gives("zone, class"), right("chance"), right("average"), right("likely range"), right("it cost"),
		left(""))
	for _, l := range o.Lines {
		name := l.Spot.Zone.String() + ", " + l.Spot.Class.String()
		switch f := l.Forecast; {
		case f == nil:
			t.Add(name, "", "", "", Pounds(l.Actual.Pounds()), WhereWords(l.Where))
		case f.P90 == 0 && l.Actual == 0:
			continue // a small chance of something that was not there
		default:
			t.Add(name, Percent(f.Chance), Pounds(f.Mean), Range(f.P10, f.P90), Pounds(l.Actual.Pounds()), WhereWords(l.Where))
		}
	}
	p := &o.Frozen.Predicted.Repair
	t.Add("= repair", "", Pounds(p.Mean), Range(p.P10, p.P90), Pounds(o.Actual.Pounds()), RankWords(o.Percentile))
	d.Show(fmt.Sprintf("%s (lot %s): where the repair money went", Clean(o.Build.Name), Clean(o.Frozen.Kept.Lot)), t)
	walk := tableOf(gives(""), right("expected"), right("actual"), right("margin"))
	walk.Add("margin expected", "", "", o.MarginExpected.String())
	for _, s := range o.Walk {
		walk.Add("  "+s.Name, s.Expected.String(), s.Actual.String(), signed(s.Difference()))
	}
	walk.Add("= margin", o.MarginExpected.String(), o.MarginActual.String(), o.MarginActual.String())
	d.Show("From the expected margin to the actual one", walk)
	for _, note := range o.Notes {
		d.Say(Clean(o.Build.Name) + ": " + Clean(note) + ".")
	}
}

func signed(p money.Pence) string {
	if p > 0 {
		return "+" + p.String()
	}
	return p.String()
}

func (r *Review) calibration(d *Document) {
	c := r.Calibration
	t := tableOf(left("range"), right("inside"), right("share"), right("long run (95%)"))
	for _, x := range c.Coverage {
		t.Add(Percent(x.Level), fmt.Sprintf("%d of %d", x.Inside, x.N), Percent(x.Share),
			Percent(x.Low)+" to "+Percent(x.High))
	}
	d.Show("How often the repair came out within its range", t)
	t = tableOf(left(""), right("builds"), right("times the estimate"), right("long run (95%)"), left(""))
	for i := range c.Account.Habits {
		h := &c.Account.Habits[i]
		switch {
		case h.Jobs == 0:
		case h.TooFew:
			t.Add(h.Class.String(), fmt.Sprint(h.Builds), "", "", "too few to judge")
		default:
			t.Add(h.Class.String(), fmt.Sprint(h.Builds), fmt.Sprintf("%.2f", h.Ratio), fmt.Sprintf("%.2f to %.2f", h.Low,
				h.High), map[bool]string{true: "a habit", false: "could still be right"}[h.Fact])
		}
	}
	bias := func(name string, b stats.LogRatio) {
		switch {
		case b.N == 0:
		case b.Interval == nil || math.Exp(b.Interval.High-b.Interval.Low) > 10:
			t.Add(name, fmt.Sprint(b.N), "", "", "too few to judge")
		default:
			t.Add(name, fmt.Sprint(b.N), fmt.Sprintf("%.2f", b.Factor()), fmt.Sprintf("%.2f to %.2f", math.Exp(b.Interval.Low),
				math.Exp(b.Interval.High)), "")
		}
	}
	bias("whole repair", c.Bias)
	bias("sale price", c.Price)
	d.Show("How far off you usually are (1.00 = spot on)", t)
	if r.Details {
		r.scores(d)
	}
	if left := asideWords(c.Account.Learned, c.Account.Left); len(left) > 0 {
		d.Say("Not counted in what is said of grades, costs and hidden damage:\n" + strings.Join(left, "\n"))
	}
	if !r.Quiet {
		d.Say("Rank P63: dearer than 63 in 100 such cars by its own estimate. A class is compared job by job with its " +
			"row of the cost table, given what was found.")
	}
}

// scores shows what statisticians read.
func (r *Review) scores(d *Document) {
	c := r.Calibration
	d.Show(fmt.Sprintf("Margins, promised against made (%s), each range 95 times in 100", unit(r.Currency)), r.promises())
	if text := winningWords(r.Winning); text != "" {
		d.Say(text)
	}
	t := tableOf(gives("forecast"), right("builds"), right("CRPS"), right("ours"), right("ours is better by"))
	for _, x := range c.Rivals {
		if x.Builds == 0 {
			continue
		}
		better := ""
		if x.Known {
			better = fmt.Sprintf("%.0f%%", 100*x.Skill)
		}
		t.Add(x.Name, fmt.Sprint(x.Builds), Pounds(x.CRPS), Pounds(x.Ours), better)
	}
	d.Show(fmt.Sprintf("Mean score (CRPS, %s) against rough guesses, on the builds of which they could say something",
		r.Currency), t)
	d.Say(fmt.Sprintf("CRPS of all builds: %s. Pinball loss at P10, P25, P50, P75, P90: %s. Sharpness, the mean width "+
		"from P10 up to P90, over P50: %.2f. "+
		"PIT uniform: P = %.2f (too high or low on the whole: %.2f; too narrow or wide: %.2f, %.2f times as wide as said).",
		Pounds(c.CRPS), Pounds(c.Pinball), c.Sharpness, c.Uniformity.P, c.Uniformity.Bias, c.Uniformity.Spread,
		c.Uniformity.Ratio))
}

// winningWords says what the top-bidder allowance is.
func winningWords(w *build.Winning) string {
	if w == nil {
		return ""
	}
	i := w.Intervals(0.95)
	text := fmt.Sprintf("Top-bidder allowance, learned from %s; each figure with the range it is in 95 times in 100: "+
		"A %s (%s to %s), B %.2f (%.2f to %.2f), r %.2f (%.2f to %.2f)",
		tabular.Count(w.Builds,
			"car"), Pounds(w.A), Pounds(i[0][0]), Pounds(i[0][1]), w.B, i[1][0], i[1][1], w.R, i[2][0], i[2][1])
	if w.Builds < build.EnoughBuilds {
		return text + fmt.Sprintf(": too few to tell under %d builds.", build.EnoughBuilds)
	}
	return text + "."
}

// Words says in words what the builds come to, a paragraph each.
func (r *Review) Words() []string {
	var out []string
	for _, o := range r.Outcomes {
		if len(r.Outcomes) == 1 {
			out = append(out, OutcomeWords(o, r.Currency))
		}
	}
	c := r.Calibration
	switch {
	case c == nil:
		if len(r.Outcomes) > 0 { // all given up
			return out
		}
		return append(out, "No build of these is finished: there is nothing to review yet.")
	case c.Builds == 1:
		return out
	}
	out = append(append(out, r.margins()...), r.honest())
	if text := habitsText(c.Account.Learned, priceWords(c.Price)); text != "" {
		out = append(out, text)
	}
	return append(out, diagnosis(c.Account.Learned))
}

// leastScored is the number of builds on which the estimates must have been compared with a rough guess before a word
// is said of it.
const leastScored = 5

// honest says whether the ranges can be believed.
func (r *Review) honest() string {
	c := r.Calibration
	eighty := c.Coverage[1]
	text := fmt.Sprintf("%d of %d repairs landed in their likely range, which 8 in 10 should", eighty.Inside, eighty.N)
	if c.Stopped > 0 {
		text += fmt.Sprintf(" (%d more were given up after the strip and say nothing of that)", c.Stopped)
	}
	u := c.Uniformity
	const odd = 0.05
	switch {
	case c.Builds < build.Few:
		text += fmt.Sprintf(". Under %d builds it is too soon to say more of the ranges", build.Few)
	case u.P >= odd:
		text += ": as far as these builds can tell, the ranges are honest"
	case u.Bias < odd && u.Mean > 0:
		text += ": on the whole things come out dearer than was said"
	case u.Bias < odd:
		text += ": on the whole things come out cheaper than was said"
	case u.Ratio > 1:
		text += ": the ranges are too narrow"
	default:
		text += ": the ranges are too wide"
	}
	beaten, scored := 0, 0
	for _, x := range c.Rivals {
		if x.Builds < leastScored {
			continue
		}
		scored++
		if x.Ours < x.CRPS {
			beaten++
		}
	}
	switch {
	case scored < len(c.Rivals):
		return text + "."
	case beaten == scored:
		return text + ". The estimates are worth listening to: they beat both rough guesses."
	case beaten == 0:
		return text + ". Both rough guesses did better than the estimates."
	}
	return text + ". One of the two rough guesses did better than the estimates."
}

// OutcomeWords says what became of one build.
func OutcomeWords(o *build.Outcome, currency string) string {
	p := &o.Frozen.Predicted.Repair
	where := "within"
	switch {
	case o.Actual.Pounds() > p.P90:
		where = "above"
	case o.Actual.Pounds() < p.P10:
		where = "below"
	}
	about := func(x float64) string { return sumIn(currency, x) }
	text := fmt.Sprintf("%s: the repair came to %s, %s its likely range of %s to %s (%s). ", Clean(o.Build.Name),
		about(o.Actual.Pounds()), where, about(p.P10), about(p.P90), RankWords(o.Percentile))
	text += fmt.Sprintf("The margin is %s (%s when bought).", about(o.MarginActual.Pounds()),
		about(o.MarginExpected.Pounds()))
	sign := math.Copysign(1, (o.MarginActual - o.MarginExpected).Pounds())
	var most build.Stride
	for _, s := range o.Walk {
		if s.Difference().Pounds()*sign > most.Difference().Pounds()*sign {
			most = s
		}
	}
	if most.Name != "" {
		text += fmt.Sprintf(" Most of the difference: %s, %s.", most.Name,
			draw.Money(currency).Signed(money.Tens(most.Difference().Pounds())))
	}
	var unplanned, absent []string
	for _, l := range o.Lines {
		switch name := l.Spot.Zone.String() + " " + l.Spot.Class.String(); l.Where {
		case build.Unplanned:
			unplanned = append(unplanned, name)
		case build.Absent:
			absent = append(absent, name)
		}
	}
	if len(unplanned) > 0 {
		text += " Not in the estimate: " + strings.Join(unplanned, ", ") + "."
	}
	if len(absent) > 0 {
		text += " Expected but not needed: " + strings.Join(absent, ", ") + "."
	}
	return text
}
