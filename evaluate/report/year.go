package report

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/year"
)

// A Year is a year of sold cars.
type Year struct {
	*year.Year
	// Said is what does not fit, of the files and the ledger as a whole.
	Said     []string
	Currency string
	// Open counts the cars that are not sold, and so not in it.
	Open int
	// Details shows every car, however many there are.
	Details bool
	// Quiet leaves out notices and the legend.
	Quiet bool
}

// NoTaxAdvice is said wherever turnover or profit is.
const NoTaxAdvice = "This is not tax advice: ask an accountant what counts as turnover and as profit where you are."

func (y *Year) pounds(x float64) string { return about(y.Currency, x) }

// rate writes a small amount with its pence.
func (y *Year) rate(x float64) string {
	return withSign(y.Currency, money.FromPounds(x).String())
}

// known writes a figure, or that nobody can say.
func known(x float64, ok bool, text func(float64) string) string {
	if !ok {
		return "not known"
	}
	return text(x)
}

// Words says what to buy more of, then how the year went, a paragraph each.
func (y *Year) Words() []string {
	if len(y.Cars) == 0 {
		lines := []string{"No car was sold in this time."}
		if y.Outside > 0 {
			lines = append(lines, fmt.Sprintf("Sold before or after it: %s. --from and --to name other days.",
				tabular.Count(y.Outside, "car")))
		}
		return lines
	}
	lines := append(y.adviceWords(), y.wholeWords()...)
	lines = append(lines, y.profitWords(), y.turnoverWords())
	return append(lines, y.priceWords()...)
}

// adviceWords says what to buy more and fewer of.
func (y *Year) adviceWords() []string {
	var more, fewer []string
	for _, t := range y.Tables {
		for i := range t.Groups {
			g := &t.Groups[i]
			kind := fmt.Sprintf("  %s %s: about %s for each of your hours, ", t.By, y.KindWords(&t, g), y.rate(meanOf(g)))
			switch {
			case g.More():
				more = append(more, kind+Percent(g.Pooled.Above)+" likely above the average of "+y.rate(t.Mean))
			case g.Fewer():
				fewer = append(fewer, kind+Percent(1-g.Pooled.Above)+" likely below the average of "+y.rate(t.Mean))
			}
		}
	}
	var lines []string
	if more != nil {
		lines = append(append(lines, "Buy more of what paid:"), more...)
	}
	if fewer != nil {
		lines = append(append(lines, "Buy fewer of what paid badly:"), fewer...)
	}
	if lines == nil {
		lines = []string{"No type of car did so much better or worse than the others that it can't be chance: nothing to " +
			"buy more or fewer of yet."}
	}
	return lines
}

func meanOf(g *year.Group) float64 {
	if g.Pooled != nil {
		return g.Pooled.Mean
	}
	return g.AnHour
}

func (y *Year) wholeWords() []string {
	w := &y.Whole
	hour, hourOK := w.AnHour()
	day, dayOK := w.ABayDay()
	back, backOK := w.Return()
	off := w.Margin - w.Expected
	than := "more"
	if off < 0 {
		off, than = -off, "less"
	}
	return []string{fmt.Sprintf("%s sold from %s to %s for %s. The margin is %s: %s %s than estimated when they were "+
		"bought.",
		tabular.Count(w.Cars,
			"car"), dayYear(y.From), dayYear(y.To), y.pounds(w.Sale), y.pounds(w.Margin), y.pounds(off), than),
		fmt.Sprintf("Margin and wages for each of your hours: %s. Margin for each bay day: %s. Return on the money tied "+
			"up: %s a year.",
			known(hour, hourOK, y.rate), known(day, dayOK, y.rate), known(back, backOK, Percent))}
}

func (y *Year) profitWords() string {
	text := fmt.Sprintf("Profit before tax: %s", y.pounds(y.Profit))
	switch {
	case !y.HasCosts:
		text += ", with nothing taken off for rent, insurance or wages: the ledger has no rows of the workshop's own " +
			"(rows without a build, with what = rent, insurance, wages)"
	case !y.Paid:
		text += ", before anything for your own work: the ledger has no wages"
	default:
		text += ", after the wages that were drawn; where the law counts what owners draw as profit, it comes on top"
	}
	return text + "."
}

