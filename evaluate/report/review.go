package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// A Review is finished builds beside what was believed of them.
type Review struct {
	Outcomes []*build.Outcome
	// Calibration is nil where no build is finished.
	Calibration *build.Calibration
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
	}
	rivalJSON struct {
		Rival string   `json:"rival"`
		CRPS  float64  `json:"crps"`
		Skill *float64 `json:"skill"`
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
		Build: o.Build.Name, Lot: o.Frozen.Kept.Lot, Estimate: *forecastOf(&o.Frozen.Predicted.Repair), Actual: o.Actual.Pounds(), Percentile: share(o.Percentile),
		MarginExpected: o.MarginExpected.Pounds(), MarginActual: o.MarginActual.Pounds(), MarginPercentile: share(o.MarginPercentile),
		Walk: []strideJSON{}, Lines: []lineJSON{}, Notes: append([]string{}, o.Notes...),
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
		x := lineJSON{Zone: l.Spot.Zone.String(), Class: l.Spot.Class.Letter(), Actual: l.Actual.Pounds(), Outside: l.Outside, Unplanned: l.Where == build.Unplanned, Absent: l.Where == build.Absent}
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
		Builds: c.Builds, Stopped: c.Stopped, Coverage: []coverageJSON{}, LogBias: biasOf(c.Bias), Classes: []classBiasJSON{}, Price: biasOf(c.Price),
		Uniformity: uniformJSON{share(u.P), share(u.Bias), share(u.Mean), share(u.Spread), share(u.Ratio)},
		CRPS:       cents(c.CRPS), Pinball: cents(c.Pinball), Sharpness: share(c.Sharpness), Rivals: []rivalJSON{},
	}
	for _, x := range c.Coverage {
		out.Coverage = append(out.Coverage, coverageJSON{x.Level, x.Inside, share(x.Share), share(x.Low), share(x.High)})
	}
	for _, x := range c.Classes {
		out.Classes = append(out.Classes, classBiasJSON{x.Class.Letter(), biasOf(x.LogRatio)})
	}
	for _, r := range c.Rivals {
		x := rivalJSON{Rival: r.Name, CRPS: cents(r.CRPS)}
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
	}{[]outcomeBuildJSON{}, []asideJSON{}, r.Unplaced, r.words(), calibrationOf(r.Calibration)}
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
	out := &Records{Columns: []Field{
		{Name: "part"}, {Name: "build", Text: true}, {Name: "lot", Text: true}, {Name: "name", Text: true}, {Name: "estimate_mean"}, {Name: "p10"}, {Name: "p50"}, {Name: "p90"},
		{Name: "actual"}, {Name: "percentile"}, {Name: "outside"}, {Name: "where"}, {Name: "expected"}, {Name: "difference"},
		{Name: "n"}, {Name: "figure"}, {Name: "ci_low"}, {Name: "ci_high"}, {Name: "note", Text: true},
	}}
	add := func(part, oneBuild, lot, name string, cells map[string]any) {
		row := make([]any, len(out.Columns))
		row[0], row[1], row[2], row[3] = part, oneBuild, lot, name
		for i, c := range out.Columns[4:] {
			row[i+4] = cells[c.Name]
		}
		out.Rows = append(out.Rows, row)
	}
	for _, o := range r.Outcomes {
		j := outcomeJSONOf(o)
		estimate := func(e *spreadJSON, cells map[string]any) map[string]any {
			if e != nil {
				cells["estimate_mean"], cells["p10"], cells["p50"], cells["p90"] = e.Mean, e.P10, e.P50, e.P90
			}
			return cells
		}
		add("build", j.Build, j.Lot, "repair", estimate(&j.Estimate, map[string]any{"actual": j.Actual, "percentile": j.Percentile, "note": strings.Join(j.Notes, "; ")}))
		for i, l := range o.Lines {
			add("line", j.Build, j.Lot, l.Spot.String(), estimate(j.Lines[i].Estimate, map[string]any{"actual": j.Lines[i].Actual, "outside": yesNo(l.Outside), "where": string(l.Where)}))
		}
		for _, s := range j.Walk {
			add("walk", j.Build, j.Lot, s.Step, map[string]any{"expected": s.Expected, "actual": s.Actual, "difference": s.Amount})
		}
		add("walk", j.Build, j.Lot, "margin", map[string]any{"expected": j.MarginExpected, "actual": j.MarginActual, "difference": (o.MarginActual - o.MarginExpected).Pounds(), "percentile": j.MarginPercentile})
	}
	for _, a := range r.Aside {
		add("aside", a.Build, a.Lot, "", map[string]any{"note": a.Reason})
	}
	if c := calibrationOf(r.Calibration); c != nil {
		for _, x := range c.Coverage {
			add("coverage", "", "", fmt.Sprintf("%g", x.Level), map[string]any{"n": x.Inside, "figure": x.Share, "ci_low": x.CILow, "ci_high": x.CIHigh})
		}
		bias := func(name string, b biasJSON) {
			add("log_bias", "", "", name, map[string]any{"n": b.Builds, "figure": orNil(b.Mean), "ci_low": orNil(b.CILow), "ci_high": orNil(b.CIHigh)})
		}
		bias("repair", c.LogBias)
		for i, x := range c.Classes {
			bias(r.Calibration.Classes[i].Class.String(), x.biasJSON)
		}
		bias("sale price", c.Price)
		for _, x := range []struct {
			name   string
			figure float64
		}{{"crps", c.CRPS}, {"pinball", c.Pinball}, {"sharpness", c.Sharpness}, {"uniformity p", c.Uniformity.P}} {
			add("score", "", "", x.name, map[string]any{"n": c.Builds, "figure": x.figure})
		}
		for _, x := range c.Rivals {
			add("rival crps", "", "", x.Rival, map[string]any{"n": c.Builds, "figure": x.CRPS})
		}
	}
	return out
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// Document returns the review for a person: words first.
func (r *Review) Document(int) *Document {
	d := &Document{}
	for _, line := range r.words() {
		d.Say(line)
	}
	if len(r.Outcomes) > 1 {
		d.Show(fmt.Sprintf("Repair and margin, estimate against actual (%s)", r.Currency), r.table())
	}
	if len(r.Outcomes) == 1 || r.Details {
		for _, o := range r.Outcomes {
			r.build(d, o)
		}
	}
	aside := &Table{Columns: []Column{{Head: "build", Gives: true}, {Head: "why", Wraps: true}}}
	for _, a := range r.Aside {
		aside.Add(clean(a.Build), clean(a.Reason))
	}
	d.Show("Not reviewed", aside)
	if r.Unplaced > 0 {
		d.Say(fmt.Sprintf("%s of the ledger could not be read and may be any build's: what they say is missing somewhere. See the messages.", count(r.Unplaced, "row")))
	}
	if r.Calibration != nil && len(r.Outcomes) > 1 {
		r.calibration(d)
	}
	return d
}

