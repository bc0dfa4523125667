package evaluate

import (
	"math"
	"sync"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
)

// exact is what all reckonings of a shop share.
type exact struct {
	convolve *convolve.Engine
	repair   []int    // measure of the repair, by segment
	spend    []int    // measure of the spend
	hours    int      // measure of the hours
	costs    []priced // by segment

	markets       [][]lazyMarket // by category row and segment
	fixed, extras []charged      // each fixed item and each extra
	daily         float64        // what a day costs, net of VAT taken back, in pounds
	forSale       float64        // the same while the car is for sale
	strip         float64
	stretch, sale *scored
	shortest      float64 // that lead times are stretched by
	longest       float64
	waits         sync.Map // of *waiting, by lead
	sales         sync.Map // of *convolve.Part, by unit
}

type lazyMarket struct {
	once sync.Once
	*market
}

// priced is a measure with what it counts spend and hours.
type priced struct {
	measure      int
	spend, hours float64
}

// charged is a fixed item or an extra: its mean, and what it costs less VAT taken
// back.
type charged struct {
	mean, net, netSD float64
	*convolve.Part
}

func newExact(workshop *shop.Shop, terms *deal.Terms) (*exact, error) {
	engine, err := convolve.New(workshop.Costs, workshop.SeverityLink, workshop.HiddenLink)
	if err != nil {
		return nil, err
	}
	x := &exact{convolve: engine, markets: make([][]lazyMarket, len(workshop.Categories)), strip: workshop.StripDays}
	for i := range x.markets {
		x.markets[i] = make([]lazyMarket, len(workshop.Segments))
	}
	for _, s := range workshop.Segments {
		x.repair = append(x.repair, engine.Measure(s.Spend, terms.Labour*s.Hours))
	}
	x.hours = engine.Measure(0, 1)
	x.daily, x.forSale = terms.Day, terms.ForSale
	// What damage costs, less VAT taken back, and the days that its hours take. It is
	// stretched from the repair where spend and hours weigh much the same.
	for i, s := range workshop.Segments {
		repair := priced{x.repair[i], s.Spend, terms.Labour * s.Hours}
		cost := priced{spend: s.Spend * terms.Spend, hours: repair.hours + x.daily/workshop.DayHours()*s.Hours}
		if math.Abs(cost.hours*repair.spend-repair.hours*cost.spend) > 0.25*cost.hours*repair.spend {
			cost.measure = engine.Measure(cost.spend, cost.hours)
			x.costs = append(x.costs, cost)
		} else {
			x.costs = append(x.costs, repair)
		}
	}
	for _, s := range workshop.Segments {
		x.spend = append(x.spend, engine.Measure(s.Spend, 0))
	}
	x.fixed, x.extras = make([]charged, len(workshop.Fixed)), make([]charged, len(workshop.Extras))
	for i, c := range workshop.Fixed {
		x.fixed[i].set(c, terms)
	}
	for i, c := range workshop.Extras {
		x.extras[i].set(c.Charge, terms)
	}
	x.stretch, x.sale = scores(workshop.LeadSpread), scores(workshop.SellDays)
	x.shortest, x.longest = workshop.LeadSpread.At(-4), workshop.LeadSpread.At(4)
	return x, nil
}

func (c *charged) set(from shop.Charge, terms *deal.Terms) {
	net := terms.Item(from)
	c.mean, c.net, c.netSD = from.Amount.Mean(), net*from.Amount.Mean(), net*from.Amount.SD()
	c.Part = &convolve.Part{Spread: &scores(from.Amount).Spread, At: func(cost float64) float64 { return net * cost }}
}

func (x *exact) market(workshop *shop.Shop, category, segment int) *market {
	m := &x.markets[category][segment]
	m.once.Do(func() {
		m.market = newMarket(workshop.Categories[category].Share, workshop.Segments[segment].ValueSpread)
	})
	return m.market
}
