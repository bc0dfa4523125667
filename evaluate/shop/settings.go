package shop

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// settingsFile is shop.toml. A nil field was not written.
type settingsFile struct {
	Currency         *string  `toml:"currency"`
	LabourRate       *float64 `toml:"labour_rate"`
	HoursPerDay      *float64 `toml:"hours_per_day"`
	CollectDays      *float64 `toml:"collect_days"`
	FinishDays       *float64 `toml:"finish_days"`
	HoldingPerDay    *float64 `toml:"holding_per_day"`
	FinanceRate      *float64 `toml:"finance_rate"`
	VATRegistered    *bool    `toml:"vat_registered"`
	VATRate          *float64 `toml:"vat_rate"`
	SpendVATShare    *float64 `toml:"spend_vat_share"`
	SellFixed        *float64 `toml:"sell_fixed"`
	SellPercent      *float64 `toml:"sell_percent"`
	TargetMargin     *float64 `toml:"target_margin"`
	TargetReturn     *float64 `toml:"target_return"`
	LossLimit        *float64 `toml:"loss_limit"`
	BidStep          *float64 `toml:"bid_step"`
	SeverityLink     *float64 `toml:"severity_link"`
	HiddenLink       *float64 `toml:"hidden_link"`
	SuspectedChance  *float64 `toml:"suspected_chance"`
	Cash             *float64 `toml:"cash"`
	StripDays        *float64 `toml:"strip_days"`
	LeadSpread       *points  `toml:"lead_spread"`
	SellDays         *points  `toml:"sell_days"`
	GuideSpread      *points  `toml:"guide_spread"`
	CostBias         *float64 `toml:"cost_bias"`
	UncodedStructure *float64 `toml:"uncoded_structure"`
	PriceLink        *float64 `toml:"price_link"`
	MarketLink       *float64 `toml:"market_link"`
	BayValue         *float64 `toml:"bay_value"`
	MoneyValue       *float64 `toml:"money_value"`
	SellVAT          *bool    `toml:"sell_vat"`
	HoldingVAT       *bool    `toml:"holding_vat"`
	CarsAtOnce       *float64 `toml:"cars_at_once"`
	WorkDays         *float64 `toml:"work_days"`
	HoldingForSale   *float64 `toml:"holding_for_sale"`
	Fade             *float64 `toml:"fade"`
	SellOn           *points  `toml:"sell_on"`
	StripHours       *float64 `toml:"strip_hours"`
	StripError       *float64 `toml:"strip_error"`
	Visit            *float64 `toml:"visit"`
	Turnover         *float64 `toml:"turnover"`
	VATThreshold     *float64 `toml:"vat_threshold"`
	CodingUp         *byClass `toml:"coding_up"`
	CodingDown       *byClass `toml:"coding_down"`
	CostsAsOf        *day     `toml:"costs_as_of"`
	Inflation        *float64 `toml:"inflation"`
	Bays             *float64 `toml:"bays"`
	SaleEvery        *float64 `toml:"sale_every"`
	evidenceFile
	Fixed []fixed `toml:"fixed"`
	Extra []extra `toml:"extra"`
}

type fixed struct {
	Name string   `toml:"name"`
	Low  *float64 `toml:"low"`
	Mid  *float64 `toml:"mid"`
	High *float64 `toml:"high"`
	VAT  bool     `toml:"vat"`
	When string   `toml:"when,omitempty"`
}

type extra struct {
	fixed
	Column        string   `toml:"column"`
	Value         string   `toml:"value"`
	UnknownChance float64  `toml:"unknown_chance"`
	After         []string `toml:"after"`
	Scale         string   `toml:"scale,omitempty"`
	YearFrom      *int     `toml:"year_from"`
	OdometerFrom  *float64 `toml:"odometer_from"`
	AgeFrom       *int     `toml:"age_from"`
}

// points is a three-point amount, written [low, mid, high], or one number for a
// fixed one.
type points [3]float64

// UnmarshalTOML reads one number or three.
func (p *points) UnmarshalTOML(v any) error {
	if x, ok := tomlNumber(v); ok {
		*p = points{x, x, x}
		return nil
	}
	list, ok := v.([]any)
	if !ok || len(list) != 3 {
		return fmt.Errorf("write three numbers, such as [0.8, 1, 2.5]")
	}
	for i, v := range list {
		if p[i], ok = tomlNumber(v); !ok {
			return fmt.Errorf("%v is not a number; write three, such as [0.8, 1, 2.5]", v)
		}
	}
	return nil
}

