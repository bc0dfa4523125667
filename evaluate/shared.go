package evaluate

import (
	"math"
	"slices"
	"sync"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// shared is what is the same for every lot of a shop, worked out once: the convolution engine, the
// measures, and the distributions of fixed items, lead times and prices.
type shared struct {
	convolve *convolve.Engine
	repair   []int    // measure of the repair, by kind of car
	spend    []int    // measure of the spend
	hours    int      // measure of the hours
	costs    []priced // by kind

	markets       [][]lazyMarket // by category row and segment
	fixed, extras []charged      // each fixed item and each extra
	daily         float64        // what a day costs, net of VAT taken back, in pounds
	forSale       float64        // the same while the car is for sale
	strip         float64
	stretch, sale *scored
	sellMean      float64 // of the shop's days to sell
	sellSD        float64
	leads         stats.Amount // what lead times are stretched by
	sold          *sold
	shortest      float64 // that lead times are stretched by
	longest       float64
	waits         sync.Map // of *waiting, by lead
	sales         sync.Map // of *convolve.Part, by unit
	multiplied    sync.Map // of *charged, by scaledKey
	appraisals    sync.Map // of *lazyMarket, by marketKey
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

func newShared(workshop *shop.Shop, terms *deal.Terms, scales [][]float64) (*shared, error) {
	engine, err := convolve.New(workshop.Costs, workshop.SeverityLink, workshop.HiddenLink)
	if err != nil {
		return nil, err
	}
	x := &shared{convolve: engine, markets: make([][]lazyMarket, len(workshop.Categories)), strip: workshop.StripDays}
	for i := range x.markets {
		x.markets[i] = make([]lazyMarket, len(workshop.Segments))
	}
	x.hours = engine.Measure(0, 1, nil)
	x.daily, x.forSale = terms.Day, terms.ForSale
	for segment := range workshop.Segments {
		for band := -1; band < len(workshop.Ages); band++ {
			kind := kindOf(workshop, segment, band)
			if like := x.alike(workshop, segment, band, scales); like < kind {
				x.repair, x.costs, x.spend = append(x.repair, x.repair[like]), append(x.costs, x.costs[like]), append(x.spend,
					x.spend[like])
				continue
			}
			x.measure(workshop, terms, segment, band, scales[kind])
		}
	}
	x.fixed, x.extras = make([]charged, len(workshop.Fixed)), make([]charged, len(workshop.Extras))
	for i, c := range workshop.Fixed {
		x.fixed[i].set(c, terms)
	}
	for i, c := range workshop.Extras {
		x.extras[i].set(c.Charge, terms)
	}
	x.stretch, x.sale = scores(workshop.LeadSpread), scores(workshop.SellDays)
	x.sellMean, x.sellSD = workshop.SellDays.Mean(), workshop.SellDays.SD()
	x.leads = workshop.LeadSpread
	if !workshop.SellDays.Certain() {
		x.sold = newSold(workshop.SellDays)
	}
	x.shortest, x.longest = workshop.LeadSpread.At(-4), workshop.LeadSpread.At(4)
	return x, nil
}

// alike returns the first kind of car of a segment for which the cost table is multiplied as for the
// segment's cars of an age: those without a year are like those that it was written for.
func (x *shared) alike(workshop *shop.Shop, segment, band int, scales [][]float64) (kind int) {
	hours, own := workshop.Multipliers(segment, band).Hours, scales[kindOf(workshop, segment, band)]
	for other := -1; other < band; other++ {
		if k := kindOf(workshop, segment, other); workshop.Multipliers(segment, other).Hours == hours &&
			slices.Equal(scales[k], own) {
			return k
		}
	}
	return kindOf(workshop, segment, band)
}

// measure names what is added up for one kind of car.
//
// What damage costs, less VAT taken back, and the days that its hours take, is stretched
// from the repair where spend and hours weigh much the same.
func (x *shared) measure(workshop *shop.Shop, terms *deal.Terms, segment, band int, scales []float64) {
	spend, hours := workshop.Segments[segment].Spend, workshop.Multipliers(segment, band).Hours
	repair := priced{x.convolve.Measure(spend, terms.Labour*hours, scales), spend, terms.Labour * hours}
	cost := priced{spend: spend * terms.Spend, hours: repair.hours + x.daily/workshop.DayHours()*hours}
	if math.Abs(cost.hours*repair.spend-repair.hours*cost.spend) > 0.25*cost.hours*repair.spend {
		cost.measure = x.convolve.Measure(cost.spend, cost.hours, scales)
	} else {
		cost = repair
	}
	x.repair, x.costs = append(x.repair, repair.measure), append(x.costs, cost)
	x.spend = append(x.spend, x.convolve.Measure(spend, 0, scales))
}

// scaled returns an extra whose amount is multiplied, from memory.
func (x *shared) scaled(extra int, times float64) *charged {
	c := &x.extras[extra]
	if times == 1 {
		return c
	}
	key := scaledKey{extra, times}
	if known, ok := x.multiplied.Load(key); ok {
		return known.(*charged)
	}
	at := c.At
	known, _ := x.multiplied.LoadOrStore(key, &charged{times * c.mean, times * c.net, times * c.netSD,
		&convolve.Part{Spread: c.Spread, At: func(cost float64) float64 { return times * at(cost) }}})
	return known.(*charged)
}

type scaledKey struct {
	extra int
	times float64
}

func (c *charged) set(from shop.Charge, terms *deal.Terms) {
	net := terms.Item(from)
	c.mean, c.net, c.netSD = from.Amount.Mean(), net*from.Amount.Mean(), net*from.Amount.SD()
	c.Part = &convolve.Part{Spread: &scores(from.Amount).Spread, At: func(cost float64) float64 { return net * cost }}
}

func (x *shared) market(workshop *shop.Shop, category, segment int) *market {
	m := &x.markets[category][segment]
	m.once.Do(func() {
		m.market = newMarket(workshop.Categories[category].Share, workshop.Segments[segment].ValueSpread)
	})
	return m.market
}
