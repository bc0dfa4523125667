package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wreckoner/evaluate/probe"
)

// Probes are what one or several lots hang on.
type Probes struct {
	Probes   []*probe.Probe
	Currency string
	Seed     uint64
	Points   int
	Quiet    bool
}

type (
	outcomeJSON struct {
		Margin     float64 `json:"margin"`
		Error      float64 `json:"error"`
		LossChance float64 `json:"loss_chance"`
		HighestBid float64 `json:"highest_bid"`
		BidLimit   string  `json:"bid_limit"`
	}
	unknownJSON struct {
		Zone            string       `json:"zone"`
		Class           string       `json:"class"`
		Grade           int          `json:"grade"`
		Kind            string       `json:"kind"`
		Chance          float64      `json:"chance"`
		MeanCost        float64      `json:"mean_cost"`
		Present         *outcomeJSON `json:"present"`
		Absent          *outcomeJSON `json:"absent"`
		BreakEvenChance *float64     `json:"break_even_chance"`
		VarianceShare   float64      `json:"variance_share"`
		WorthOfChecking float64      `json:"worth_of_checking"`
		WorthAtGuide    float64      `json:"worth_at_guide"`
	}
	inputJSON struct {
		Input        string  `json:"input"`
		Unit         string  `json:"unit"`
		Low          float64 `json:"low"`
		High         float64 `json:"high"`
		MarginAtLow  float64 `json:"margin_at_low"`
		MarginAtHigh float64 `json:"margin_at_high"`
	}
	oddsJSON struct {
		Factor     float64 `json:"factor"`
		Margin     float64 `json:"margin"`
		LossChance float64 `json:"loss_chance"`
		HighestBid float64 `json:"highest_bid"`
	}
	lookJSON struct {
		Look        string       `json:"look"`
		Price       float64      `json:"price"`
		Finds       float64      `json:"finds"`
		Items       []string     `json:"items"`
		Counted     int          `json:"counted"`
		Worth       float64      `json:"worth"`
		Gain        float64      `json:"gain"`
		WorthAsking bool         `json:"worth_asking"`
		ClearChance float64      `json:"clear_chance"`
		Clear       *outcomeJSON `json:"clear"`
		Bad         *outcomeJSON `json:"bad"`
		Note        string       `json:"note,omitempty"`
	}
	probeJSON struct {
		Lot               string        `json:"lot"`
		Category          string        `json:"category"`
		Verdict           string        `json:"verdict"`
		Guide             *float64      `json:"guide"`
		Price             float64       `json:"price"`
		Margin            *marginJSON   `json:"margin"`
		HighestBid        float64       `json:"highest_bid"`
		BidLimit          string        `json:"bid_limit"`
		Seed              uint64        `json:"seed"`
		Points            int           `json:"points"`
		ConditionalPoints int           `json:"conditional_points"`
		Summary           []string      `json:"summary"`
		WorthOfEverything float64       `json:"worth_of_everything"`
		Unknowns          []unknownJSON `json:"unknowns"`
		Looks             []lookJSON    `json:"looks"`
		Inputs            []inputJSON   `json:"inputs"`
		Odds              []oddsJSON    `json:"odds"`
	}
)

func outcomeOf(o *probe.Outcome) *outcomeJSON {
	if o == nil {
		return nil
	}
	return &outcomeJSON{cents(o.Margin), cents(o.Error), share(o.LossChance), o.HighestBid.Pounds(), string(o.BidLimit)}
}