func (r *Review) table() *Table {
	t := &Table{Columns: []Column{{Head: "build", Gives: true}, {Head: "repair P50\n8 in 10", Right: true}, {Head: "actual\nrank", Right: true}, {Head: "margin\nexpected", Right: true}, {Head: "actual\nrank", Right: true}, {Head: "beyond 8 in 10,\nabsent, unplanned", Wraps: true}}}
	for _, o := range r.Outcomes {
		p := &o.Frozen.Predicted.Repair
		t.Add(clean(o.Build.Name)+"\n"+clean(o.Frozen.Kept.Lot), Pounds(p.P50)+"\n"+Range(p.P10, p.P90), Pounds(o.Actual.Pounds())+"\n"+rank(o.Percentile),
			Pounds(o.MarginExpected.Pounds()), Pounds(o.MarginActual.Pounds())+"\n"+rank(o.MarginPercentile), strings.Join(surprises(o), ", "))
	}
	return t
}

// rank prints a percentile: P63 is dearer than 63 worlds of a hundred.
func rank(p float64) string {
	return fmt.Sprintf("P%d", min(99, max(1, int(math.Round(100*p)))))
}

func surprises(o *build.Outcome) []string {
	var out []string
	for _, l := range o.Lines {
		switch l.Where {
		case build.Absent, build.Unplanned:
			out = append(out, l.Spot.String()+" "+string(l.Where))
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
	t := &Table{Columns: []Column{{Head: "zone, class", Gives: true}, {Head: "chance", Right: true}, {Head: "expected", Right: true}, {Head: "8 in 10", Right: true}, {Head: "actual", Right: true}, {Head: ""}}}
	for _, l := range o.Lines {
		name := l.Spot.Zone.String() + ", " + l.Spot.Class.String()
		switch f := l.Forecast; {
		case f == nil:
			t.Add(name, "", "", "", Pounds(l.Actual.Pounds()), string(l.Where))
		case f.P90 == 0 && l.Actual == 0:
			continue // a small chance of something that was not there
		default:
			t.Add(name, Percent(f.Chance), Pounds(f.Mean), Range(f.P10, f.P90), Pounds(l.Actual.Pounds()), string(l.Where))
		}
	}
	p := &o.Frozen.Predicted.Repair
	t.Add("= repair", "", Pounds(p.Mean), Range(p.P10, p.P90), Pounds(o.Actual.Pounds()), rank(o.Percentile))
	d.Show(fmt.Sprintf("%s (lot %s): where the repair money went", clean(o.Build.Name), clean(o.Frozen.Kept.Lot)), t)
	walk := &Table{Columns: []Column{{Head: "", Gives: true}, {Head: "expected", Right: true}, {Head: "actual", Right: true}, {Head: "margin", Right: true}}}
	walk.Add("margin expected", "", "", o.MarginExpected.String())
	for _, s := range o.Walk {
		walk.Add("  "+s.Name, s.Expected.String(), s.Actual.String(), signed(s.Difference()))
	}
	walk.Add("= margin", o.MarginExpected.String(), o.MarginActual.String(), o.MarginActual.String())
	d.Show("From the expected margin to the actual one", walk)
	for _, note := range o.Notes {
		d.Say(clean(o.Build.Name) + ": " + clean(note) + ".")
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
	t := &Table{Columns: []Column{{Head: "interval"}, {Head: "inside", Right: true}, {Head: "share", Right: true}, {Head: "long run (95 %)", Right: true}}}
	for _, x := range c.Coverage {
		t.Add(Percent(x.Level), fmt.Sprintf("%d of %d", x.Inside, x.N), Percent(x.Share), Percent(x.Low)+" to "+Percent(x.High))
	}
	d.Show("How often the repair came out within its interval", t)
	t = &Table{Columns: []Column{{Head: ""}, {Head: "builds", Right: true}, {Head: "actual over P50", Right: true}, {Head: "long run (95 %)", Right: true}}}
	bias := func(name string, b stats.LogRatio) {
		if b.N == 0 {
			return
		}
		interval := ""
		if b.Interval != nil {
			interval = fmt.Sprintf("%.2f to %.2f", math.Exp(b.Interval.Low), math.Exp(b.Interval.High))
		}
		t.Add(name, fmt.Sprint(b.N), fmt.Sprintf("%.2f", b.Factor()), interval)
	}
	for _, x := range c.Classes {
		bias(x.Class.String(), x.LogRatio)
	}
	bias("whole repair", c.Bias)
	bias("sale price", c.Price)
	d.Show("Habitual error: how many times the estimate it came to", t)
	t = &Table{Columns: []Column{{Head: "mean score (CRPS)", Gives: true}, {Head: r.Currency, Right: true}, {Head: "ours is better by", Right: true}}}
	t.Add("our intervals", Pounds(c.CRPS), "")
	for _, x := range c.Rivals {
		better := ""
		if x.Known {
			better = fmt.Sprintf("%.0f %%", 100*x.Skill)
		}
		t.Add("naive: "+x.Name, Pounds(x.CRPS), better)
	}
	d.Show("Worth listening to? Against naive rivals; less is better", t)
	if r.Quiet {
		return
	}
	d.Say(fmt.Sprintf("Pinball loss over P10, P25, P50, P75 and P90: %s. Sharpness, the mean width of P10 to P90 over P50: %.2f. "+
		"Percentiles uniform: P = %.2f (too high or low on the whole: %.2f; too narrow or wide: %.2f, spread %.2f times what was said). "+
		"Rank P63: dearer than 63 in 100 of its own predicted worlds. Inside: within the interval that 8 in 10 should end in.",
		Pounds(c.Pinball), c.Sharpness, c.Uniformity.P, c.Uniformity.Bias, c.Uniformity.Spread, c.Uniformity.Ratio))
}

// words says what the review comes to.
func (r *Review) words() []string {
	var out []string
	for _, o := range r.Outcomes {
		if len(r.Outcomes) == 1 {
			out = append(out, storyOf(o))
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
	var habits []string
	for _, x := range c.Classes {
		if text := habit(x.LogRatio); text != "" {
			habits = append(habits, fmt.Sprintf("your %s jobs %s", x.Class, text))
		}
	}
	if text := habit(c.Price); text != "" {
		habits = append(habits, "your sale prices "+text)
	}
	so := ""
	if c.Builds < build.Few {
		so = "So far "
	}
	text := so + strings.Join(habits, "; ") + "."
	out = append(out, strings.ToUpper(text[:1])+text[1:])
	return append(out, r.honest())
}

// honest says whether the intervals can be believed.
func (r *Review) honest() string {
	c := r.Calibration
	eighty := c.Coverage[1]
	text := fmt.Sprintf("%d of %d builds came out within the range that 8 in 10 should end in", eighty.Inside, eighty.N)
	if c.Stopped > 0 {
		text += fmt.Sprintf(" (%d more given up after the strip, which say nothing of that)", c.Stopped)
	}
	u := c.Uniformity
	const odd = 0.05
	switch {
	case c.Builds < build.Few:
		text += fmt.Sprintf(": with fewer than %d builds that is too few to tell whether the intervals are honest", build.Few)
	case u.P >= odd:
		text += ": the intervals are honest as far as these builds can tell"
	case u.Bias < odd && u.Mean > 0:
		text += ": things come out dearer than was said, on the whole"
	case u.Bias < odd:
		text += ": things come out cheaper than was said, on the whole"
	case u.Ratio > 1:
		text += ": the intervals are too narrow"
	default:
		text += ": the intervals are too wide"
	}
	best := math.Inf(1)
	for _, x := range c.Rivals {
		best = min(best, x.CRPS)
	}
	if c.CRPS < best {
		return text + ". They are worth listening to: they beat both naive rivals."
	}
	return text + ". They do not beat the best naive rival yet."
}

// habit says a habitual error in words: "run a third over (1.19 to 1.49 times, 9
// builds)".
func habit(b stats.LogRatio) string {
	if b.N == 0 {
		return ""
	}
	if b.Interval == nil {
		return fmt.Sprintf("cannot be judged by %s", count(b.N, "build"))
	}
	evidence := fmt.Sprintf(" (%.2f to %.2f times, %s)", math.Exp(b.Interval.Low), math.Exp(b.Interval.High), count(b.N, "build"))
	near := math.Log(1.1)
	switch {
	case (b.Interval.Low > 0 || b.Interval.High < 0) && math.Abs(b.Mean) >= math.Log(1.03):
		return "run " + over(b.Factor()) + evidence
	case b.Interval.Low > -2*near && b.Interval.High < 2*near:
		return "are right" + evidence
	}
	return "cannot be told from right yet" + evidence
}

// over says a factor in words: "a third over", "a quarter under".
func over(factor float64) string {
	if factor >= 1.95 {
		return fmt.Sprintf("%.1f times what was expected", factor)
	}
	direction := "over"
	off := factor - 1
	if off < 0 {
		direction, off = "under", -off
	}
	for _, w := range []struct {
		share float64
		words string
	}{{0.1, "a tenth"}, {0.2, "a fifth"}, {0.25, "a quarter"}, {1.0 / 3, "a third"}, {0.5, "a half"}, {2.0 / 3, "two thirds"}} {
		if math.Abs(off-w.share) < 0.025 {
			return w.words + " " + direction
		}
	}
	return fmt.Sprintf("%.0f %% %s", 100*off, direction)
}

// storyOf says what became of one build.
func storyOf(o *build.Outcome) string {
	p := &o.Frozen.Predicted.Repair
	where := "within"
	switch {
	case o.Actual.Pounds() > p.P90:
		where = "above"
	case o.Actual.Pounds() < p.P10:
		where = "below"
	}
	text := fmt.Sprintf("%s: the repair came to %s, %s the range of %s that 8 in 10 should end in (%s). ", clean(o.Build.Name), Pounds(o.Actual.Pounds()), where, Range(p.P10, p.P90), rank(o.Percentile))
	text += fmt.Sprintf("The margin is %s; %s was expected.", Pounds(o.MarginActual.Pounds()), Pounds(o.MarginExpected.Pounds()))
	var most build.Stride
	for _, s := range o.Walk {
		if s.Difference().Pounds()*math.Copysign(1, (o.MarginActual-o.MarginExpected).Pounds()) > most.Difference().Pounds()*math.Copysign(1, (o.MarginActual-o.MarginExpected).Pounds()) {
			most = s
		}
	}
	if most.Name != "" {
		text += fmt.Sprintf(" Most of the difference: %s, %s.", most.Name, signed(most.Difference()))
	}
	for _, l := range o.Lines {
		switch l.Where {
		case build.Unplanned:
			text += fmt.Sprintf(" Nobody had planned for %s.", l.Spot)
		case build.Absent:
			text += fmt.Sprintf(" %s was expected and was not there.", l.Spot)
		}
	}
	return text
}
