package reforecast

import (
	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// A Forecaster holds what was believed of a car when it was bought, and forecasts
// it anew as things come out. It is safe for concurrent use.
type Forecaster struct {
	shop     *shop.Shop
	lot      *evaluate.Lot
	hammer   money.Pence
	opt      evaluate.Options
	resolved *evaluate.ResolvedLot
	draws    *simulate.Draws
	buy      shop.Purchase

	// At the freeze, for each world.
	totals simulate.Totals
	worlds *evaluate.Worlds
	drawn  Figures // as simulated today
	start  Figures // as said when the car was bought
	spots  map[damage.Spot]evaluate.Spread
}

// New returns the forecaster of a frozen estimate.
func New(f *build.Frozen) (*Forecaster, error) {
	workshop := f.Shop()
	lot, err := f.Lot()
	if err != nil {
		return nil, err
	}
	out, err := NewOf(workshop, evaluate.Options{Seed: f.Seed, Points: f.Points}, lot, f.Hammer)
	if err != nil {
		return nil, err
	}
	// What was said is what the file holds, however cars are simulated today.
	out.start = figuresOf(&f.Predicted)
	for i := range f.Predicted.Spots {
		s := &f.Predicted.Spots[i]
		out.spots[s.Spot()] = spreadIn(&s.Forecast)
	}
	return out, nil
}

// NewOf returns the forecaster of a lot bought at a hammer price, as the shop
// believes of it. The option Factor is not to be set.
func NewOf(workshop *shop.Shop, opt evaluate.Options, lot *evaluate.Lot, hammer money.Pence) (*Forecaster, error) {
	opt.Factor = nil
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		return nil, err
	}
	f := &Forecaster{shop: workshop, lot: lot, hammer: hammer, opt: e.Options()}
	if f.resolved, err = e.Resolve(lot); err != nil {
		return nil, err
	}
	f.buy = f.resolved.Deal.Buy
	f.draws = e.Draws()
	f.totals.Sum(f.draws, f.resolved.Case)
	f.worlds = e.Worlds(f.resolved, &f.totals, evaluate.Overrides{})
	f.drawn = Figures{
		Repair: spreadOf(f.worlds.Repair), Hours: spreadOf(f.worlds.Hours), Days: spreadOf(f.worlds.Days),
		Other: spreadOf(f.worlds.Other), Resale: spreadOf(f.worlds.Resale), Margin: f.worlds.Summary(hammer),
	}
	f.start = f.drawn
	f.spots = map[damage.Spot]evaluate.Spread{}
	spend, hours := make([]float64, f.opt.Points), make([]float64, f.opt.Points)
	for _, at := range f.totals.Spots() {
		f.totals.Spot(f.draws, f.resolved.Case, at, spend, hours)
		f.spots[at] = spreadOf(f.repair(spend, hours, f.resolved.Segment.Spend, f.resolved.Segment.Hours))
	}
	return f, nil
}

// Lot returns the car.
func (f *Forecaster) Lot() *evaluate.Lot { return f.lot }

// Shop returns the shop as it was at the freeze.
func (f *Forecaster) Shop() *shop.Shop { return f.shop }

// Case returns what was believed to be wrong with the car.
func (f *Forecaster) Case() costs.Case { return f.resolved.Case }

// price returns what an item costs on this car, or false where the book has no
// row for it.
func (f *Forecaster) price(i damage.Item) (price, bool) {
	if !i.Grade.Valid() {
		return price{}, false
	}
	n, ok := f.shop.Costs.RowOf(i)
	if !ok {
		return price{}, false
	}
	c := costs.Case{{Item: i, Row: n}}
	f.resolved.Price(c)
	return priceOf(c[0], f.shop.Costs.Rows()[n], f.resolved.Segment, f.shop.LabourRate), true
}

var shares = []float64{0.1, 0.5, 0.9}

func spreadOf(values []float64) evaluate.Spread {
	var sel stats.Selector
	var q [3]float64
	sel.Quantiles(values, shares, q[:])
	return evaluate.Spread{Mean: stats.Mean(values), P10: q[0], P50: q[1], P90: q[2]}
}