func (ps *Probes) json(p *probe.Probe) probeJSON {
	out := probeJSON{
		Lot: p.Lot.Number, Category: p.Lot.Category, Verdict: string(p.Verdict()), Price: p.Price.Pounds(), Margin: marginOf(p.Margin),
		HighestBid: p.HighestBid.Pounds(), BidLimit: string(p.BidLimit), Seed: ps.Seed, Points: ps.Points, ConditionalPoints: p.Points,
		Summary: summary(p), WorthOfEverything: cents(p.Everything),
		Unknowns: []unknownJSON{}, Looks: []lookJSON{}, Inputs: []inputJSON{}, Odds: []oddsJSON{},
	}
	if p.Guide > 0 {
		out.Guide = pounds(p.Guide)
	}
	for _, u := range p.Unknowns {
		x := unknownJSON{
			Zone: u.Zone.String(), Class: u.Class.Letter(), Grade: int(u.Grade), Kind: u.Kind.String(), Chance: share(u.Chance), MeanCost: cents(u.MeanCost),
			Present: outcomeOf(u.Present), Absent: outcomeOf(u.Absent), VarianceShare: share(u.VarianceShare), WorthOfChecking: cents(u.Worth), WorthAtGuide: cents(u.WorthAtGuide),
		}
		if !math.IsNaN(u.BreakEvenChance) {
			chance := share(u.BreakEvenChance)
			x.BreakEvenChance = &chance
		}
		out.Unknowns = append(out.Unknowns, x)
	}
	for _, l := range p.Inspections {
		x := lookJSON{Look: l.Name, Price: l.Price, Finds: l.Finds, Items: []string{}, Counted: l.Counted, Worth: cents(l.Worth), Gain: cents(l.Gain()), WorthAsking: l.WorthAsking(),
			ClearChance: share(l.ClearChance), Clear: outcomeOf(l.Clear), Bad: outcomeOf(l.Bad), Note: l.Note}
		for _, i := range l.Items {
			x.Items = append(x.Items, i.String())
		}
		out.Looks = append(out.Looks, x)
	}
	for _, i := range p.Inputs {
		out.Inputs = append(out.Inputs, inputJSON{i.Name, i.Unit, share(i.Low), share(i.High), cents(i.MarginAtLow), cents(i.MarginAtHigh)})
	}
	for _, o := range p.Odds {
		out.Odds = append(out.Odds, oddsJSON{o.Factor, cents(o.Margin), share(o.LossChance), o.HighestBid.Pounds()})
	}
	return out
}

// JSON writes one object for one lot, a list for several.
func (ps *Probes) JSON(w io.Writer) error {
	if len(ps.Probes) == 1 {
		return encode(w, ps.json(ps.Probes[0]))
	}
	all := make([]probeJSON, len(ps.Probes))
	for i, p := range ps.Probes {
		all[i] = ps.json(p)
	}
	return encode(w, all)
}

// Records returns a row for everything that was found out; part says what a row
// is about.
func (ps *Probes) Records() *Records {
	r := &Records{Columns: []Field{
		{Name: "lot", Text: true}, {Name: "part"}, {Name: "name", Text: true}, {Name: "kind"}, {Name: "chance"}, {Name: "mean_cost"},
		{Name: "margin_present"}, {Name: "error_present"}, {Name: "loss_present"}, {Name: "bid_present"},
		{Name: "margin_absent"}, {Name: "error_absent"}, {Name: "loss_absent"}, {Name: "bid_absent"},
		{Name: "break_even_chance"}, {Name: "variance_share"}, {Name: "worth"}, {Name: "worth_at_guide"}, {Name: "price"},
		{Name: "low"}, {Name: "high"}, {Name: "margin_at_low"}, {Name: "margin_at_high"}, {Name: "unit"},
	}}
	outcome := func(o *outcomeJSON) []any {
		if o == nil {
			return make([]any, 4)
		}
		return []any{o.Margin, o.Error, o.LossChance, o.HighestBid}
	}
	for _, p := range ps.Probes {
		j := ps.json(p)
		row := func(part, name, kind string, cells ...any) {
			full := append([]any{j.Lot, part, name, kind}, cells...)
			r.Rows = append(r.Rows, append(full, make([]any, len(r.Columns)-len(full))...))
		}
		row("lot", p.Lot.Car(), string(p.Status), nil, nil, j.Margin.Mean, nil, j.Margin.LossChance, j.HighestBid, nil, nil, nil, nil, nil, nil, j.WorthOfEverything, nil, j.Price)
		for i, u := range j.Unknowns {
			cells := append([]any{u.Chance, u.MeanCost}, outcome(u.Present)...)
			cells = append(append(cells, outcome(u.Absent)...), orNil(u.BreakEvenChance), u.VarianceShare, u.WorthOfChecking, u.WorthAtGuide)
			row("unknown", p.Unknowns[i].Item.String(), u.Kind, cells...)
		}
		for _, l := range j.Looks {
			cells := append([]any{share(1 - l.ClearChance), nil}, outcome(l.Bad)...)
			cells = append(append(cells, outcome(l.Clear)...), nil, nil, l.Worth, nil, l.Price)
			row("look", l.Look, "", cells...)
		}
		for _, i := range j.Inputs {
			row("input", i.Input, "", append(make([]any, 15), i.Low, i.High, i.MarginAtLow, i.MarginAtHigh, i.Unit)...)
		}
		for _, o := range j.Odds {
			row("odds", fmt.Sprintf("%g times", o.Factor), "", nil, nil, o.Margin, nil, o.LossChance, o.HighestBid)
		}
	}
	return r
}

