package report

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// Caution closes every list of lots.
const Caution = "Structural, airbag and high-voltage work needs qualified people, the maker's repair method and " +
	"the law where you are. " +
	"Check first what the write-off category allows. The VAT figures are not tax advice."

// A Screen is an evaluated list, in the order to be shown.
type Screen struct {
	Results  []*evaluate.Result
	Rejected []tabular.Problem
	Shop     *shop.Shop
	Folder   string // of the shop; "" where all is built in
	Seed     uint64
	Points   int
	// Top bounds the ranked lots that are shown to a person. Zero shows all.
	Top int
	// By is what the lots are ranked by; "" for the margin.
	By bid.Order
	// Quiet leaves out footnotes.
	Quiet bool
	// Evidence says that lots were judged by what evidence says of prices: flat rows have
	// its columns.
	Evidence bool
	// Notices are said of the whole list.
	Notices []string
	// More are the lots of a list too long to be held, of which Results have the
	// best of each status. It is for a person's eyes: the other forms want all.
	More *More
}

// More counts what a Screen does not have.
type More struct {
	// Shown bounds the lots of each status.
	Shown int
	// Lots by their status, without those that are shown.
	Lots map[bid.Status]int
	// Rejected rows.
	Rejected int
}

// The JSON of results: money in pounds, shares as fractions.
type (
	spreadJSON struct {
		Mean float64 `json:"mean"`
		P10  float64 `json:"p10"`
		P50  float64 `json:"p50"`
		P90  float64 `json:"p90"`
	}
	repairJSON struct {
		Mean   float64 `json:"mean"`
		SD     float64 `json:"sd"`
		P10    float64 `json:"p10"`
		P50    float64 `json:"p50"`
		P80    float64 `json:"p80"`
		P90    float64 `json:"p90"`
		P95    float64 `json:"p95"`
		CILow  float64 `json:"ci_low"`
		CIHigh float64 `json:"ci_high"`
	}
	marginJSON struct {
		Mean       float64 `json:"mean"`
		SD         float64 `json:"sd"`
		P10        float64 `json:"p10"`
		P50        float64 `json:"p50"`
		P90        float64 `json:"p90"`
		LossChance float64 `json:"loss_chance" flat:"loss_chance"`
		Shortfall  float64 `json:"shortfall" flat:"shortfall"`
		// LossFinished is the chance of a loss if the car is finished whatever it costs,
		// LossStopping if it may be sold on or broken; StopChance that it is.
		LossFinished float64 `json:"loss_chance_finished" flat:"loss_chance_finished"`
		LossStopping float64 `json:"loss_chance_stopping" flat:"loss_chance_stopping"`
		StopChance   float64 `json:"stop_chance" flat:"stop_chance"`
	}
	hiddenJSON struct {
		Zone     string  `json:"zone"`
		Class    string  `json:"class"`
		Grade    int     `json:"grade"`
		Chance   float64 `json:"chance"`
		MeanCost float64 `json:"mean_cost"`
	}
	warningJSON struct {
		Kind string `json:"kind"`
		Text string `json:"text"`
	}
	timesJSON struct {
		S     float64 `json:"s"`
		C     float64 `json:"c"`
		R     float64 `json:"r"`
		M     float64 `json:"m"`
		E     float64 `json:"e"`
		Hours float64 `json:"hours"`
	}
	quoteJSON struct {
		Zone  string   `json:"zone"`
		Class string   `json:"class"`
		Grade int      `json:"grade"`
		Spend float64  `json:"spend"`
		Hours *float64 `json:"hours"`
	}
	errorJSON struct {
		RepairMean float64 `json:"repair_mean"`
		RepairP90  float64 `json:"repair_p90"`
		LossChance float64 `json:"loss_chance"`
	}
	lotJSON struct {
		Lot          string       `json:"lot"`
		Rank         *int         `json:"rank"`
		Status       string       `json:"status"`
		Reason       string       `json:"reason"`
		Verdict      string       `json:"verdict"`
		Make         string       `json:"make"`
		Model        string       `json:"model"`
		Year         *int         `json:"year,omitempty"`
		Age          *int         `json:"age,omitempty"`
		Multipliers  *timesJSON   `json:"multipliers,omitempty"`
		CodedFrom    string       `json:"coded_from,omitempty"`
		Quotes       []quoteJSON  `json:"quotes,omitempty"`
		Odometer     *int         `json:"odometer"`
		Site         string       `json:"site"`
		SaleDate     string       `json:"sale_date"`
		VAT          string       `json:"vat"`
		Keys         string       `json:"keys"`
		Starts       string       `json:"starts"`
		Segment      string       `json:"segment"`
		Category     string       `json:"category"`
		Damage       string       `json:"damage"`
		Value        *float64     `json:"value"`
		Guide        *float64     `json:"guide"`
		GuideGuessed bool         `json:"guide_guessed,omitempty"`
		Repair       *repairJSON  `json:"repair"`
		Hours        *spreadJSON  `json:"hours"`
		Days         *spreadJSON  `json:"days"`
		Resale       *spreadJSON  `json:"resale"`
		Margin       *marginJSON  `json:"margin"`
		OtherVAT     *float64     `json:"margin_other_vat"`
		Return       *float64     `json:"margin_return"`
		BayDays      *float64     `json:"bay_days"`
		BayDay       *float64     `json:"margin_bay_day"`
		Hour         *float64     `json:"margin_hour"`
		Outlay       *float64     `json:"outlay"`
		HighestBid   *float64     `json:"highest_bid"`
		BidLimit     *string      `json:"bid_limit"`
		Error        *errorJSON   `json:"error"`
		Hidden       []hiddenJSON `json:"hidden"`
		Warnings     warningsJSON `json:"warnings"`
		*appraisalJSON
		Note string `json:"note,omitempty"`
	}
	sourceJSON struct {
		File    string `json:"file"`
		BuiltIn bool   `json:"built_in"`
	}
	shopJSON struct {
		Folder   string       `json:"folder"`
		Currency string       `json:"currency"`
		Files    []sourceJSON `json:"files"`
	}
)