func (y *Year) turnoverWords() string {
	t := &y.Turnover
	if len(t.Months) == 0 {
		return NoTaxAdvice
	}
	last := t.Months[len(t.Months)-1]
	text := fmt.Sprintf("Turnover in the twelve months to the end of %s: %s", last.First.Format("January 2006"),
		y.pounds(last.Twelve))
	switch {
	case y.Threshold == 0:
		text += "; vat_threshold in shop.toml would say how far it is from where a workshop must register"
	case !t.Passed.IsZero():
		text += fmt.Sprintf(". It came above the threshold of %s in %s", y.pounds(y.Threshold),
			t.Passed.Format("January 2006"))
	default:
		text += fmt.Sprintf(", %s under the threshold of %s", y.pounds(y.Threshold-last.Twelve), y.pounds(y.Threshold))
	}
	if t.Since.After(last.First.AddDate(0, -11, 0)) {
		text += fmt.Sprintf(". The first sale in the ledger is in %s: what was sold before is not in it",
			t.Since.Format("January 2006"))
	}
	other := "registered for VAT"
	if y.Registered {
		other = "not registered for VAT"
	}
	return text + fmt.Sprintf(". Had you been %s, the year's margin would have been %s instead of %s. %s", other,
		y.pounds(y.Whole.OtherVAT), y.pounds(y.Whole.Margin), NoTaxAdvice)
}

// priceWords says what a bay and a pound were worth.
func (y *Year) priceWords() []string {
	if y.BayValue == nil && y.MoneyValue == nil {
		return nil
	}
	var parts []string
	if y.BayValue != nil {
		parts = append(parts, fmt.Sprintf("bay_value = %.0f", *y.BayValue))
	}
	if y.MoneyValue != nil {
		parts = append(parts, fmt.Sprintf("money_value = %.4f", *y.MoneyValue))
	}
	return []string{fmt.Sprintf("From one sale to the next (%s days) this year's cars earned what %s would say in "+
		"shop.toml. Nothing is written there: after a good year such prices would make the plan refuse good cars.",
		Tenths(y.SaleEvery), strings.Join(parts, " and "))}
}

// mostCars is how many cars are listed unless all are asked for.
const mostCars = 20

// Listed returns the cars to list, the last sold first, and how many are left out.
func (y *Year) Listed() ([]year.Car, int) {
	if y.Details || len(y.Cars) <= mostCars {
		return y.Cars, 0
	}
	return y.Cars[:mostCars], len(y.Cars) - mostCars
}

// Document returns the year for a person: the answer first.
func (y *Year) Document(int) *Document {
	d := &Document{}
	head := "The year"
	if !y.To.IsZero() {
		head = fmt.Sprintf("The year from %s to %s", dayYear(y.From), dayYear(y.To))
	}
	d.Blocks = append(d.Blocks, Block{Heading: head, Text: strings.Join(y.Words(), "\n")})
	d.Say(Caution)
	y.groups(d)
	y.cars(d)
	y.steps(d)
	y.byMonth(d)
	if y.Quiet {
		return d
	}
	if notices := y.Notices(); len(notices) > 0 {
		d.Blocks = append(d.Blocks, Block{Heading: "How the ledger was read", Text: "- " + strings.Join(notices, "\n- ")})
	}
	d.Say(strings.Join(y.Legend(), "\n"))
	return d
}

// Legend says how the figures are to be read.
func (y *Year) Legend() []string {
	return []string{
		"An hour: margin and wages for each of your hours. A bay day: in the yard until for sale. Return: margin over " +
			"the money tied up, a year. " +
			fmt.Sprintf("Allowing for chance: nearer to the average of all, the fewer cars there are; no advice is "+
				"given on under %d cars, and nothing is changed on under %d types. ", year.LeastCars, year.LeastGroups) +
			"Profit: what the margins count for your hours and days is put back, and what you drew and paid comes off.",
	}
}