// settingsReader reads shop.toml and keeps what is wrong with it.
type settingsReader struct {
	file     string
	lines    []string
	problems []tabular.Problem
	notices  []string
}

func (r *settingsReader) fault(line int, column, text, format string, args ...any) {
	r.problems = append(r.problems, tabular.Problem{File: r.file, Line: line, Column: column, Text: text,
		Message: fmt.Sprintf(format, args...)})
}

var tableHead = regexp.MustCompile(`^\s*\[\[?\s*([A-Za-z0-9_-]+)`)

// line returns the line of a key in the n-th table of a name, from 0; of a key
// before all tables where the name is "". 0 where it is not found.
func (r *settingsReader) line(table string, n int, key string) int {
	current, count, head := "", map[string]int{}, 0
	for i, text := range r.lines {
		if m := tableHead.FindStringSubmatch(text); m != nil {
			current = m[1]
			count[current]++
			if current == table && count[current] == n+1 {
				head = i + 1
			}
			continue
		}
		name, _, ok := strings.Cut(text, "=")
		if ok && strings.TrimSpace(name) == key && current == table && (table == "" || count[table] == n+1) {
			return i + 1
		}
	}
	return head
}

// read returns the settings of a file's text. starter stands in for keys which
// the file does not have, except those that this page's model can do without.
func (r *settingsReader) read(text string, starter *Settings) (Settings, []Charge, []Extra) {
	r.lines = strings.Split(text, "\n")
	var f settingsFile
	meta, err := toml.Decode(text, &f)
	if err != nil {
		line, message := tomlFault(err)
		r.fault(line, "", "", "%s", message)
		return Settings{}, nil, nil
	}
	r.unknown(meta)
	s := r.settings(&f, starter)
	var charges []Charge
	for i, x := range f.Fixed {
		if c, ok := r.charge("fixed", i, x); ok {
			charges = append(charges, c)
		}
	}
	var extras []Extra
	for i, x := range f.Extra {
		if e, ok := r.extra(i, x); ok {
			extras = append(extras, e)
		}
	}
	return s, charges, extras
}

// unknown reports the keys and tables of a file that are no settings, each table once.
func (r *settingsReader) unknown(meta toml.MetaData) {
	said := map[string]bool{}
	for _, key := range meta.Undecoded() {
		if key[0] == "coding_up" || key[0] == "coding_down" {
			continue // read as a whole
		}
		if table := key[0]; table != "fixed" && table != "extra" && strings.HasSuffix(meta.Type(table), "Hash") {
			if !said[table] {
				said[table] = true
				r.unknownTable(table)
			}
			continue
		}
		r.unknownKey(key)
	}
}

func (r *settingsReader) unknownTable(table string) {
	hint := "write [[fixed]] or [[extra]], or remove it"
	if near := tabular.Nearest(table, []string{"fixed", "extra"}); near != "" {
		hint = "did you mean [[" + near + "]]?"
	}
	r.fault(r.line(table, 0, ""), table, table, "[[%s]] is not a table of the settings; %s", table, hint)
}

func (r *settingsReader) unknownKey(key toml.Key) {
	table, name := "", key.String()
	if len(key) > 1 {
		table, name = key[0], key[len(key)-1]
	}
	hint := "remove it"
	if near := tabular.Nearest(name, settingNames(table)); name == "book_bias" {
		hint = "it is now called cost_bias; rename it"
	} else if near != "" {
		hint = "did you mean " + near + "?"
	}
	r.fault(r.line(table, 0, name), name, name, "%q is not a setting; %s", name, hint)
}

