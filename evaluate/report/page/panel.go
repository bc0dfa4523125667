package page

import (
	"fmt"
	"html/template"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

// panel is all that is said of one lot. What a lot without charts leaves out is
// empty.
type panel struct {
	Code                      string
	Marks                     []markView
	Said, Note                string
	Facts                     []fact
	Warnings                  []string
	Stops                     []fact
	Looks                     []lookView
	Inspect                   *inspectView
	ZoneWords                 string
	Zones, Curve, Along, Loss template.HTML
	Prices                    []priceView
	Fall                      template.HTML
	// Adverts and Past are drawn from the shop's evidence, and blank where it has none.
	Adverts, Past          template.HTML
	AdvertWords, PastWords string
	WalkAt                 string
	Walk                   []workingsView
}

type (
	markView struct{ Zone, Class, Words, State string }
	fact     struct{ What, Value, More, Num string }
	// lookView is something to look at before bidding; Cost says what its job costs and
	// what comes with it.
	lookView struct{ Words, Kind, Chance, Cost string }
	// priceView is the margin at one hammer price.
	priceView    struct{ Hammer, Margin, Span, Loss string }
	workingsView struct {
		What, Amount, How string
		Total             bool
	}
)

// The chances of a loss whose prices a bidder is told.
var stopChances = []struct {
	Chance float64
	Words  string
}{{0.1, "1 in 10"}, {0.25, "1 in 4"}, {0.5, "1 in 2"}}

const (
	mostLooks = 6 // things to look at that a panel names, unless the list suspects more
	fewLooks  = 3 // of a panel without charts
)

// look fills in the panel of a lot and its row of the bid sheet.
func (l *lotView) look(e *evaluate.Evaluator, f figures, charts bool) error {
	r := l.result
	s, err := e.Assess(r.Lot)
	if err != nil {
		return err
	}
	p := &panel{Code: r.Lot.Code.String(), Said: report.Clean(r.Lot.Description), Note: report.Clean(r.Lot.Note)}
	for _, m := range r.Lot.Code.Marks() {
		p.Marks = append(p.Marks, markOf(m))
	}
	for _, w := range r.Warnings {
		p.Warnings = append(p.Warnings, report.Clean(w.Text))
	}
	p.Facts = facts(r, f, charts)
	var stops []money.Pence
	for _, c := range stopChances {
		stops = append(stops, s.LossStop(c.Chance))
	}
	breakEven, checks, zones := s.BreakEven(), probe.Checks(s, e, r), s.Zones()
	pay := s.Outlay(r.HighestBid)
	p.Stops = stopFacts(r, f, stops, breakEven, pay)
	for i, c := range checks {
		if !c.Own && (i >= mostLooks || !charts && i >= fewLooks) {
			break
		}
		p.Looks = append(p.Looks, lookView{c.Words(), c.Kind.String(), percent(c.Chance), costWords(&c, e.Shop().Currency)})
	}
	p.ZoneWords = zoneWords(zones, f)
	l.Panel, l.sheet = p, sheetRowOf(l, f, stops, pay, checks)
	if charts {
		if p.Inspect, err = inspectLot(s, r.Lot, l.ID, checks, f); err != nil {
			return err
		}
		if err := p.evidence(r, e.Prices(), f); err != nil {
			return err
		}
		return p.draw(r, s, f, stops, breakEven, zones)
	}
	return nil
}

func markOf(m damage.Mark) markView {
	v := markView{Zone: m.Zone.String(), Class: m.Class.String(), Words: m.Class.Describe(m.Grade), State: "seen"}
	switch {
	case m.State == damage.Absent:
		v.State = "checked: not this bad"
	case m.State == damage.Suspected && m.Percent > 0:
		v.State = fmt.Sprintf("suspected, %d%%", m.Percent)
	case m.State == damage.Suspected:
		v.State = "suspected"
	}
	return v
}

// facts are the figures of a lot; those that its row has too only where all is set
// out.
func facts(r *evaluate.Result, f figures, all bool) []fact {
	spread := func(s evaluate.Spread) string { return report.Tenths(s.P10) + " to " + report.Tenths(s.P90) }
	out := []fact{
		{What: "repair, average", Value: f.about(r.Repair.Mean), More: "the true average is very likely within " +
			f.span(r.Repair.CILow, r.Repair.CIHigh), Num: number(r.Repair.Mean)},
		{What: "sale price, average", Value: f.about(r.Resale.Mean), More: "likely range " +
			f.span(r.Resale.P10, r.Resale.P90), Num: number(r.Resale.Mean)},
		{What: "your hours, average", Value: report.Tenths(r.Hours.Mean), More: "likely range " + spread(r.Hours),
			Num: number(r.Hours.Mean)},
		{What: "days to sale, average", Value: fmt.Sprintf("%.0f", r.Days.Mean),
			More: fmt.Sprintf("likely range %.0f to %.0f", r.Days.P10, r.Days.P90), Num: number(r.Days.Mean)},
		{What: "value before the damage", Value: f.exact(r.Value), Num: number(r.Value.Pounds())},
	}
	out = append([]fact{{What: "repair, likely (P50)", Value: f.about(r.Repair.P50), More: "likely range " +
		f.span(r.Repair.P10, r.Repair.P90), Num: number(r.Repair.P50)}}, out...)
	if r.Status != bid.Ranked || !all {
		return out
	}
	guide := "the list's"
	switch {
	case r.Appraisal.At() > 0:
		guide = "the middle of what has to be beaten, from " + tabular.Count(r.Appraisal.Price.Results, "past lot")
	case r.GuideGuessed:
		guide = "assumed from the value"
	}
	return append([]fact{
		{What: "margin at the " + priceName(r) + ", average", Value: f.about(r.Margin.Mean), More: "likely range " +
			f.span(r.Margin.P10, r.Margin.P90), Num: number(r.Margin.Mean)},
		{What: "chance of a loss there", Value: percent(r.Margin.LossChance), More: "worst 1 in 10, on average: " +
			f.about(r.Margin.Shortfall), Num: share(r.Margin.LossChance)},
		{What: priceName(r), Value: f.exact(r.At), More: guide + "; with fees, their VAT and transport " + f.exact(r.Outlay),
			Num: number(r.At.Pounds())},
	}, out...)
}

// stopFacts are the prices to stop at, the tool's own first.
func stopFacts(r *evaluate.Result, f figures, stops []money.Pence, breakEven, pay money.Pence) []fact {
	out := []fact{{What: "stop at", Value: stopAt(r.HighestBid, f), More: limitSentence(r),
		Num: number(r.HighestBid.Pounds())}}
	if r.HighestBid > 0 {
		out = append(out, fact{What: "to pay on the day at that price, with fees and transport", Value: f.exact(pay),
			Num: number(pay.Pounds())})
	}
	for i, c := range stopChances {
		out = append(out, fact{What: "chance of a loss passes " + c.Words + " above", Value: passes(stops[i], f,
			"any price"), Num: number(stops[i].Pounds())})
	}
	return append(out, fact{What: "breaks even on average at", Value: passes(breakEven, f, "no price"),
		Num: number(breakEven.Pounds())})
}

func limitSentence(r *evaluate.Result) string {
	above := "above it "
	if r.HighestBid == 0 {
		above = "even at the lowest bid "
	}
	switch r.BidLimit {
	case bid.LossLimit:
		return above + "the chance of a loss is over your limit (risk)"
	case bid.MarginLimit:
		return above + "the average margin is under your target"
	case bid.CashLimit:
		return above + "it takes more cash than you allow"
	}
	return "the car's own value"
}

func zoneWords(zones []evaluate.ZoneCost, f figures) string {
	words := make([]string, len(zones))
	for i, z := range zones {
		words[i] = z.Zone.String() + " " + f.about(z.Total())
	}
	return strings.Join(words, ", ")
}

// priceName names the hammer price at which a lot's margin stands.
func priceName(r *evaluate.Result) string {
	if r.Appraisal.At() > 0 {
		return "expected price"
	}
	return "guide price"
}