// warningsJSON are the warnings of a lot; in a flat row they are one text.
type warningsJSON []warningJSON

func (w warningsJSON) String() string {
	texts := make([]string, len(w))
	for i := range w {
		texts[i] = w[i].Text
	}
	return strings.Join(texts, "; ")
}

func spreadOf(s evaluate.Spread) *spreadJSON {
	return &spreadJSON{cents(s.Mean), cents(s.P10), cents(s.P50), cents(s.P90)}
}

func repairOf(r evaluate.Repair) *repairJSON {
	return &repairJSON{cents(r.Mean), cents(r.SD), cents(r.P10), cents(r.P50), cents(r.P80), cents(r.P90), cents(r.P95),
		cents(r.CILow), cents(r.CIHigh)}
}

func marginOf(m evaluate.Margin) *marginJSON {
	return &marginJSON{cents(m.Mean), cents(m.SD), cents(m.P10), cents(m.P50), cents(m.P90), share(m.LossChance),
		cents(m.Shortfall), share(m.LossFinished), share(m.LossStopping), share(m.Stopped)}
}

func pounds(p money.Pence) *float64 { return new(p.Pounds()) }

// lotOf returns the JSON of one result.
func lotOf(r *evaluate.Result) *lotJSON {
	out := &lotJSON{}
	out.fill(r)
	return out
}

// fill makes it the JSON of one result, in the memory that it has.
func (out *lotJSON) fill(r *evaluate.Result) {
	l := r.Lot
	*out = lotJSON{
		Lot: l.Number, Status: string(r.Status), Reason: r.Reason, Verdict: string(r.Verdict()),
		Make: l.Make, Model: l.Model, Segment: l.Segment, Category: l.Category, Damage: l.Code.String(),
		Hidden: out.Hidden[:0], Warnings: out.Warnings[:0], Note: l.Note,
		Site: l.Site, SaleDate: l.SaleDate, VAT: "margin", Keys: cmp.Or(l.Keys, "unknown"), Starts: cmp.Or(l.Starts,
			"unknown"),
	}
	if l.Year != 0 {
		out.Year = &l.Year
	}
	if l.Odometer > 0 {
		out.Odometer = &l.Odometer
	}
	if l.Plus {
		out.VAT = "plus"
	}
	if out.Hidden == nil {
		out.Hidden = make([]hiddenJSON, 0, len(r.Hidden))
	}
	if out.Warnings == nil {
		out.Warnings = make(warningsJSON, 0, len(r.Warnings))
	}
	out.priced(r)
	if l.Value > 0 {
		out.Value = pounds(l.Value)
	}
	out.appraisalJSON = evidenceOf(r)
	if r.Guide > 0 {
		out.Guide, out.GuideGuessed = pounds(r.Guide), r.GuideGuessed
	}
	for _, w := range r.Warnings {
		out.Warnings = append(out.Warnings, warningJSON{w.Kind, w.Text})
	}
	if !r.Evaluated() {
		return
	}
	out.Repair, out.Hours, out.Days, out.Resale =
		repairOf(r.Repair), spreadOf(r.Hours), spreadOf(r.Days), spreadOf(r.Resale)
	out.BayDays = new(cents(r.BayDays))
	out.HighestBid, out.BidLimit = pounds(r.HighestBid), new(string(r.BidLimit))
	out.Error = &errorJSON{cents(r.Errors.RepairMean), cents(r.Errors.RepairP90), share(r.Errors.LossChance)}
	for _, h := range r.Hidden {
		out.Hidden = append(out.Hidden, hiddenJSON{h.Zone.String(), h.Class.Letter(), int(h.Grade), share(h.Chance),
			cents(h.MeanCost)})
	}
	if r.Status == bid.Ranked {
		out.Margin, out.Outlay, out.OtherVAT = marginOf(r.Margin), pounds(r.Outlay), new(cents(r.MarginOtherVAT))
		out.Return, out.BayDay, out.Hour = new(share(r.Return())), new(cents(r.BayDay())), new(cents(r.AnHour))
		if r.Rank > 0 {
			out.Rank = new(r.Rank)
		}
	}
}