// tomlFault says in our words what the TOML reader could not read, and where.
func tomlFault(err error) (line int, message string) {
	message = strings.TrimPrefix(err.Error(), "toml: ")
	parse, ok := err.(toml.ParseError)
	if !ok {
		if m := tomlLine.FindStringSubmatch(message); m != nil {
			line, _ = strconv.Atoi(m[1]) // the pattern has digits only
			message = m[3]
			if strings.Contains(message, "incompatible types") {
				return line, fmt.Sprintf("%s has the wrong kind of value; write numbers without quotes, as in labour_rate = "+
					"30, and yes or no as true or false", m[2])
			}
		}
		return line, message
	}
	line, message = parse.Position.Line, parse.Message
	switch {
	case strings.Contains(message, "already been defined"):
		return line, fmt.Sprintf("%s is set twice; keep one", parse.LastKey)
	case strings.Contains(message, "expected value") || strings.Contains(message, "expected a comma") ||
		strings.Contains(message, "but got ','") || strings.Contains(message, "but found ','"):
		if parse.LastKey == "" {
			parse.LastKey = "this line"
		}
		return line, fmt.Sprintf("the value of %s cannot be read (%s); write a plain number such as 30 or 0.08, without "+
			"currency sign or comma", parse.LastKey, message)
	}
	return line, message
}

var tomlLine = regexp.MustCompile(`^line (\d+) \(last key "([^"]*)"\): (.*)$`)

// settingNames lists the keys of shop.toml, or those of one of its tables.
func settingNames(table string) []string {
	of := reflect.TypeFor[settingsFile]()
	switch table {
	case "fixed":
		of = reflect.TypeFor[fixed]()
	case "extra":
		of = reflect.TypeFor[extra]()
	}
	var names []string
	for _, f := range reflect.VisibleFields(of) {
		if name := f.Tag.Get("toml"); name != "" && name != "-" {
			names = append(names, name)
		}
	}
	return names
}

func (r *settingsReader) settings(f *settingsFile, starter *Settings) Settings {
	var s Settings
	// number reads a key within a range. Where it is not written, and is not one of
	// those that the model can do without (METHOD.md 1.5), the starter's value is
	// taken, with a notice.
	number := func(key string, x *float64, into *float64, low, high float64, standIn *float64) {
		switch {
		case x == nil && standIn != nil:
			*into = *standIn
			r.notices = append(r.notices, fmt.Sprintf("%s: %s is not set; the starter's %v is used", r.file, key, *standIn))
		case x == nil:
		case math.IsNaN(*x) || *x < low || *x > high:
			r.fault(r.line("", 0, key), key, fmt.Sprint(*x), "%s", rangeText(*x, low, high))
		default:
			*into = *x
		}
	}
	st := func(x float64) *float64 {
		if starter == nil {
			return nil
		}
		return &x
	}
	if starter == nil {
		starter = &Settings{}
	}
	inf := math.Inf(1)
	number("labour_rate", f.LabourRate, &s.LabourRate, 0, inf, st(starter.LabourRate))
	number("hours_per_day", f.HoursPerDay, &s.HoursPerDay, 0.1, 240, st(starter.HoursPerDay))
	number("collect_days", f.CollectDays, &s.CollectDays, 0, 3650, st(starter.CollectDays))
	number("finish_days", f.FinishDays, &s.FinishDays, 0, 3650, st(starter.FinishDays))
	number("strip_days", f.StripDays, &s.StripDays, 0, 3650, nil)
	number("holding_per_day", f.HoldingPerDay, &s.HoldingPerDay, 0, inf, st(starter.HoldingPerDay))
	number("finance_rate", f.FinanceRate, &s.FinanceRate, 0, 1, st(starter.FinanceRate))
	number("spend_vat_share", f.SpendVATShare, &s.SpendVATShare, 0, 1, st(starter.SpendVATShare))
	number("sell_fixed", f.SellFixed, &s.SellFixed, 0, inf, st(starter.SellFixed))
	number("sell_percent", f.SellPercent, &s.SellPercent, 0, 1, st(starter.SellPercent))
	number("target_margin", f.TargetMargin, &s.TargetMargin, -inf, inf, st(starter.TargetMargin))
	number("target_return", f.TargetReturn, &s.TargetReturn, 0, 1, st(starter.TargetReturn))
	number("loss_limit", f.LossLimit, &s.LossLimit, 0, 1, st(starter.LossLimit))
	number("cash", f.Cash, &s.Cash, 0, inf, nil)
	number("severity_link", f.SeverityLink, &s.SeverityLink, 0, 1, st(starter.SeverityLink))
	number("hidden_link", f.HiddenLink, &s.HiddenLink, 0, 1, st(starter.HiddenLink))
	number("suspected_chance", f.SuspectedChance, &s.SuspectedChance, 0, 1, st(starter.SuspectedChance))
	number("uncoded_structure", f.UncodedStructure, &s.UncodedStructure, 0, 1, nil)
	number("cost_bias", f.CostBias, &s.CostBias, 0, 1, nil)
	s.CarsAtOnce, s.WorkDays = 1, 7
	number("cars_at_once", f.CarsAtOnce, &s.CarsAtOnce, 1, 100, nil)
	number("work_days", f.WorkDays, &s.WorkDays, 1, 7, nil)
	number("fade", f.Fade, &s.Fade, 0, 1, nil)
	number("strip_hours", f.StripHours, &s.StripHours, 0, 10000, nil)
	number("strip_error", f.StripError, &s.StripError, 0, 1, nil)
	number("visit", f.Visit, &s.Visit, 0, 100000, nil)
	if f.HoldingForSale != nil {
		s.HoldingForSale = new(float64)
		number("holding_for_sale", f.HoldingForSale, s.HoldingForSale, 0, inf, nil)
	}
	number("turnover", f.Turnover, &s.Turnover, 0, inf, nil)
	number("vat_threshold", f.VATThreshold, &s.VATThreshold, 0, inf, nil)
	r.coding(f, &s)
	r.places(&s, f.Bays)
	number("sale_every", f.SaleEvery, &s.SaleEvery, 0.1, 3650, nil)
	r.plan(f, &s, number)
	rate, step := s.VATRate.Float(), 0.0
	number("vat_rate", f.VATRate, &rate, 0, 1, st(starter.VATRate.Float()))
	number("bid_step", f.BidStep, &step, 0.01, 1e6, st(starter.BidStep.Pounds()))
	s.VATRate, s.BidStep = money.RateOf(rate), money.FromPounds(step)

	if s.Currency = starter.Currency; f.Currency != nil {
		s.Currency = *f.Currency
	}
	s.VATRegistered = f.VATRegistered != nil && *f.VATRegistered
	s.SellVAT = f.SellVAT != nil && *f.SellVAT
	s.HoldingVAT = f.HoldingVAT != nil && *f.HoldingVAT
	s.LeadSpread = r.three("lead_spread", f.LeadSpread, 1)
	s.SellDays = r.three("sell_days", f.SellDays, 0)
	s.GuideSpread = r.three("guide_spread", f.GuideSpread, 1)
	r.learnable(f, &s)
	s.SellOn = r.sellOn(f.SellOn)
	s.Evidence = r.evidence(&f.evidenceFile)
	return s
}

