package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// A Floor is the open cars of a workshop together.
type Floor struct {
	*floor.Floor
	// Said is what does not fit, of the files and the ledger as a whole.
	Said     []string
	Currency string
	// Quiet leaves out notices and the legend.
	Quiet bool
}

// mostJobs is how many of a car's next jobs are named.
const mostJobs = 3

func (f *Floor) pounds(x float64) string { return about(f.Currency, x) }

// date writes the day that lies so many days from today.
func (f *Floor) date(in float64) string { return dayWords(f.Day(math.Round(in))) }

// dayWords writes a day without its year: 8 Mar.
func dayWords(t time.Time) string { return t.Format("2 Jan") }

// dayYear writes a day with its year.
func dayYear(t time.Time) string { return t.Format("2 January 2006") }

// Words says what to do first: which car to work on, what to chase by phone, then how cash,
// bays and hours stand. Lines that are indented belong to the one before.
func (f *Floor) Words() []string {
	if len(f.Lines) == 0 {
		return []string{"No car is open: every frozen car that was named is sold."}
	}
	lines := f.workWords()
	lines = append(lines, f.callWords()...)
	return append(lines, f.stateWords()...)
}

// workWords says which car to work on next.
func (f *Floor) workWords() []string {
	next := f.Next()
	var lines []string
	switch {
	case next != nil:
		lines = append(lines, fmt.Sprintf("Work on %s next: %s.", Clean(next.Name), NextWords(next)))
		why := fmt.Sprintf("  Each day of delay costs %s, and about %s are left.", f.pence(next.Delay),
			hoursWords(next.Hours.Mean))
		if len(f.Lines) > 1 && f.Lines[1].Workable {
			why += fmt.Sprintf(" After it: %s.", Clean(f.Lines[1].Name))
		}
		lines = append(lines, why)
	case f.Lines[0].Hours.Mean > 0:
		l := &f.Lines[0]
		lines = append(lines, fmt.Sprintf("No car has all its parts today. %s comes first when it has: %s.", Clean(l.Name),
			firstWait(l, f)))
		if l.Stage == floor.Waiting && len(l.Next) > 0 {
			lines = append(lines, fmt.Sprintf("  What can be done on it until then: %s.", jobWords(l.Next)))
		}
	default:
		lines = append(lines, "No car wants any work today: all that is left is to sell them.")
	}
	for i := range f.Lines {
		if l := &f.Lines[i]; l.Stage == floor.Ready && l != next {
			lines = append(lines, fmt.Sprintf("  %s is ready: %s. It ties up %s.", Clean(l.Name), readyJobs,
				f.pounds(l.MoneyIn)))
		}
	}
	return lines
}

// pence writes a small amount with its pence.
func (f *Floor) pence(x float64) string { return withSign(f.Currency, fmt.Sprintf("%.2f", x)) }

func hoursWords(x float64) string {
	if n := math.Round(x); n != 1 {
		return fmt.Sprintf("%.0f of your hours", n)
	}
	return "1 of your hours"
}

// firstWait says what a car that cannot be worked on waits for.
func firstWait(l *floor.Line, f *Floor) string {
	if len(l.Waits) > 0 {
		return waitWords(&l.Waits[0])
	}
	if l.Stage == floor.ToCollect {
		return "it is still to be collected"
	}
	return "its parts are still to come, about " + f.date(startOf(l)) + " by the lead times"
}

// startOf is in how many days a car can be worked on, on average.
func startOf(l *floor.Line) float64 {
	sum := 0.0
	for _, w := range l.Ways {
		sum += w.Start
	}
	return sum / float64(len(l.Ways))
}

func jobWords(jobs []floor.Job) string {
	var names []string
	for i, j := range jobs {
		if i == mostJobs {
			names = append(names, tabular.Count(len(jobs)-i, "more job"))
			break
		}
		name := j.Name
		switch {
		case j.Begun:
			name += " (begun)"
		case j.Chance < 0.999:
			name += " (" + Percent(j.Chance) + " likely)"
		}
		names = append(names, name)
	}
	return strings.Join(names, "; ")
}

