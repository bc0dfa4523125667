package build

import (
	"math"
	"slices"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// Predicted are the distributions that were believed in, in pounds, hours and
// days.
type Predicted struct {
	Repair Forecast `json:"repair"`
	Hours  Forecast `json:"hours"`
	Days   Forecast `json:"days"`
	// Other is the fixed items and extras.
	Other  Forecast `json:"other"`
	Resale Forecast `json:"resale"`
	// Margin is that at the hammer price paid, LossChance the chance that it is
	// below 0.
	Margin     Forecast `json:"margin"`
	LossChance float64  `json:"loss_chance"`
	// Classes, Spots and Candidates are those that may be charged.
	Classes    []ClassForecast     `json:"classes"`
	Spots      []SpotForecast      `json:"spots"`
	Candidates []CandidateForecast `json:"candidates"`
}

// A Forecast is one distribution.
type Forecast struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	P10  float64 `json:"p10"`
	P50  float64 `json:"p50"`
	P90  float64 `json:"p90"`
	// Quantiles are those at the levels (i + 1/2) / n, i from 0 to n - 1.
	Quantiles []float64 `json:"quantiles"`
}

// A ClassForecast is what one class of damage costs in all zones, own work
// included.
type ClassForecast struct {
	Class string `json:"class"`
	Forecast
}

// A SpotForecast is what one zone and class costs, own work included.
type SpotForecast struct {
	Zone  string `json:"zone"`
	Class string `json:"class"`
	// Chance that anything is charged there.
	Chance float64 `json:"chance"`
	// Spend, in pounds, and Hours are means.
	Spend float64 `json:"spend_mean"`
	Hours float64 `json:"hours_mean"`
	Forecast
}

// A CandidateForecast is one thing that may be wrong with the car.
type CandidateForecast struct {
	Zone  string `json:"zone"`
	Class string `json:"class"`
	Grade int    `json:"grade"`
	// Kind is seen, suspected or hidden.
	Kind string `json:"kind"`
	// Chance of its being there; Charged that nothing worse is there as well.
	Chance  float64 `json:"chance"`
	Charged float64 `json:"charged"`
	// Row is the book row that prices it, Spend and Hours what it costs on average
	// where it is charged, this kind of car's multipliers included.
	Row   string  `json:"row"`
	Spend float64 `json:"spend_mean"`
	Hours float64 `json:"hours_mean"`
}

// Spot returns the place that the forecast is of.
func (s SpotForecast) Spot() damage.Spot { return spotOf(s.Zone, s.Class) }

// Item returns the thing that may be wrong.
func (c CandidateForecast) Item() damage.Item {
	return damage.Item{Spot: spotOf(c.Zone, c.Class), Grade: damage.Grade(c.Grade)}
}

// spotOf reads names that this package wrote.
func spotOf(zone, class string) damage.Spot {
	z, err := damage.ParseZone(zone)
	c, err2 := damage.ParseClass(class)
	if err != nil || err2 != nil {
		panic("review: no spot: " + zone + " " + class)
	}
	return damage.Spot{Zone: z, Class: c}
}

const (
	fineQuantiles   = 200
	coarseQuantiles = 20
)

// levels are (i + 1/2) / n, i from 0 to n - 1.
func levels(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = (float64(i) + 0.5) / float64(n)
	}
	return out
}

// predict fills in the outlay, the workings and all distributions of a lot.
func (f *Frozen) predict(e *evaluate.Evaluator, lot *evaluate.Lot) error {
	p, err := e.Resolve(lot)
	if err != nil {
		return err
	}
	s, err := e.AssessResolved(p)
	if err != nil {
		return err
	}
	f.Kept.keepAge(lot, p, e.Shop())
	f.Walk = keepWalk(s.Workings(f.Hammer))
	paid := p.Deal.Outlay(f.Hammer)
	f.Outlay, f.OutlayVAT, f.PurchasePrice = paid.Total, paid.VAT, paid.PurchasePrice
	x := s.Figures(f.Hammer, levels(fineQuantiles), levels(coarseQuantiles))
	f.Predicted = Predicted{
		Repair: forecast(x.Repair), Hours: forecast(x.Hours), Days: forecast(x.Days), Other: forecast(x.Other),
		Resale: forecast(x.Resale), Margin: forecast(x.Margin), LossChance: rounded(x.LossChance, 1e6),
	}
	f.Predicted.places(e, p, s)
	for i, c := range p.Case {
		chance, charged := s.Occurs(i)
		spend, hours := s.JobMean(i)
		f.Predicted.Candidates = append(f.Predicted.Candidates, CandidateForecast{
			Zone: c.Zone.String(), Class: c.Class.Letter(), Grade: int(c.Grade), Kind: c.Kind.String(),
			Chance: rounded(chance, 1e6), Charged: rounded(charged, 1e6), Row: e.Shop().Costs.Rows()[c.Row].Name(),
			Spend: cents(spend), Hours: cents(hours),
		})
	}
	return nil
}