// Notices are all that is doubtful, cars that have the same notice together.
func (y *Year) Notices() []string {
	out := CleanAll(y.Said)
	if y.Undated > 0 {
		out = append(out, fmt.Sprintf("sold, and the ledger does not say when: %s, not counted",
			tabular.Count(y.Undated, "car")))
	}
	if y.Open > 0 {
		out = append(out, fmt.Sprintf("not sold, and so not in it: %s; wreckoner floor shows them",
			tabular.Count(y.Open, "car")))
	}
	if y.Outside > 0 {
		out = append(out, fmt.Sprintf("sold before or after it: %s", tabular.Count(y.Outside, "car")))
	}
	names := map[string][]string{}
	var order []string
	for i := range y.Cars {
		for _, n := range y.Cars[i].Notices {
			if names[n] == nil {
				order = append(order, n)
			}
			names[n] = append(names[n], Clean(y.Cars[i].Name))
		}
	}
	for _, n := range order {
		who := names[n]
		if len(who) > 3 {
			who = append(who[:3:3], fmt.Sprintf("%d more", len(names[n])-3))
		}
		out = append(out, strings.Join(who, ", ")+": "+Clean(n))
	}
	return out
}

func (y *Year) groups(d *Document) {
	for _, t := range y.Tables {
		x := tableOf(wraps(t.By), right("cars"), right("an hour"), right("allowing\nfor chance"), right("above the\naverage"),
			left("what to do"))
		for i := range t.Groups {
			g := &t.Groups[i]
			pooled, chance := "", ""
			if g.Pooled != nil {
				pooled, chance = y.rate(g.Pooled.Mean), Percent(g.Pooled.Above)
			}
			x.Add(y.KindWords(&t, g), fmt.Sprint(g.Cars), y.rate(g.AnHour), pooled, chance, SoWords(&t, g))
		}
		d.Show("What paid, by "+t.By, x)
	}
}

var amount = regexp.MustCompile(`\d[\d,]*`)

// KindWords names a kind of car: amounts with the sign of the currency.
func (y *Year) KindWords(t *year.Table, g *year.Group) string {
	if t.By != year.ByHammer {
		return Clean(g.Name)
	}
	return amount.ReplaceAllStringFunc(g.Name, func(x string) string { return withSign(y.Currency, x) })
}

// SoWords says what follows for a kind of car.
func SoWords(t *year.Table, g *year.Group) string {
	switch {
	case !g.Enough:
		return "too few cars"
	case !t.Pooled:
		return "too few types"
	case g.More():
		return "buy more"
	case g.Fewer():
		return "buy fewer"
	}
	return "no clear difference"
}

func (y *Year) cars(d *Document) {
	t := tableOf(gives("car"), left("sold"), right("for"), right("margin\n(bought)"), right("an\nhour"),
		right("a bay\nday"), right("return\na year"))
	list, more := y.Listed()
	dash := func(x float64, ok bool, text func(float64) string) string {
		if !ok {
			return "-"
		}
		return text(x)
	}
	for i := range list {
		c := &list[i]
		hour, hourOK := c.AnHour()
		day, dayOK := c.ABayDay()
		back, backOK := c.Return()
		t.Add(Clean(c.Name), c.Sold.Format("2 Jan 06"), y.pounds(c.Sale), y.pounds(c.Margin)+"\n("+y.pounds(c.Expected)+")",
			dash(hour, hourOK, y.rate), dash(day, dayOK, y.rate), dash(back, backOK, Percent))
	}
	d.Show("The cars, the last sold first; the estimate when bought is in brackets", t)
	if more > 0 {
		d.Say(fmt.Sprintf("And %s; --details lists them all.", tabular.Count(more, "more car")))
	}
}

func (y *Year) steps(d *Document) {
	t := tableOf(wraps("from the margins to the profit"), right(y.Currency))
	for _, s := range y.Steps {
		t.Add(s.Name, y.pounds(s.Pounds))
	}
	if len(t.Rows) > 0 {
		t.Add("profit before tax", y.pounds(y.Profit))
	}
	d.Show("Profit before tax", t)
}

func (y *Year) byMonth(d *Document) {
	t := tableOf(left("month"), right("sold"), right("for"), right("margin"), right("own costs"), right("profit"),
		right("12 months\nturnover"))
	rolling := map[time.Time]string{}
	for _, r := range y.Turnover.Months {
		rolling[r.First] = y.pounds(r.Twelve)
		if y.Threshold > 0 && r.Twelve > y.Threshold {
			rolling[r.First] += " over"
		}
	}
	for i := range y.Months {
		m := &y.Months[i]
		t.Add(m.First.Format("Jan 2006"), fmt.Sprint(m.Cars), y.pounds(m.Sale), y.pounds(m.Margin), y.pounds(m.Own),
			y.pounds(m.Profit), rolling[m.First])
	}
	d.Show("Month by month", t)
}