// three reads a key with low, mid and high; where it is not set, or wrong, it is the one value
// absent.
func (r *settingsReader) three(key string, p *points, absent float64) stats.Amount {
	if p == nil {
		return stats.Fixed(absent)
	}
	a, err := stats.New(p[0], p[1], p[2], stats.Skewed)
	if err != nil {
		r.fault(r.line("", 0, key), key, "", "%v", err)
		return stats.Fixed(absent)
	}
	return a
}

// places reads how many cars can be worked on indoors.
func (r *settingsReader) places(s *Settings, x *float64) {
	switch {
	case x == nil:
	case !(*x >= 0 && *x <= 1000) || *x != math.Trunc(*x):
		r.fault(r.line("", 0, "bays"), "bays", fmt.Sprint(*x), "%v is not a number of bays; write a whole number, such as 2",
			*x)
	default:
		s.Bays = *x
	}
}

// plan reads what a whole sale is planned by. Where a key is absent, its starter value
// holds.
func (r *settingsReader) plan(f *settingsFile, s *Settings, number func(string, *float64, *float64, float64, float64,
	*float64)) {
	s.PriceLink, s.MarketLink = usualPriceLink, usualMarketLink
	if f.PriceLink != nil && !(*f.PriceLink >= 0 && *f.PriceLink < 1) {
		r.fault(r.line("", 0, "price_link"), "price_link", fmt.Sprint(*f.PriceLink), "%v is not a share from 0 to below 1",
			*f.PriceLink)
	} else {
		number("price_link", f.PriceLink, &s.PriceLink, 0, 1, nil)
	}
	number("market_link", f.MarketLink, &s.MarketLink, 0, 2, nil)
	number("bay_value", f.BayValue, &s.BayValue, 0, 1e6, nil)
	number("money_value", f.MoneyValue, &s.MoneyValue, 0, 10, nil)
}