// Document returns the probes for a person: words first.
func (ps *Probes) Document(int) *Document {
	d := &Document{}
	for _, p := range ps.Probes {
		ps.show(d, p)
	}
	if !ps.Quiet {
		d.Say("Worth: what knowing it before bidding is worth on average, as the hammer price varies about the guide; walking away is worth nothing. " +
			"Figures with and without are over the worlds in which it is so: to learn that something is there is also to learn how hard the hit was. " +
			"± is one standard error. Stop at: the highest bid then. Pays to: the chance of it at which the mean margin is zero. Var.: its share of the margin's variance.")
	}
	d.Say(Caution)
	return d
}

func (ps *Probes) show(d *Document, p *probe.Probe) {
	d.Blocks = append(d.Blocks, Block{Heading: fmt.Sprintf("Lot %s, %s (category %s)", clean(p.Lot.Number), carText(p.Result), clean(p.Lot.Category)), Text: strings.Join(summary(p), "\n")})

	t := &Table{Columns: []Column{{Head: "look", Wraps: true}, {Head: "price", Right: true}, {Head: "worth", Right: true}, {Head: "ask?"}, {Head: "shows\nnothing", Right: true}, {Head: "then\nstop at", Right: true}, {Head: "else\nstop at", Right: true}}}
	for _, l := range p.Inspections {
		ask := "no"
		if l.WorthAsking() {
			ask = "worth asking for"
		}
		t.Add(clean(l.Name), fmt.Sprintf("%.0f", l.Price), fmt.Sprintf("%.0f", l.Worth), ask, Percent(l.ClearChance), stop(l.Clear), stop(l.Bad))
	}
	d.Show("What a look is worth", t)

	t = &Table{Columns: []Column{{Head: "item"}, {Head: "chance", Right: true}, {Head: "costs", Right: true}, {Head: "margin with\nwithout", Right: true}, {Head: "loss", Right: true}, {Head: "stop at", Right: true}, {Head: "pays\nto", Right: true}, {Head: "var.", Right: true}, {Head: "worth", Right: true}}}
	for _, u := range p.Unknowns {
		pays := "always"
		switch {
		case !math.IsNaN(u.BreakEvenChance):
			pays = Percent(u.BreakEvenChance)
		case u.Present != nil && u.Present.Margin < 0 || u.Absent != nil && u.Absent.Margin < 0:
			pays = "never"
		}
		t.Add(fmt.Sprintf("%s\n%s", u.Item, u.Kind), Percent(u.Chance), Pounds(u.MeanCost), marginText(u.Present)+"\n"+marginText(u.Absent),
			lossText(u.Present)+"\n"+lossText(u.Absent), stop(u.Present)+"\n"+stop(u.Absent), pays, Percent(u.VarianceShare), fmt.Sprintf("%.0f", u.Worth))
	}
	d.Show(fmt.Sprintf("What cannot be seen, at a hammer price of %s (%s)", Whole(p.Price), ps.Currency), t)

	t = &Table{Columns: []Column{{Head: "held at its P10 and P90", Wraps: true}, {Head: "low", Right: true}, {Head: "high", Right: true}, {Head: "margin at low", Right: true}, {Head: "at high", Right: true}, {Head: "swing", Right: true}}}
	for _, i := range p.Inputs {
		t.Add(i.Name, inputText(i.Low, i.Unit), inputText(i.High, i.Unit), Pounds(i.MarginAtLow), Pounds(i.MarginAtHigh), Pounds(i.Swing()))
	}
	d.Show("One number at a time", t)

	t = &Table{Columns: []Column{{Head: "odds of all that is not seen"}, {Head: "margin", Right: true}, {Head: "loss", Right: true}, {Head: "stop at", Right: true}}}
	for _, o := range p.Odds {
		name := fmt.Sprintf("%g times", o.Factor)
		switch o.Factor {
		case 0:
			name = "none of it there"
		case 1:
			name = "as believed"
		}
		t.Add(name, Pounds(o.Margin), Percent(o.LossChance), Whole(o.HighestBid))
	}
	d.Show("If the book's chances are off", t)
}