// The JSON of a year.
type (
	soldJSON struct {
		Build          string   `json:"build"`
		Lot            string   `json:"lot"`
		Car            string   `json:"car"`
		Bought         string   `json:"bought,omitempty"`
		Sold           string   `json:"sold"`
		Category       string   `json:"category"`
		Type           string   `json:"segment"`
		Hit            string   `json:"hit"`
		Band           string   `json:"hammer_band"`
		Site           string   `json:"site"`
		Sale           float64  `json:"sale"`
		Margin         float64  `json:"margin"`
		Expected       float64  `json:"margin_when_bought"`
		Wages          float64  `json:"wages"`
		Hours          float64  `json:"hours"`
		AnHour         *float64 `json:"earned_an_hour"`
		ABayDay        *float64 `json:"margin_a_bay_day"`
		Return         *float64 `json:"return_a_year"`
		Repair         float64  `json:"repair"`
		RepairExpected float64  `json:"repair_when_bought"`
		OtherVAT       float64  `json:"margin_other_vat"`
	}
	groupJSON struct {
		Name   string   `json:"name"`
		Cars   int      `json:"cars"`
		AnHour float64  `json:"earned_an_hour"`
		SD     float64  `json:"sd"`
		Pooled *float64 `json:"pooled"`
		Above  *float64 `json:"chance_above"`
		So     string   `json:"so"`
	}
	groupsJSON struct {
		By     string      `json:"by"`
		Pooled bool        `json:"pooled"`
		Mean   float64     `json:"mean"`
		Groups []groupJSON `json:"groups"`
	}
	monthJSON struct {
		Month  string  `json:"month"`
		Cars   int     `json:"cars"`
		Sale   float64 `json:"sale"`
		Margin float64 `json:"margin"`
		Own    float64 `json:"own_costs"`
		Profit float64 `json:"profit"`
	}
	rollingJSON struct {
		Month  string  `json:"month"`
		Sale   float64 `json:"turnover"`
		Twelve float64 `json:"turnover_twelve_months"`
	}
	stepJSON struct {
		Name   string  `json:"name"`
		Amount float64 `json:"amount"`
	}
	yearJSON struct {
		From       string        `json:"from"`
		To         string        `json:"to"`
		Currency   string        `json:"currency"`
		Cars       []soldJSON    `json:"cars"`
		Sale       float64       `json:"sale"`
		Margin     float64       `json:"margin"`
		Expected   float64       `json:"margin_when_bought"`
		AnHour     *float64      `json:"earned_an_hour"`
		ABayDay    *float64      `json:"margin_a_bay_day"`
		Return     *float64      `json:"return_a_year"`
		OtherVAT   float64       `json:"margin_other_vat"`
		Registered bool          `json:"vat_registered"`
		Steps      []stepJSON    `json:"steps"`
		Profit     float64       `json:"profit_before_tax"`
		Months     []monthJSON   `json:"months"`
		Groups     []groupsJSON  `json:"groups"`
		BayValue   *float64      `json:"bay_value"`
		MoneyValue *float64      `json:"money_value"`
		Threshold  float64       `json:"vat_threshold"`
		Passed     *string       `json:"threshold_passed"`
		Turnover   []rollingJSON `json:"turnover"`
		Summary    []string      `json:"summary"`
		Notices    []string      `json:"notices"`
	}
)

func pointer(x float64, ok bool, round func(float64) float64) *float64 {
	if !ok {
		return nil
	}
	x = round(x)
	return &x
}

func soldOf(c *year.Car) soldJSON {
	out := soldJSON{
		Build: c.Name, Lot: c.Lot, Car: c.Called, Sold: c.Sold.Format(time.DateOnly), Category: c.Category, Type: c.Type,
		Hit: c.Hit, Band: c.Band, Site: c.Site,
		Sale: cents(c.Sale), Margin: cents(c.Margin), Expected: cents(c.Expected), Wages: cents(c.Wages),
		Hours:  cents(c.Hours),
		Repair: cents(c.Repair), RepairExpected: cents(c.RepairExpected), OtherVAT: cents(c.OtherVAT),
	}
	if !c.Bought.IsZero() {
		out.Bought = c.Bought.Format(time.DateOnly)
	}
	hour, ok := c.AnHour()
	out.AnHour = pointer(hour, ok, cents)
	day, ok := c.ABayDay()
	out.ABayDay = pointer(day, ok, cents)
	back, ok := c.Return()
	out.Return = pointer(back, ok, share)
	return out
}

