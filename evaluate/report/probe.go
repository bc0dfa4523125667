package report

import (
	"fmt"
	"io"
	"math"

	"wreckoner/damage"
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
	// mean_cost is the average repair of the whole car with the item less that without
	// it; own_cost, its own job alone. worth_of_checking goes by the workshop's limits and
	// by prices about the guide; worth_at_guide ignores both, as the value of perfect
	// information in textbooks does. in_code: the list's own code suspects it.
	unknownJSON struct {
		Zone            string       `json:"zone"`
		Class           string       `json:"class"`
		Grade           int          `json:"grade"`
		Kind            string       `json:"kind"`
		InCode          bool         `json:"in_code"`
		Chance          float64      `json:"chance"`
		OwnCost         float64      `json:"own_cost"`
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
	chosenJSON struct {
		Inspections []string `json:"inspections"`
		Price       float64  `json:"price"`
		Trip        float64  `json:"trip"`
		Worth       float64  `json:"worth"`
		Gain        float64  `json:"gain"`
	}
	// cost is the price, with the trip to the sale where the look needs one.
	lookJSON struct {
		Look        string       `json:"look"`
		Price       float64      `json:"price"`
		Cost        float64      `json:"cost"`
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
	inspectedJSON struct {
		Found    []string `json:"found"`
		NotThere []string `json:"not_there"`
		outcomeJSON
		Pay float64 `json:"pay"`
	}
	probeJSON struct {
		Lot               string         `json:"lot"`
		Category          string         `json:"category"`
		Verdict           string         `json:"verdict"`
		Guide             *float64       `json:"guide"`
		Price             float64        `json:"price"`
		Margin            *marginJSON    `json:"margin"`
		HighestBid        float64        `json:"highest_bid"`
		BidLimit          string         `json:"bid_limit"`
		Seed              uint64         `json:"seed"`
		Points            int            `json:"points"`
		ConditionalPoints int            `json:"conditional_points"`
		Inspected         *inspectedJSON `json:"inspected,omitempty"`
		Summary           []string       `json:"summary"`
		WorthOfEverything float64        `json:"worth_of_everything"`
		Unknowns          []unknownJSON  `json:"unknowns"`
		Looks             []lookJSON     `json:"looks"`
		Chosen            *chosenJSON    `json:"chosen,omitempty"`
		Inputs            []inputJSON    `json:"inputs"`
		Odds              []oddsJSON     `json:"odds"`
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
		Lot: p.Lot.Number, Category: p.Lot.Category, Verdict: string(p.Verdict()), Price: p.Price.Pounds(),
		Margin:     marginOf(p.Margin),
		HighestBid: p.HighestBid.Pounds(), BidLimit: string(p.BidLimit), Seed: ps.Seed, Points: ps.Points,
		ConditionalPoints: p.Points,
		Summary:           ProbeWords(p, ps.Currency), WorthOfEverything: cents(p.Everything),
		Unknowns: []unknownJSON{}, Looks: []lookJSON{}, Inputs: []inputJSON{}, Odds: []oddsJSON{},
	}
	if p.Guide > 0 {
		out.Guide = pounds(p.Guide)
	}
	if x := p.Inspected; x != nil {
		out.Inspected = &inspectedJSON{itemNames(x.Found), itemNames(x.NotThere), *outcomeOf(x.Outcome),
			cents(x.Pay.Pounds())}
	}
	for _, u := range p.Unknowns {
		x := unknownJSON{
			Zone: u.Zone.String(), Class: u.Class.Letter(), Grade: int(u.Grade), Kind: u.Kind.String(), InCode: u.Own,
			Chance: share(u.Chance), OwnCost: cents(u.OwnCost), MeanCost: cents(u.MeanCost),
			Present: outcomeOf(u.Present), Absent: outcomeOf(u.Absent), VarianceShare: share(u.VarianceShare),
			WorthOfChecking: cents(u.Worth), WorthAtGuide: cents(u.WorthAtGuide),
		}
		if !math.IsNaN(u.BreakEvenChance) {
			chance := share(u.BreakEvenChance)
			x.BreakEvenChance = &chance
		}
		out.Unknowns = append(out.Unknowns, x)
	}
	for _, l := range p.Inspections {
		x := lookJSON{Look: l.Name, Price: l.Price, Cost: cents(l.Price + l.Trip), Finds: l.Finds, Items: []string{},
			Counted: l.Counted,
			Worth:   cents(l.Worth), Gain: cents(l.Gain()), WorthAsking: l.WorthAsking(),
			ClearChance: share(l.ClearChance), Clear: outcomeOf(l.Clear), Bad: outcomeOf(l.Bad), Note: l.Note}
		for _, i := range l.Items {
			x.Items = append(x.Items, i.String())
		}
		out.Looks = append(out.Looks, x)
	}
	if c := p.Chosen; c != nil {
		out.Chosen = &chosenJSON{Inspections: []string{}, Price: cents(c.Price), Trip: cents(c.Trip), Worth: cents(c.Worth),
			Gain: cents(c.Gain())}
		for _, l := range c.Inspections {
			out.Chosen.Inspections = append(out.Chosen.Inspections, l.Name)
		}
	}
	for _, i := range p.Inputs {
		out.Inputs = append(out.Inputs, inputJSON{i.Name, i.Unit, share(i.Low), share(i.High), cents(i.MarginAtLow),
			cents(i.MarginAtHigh)})
	}
	for _, o := range p.Odds {
		out.Odds = append(out.Odds, oddsJSON{o.Factor, cents(o.Margin), share(o.LossChance), o.HighestBid.Pounds()})
	}
	return out
}

func itemNames(items []damage.Item) []string {
	names := make([]string, len(items))
	for i, x := range items {
		names[i] = x.String()
	}
	return names
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
		{Name: "lot", Text: true}, {Name: "part"}, {Name: "name",
			Text: true}, {Name: "kind"}, {Name: "chance"}, {Name: "mean_cost"},
		{Name: "margin_present"}, {Name: "error_present"}, {Name: "loss_present"}, {Name: "bid_present"},
		{Name: "margin_absent"}, {Name: "error_absent"}, {Name: "loss_absent"}, {Name: "bid_absent"},
		{Name: "break_even_chance"}, {Name: "variance_share"}, {Name: "worth"}, {Name: "worth_at_guide"}, {Name: "price"},
		{Name: "low"}, {Name: "high"}, {Name: "margin_at_low"}, {Name: "margin_at_high"}, {Name: "unit"}, {Name: "own_cost"},
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
		row("lot", p.Lot.Car(), string(p.Status), nil, nil, j.Margin.Mean, nil, j.Margin.LossChance, j.HighestBid, nil, nil,
			nil, nil, nil, nil, j.WorthOfEverything, nil, j.Price)
		for i, u := range j.Unknowns {
			cells := append([]any{u.Chance, u.MeanCost}, outcome(u.Present)...)
			cells = append(append(cells, outcome(u.Absent)...), orNil(u.BreakEvenChance), u.VarianceShare, u.WorthOfChecking,
				u.WorthAtGuide)
			cells = append(append(cells, make([]any, 6)...), u.OwnCost)
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
