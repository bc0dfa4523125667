package build

import (
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
)

// An EvidenceRecord is what evidence said of a lot's prices when it was bought. Money is in
// pounds unless a name says pence; logs are natural.
type EvidenceRecord struct {
	// Value is the value used, its mean; the rest of ValueUsed says where it comes from.
	Value     money.Pence     `json:"value_pence"`
	ValueUsed ValueRecord     `json:"value_used"`
	Marker    MarkerRecord    `json:"marker"`
	Price     PriceRecord     `json:"price"`
	Selection SelectionRecord `json:"selection"`
	// U is how far the hammer price lay from what was expected, METHOD.md 15.23.
	U float64 `json:"u"`
	// Tau is the standard deviation of the shop's own error about the lot, RepairSD that of
	// the repair cost.
	Tau      float64 `json:"tau"`
	RepairSD float64 `json:"repair_sd"`
	// Plain is the mean margin at the hammer price paid before the top-bidder allowance, Corrected
	// after it, and MarginSD the standard deviation of both.
	Plain     float64 `json:"margin_before_selection"`
	Corrected float64 `json:"margin_after_selection"`
	MarginSD  float64 `json:"margin_sd"`
	// What else the list said.
	SaleDate string `json:"sale_date"`
	Keys     string `json:"keys"`
	Starts   string `json:"starts"`
}

type (
	// A ValueRecord is the value used.
	ValueRecord struct {
		LogSD       float64 `json:"log_sd"`
		Source      string  `json:"source"`
		Adverts     int     `json:"adverts"`
		ListingBias float64 `json:"listing_bias"`
		Fall        float64 `json:"fall"`
	}
	// A MarkerRecord is what the category takes off.
	MarkerRecord struct {
		Low      float64 `json:"low"`
		Mid      float64 `json:"mid"`
		High     float64 `json:"high"`
		Adverts  int     `json:"adverts"`
		OwnSales int     `json:"own_sales"`
	}
	// A PriceRecord is the log of the price to beat: a Student t.
	PriceRecord struct {
		Location float64 `json:"location"`
		Scale    float64 `json:"scale"`
		DF       float64 `json:"df"`
		Gap      float64 `json:"gap"`
		Source   string  `json:"source"`
		Results  int     `json:"results"`
	}
	// A SelectionRecord is the top-bidder allowance: B multiplies Reliability.
	SelectionRecord struct {
		Shift       float64 `json:"shift"`
		A           float64 `json:"a"`
		B           float64 `json:"b"`
		R           float64 `json:"r"`
		Reliability float64 `json:"reliability"`
		Builds      int     `json:"builds"`
	}
)

// keepEvidence returns what is kept of an appraisal of a lot bought at a hammer price.
func keepEvidence(a *evaluate.Appraisal, lot *evaluate.Lot, hammer money.Pence) *EvidenceRecord {
	v, m, p, s := &a.Value, &a.Marker, &a.Price, &a.Selection
	return &EvidenceRecord{
		Value:     money.FromPounds(v.Mean),
		ValueUsed: ValueRecord{v.LogSD, string(v.Source), v.Adverts, v.ListingBias, v.Fall},
		Marker:    MarkerRecord{m.Points[0], m.Points[1], m.Points[2], m.Adverts, m.OwnSales},
		Price:     PriceRecord{p.Location, p.Scale, p.DF, p.Gap, string(p.Source), p.Results},
		Selection: SelectionRecord{A: s.A, B: s.B, R: s.R, Reliability: s.Reliability, Builds: s.Builds},
		U:         rounded(prices.BuildU(hammer.Pounds(), p), 1e6), Tau: cents(a.Tau), RepairSD: cents(a.RepairSD),
		SaleDate: lot.SaleDate, Keys: lot.Keys, Starts: lot.Starts,
	}
}

// predicted keeps the margin at the price paid before and after the top-bidder allowance.
func (e *EvidenceRecord) predicted(a *evaluate.Appraisal, f *Frozen) {
	m := &f.Predicted.Margin
	shift := 0.0
	if a.Corrected {
		shift = a.Selection.Shift(f.Hammer.Pounds(), m.Mean)
	}
	e.Selection.Shift, e.Plain, e.Corrected, e.MarginSD = cents(shift), m.Mean, cents(m.Mean+shift), m.SD
}

// AsBuild returns a finished build as a row of builds.csv: what the workshop, whose costs have
// been learned, would have predicted at the price paid, and what was made.
func (o *Outcome) AsBuild(e *evaluate.Evaluator) (prices.Build, error) {
	lot, err := o.Frozen.Lot()
	if err != nil {
		return prices.Build{}, err
	}
	s, err := e.Assess(lot)
	if err != nil {
		return prices.Build{}, err
	}
	at := s.Along([]money.Pence{o.Frozen.Hammer})[0]
	b := prices.Build{
		Name: o.Build.Name, SaleDate: o.bought(), Predicted: cents(at.Mean), MarginSD: cents(at.SD),
		RepairSD: cents(s.Repair().SD),
		Realised: o.MarginActual.Pounds(), Value: prices.Some(lot.Value.Pounds()),
	}
	if x := o.Frozen.Evidence; x != nil {
		b.U, b.Tau = x.U, prices.Some(x.Tau)
	}
	return b, nil
}

// bought is the day on which the car was won: the ledger's, else the list's; zero where neither says.
func (o *Outcome) bought() time.Time {
	if !o.Build.Bought.IsZero() || o.Frozen.Evidence == nil {
		return o.Build.Bought
	}
	day, err := time.Parse(time.DateOnly, o.Frozen.Evidence.SaleDate)
	if err != nil {
		return time.Time{} // the list did not say
	}
	return day
}

// Promised is the mean margin at the price paid, in pounds, after the top-bidder allowance.
func (f *Frozen) Promised() float64 {
	if f.Evidence != nil {
		return f.Evidence.Corrected
	}
	return f.Predicted.Margin.Mean
}