// priced fills in how old the car is, what the cost table is multiplied by, and what was
// quoted.
func (out *lotJSON) priced(r *evaluate.Result) {
	out.CodedFrom = string(r.Lot.CodedFrom)
	if x := r.Priced; x != nil {
		if x.Aged {
			out.Age = &x.Age
		}
		k := x.Classes
		out.Multipliers = &timesJSON{share(k[0]), share(k[1]), share(k[2]), share(k[3]), share(k[4]), share(x.Hours)}
	}
	for _, q := range r.Lot.Quotes {
		j := quoteJSON{Zone: q.Zone.String(), Class: q.Class.Letter(), Grade: int(q.Grade), Spend: q.Spend}
		if q.HasHours {
			j.Hours = &q.Hours
		}
		out.Quotes = append(out.Quotes, j)
	}
}

func shopOf(s *shop.Shop, folder string) shopJSON {
	out := shopJSON{Folder: folder, Currency: s.Currency, Files: []sourceJSON{}}
	for _, x := range s.Sources {
		out.Files = append(out.Files, sourceJSON{x.File, x.BuiltIn})
	}
	return out
}

// JSON writes the screen as one object.
func (s *Screen) JSON(w io.Writer) error {
	out := struct {
		Seed     uint64            `json:"seed"`
		Points   int               `json:"points"`
		Shop     shopJSON          `json:"shop"`
		Rejected []tabular.Problem `json:"rejected"`
		Notices  []string          `json:"notices"`
		Lots     []*lotJSON        `json:"lots"`
	}{s.Seed, s.Points, shopOf(s.Shop, s.Folder), append([]tabular.Problem{}, s.Rejected...),
		append([]string{}, s.Notices...), make([]*lotJSON, len(s.Results))}
	for i, r := range s.Results {
		out.Lots[i] = lotOf(r)
	}
	return encode(w, out)
}

func encode(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(v)
}

// screenFields are the columns of the flat rows.
var screenFields = columnsOf("rank lot* status verdict make* model* year segment category damage value guide " +
	"repair_mean repair_sd repair_p10 repair_p50 repair_p80 repair_p90 repair_p95 repair_ci_low repair_ci_high " +
	"hours_mean hours_p10 hours_p50 hours_p90 days_mean days_p10 days_p50 days_p90 " +
	"resale_mean resale_p10 resale_p50 resale_p90 outlay margin_mean margin_sd margin_p10 margin_p50 margin_p90 " +
	"loss_chance shortfall highest_bid bid_limit loss_chance_finished loss_chance_stopping stop_chance " +
	"margin_other_vat margin_return bay_days margin_bay_day margin_hour reason* warnings* note* site* sale_date")

// Records returns the screen as flat rows.
func (s *Screen) Records() *Records {
	r := &Records{Columns: fieldsOf(s.Evidence)}
	for _, x := range s.Results {
		r.Add(nil, lotOf(x))
	}
	return r
}

// wideFrom is the width from which a lot takes one line instead of two.
const wideFrom = 120

// Nothing says of a screen without lots why it has none.
func (s *Screen) Nothing() string {
	if s.rejected() == 0 {
		return "The list has no lots"
	}
	return "No lot could be read"
}

// Unread counts the rows that could not be read.
func (s *Screen) Unread() int { return s.rejected() }

// rejected counts the rows that became no lot.
func (s *Screen) rejected() int {
	n := rows(s.Rejected)
	if s.More != nil {
		n += s.More.Rejected
	}
	return n
}

// long says how to see the rest of a list that is too long to be shown.
func (s *Screen) long() string {
	all := len(s.Results)
	for _, n := range s.More.Lots {
		all += n
	}
	return fmt.Sprintf("The list has %s. No more than %s of each kind are shown: --top N shows others, up to %s, and "+
		"--format csv or json (-o FILE) gives all.",
		tabular.Count(all, "lot"), money.Group(int64(s.More.Shown)), money.Group(MostShown))
}

// MostShown is how many lots of each status a person is shown of a list too long
// to be held.
const MostShown = 10_000