// places fills in what each place and each class of damage costs. How it is spread is
// simulated; each is stretched to its exact mean, so that they add up to the repair's.
func (out *Predicted) places(e *evaluate.Evaluator, p *evaluate.ResolvedLot, assessed *evaluate.Assessment) {
	var t simulate.Totals
	t.Sum(e.Draws(), p.Case)
	n := e.Options().Points
	spend, hours := make([]float64, n), make([]float64, n)
	var classes [damage.ClassCount][]float64
	for _, at := range assessed.Places() {
		t.Spot(e.Draws(), p.Case, at.Spot, spend, hours)
		repair, mean, exact := make([]float64, n), 0.0, p.Deal.Repair(at.Spend, at.Hours)
		for i := range repair {
			repair[i] = p.Deal.Repair(p.Segment.Spend*spend[i], p.Segment.Hours*hours[i])
			mean += repair[i] / float64(n)
		}
		class := &classes[at.Spot.Class]
		if *class == nil {
			*class = make([]float64, n)
		}
		for i := range repair {
			if mean > 0 {
				repair[i] *= exact / mean
			}
			(*class)[i] += repair[i]
		}
		s := SpotForecast{Zone: at.Spot.Zone.String(), Class: at.Spot.Class.Letter(), Spend: cents(at.Spend),
			Hours: cents(at.Hours)}
		for i, c := range p.Case {
			if _, charged := assessed.Occurs(i); c.Spot == at.Spot {
				s.Chance += charged
			}
		}
		s.Chance = min(1, rounded(s.Chance, 1e6))
		s.Forecast = forecast(evaluate.FigureOf(repair, levels(coarseQuantiles)))
		out.Spots = append(out.Spots, s)
	}
	for c, values := range classes {
		if values != nil {
			out.Classes = append(out.Classes, ClassForecast{damage.Class(c).Letter(),
				forecast(evaluate.FigureOf(values, levels(coarseQuantiles)))})
		}
	}
}

// forecast returns a distribution to the hundredth.
func forecast(x evaluate.Figure) Forecast {
	f := Forecast{Mean: cents(x.Mean), SD: cents(x.SD), P10: cents(x.P10), P50: cents(x.P50), P90: cents(x.P90),
		Quantiles: make([]float64, len(x.Quantiles))}
	for i, q := range x.Quantiles {
		f.Quantiles[i] = cents(q)
	}
	return f
}

func cents(x float64) float64 { return rounded(x, 100) }

// rounded rounds to parts of a whole; minus zero becomes zero.
func rounded(x, parts float64) float64 { return math.Round(x*parts)/parts + 0 }

// Percentile returns where in the distribution an outcome lies, from 0 to 1: by
// straight lines between the quantiles, and the middle of the share of worlds that
// come out just so where several do. An outcome beyond all quantiles is put half
// way between the last of them and the end.
func (f *Forecast) Percentile(x float64) float64 {
	n := float64(len(f.Quantiles))
	below, _ := slices.BinarySearch(f.Quantiles, x)
	upTo := below
	for upTo < len(f.Quantiles) && f.Quantiles[upTo] == x {
		upTo++
	}
	switch {
	case upTo > below:
		return (float64(below) + float64(upTo)) / (2 * n)
	case below == 0:
		return 1 / (4 * n)
	case below == len(f.Quantiles):
		return 1 - 1/(4*n)
	}
	low, high := f.Quantiles[below-1], f.Quantiles[below]
	return (float64(below) - 0.5 + (x-low)/(high-low)) / n
}

// Quantile returns the outcome below which the distribution lies with chance p, by
// straight lines between the quantiles; the outermost serve beyond them.
func (f *Forecast) Quantile(p float64) float64 {
	n := len(f.Quantiles)
	at := p*float64(n) - 0.5
	if at <= 0 {
		return f.Quantiles[0]
	}
	if at >= float64(n-1) {
		return f.Quantiles[n-1]
	}
	i := int(at)
	return f.Quantiles[i] + (at-float64(i))*(f.Quantiles[i+1]-f.Quantiles[i])
}

// CRPS returns the forecast's score at an outcome, in its own unit; smaller is
// better.
func (f *Forecast) CRPS(x float64) float64 { return stats.CRPSSorted(f.Quantiles, x) }