// waitWords says in words what is waited for, and how late it is.
func waitWords(w *floor.Wait) string {
	text := Clean(w.For)
	if w.Unordered {
		return text + fmt.Sprintf(": the ledger has no order of them, and they take about %s",
			tabular.Count(int(math.Round(w.Usual)), "day"))
	}
	if w.From != "" {
		text += " from " + Clean(w.From)
	}
	if w.Under != "" {
		text += " (invoice " + Clean(w.Under) + ")"
	}
	if !w.Dated {
		text += fmt.Sprintf(": paid for %s ago, and such parts take about %s", tabular.Count(int(math.Round(w.Since)), "day"),
			tabular.Count(int(math.Round(w.Usual)), "day"))
		return text
	}
	return text + ": " + lateWords(w)
}

// lateWords says when something dated is due.
func lateWords(w *floor.Wait) string {
	days := int(math.Round(w.Late))
	switch {
	case days > 0:
		return fmt.Sprintf("%s overdue, due %s", tabular.Count(days, "day"), dayWords(w.Due))
	case days == 0:
		return "due today"
	case days == -1:
		return "due tomorrow"
	}
	return fmt.Sprintf("due in %s, %s", tabular.Count(-days, "day"), dayWords(w.Due))
}

// callWords says what to chase by phone today.
func (f *Floor) callWords() []string {
	var calls []string
	for i := range f.Lines {
		for k := range f.Lines[i].Waits {
			if w := &f.Lines[i].Waits[k]; w.Call {
				calls = append(calls, "  "+Clean(f.Lines[i].Name)+": "+waitWords(w))
			}
		}
	}
	if calls == nil {
		return []string{"Nothing has to be chased by phone today."}
	}
	return append([]string{"Chase or order by phone today:"}, calls...)
}

// stateWords says how cash, bays and hours stand.
func (f *Floor) stateWords() []string {
	most := 0
	short := 0
	for i := range f.Weeks {
		if f.Weeks[i].Cash.P90 > f.Weeks[most].Cash.P90 {
			most = i
		}
		if f.Weeks[i].Wanted > f.Weeks[i].There+0.5 && short == i {
			short++
		}
	}
	w := &f.Weeks[most]
	lines := []string{fmt.Sprintf("The open cars tie up %s today. The most is at the end of the week to %s: %s on "+
		"average, and 9 times in 10 not more than %s.",
		f.pounds(f.CashNow), dayWords(w.Ends), f.pounds(w.Cash.Mean), f.pounds(w.Cash.P90))}
	if f.Bays > 0 {
		text := fmt.Sprintf("Bays: %d of %d are taken.", f.BaysNow, f.Bays)
		if f.BaysNow > f.Bays {
			text = fmt.Sprintf("Bays: %d cars need one, and you have %d.", f.BaysNow, f.Bays)
		}
		lines = append(lines, text)
	}
	switch {
	case short == len(f.Weeks):
		lines = append(lines, fmt.Sprintf("Your hours are short in all %d weeks: the cars need more than you have.", short))
	case short > 1:
		lines = append(lines, fmt.Sprintf("Your hours are short for %d weeks: until %s the cars need more than you have.",
			short, dayWords(f.Weeks[short-1].Ends)))
	case short == 1:
		lines = append(lines, fmt.Sprintf("Your hours are short this week: the cars need %.0f, and you have %.0f.",
			f.Weeks[0].Wanted, f.Weeks[0].There))
	}
	return lines
}

// StageWords says how far a car is, and for how long it has been here.
func StageWords(l *floor.Line) (stage, since string) {
	switch {
	case l.SinceKnown:
		since = fmt.Sprintf("day %.0f", l.Since)
	case l.Since > 0:
		since = fmt.Sprintf("day %.0f or later", l.Since)
	}
	return string(l.Stage), since
}

// WaitsWords says what a car waits for, a line each.
func WaitsWords(l *floor.Line) []string {
	var out []string
	for i := range l.Waits {
		out = append(out, waitWords(&l.Waits[i]))
	}
	return out
}

// StoppedJobs is what is left to do with a car that is not finished.
const StoppedJobs = "sell it as it stands, or break it for parts where the rules allow"