// rows counts the rows that problems are about.
func rows(problems []tabular.Problem) int {
	type place struct {
		file, sheet string
		line        int
	}
	seen := map[place]bool{}
	for _, p := range problems {
		seen[place{p.File, p.Sheet, p.Line}] = true
	}
	return len(seen)
}

func wasWere(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// merit returns the head of the column with the figure that the table is ordered by, and
// that figure of a result where there is one; "" where a column has it already.
func (s *Screen) merit(r *evaluate.Result) (head, figure string) {
	of := func(head string, figure func() string) (string, string) {
		if r == nil {
			return head, ""
		}
		return head, figure()
	}
	switch s.By {
	case bid.ByReturn:
		return of("return", func() string { return Percent(r.Return()) })
	case bid.ByBayDay:
		return of("a bay\nday", func() string { return fmt.Sprintf("%.2f", r.BayDay()) })
	case bid.ByHour:
		return of("an\nhour", func() string { return fmt.Sprintf("%.2f", r.AnHour) })
	}
	return "", ""
}

// Merit is what a ranked lot is ordered by, in words; "" where a column has it.
func (s *Screen) Merit(r *evaluate.Result) string {
	if head, figure := s.merit(r); head != "" && r.Status == bid.Ranked {
		return figure + " " + strings.ReplaceAll(head, "\n", " ")
	}
	return ""
}

// CarWords names the car of a result, or the kind of car where nobody names it.
func CarWords(r *evaluate.Result) string {
	if car := Clean(r.Lot.Car()); car != "" {
		return car
	}
	return r.Lot.Segment
}

func asideTable(results []*evaluate.Result) *Table {
	t := tableOf(left("lot"), gives("car"), left("cat"), wraps("why"))
	for _, r := range results {
		t.Add(Clean(r.Lot.Number), CarWords(r), Clean(r.Lot.Category), Clean(r.Reason))
	}
	return t
}

// footnotes gathers warnings by kind, each kind marked with a letter.
type footnotes struct {
	kinds []string
	notes [][]note
}

// note is what a kind of warning says, and of which lots.
type note struct {
	short string
	lots  []string
}

var kindWords = map[string]string{
	"suspected": "suspected damage, included at this chance",
	"thin":      fmt.Sprintf("cost based on fewer than %d jobs", evaluate.ThinBuilds),
	"category":  "category and damage don't match",
	"restraint": "airbag damage but no outside damage: ask what fired it",
	"whole":     "coded for the whole car and for a zone: counted twice",
	"no-guide":  "no guide price: the usual share of the value is taken",
	"value":     "no value in the list",
	"price":     "no guide price in the list",
	"apart":     "list and adverts are far apart: is it a special one, or is one mistyped?",
	"spelling":  "the name is nearly one in adverts.csv",
	"guide":     "the guide price is above the value: is one of them mistyped?",
	"no-site":   "no site named",
	"stop":      "more often sold on or broken than finished; " + deal.StopCaution,
	"age":       "no year: parts are priced as in the cost table, and wear as for a car six years old",
	"odometer":  "no odometer reading: the miles are taken from its age",
	"vat":       "near the VAT registration threshold: take advice",
}

// marks returns the letters of a lot's warnings, and keeps what they say.
func (f *footnotes) marks(r *evaluate.Result) string {
	var letters []string
	for _, w := range r.Warnings {
		i := slices.Index(f.kinds, w.Kind)
		if i < 0 {
			i = len(f.kinds)
			f.kinds, f.notes = append(f.kinds, w.Kind), append(f.notes, nil)
		}
		at := slices.IndexFunc(f.notes[i], func(n note) bool { return n.short == w.Short })
		if at < 0 {
			at = len(f.notes[i])
			f.notes[i] = append(f.notes[i], note{short: w.Short})
		}
		n := &f.notes[i][at]
		if number := Clean(r.Lot.Number); len(n.lots) == 0 || n.lots[len(n.lots)-1] != number { // a lot's come together
			n.lots = append(n.lots, number)
		}
		if letter := string(rune('a' + i)); !slices.Contains(letters, letter) {
			letters = append(letters, letter)
		}
	}
	slices.Sort(letters)
	return strings.Join(letters, "")
}

// String lists the notes, a kind a line.
func (f *footnotes) String() string {
	var lines []string
	for i, kind := range f.kinds {
		words := kindWords[kind]
		if words == "" {
			words = kind
		}
		texts := make([]string, len(f.notes[i]))
		for k, n := range f.notes[i] {
			if texts[k] = strings.Join(n.lots, ", "); n.short != "" {
				texts[k] = n.short + " (" + texts[k] + ")"
			}
		}
		lines = append(lines, fmt.Sprintf("%c  %s: %s", 'a'+i, words, strings.Join(texts, ", ")))
	}
	return strings.Join(lines, "\n")
}