// What holds where a shop does not say: how far the prices of a whole sale hang together,
// and how far sale prices of all cars do. From memory: a place to begin.
const usualPriceLink, usualMarketLink = 0.2, 0.05

// sellOn reads the share of the hammer price that a car brings as it stands.
func (r *settingsReader) sellOn(p *points) *stats.Amount {
	if p == nil {
		return nil
	}
	a, err := stats.New(p[0], p[1], p[2], stats.Skewed)
	switch {
	case err != nil:
		r.fault(r.line("", 0, "sell_on"), "sell_on", "", "%v", err)
		return nil
	case p[1] > 1:
		r.fault(r.line("", 0, "sell_on"), "sell_on", fmt.Sprint(p[1]),
			"%s; write low, mid and high as shares of the hammer price, such as [0.3, 0.5, 0.7]", rangeText(p[1], 0, 1))
		return nil
	}
	return &a
}

// rangeText says what is wrong with a number that is out of range.
func rangeText(x, low, high float64) string {
	switch {
	case low == 0 && high == 1 && x > 1 && x <= 100:
		return fmt.Sprintf("%v is not a share between 0 and 1; did you mean %v?", x, math.Round(x*1e4)/1e6)
	case low == 0 && high == 1:
		return fmt.Sprintf("%v is not a share between 0 and 1", x)
	case math.IsInf(high, 1):
		return fmt.Sprintf("%v is too low; write a number from %v", x, low)
	}
	return fmt.Sprintf("%v is out of range; write a number from %v to %v", x, low, high)
}

func (r *settingsReader) charge(table string, n int, x fixed) (Charge, bool) {
	before := len(r.problems)
	if x.Name == "" {
		r.fault(r.line(table, n, "name"), "name", "", "a [[%s]] needs a name", table)
	}
	for _, p := range []struct {
		key string
		x   *float64
	}{{"low", x.Low}, {"mid", x.Mid}, {"high", x.High}} {
		if p.x == nil {
			r.fault(r.line(table, n, p.key), p.key, "", "%q needs low, mid and high; all three equal for a fixed amount", x.Name)
			return Charge{}, false
		}
	}
	a, err := stats.New(*x.Low, *x.Mid, *x.High, stats.Skewed)
	if err != nil {
		r.fault(r.line(table, n, "low"), "low", "", "%q: %v", x.Name, err)
	}
	c := Charge{Name: x.Name, Amount: a, VAT: x.VAT}
	switch words := strings.Join(strings.Fields(strings.ToLower(x.When)), " "); words {
	case "", "before sale":
	case AfterSale:
		c.AfterSale = true
	default:
		r.fault(r.line(table, n, "when"), "when", x.When,
			"%q is not when %q is paid; write %q, or leave it out if it is paid before", x.When, x.Name, AfterSale)
	}
	return c, len(r.problems) == before
}

func (r *settingsReader) extra(n int, x extra) (Extra, bool) {
	c, ok := r.charge("extra", n, x.fixed)
	e := Extra{Charge: c, Column: tabular.Canonical(x.Column), Value: x.Value, UnknownChance: x.UnknownChance}
	ok = r.worn(n, x, &e) && ok
	switch {
	case x.Column == "" && len(x.After) == 0 && !e.Wear && e.YearFrom == 0:
		r.fault(r.line("extra", n, "name"), "column", "",
			"%q needs a column and the value at which it is charged; or after, such as [\"s\", \"m2\"]; or odometer_from or "+
				"age_from", x.Name)
		ok = false
	case x.Column != "" && x.Value == "":
		r.fault(r.line("extra", n, "column"), "value", "", "%q needs the value of %q at which it is charged", x.Name,
			x.Column)
		ok = false
	case x.UnknownChance < 0 || x.UnknownChance > 1 || math.IsNaN(x.UnknownChance):
		r.fault(r.line("extra", n, "unknown_chance"), "unknown_chance", fmt.Sprint(x.UnknownChance), "%s",
			rangeText(x.UnknownChance, 0, 1))
		ok = false
	}
	for _, text := range x.After {
		a, err := ParseAfter(text)
		if err != nil {
			r.fault(r.line("extra", n, "after"), "after", text, "%v", err)
			ok = false
		}
		e.After = append(e.After, a)
	}
	return e, ok
}