func (y *Year) json() yearJSON {
	w := &y.Whole
	out := yearJSON{
		Currency: y.Currency, Cars: []soldJSON{}, Sale: cents(w.Sale), Margin: cents(w.Margin), Expected: cents(w.Expected),
		OtherVAT:   cents(w.OtherVAT),
		Registered: y.Registered, Steps: []stepJSON{}, Profit: cents(y.Profit), Months: []monthJSON{}, Groups: []groupsJSON{},
		Threshold: cents(y.Threshold),
		Turnover:  []rollingJSON{}, Summary: y.Words(), Notices: append([]string{}, y.Notices()...),
	}
	if !y.To.IsZero() {
		out.From, out.To = y.From.Format(time.DateOnly), y.To.Format(time.DateOnly)
	}
	hour, ok := w.AnHour()
	out.AnHour = pointer(hour, ok, cents)
	day, ok := w.ABayDay()
	out.ABayDay = pointer(day, ok, cents)
	back, ok := w.Return()
	out.Return = pointer(back, ok, share)
	if y.BayValue != nil {
		out.BayValue = new(cents(*y.BayValue))
	}
	if y.MoneyValue != nil {
		out.MoneyValue = new(share(*y.MoneyValue))
	}
	for i := range y.Cars {
		out.Cars = append(out.Cars, soldOf(&y.Cars[i]))
	}
	for _, s := range y.Steps {
		out.Steps = append(out.Steps, stepJSON{s.Name, cents(s.Pounds)})
	}
	for i := range y.Months {
		m := &y.Months[i]
		out.Months = append(out.Months, monthJSON{m.First.Format("2006-01"), m.Cars, cents(m.Sale), cents(m.Margin),
			cents(m.Own), cents(m.Profit)})
	}
	for _, t := range y.Tables {
		out.Groups = append(out.Groups, groupsOf(&t))
	}
	for _, r := range y.Turnover.Months {
		out.Turnover = append(out.Turnover, rollingJSON{r.First.Format("2006-01"), cents(r.Month), cents(r.Twelve)})
	}
	if !y.Turnover.Passed.IsZero() {
		out.Passed = new(y.Turnover.Passed.Format("2006-01"))
	}
	return out
}

func groupsOf(t *year.Table) groupsJSON {
	out := groupsJSON{By: t.By, Pooled: t.Pooled, Mean: cents(t.Mean), Groups: []groupJSON{}}
	for i := range t.Groups {
		g := &t.Groups[i]
		x := groupJSON{Name: g.Name, Cars: g.Cars, AnHour: cents(g.AnHour), SD: cents(g.SD), So: SoWords(t, g)}
		if g.Pooled != nil {
			x.Pooled, x.Above = new(cents(g.Pooled.Mean)), new(share(g.Pooled.Above))
		}
		out.Groups = append(out.Groups, x)
	}
	return out
}

// JSON writes the year as one object.
func (y *Year) JSON(w io.Writer) error { return encode(w, y.json()) }

// Records returns a row for each car, kind of car and month; part says which.
func (y *Year) Records() *Records {
	out := &Records{Columns: columnsOf("part name* lot* by bought sold cars sale margin margin_when_bought wages hours " +
		"earned_an_hour margin_a_bay_day return_a_year pooled chance_above own_costs profit turnover_twelve_months")}
	j := y.json()
	for i := range j.Cars {
		out.Add(map[string]any{"part": "car", "name": j.Cars[i].Build}, &j.Cars[i])
	}
	for _, t := range j.Groups {
		for i := range t.Groups {
			out.Add(map[string]any{"part": "kind", "by": t.By}, &t.Groups[i])
		}
	}
	for i := range j.Months {
		cells := map[string]any{"part": "month", "name": j.Months[i].Month}
		if k := slices.IndexFunc(j.Turnover, func(r rollingJSON) bool { return r.Month == j.Months[i].Month }); k >= 0 {
			cells["turnover_twelve_months"] = j.Turnover[k].Twelve
		}
		out.Add(cells, &j.Months[i])
	}
	return out
}
