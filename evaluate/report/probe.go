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
	r := &Records{Columns: columnsOf("lot* part name* kind chance mean_cost margin_present error_present loss_present " +
		"bid_present margin_absent error_absent loss_absent bid_absent break_even_chance variance_share worth " +
		"worth_at_guide price low high margin_at_low margin_at_high unit own_cost")}
	for _, p := range ps.Probes {
		j := ps.json(p)
		add := func(part, name, kind string, cells map[string]any, from ...any) {
			cells["lot"], cells["part"], cells["name"], cells["kind"] = j.Lot, part, name, kind
			r.Add(cells, from...)
		}
		outcome := func(cells map[string]any, when string, o *outcomeJSON) {
			if o != nil {
				cells["margin_"+when], cells["error_"+when] = o.Margin, o.Error
				cells["loss_"+when], cells["bid_"+when] = o.LossChance, o.HighestBid
			}
		}
		add("lot", p.Lot.Car(), string(p.Status), map[string]any{"margin_present": j.Margin.Mean,
			"loss_present": j.Margin.LossChance, "bid_present": j.HighestBid, "worth": j.WorthOfEverything, "price": j.Price})
		for i, u := range j.Unknowns {
			cells := map[string]any{"worth": u.WorthOfChecking}
			outcome(cells, "present", u.Present)
			outcome(cells, "absent", u.Absent)
			add("unknown", p.Unknowns[i].Item.String(), u.Kind, cells, &u)
		}
		for _, l := range j.Looks {
			cells := map[string]any{"chance": share(1 - l.ClearChance), "worth": l.Worth, "price": l.Price}
			outcome(cells, "present", l.Bad)
			outcome(cells, "absent", l.Clear)
			add("look", l.Look, "", cells)
		}
		for _, i := range j.Inputs {
			add("input", i.Input, "", map[string]any{}, &i)
		}
		for _, o := range j.Odds {
			add("odds", fmt.Sprintf("%g times", o.Factor), "", map[string]any{"margin_present": o.Margin,
				"loss_present": o.LossChance, "bid_present": o.HighestBid})
		}
	}
	return r
}