// readyJobs are what is left to do with a car that is ready.
const readyJobs = "test it, photograph it and put it up for sale"

// NextWords says what to do next with a car.
func NextWords(l *floor.Line) string {
	jobs := jobWords(l.Next)
	first := map[floor.Stage]string{floor.ToCollect: "collect it", floor.ToStrip: "strip it", floor.Ready: readyJobs,
		floor.Stopped: StoppedJobs}[l.Stage]
	switch {
	case first == "" || l.Stage == floor.Advertised:
		return jobs
	case jobs == "" || l.Stage == floor.Ready || l.Stage == floor.Stopped:
		return first
	}
	return first + "; " + jobs
}

// Document returns the floor for a person: the answer first.
func (f *Floor) Document(int) *Document {
	d := &Document{}
	d.Blocks = append(d.Blocks, Block{Heading: fmt.Sprintf("The floor on %s", dayYear(f.AsOf)),
		Text: strings.Join(f.Words(), "\n")})
	d.Say(Caution)
	f.cars(d)
	f.waits(d)
	f.weeks(d)
	if f.Quiet {
		return d
	}
	if notices := f.Notices(); len(notices) > 0 {
		d.Blocks = append(d.Blocks, Block{Heading: "How the ledger was read", Text: "- " + strings.Join(notices, "\n- ")})
	}
	d.Say(strings.Join(f.Legend(), "\n"))
	return d
}

// Legend says how the figures are to be read.
func (f *Floor) Legend() []string {
	return []string{
		"Every figure is an average, with the likely range by it: 8 times in 10 it ends within. Money in and to pay " +
			"leave your hours out. " +
			"The car to work on next is the one whose delay costs most for the hours it still needs: a rule of thumb. " +
			fmt.Sprintf("Simulated %s times, seed %d; an overdue part counts as coming tomorrow at the earliest.",
				money.Group(int64(f.Runs)), f.Seed),
	}
}

// Notices are all that is doubtful.
func (f *Floor) Notices() []string {
	out := CleanAll(f.Said)
	for i := range f.Lines {
		for _, n := range f.Lines[i].Notices {
			out = append(out, Clean(f.Lines[i].Name)+": "+Clean(n))
		}
	}
	return out
}

// cars is the table of the cars.
func (f *Floor) cars(d *Document) {
	t := tableOf(gives("car"), left("stage"), right("money in"), right("to pay"), right("ready"), right("sold"),
		right("margin\n(bought)"))
	for i := range f.Lines {
		l := &f.Lines[i]
		stage, since := StageWords(l)
		t.Add(Clean(l.Name), stage+"\n"+since, f.pounds(l.MoneyIn), stacked(l.ToPay, f.pounds), f.when(l, l.ReadyIn),
			f.when(l, l.SoldIn),
			f.pounds(l.Margin.Mean)+"\n("+f.pounds(l.WhenBought.Mean)+")")
	}
	d.Show("The cars, in the order to work on them; the likely range is below each figure", t)
}

func (f *Floor) when(l *floor.Line, in evaluate.Spread) string {
	if in == l.ReadyIn && (l.Stage == floor.Advertised || l.Stage == floor.Stopped) {
		return ""
	}
	return stacked(in, f.date)
}

// stacked writes an average with its likely range below.
func stacked(s evaluate.Spread, text func(float64) string) string {
	if text(s.P10) == text(s.P90) {
		return text(s.Mean)
	}
	return text(s.Mean) + "\n" + text(s.P10) + " to\n" + text(s.P90)
}

func (f *Floor) waits(d *Document) {
	t := tableOf(gives("car"), wraps("waits for"), wraps("next jobs"))
	for i := range f.Lines {
		l := &f.Lines[i]
		waits, jobs := WaitsWords(l), NextWords(l)
		if len(waits) > 0 || jobs != "" {
			t.Add(Clean(l.Name), strings.Join(waits, "; "), jobs)
		}
	}
	d.Show("What each waits for, and its next jobs", t)
}

