package evaluate

import (
	"fmt"
	"math"
	"runtime"
	"sync"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// DefaultPoints is the number of worlds per lot where Options name none: half
// of all lots then have their P90 within half a per cent, the mean within a
// tenth.
const DefaultPoints = 8192

// Options say how lots are evaluated. The zero value is ready to use.
type Options struct {
	// Points is the number of worlds per lot, a power of two. Zero means that none
	// are drawn where a lot is evaluated, and DefaultPoints where worlds are asked
	// for.
	Points int
	// Seed picks the worlds; any number will do.
	Seed uint64
	// Workers bounds the lots evaluated at once. Zero means GOMAXPROCS. It never
	// changes a result.
	Workers int
	// Factor maps a share in (0,1) to the severity factor of that rank. Nil is
	// the standard normal.
	Factor func(p float64) float64
	// Prices is what evidence says of prices: adverts, past lots, own builds. Nil: nothing.
	Prices *prices.Model
	// AsCoded leaves the top-bidder allowance out of margins.
	AsCoded bool
}

// An Evaluator judges lots by one shop. It is safe for concurrent use.
type Evaluator struct {
	shop   *shop.Shop
	opt    Options
	draws  *simulate.Draws
	shared *shared // nil: lots are evaluated by worlds
	terms  deal.Terms
	other  deal.Terms // if the shop were registered for VAT, or were not
	limits bid.Limits
	scales [][]float64   // by kind of car, of each row of the cost table
	prices *prices.Model // as in Options

	drawn  drawn
	extras []lazyExtra // amount of each extra
	resale [][]unit    // by category row and segment
}

// drawn is what every lot reads in each world.
type drawn struct {
	once            sync.Once
	fixed, fixedVAT []float64 // all fixed items, and the VAT-carrying of them
	stretch, sale   []float64 // factor on lead times, the shop's days to sell
	afterSale       float64   // mean of the fixed items that are paid after the sale
}

// lazyExtra is what an extra costs in each world, and in which it is charged
// where the lot's column says nothing.
type lazyExtra struct {
	once    sync.Once
	values  []float64
	unknown []int32
}

// unit is the resale price of a car worth one pound before the damage.
type unit struct {
	once   sync.Once
	values []float64
	spread Spread
}

// New returns an evaluator for the shop, or says what in the shop or the
// options cannot be computed with.
func New(workshop *shop.Shop, opt Options) (*Evaluator, error) {
	convolved := opt.Points == 0 && opt.Factor == nil
	if opt.Points == 0 {
		opt.Points = DefaultPoints
	}
	if opt.Workers <= 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	if err := checkShop(workshop); err != nil {
		return nil, err
	}
	space, err := simulate.New(simulate.Settings{
		Points: opt.Points, Seed: opt.Seed, Factor: opt.Factor,
		SeverityLink: workshop.SeverityLink, HiddenLink: workshop.HiddenLink,
	}, workshop.Costs)
	if err != nil {
		return nil, err
	}
	e := &Evaluator{
		shop: workshop, opt: opt, draws: space, prices: opt.Prices,
		extras: make([]lazyExtra, len(workshop.Extras)),
		resale: make([][]unit, len(workshop.Categories)),
		terms:  deal.TermsOf(&workshop.Settings), limits: bid.LimitsOf(&workshop.Settings),
	}
	for segment := range workshop.Segments {
		for band := -1; band < len(workshop.Ages); band++ {
			e.scales = append(e.scales, workshop.Scales(segment, band))
		}
	}
	opposite := workshop.Settings
	opposite.VATRegistered = !opposite.VATRegistered
	e.other = deal.TermsOf(&opposite)
	for i := range e.resale {
		e.resale[i] = make([]unit, len(workshop.Segments))
	}
	if convolved && max(workshop.SeverityLink, workshop.HiddenLink) <= convolve.MaxLink && e.terms.LeastKept() > 1e-6 {
		if e.shared, err = newShared(workshop, &e.terms, e.scales); err != nil {
			return nil, err
		}
	}
	return e, nil
}

// inWorlds returns what every lot reads in each world.
func (e *Evaluator) inWorlds() *drawn {
	d := &e.drawn
	d.once.Do(func() {
		d.stretch, d.sale = e.read(e.shop.LeadSpread, simulate.LeadDim), e.read(e.shop.SellDays, simulate.SaleDim)
		d.fixed, d.fixedVAT = make([]float64, e.opt.Points), make([]float64, e.opt.Points)
		for i, c := range e.shop.Fixed {
			for w, x := range e.read(c.Amount, e.FixedStream(i)) {
				d.fixed[w] += x
				if c.AfterSale {
					d.afterSale += x / float64(e.opt.Points)
				}
				if c.VAT {
					d.fixedVAT[w] += x
				}
			}
		}
	})
	return d
}

// Shop returns the shop that the evaluator judges by.
func (e *Evaluator) Shop() *shop.Shop { return e.shop }

// Drawn returns the number of worlds by which each lot is evaluated; 0: none are drawn.
func (e *Evaluator) Drawn() int {
	if e.shared != nil {
		return 0
	}
	return e.opt.Points
}

// Options returns the options, with their defaults filled in.
func (e *Evaluator) Options() Options { return e.opt }

// KeepFew makes the evaluator keep less of what is worked out once for many lots, in less memory: for lists without an
// end. It is not for concurrent use.
func (e *Evaluator) KeepFew() { e.shared.convolve.KeepFew() }

// Draws returns the worlds.
func (e *Evaluator) Draws() *simulate.Draws { return e.draws }

// FixedStream is the coordinate of a fixed item's amount.
func (e *Evaluator) FixedStream(i int) int {
	return e.draws.Stream("fixed " + nth(i, func(i int) string { return e.shop.Fixed[i].Name }))
}

// extraStream is the coordinate of what the name says of an extra.
func (e *Evaluator) extraStream(what string, i int) int {
	return e.draws.Stream(what + nth(i, func(i int) string { return e.shop.Extras[i].Name }))
}

// nth returns the name of item i, with its number among those of the same name before
// it where there are any.
func nth(i int, name func(int) string) string {
	n := 0
	for k := range i {
		if name(k) == name(i) {
			n++
		}
	}
	if n == 0 {
		return name(i)
	}
	return fmt.Sprintf("%s, %d", name(i), n)
}

func (e *Evaluator) extra(i int) *lazyExtra {
	x := &e.extras[i]
	x.once.Do(func() {
		extra := e.shop.Extras[i]
		x.values = e.read(extra.Amount, e.extraStream("extra ", i))
		x.unknown = e.draws.Bernoulli(e.extraStream("unknown ", i), extra.UnknownChance)
	})
	return x
}

// read returns the amount in each world, by the score of one coordinate.
func (e *Evaluator) read(a stats.Amount, dim int) []float64 {
	values, at := make([]float64, e.opt.Points), a.Curve()
	for w, z := range e.draws.Score(dim) {
		values[w] = at(z)
	}
	return values
}

// unitResale returns the resale price per pound of value in each world.
func (e *Evaluator) unitResale(category, segment int) *unit {
	u := &e.resale[category][segment]
	u.once.Do(func() {
		u.values = make([]float64, e.opt.Points)
		share, spread := e.shop.Categories[category].Share.Curve(), e.shop.Segments[segment].ValueSpread
		zd, w := e.draws.Score(simulate.DevaluationDim), e.draws.Score(simulate.ResaleDim)
		for i := range u.values {
			u.values[i] = resale(min(1, share(zd[i])), spread, w[i])
		}
		var sel stats.Selector
		u.spread = spreadOf(&sel, u.values)
	})
	return u
}

// resale is the price of a car worth one pound, less the marker's share, in a
// market that stands at score w. Its mean over w is 1 - share.
func resale(share, spread, w float64) float64 {
	return (1 - share) * math.Exp(spread*w-spread*spread/2)
}

// checkShop says what in the shop cannot be computed with. Files are checked where
// they are read, with their lines; this guards shops made by programs.
func checkShop(s *shop.Shop) error {
	switch {
	case s.Costs == nil || s.Tariff == nil:
		return fmt.Errorf("a shop needs a book and a tariff")
	case !(s.HoursPerDay > 0):
		return fmt.Errorf("hours_per_day %v: write a number above 0", s.HoursPerDay)
	case s.BidStep <= 0:
		return fmt.Errorf("bid_step %v: write an amount above 0", s.BidStep)
	}
	return nil
}