func stop(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return Whole(o.HighestBid)
}

func marginText(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return fmt.Sprintf("%s ±%.0f", Pounds(o.Margin), o.Error)
}

func lossText(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return Percent(o.LossChance)
}

func inputText(x float64, unit string) string {
	switch unit {
	case "share":
		return fmt.Sprintf("%.1f %%", 100*x)
	case "times":
		return fmt.Sprintf("%g times", x)
	}
	if math.Abs(x) < 100 {
		return fmt.Sprintf("%.2f", x)
	}
	return Pounds(x)
}

// summary says in words what matters: how the lot stands, the two or three
// things that count, and what to do about them.
func summary(p *probe.Probe) []string {
	at := "the guide price of " + Whole(p.Price)
	if p.Guide == 0 {
		at = "a hammer price of " + Whole(p.Price) + " (there is no guide price)"
	}
	lines := []string{fmt.Sprintf("At %s the margin is %s, 8 in 10 between %s, and the chance of a loss is %s.", at, Pounds(p.Margin.Mean), strings.Replace(Range(p.Margin.P10, p.Margin.P90), " to ", " and ", 1), Percent(p.Margin.LossChance))}
	lines = append(lines, matters(p)...)
	if p.HighestBid == 0 {
		lines = append(lines, "If nothing can be learned: leave it.")
	} else {
		lines = append(lines, fmt.Sprintf("If nothing can be learned: stop at %s.", Whole(p.HighestBid)))
	}
	return append(lines, advice(p))
}

// matters names up to three unknowns that move the margin most.
func matters(p *probe.Probe) []string {
	var lines []string
	for _, u := range p.Unknowns {
		if len(lines) == 3 || u.Present == nil || u.Absent == nil {
			break
		}
		if u.Worth < 1 && u.VarianceShare < 0.02 {
			break
		}
		lines = append(lines, fmt.Sprintf("  %s (%s, %s): %s, costs about %s. With it the margin is %s and you would stop at %s; without it %s and %s.",
			u.Item, u.Kind, Percent(u.Chance), u.Class.Describe(u.Grade), Pounds(u.MeanCost), Pounds(u.Present.Margin), stop(u.Present), Pounds(u.Absent.Margin), stop(u.Absent)))
	}
	none, triple := p.Odds[0], p.Odds[len(p.Odds)-1]
	switch {
	case len(p.Unknowns) == 0:
		lines = append(lines, "Nothing is suspected or hidden: what is left is how dear the coded jobs turn out.")
	case len(lines) == 0:
		lines = append(lines, "Nothing that cannot be seen moves it much: shrug it off.")
	default:
		lines = append([]string{"What matters of what cannot be seen:"}, lines...)
	}
	switch {
	case none.Margin < 0:
		lines = append(lines, fmt.Sprintf("Even with no hidden damage at all the margin would be %s: it is the price, not the unseen, that is against it.", Pounds(none.Margin)))
	case triple.Margin > 0 && len(p.Unknowns) > 0:
		lines = append(lines, fmt.Sprintf("Even at three times the odds of everything unseen the margin would be %s.", Pounds(triple.Margin)))
	}
	return lines
}

// advice says which look to ask for, if any.
func advice(p *probe.Probe) string {
	if len(p.Inspections) == 0 {
		return "No look that the shop knows would show anything more."
	}
	best := p.Inspections[0]
	if !best.WorthAsking() {
		return fmt.Sprintf("No look is worth its price: the best, %s, is worth %.0f and costs %.0f.", clean(best.Name), best.Worth, best.Price)
	}
	text := fmt.Sprintf("Ask for: %s (costs %.0f, worth %.0f).", clean(best.Name), best.Price, best.Worth)
	if best.Clear != nil {
		text += fmt.Sprintf(" If it shows nothing (%s), stop at %s.", Percent(best.ClearChance), stop(best.Clear))
	}
	if best.Bad != nil {
		text += fmt.Sprintf(" If it shows something (%s), %s.", Percent(1-best.ClearChance), stopOrLeave(best.Bad))
	}
	return text
}

func stopOrLeave(o *probe.Outcome) string {
	if o.HighestBid == 0 {
		return "leave it"
	}
	return "stop at " + stop(o)
}
