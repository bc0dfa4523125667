package invented

import (
	"fmt"
	"math"
	"math/rand/v2"

	"wreckoner/evaluate/prices"
)

// A Market draws adverts, own sales, past lots and cars still to be sold. It is drawn from the prior of METHOD.md
// 15.9, or away from it.
type Market struct {
	rng      *rand.Rand
	models   []carModel
	haggle   float64
	bias     float64
	roughly  float64 // sd that listings have beside the settings'
	settings prices.Settings
	marks    map[string][3]float64 // by category: centre, shift, sd
}

type carModel struct {
	name, segment     string
	level, age, miles float64
}

// Settings are those that invented markets and auctions are read with.
func Settings() prices.Settings {
	s := prices.DefaultSettings()
	s.AsOf = Today
	s.ValueSpread = map[string]float64{"city": 0.08, "family": 0.08, "executive": 0.09, "prestige": 0.13}
	s.Markers = []prices.Marker{
		{Category: "S", Segment: "*", Low: 0.20, Mid: 0.27, High: 0.38, Builds: 8},
		{Category: "N", Segment: "*", Low: 0.14, Mid: 0.20, High: 0.28, Builds: 10},
	}
	return s
}

const z90 = 1.2815515655446004

// NewMarket draws a market of so many models. off: markers take nine log points more than the shop thinks,
// listings are six per cent too high and rougher, people haggle for seven.
func NewMarket(rng *rand.Rand, models int, off bool) *Market {
	m := &Market{rng: rng, settings: Settings(), marks: map[string][3]float64{}}
	z := rng.NormFloat64
	age, miles := -0.13+0.04*z(), -0.035+0.015*z()
	m.haggle, m.bias = 0.04+0.02*z(), 0.04*z()
	common := z()
	for _, k := range m.settings.Markers {
		sd := (math.Log1p(-k.Low) - math.Log1p(-k.High)) / (2 * z90)
		own := sd / math.Sqrt(k.Builds)
		c := min(0.05, math.Sqrt(0.6*(sd*sd-own*own)))
		shift := c*common + own*z()
		if off {
			shift = -0.09 + own*z()
		}
		m.marks[k.Category] = [3]float64{math.Log1p(-k.Mid), shift, math.Sqrt(sd*sd - own*own - c*c)}
	}
	if off {
		m.bias, m.haggle, m.roughly = 0.06, 0.07, 0.05
	}
	segments := []string{"city", "executive", "family", "prestige"}
	for i := range models {
		m.models = append(m.models, carModel{fmt.Sprintf("M%d", i), segments[i%4], 9.1 + 0.4*z(), age + 0.03*z(),
			miles + 0.012*z()})
	}
	return m
}

// A Car is one car: what it would be listed at, and fetch.
type Car struct {
	prices.Lot
	Got, Fair float64
}

// Car draws a car of a model, clean or of a category.
func (m *Market) Car(model int, category string) Car {
	k, z := m.models[model], m.rng.NormFloat64
	year := 2012 + m.rng.IntN(14)
	age := Today.Sub(Today.AddDate(year-2026, 1, 0)).Hours() / 24 / 365.25
	miles := math.Round(10000 * max(0.1, age*0.8*math.Exp(0.35*z())))
	v := m.settings.ValueSpread[k.segment]
	clean := k.level + k.age*(age-6) + k.miles*(miles/10000-5) + 0.08*z()
	list2 := 0.5*v*v - 0.25*0.08*0.08
	mark := 0.0
	if category != "" {
		c := m.marks[category]
		mark = c[0] + c[1] + c[2]*z()
	}
	c := Car{Got: math.Exp(clean + mark + math.Sqrt(0.5)*v*z()), Fair: math.Exp(clean + mark)}
	c.Lot = prices.Lot{Make: "Maker", Model: k.name, Segment: k.segment, Year: year, Miles: prices.Some(miles),
		Category: category,
		Value:    math.Exp(clean + v*v/2 + m.bias + math.Hypot(math.Sqrt(list2), m.roughly)*z())}
	return c
}

// marked is a category for one advert in five.
func (m *Market) marked(share float64) string {
	if m.rng.Float64() >= share {
		return ""
	}
	return []string{"N", "S"}[m.rng.IntN(2)]
}

// Adverts draws n adverts of a model; typos is the part of them that is mistyped.
func (m *Market) Adverts(model, n int, typos float64) []prices.Advert {
	out := make([]prices.Advert, n)
	for i := range out {
		c := m.Car(model, m.marked(0.2))
		stood := int(25 * m.rng.ExpFloat64())
		asked := c.Fair * math.Exp(m.haggle+0.02*(math.Log1p(float64(stood)/30)-math.Log1p(0.6))+0.05*m.rng.NormFloat64())
		if m.rng.Float64() < typos {
			asked = Typo(m.rng, asked)
		}
		last := Today.AddDate(0, 0, -m.rng.IntN(120))
		out[i] = prices.Advert{Make: c.Make, Model: c.Model, Segment: c.Segment, Year: c.Year, Miles: c.Miles.V, Asked: asked,
			Marked: c.Category, FirstSeen: last.AddDate(0, 0, -stood), LastSeen: last}
	}
	return out
}

// OwnSales draws n of the shop's own sales.
func (m *Market) OwnSales(n int) []prices.Advert {
	out := make([]prices.Advert, n)
	for i := range out {
		c := m.Car(m.rng.IntN(len(m.models)), m.marked(1))
		out[i] = prices.Advert{Make: c.Make, Model: c.Model, Segment: c.Segment, Year: c.Year, Miles: c.Miles.V,
			Marked: c.Category,
			Got:    c.Got, Asked: c.Got * math.Exp(m.haggle+0.04*m.rng.NormFloat64()), Listed: c.Value,
			Sold: Today.AddDate(0, 0, -m.rng.IntN(180))}
	}
	return out
}

// PastLots draws n lots that were offered, unsold: their values say how listings lie.
func (m *Market) PastLots(n int) []prices.Result {
	out := make([]prices.Result, n)
	for i := range out {
		c := m.Car(m.rng.IntN(len(m.models)), "")
		out[i] = prices.Result{Lot: c.Lot, Number: fmt.Sprint(i)}
		out[i].SaleDate = Today.AddDate(0, 0, -m.rng.IntN(120))
	}
	return out
}