func (f *Floor) weeks(d *Document) {
	if len(f.Lines) == 0 {
		return
	}
	t := tableOf(left("week to"), right("cash tied up"), right("9 in 10\nat most"))
	if f.Bays > 0 {
		t.Columns = append(t.Columns, right("bays\ntaken"), right("you\nhave"))
	}
	t.Columns = append(t.Columns, right("your hours\nneeded"), right("you\nhave"))
	for _, w := range f.Weeks {
		cells := []string{dayWords(w.Ends), f.pounds(w.Cash.Mean), f.pounds(w.Cash.P90)}
		if f.Bays > 0 {
			cells = append(cells, fmt.Sprintf("%.1f", w.Bays.Mean), fmt.Sprint(f.Bays))
		}
		t.Add(append(cells, fmt.Sprintf("%.0f", w.Wanted), fmt.Sprintf("%.0f", w.There))...)
	}
	d.Show("Week by week", t)
}

// The JSON of a floor.
type (
	waitJSON struct {
		For     string   `json:"for"`
		From    string   `json:"supplier"`
		Under   string   `json:"invoice"`
		Due     string   `json:"due,omitempty"`
		Late    *float64 `json:"days_overdue"`
		Since   *float64 `json:"days_since_paid"`
		Usual   *float64 `json:"usual_days"`
		Order   bool     `json:"not_ordered"`
		Call    bool     `json:"chase_today"`
		InWords string   `json:"in_words"`
	}
	nextJSON struct {
		Job    string  `json:"job"`
		Begun  bool    `json:"begun"`
		Chance float64 `json:"chance"`
		Hours  float64 `json:"hours"`
	}
	openJSON struct {
		Build      string      `json:"build"`
		Lot        string      `json:"lot"`
		Car        string      `json:"car"`
		Stage      string      `json:"stage"`
		Days       float64     `json:"days"`
		DaysKnown  bool        `json:"days_known"`
		MoneyIn    float64     `json:"money_in"`
		ToPay      *spreadJSON `json:"still_to_pay"`
		Hours      *spreadJSON `json:"hours_to_come"`
		ReadyIn    *spreadJSON `json:"ready_in_days"`
		SoldIn     *spreadJSON `json:"sold_in_days"`
		Ready      string      `json:"ready_average"`
		Sold       string      `json:"sold_average"`
		Margin     *marginJSON `json:"margin"`
		WhenBought *marginJSON `json:"margin_when_bought"`
		Workable   bool        `json:"can_be_worked_on"`
		Delay      float64     `json:"delay_cost_a_day"`
		Index      float64     `json:"delay_cost_a_day_an_hour"`
		Waits      []waitJSON  `json:"waits"`
		Next       []nextJSON  `json:"next_jobs"`
		Notices    []string    `json:"notices"`
	}
	weekJSON struct {
		Ends   string      `json:"week_to"`
		Cash   *spreadJSON `json:"cash_tied_up"`
		Bays   *spreadJSON `json:"bays_taken"`
		Wanted float64     `json:"hours_wanted"`
		There  float64     `json:"hours_there_are"`
	}
	floorJSON struct {
		AsOf     string     `json:"as_of"`
		Currency string     `json:"currency"`
		Seed     uint64     `json:"seed"`
		Runs     int        `json:"runs"`
		Bays     *int       `json:"bays"`
		BaysNow  int        `json:"bays_taken"`
		CashNow  float64    `json:"cash_tied_up"`
		Next     string     `json:"work_on"`
		Cars     []openJSON `json:"cars"`
		Weeks    []weekJSON `json:"weeks"`
		Free     floor.Free `json:"free"`
		Summary  []string   `json:"summary"`
		Notices  []string   `json:"notices"`
	}
)

func (f *Floor) json() floorJSON {
	out := floorJSON{
		AsOf: f.AsOf.Format(time.DateOnly), Currency: f.Currency, Seed: f.Seed, Runs: f.Runs, BaysNow: f.BaysNow,
		CashNow: cents(f.CashNow),
		Cars:    []openJSON{}, Weeks: []weekJSON{}, Free: f.Free(0.5), Summary: f.Words(), Notices: append([]string{},
			f.Said...),
	}
	if f.Bays > 0 {
		out.Bays = &f.Bays
	}
	if next := f.Next(); next != nil {
		out.Next = next.Name
	}
	for i := range f.Lines {
		out.Cars = append(out.Cars, f.openJSON(&f.Lines[i]))
	}
	for _, w := range f.Weeks {
		out.Weeks = append(out.Weeks, weekJSON{w.Ends.Format(time.DateOnly), spreadOf(w.Cash), spreadOf(w.Bays),
			cents(w.Wanted), cents(w.There)})
	}
	return out
}

func (f *Floor) openJSON(l *floor.Line) openJSON {
	iso := func(in float64) string { return f.Day(math.Round(in)).Format(time.DateOnly) }
	c := openJSON{
		Build: l.Name, Lot: l.Lot, Car: l.Called, Stage: string(l.Stage), Days: cents(l.Since), DaysKnown: l.SinceKnown,
		MoneyIn: cents(l.MoneyIn),
		ToPay:   spreadOf(l.ToPay), Hours: spreadOf(l.Hours), ReadyIn: spreadOf(l.ReadyIn), SoldIn: spreadOf(l.SoldIn),
		Ready: iso(l.ReadyIn.Mean), Sold: iso(l.SoldIn.Mean),
		Margin: marginOf(l.Margin), WhenBought: marginOf(l.WhenBought), Workable: l.Workable, Delay: cents(l.Delay),
		Index: share(l.Index),
		Waits: []waitJSON{}, Next: []nextJSON{}, Notices: append([]string{}, l.Notices...),
	}
	for i := range l.Waits {
		w := &l.Waits[i]
		x := waitJSON{For: w.For, From: w.From, Under: w.Under, Order: w.Unordered, Call: w.Call, InWords: waitWords(w)}
		if w.Dated {
			x.Due, x.Late = w.Due.Format(time.DateOnly), new(cents(w.Late))
		} else if w.Unordered {
			x.Usual = new(cents(w.Usual))
		} else {
			x.Since, x.Usual = new(cents(w.Since)), new(cents(w.Usual))
		}
		c.Waits = append(c.Waits, x)
	}
	for _, j := range l.Next {
		c.Next = append(c.Next, nextJSON{j.Name, j.Begun, share(j.Chance), cents(j.Hours)})
	}
	return c
}

// JSON writes the floor as one object.
func (f *Floor) JSON(w io.Writer) error { return encode(w, f.json()) }

// Records returns a row for each car and each week; part says which.
func (f *Floor) Records() *Records {
	out := &Records{Columns: columnsOf("part build* lot* stage week_to days money_in to_pay_mean to_pay_p10 to_pay_p90 " +
		"hours ready_mean ready_p10 ready_p90 sold_mean sold_p10 sold_p90 margin_mean margin_p10 margin_p90 " +
		"margin_when_bought delay_cost_a_day waits* next_jobs* cash_mean cash_p90 bays_taken hours_wanted hours_there_are")}
	iso := func(in float64) string { return f.Day(math.Round(in)).Format(time.DateOnly) }
	for i := range f.Lines {
		l, j := &f.Lines[i], f.openJSON(&f.Lines[i])
		out.Add(map[string]any{
			"part": "car", "to_pay_mean": j.ToPay.Mean, "to_pay_p10": j.ToPay.P10, "to_pay_p90": j.ToPay.P90,
			"hours": j.Hours.Mean, "ready_mean": iso(l.ReadyIn.Mean), "ready_p10": iso(l.ReadyIn.P10),
			"ready_p90": iso(l.ReadyIn.P90), "sold_mean": iso(l.SoldIn.Mean), "sold_p10": iso(l.SoldIn.P10),
			"sold_p90": iso(l.SoldIn.P90), "margin_when_bought": j.WhenBought.Mean,
			"waits": strings.Join(WaitsWords(l), "; "), "next_jobs": NextWords(l),
		}, &j)
	}
	for _, w := range f.json().Weeks {
		out.Add(map[string]any{"part": "week", "cash_mean": w.Cash.Mean, "cash_p90": w.Cash.P90,
			"bays_taken": w.Bays.Mean}, &w)
	}
	return out
}
