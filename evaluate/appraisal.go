package evaluate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// An Appraisal is what the shop's evidence says of one lot's prices (METHOD.md 15). It hangs
// on the lot's own row and on the shop, never on other lots.
type Appraisal struct {
	// Value is what the car would sell for unmarked, Marker what its category takes off.
	Value  prices.Value
	Marker prices.MarkerShare
	// Price is the price to beat.
	Price prices.Price
	// Priced says that Price was learned from past lots, so that margin and verdict are at its P50.
	Priced bool
	// Lot is the lot as the evidence was asked of it, and Age the car's in years on the day of
	// its sale.
	Lot prices.Lot
	Age float64
	// Selection is the top-bidder allowance on the margin. Corrected says that it is used.
	Selection prices.Selection
	Corrected bool
	// Tau is the standard deviation of the shop's own error about the lot, RepairSD that of
	// the repair cost, in pounds.
	Tau, RepairSD float64

	share  stats.Amount // of the marker
	spread float64      // of the log sale price
}

// A Fault is what keeps a lot from being judged, and the column of the list to be put right.
type Fault struct {
	Column string
	Err    error
}

// Error says what is wrong and what to write instead.
func (f *Fault) Error() string { return f.Err.Error() }

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.Err }

// Appraise makes the evaluator judge lots by what evidence says of prices, which often takes an
// evaluator to be fitted. It is called before the first lot is judged by it.
func (e *Evaluator) Appraise(m *prices.Model) { e.prices, e.opt.Prices = m, m }

// Prices is the evidence that lots are judged by; nil where there is none.
func (e *Evaluator) Prices() *prices.Model { return e.prices }

// answers are what a list's column of yes or no may say.
var answers = map[string]prices.Answer{"yes": prices.Yes, "no": prices.No}

// evidenceLot is a lot as package prices takes it.
func (p *ResolvedLot) evidenceLot() prices.Lot {
	l := p.Lot
	out := prices.Lot{
		Make: l.Make, Model: l.Model, Segment: p.Segment.Name, Year: l.Year, Category: p.Category.Name,
		Value: l.Value.Pounds(), Guide: l.Guide.Pounds(), Site: l.Site, Starts: answers[l.Starts],
		Keys: answers[l.Keys], VATPlus: l.Plus,
	}
	if day, err := time.Parse(time.DateOnly, l.SaleDate); err == nil { // else the list does not say
		out.SaleDate = day
	}
	if l.Odometer > 0 {
		out.Miles = prices.Some(float64(l.Odometer))
	}
	return out
}

// value gives the resolved the value that bids go up to: the list's, and where there is
// evidence what that makes of it. A lot without either is a Fault.
func (p *ResolvedLot) value(e *Evaluator) error {
	if p.Value = p.Lot.Value; e.prices == nil {
		return nil
	}
	l := p.evidenceLot()
	v, err := e.prices.Value(&l)
	if err != nil {
		return &Fault{"value", err}
	}
	p.Value = money.FromPounds(v.Mean)
	if err := p.mark(e); err != nil {
		return err
	}
	if v.Apart {
		p.warn("apart", fmt.Sprintf("%s in the list, %s by adverts", e.shop.Money(whole(v.ListingPrice)),
			e.shop.Money(whole(v.AdvertPrice))),
			fmt.Sprintf("the list says that the car is worth %s, adverts say %s: is it a special one, or is one of them "+
				"mistyped?",
				e.shop.Money(whole(v.ListingPrice)), e.shop.Money(whole(v.AdvertPrice))))
	}
	if _, text := e.prices.Spelling(p.Lot.Make, p.Lot.Model); text != "" {
		p.warn("spelling", text, text)
	} else if text := e.prices.Alike(p.Lot.Make, p.Lot.Model); text != "" {
		p.warn("spelling", text, text)
	}
	return nil
}

// mark looks up what evidence makes of the marker's share.
func (p *ResolvedLot) mark(e *Evaluator) (err error) {
	if p.marker, err = e.prices.Marker(p.Category.Name, p.Segment.Name); err != nil {
		return &Fault{"category", err}
	}
	share := p.Category.Share
	if m := p.marker.Points; m != (prices.Points{share.Low, share.Mid, share.High}) {
		if share, err = markerShare(m); err != nil {
			return &Fault{"category", err}
		}
	}
	p.share = share
	return nil
}

// markerShare is the three points of a marker's share as an amount. Where a market pays as much for
// marked cars as for others, points come out at 0 or below, where an amount can't go; they are moved
// up as little as a shape with both of its sides takes.
func markerShare(m prices.Points) (stats.Amount, error) {
	const least, lean = 0.002, 10.0 // of a share; the longer side over the shorter
	mid := max(m[1], least)
	high := max(m[2], mid+least/2)
	mid = max(mid, high/(lean+1)) // so that low can stay at 0
	low := min(max(m[0], 0), mid-least/4, mid-(high-mid)/lean)
	high = max(high, mid+(mid-low)/lean)
	return stats.New(max(0, low), mid, high, stats.Skewed)
}

// appraise works out what the evidence says, once mean days, mean repair cost and its
// standard deviation are known, in pounds. cost is the mean cost of an item's job on this car.
//
// The resolved has a value by then, so that nothing here can fail.
func (e *Evaluator) appraise(p *ResolvedLot, days, repair, repairSD float64) *Appraisal {
	l := p.evidenceLot()
	l.MeanDays, l.Repair = days, prices.Some(repair)
	a := &Appraisal{Priced: e.prices.HasResults(), Marker: p.marker, share: p.share, spread: p.Segment.ValueSpread}
	var err error
	if a.Value, err = e.prices.Value(&l); err != nil {
		panic(err)
	}
	if a.Value.LogSD != max(a.spread, leastSpread) {
		a.spread = a.Value.LogSD
	}
	l.MeanDays = 0 // past lots are priced without a fall
	a.Lot, a.Age = l, e.prices.Age(&l)
	if a.Price, err = e.prices.Price(&l); err != nil {
		panic(err)
	}
	sale := a.Value.Mean * (1 - a.share.Mean())
	tau2 := prices.Tau2(p.Deal.Kept, sale, a.Value.LevelVar, e.spots(p))
	a.Tau, a.RepairSD = math.Sqrt(max(0, tau2)), repairSD
	a.Selection = e.prices.Selection(a.Value.Mean, repairSD, tau2, &a.Price)
	a.Corrected = !e.opt.AsCoded && !a.Selection.Identity()
	return a
}

// leastSpread is the least log-scale standard deviation of a sale price that evidence works with.
const leastSpread = 0.001

// spots are the seen marks whose grade may have been misjudged.
func (e *Evaluator) spots(p *ResolvedLot) []prices.Spot {
	out := make([]prices.Spot, 0, len(p.Case))
	for i := range p.Case {
		c := &p.Case[i]
		if c.Kind != costs.Seen || c.Quote != nil {
			continue
		}
		s := prices.Spot{}
		s.Up, s.Down = p.misread(&e.shop.Settings, c.Item)
		for k, g := range [3]damage.Grade{c.Grade - 1, c.Grade, c.Grade + 1} {
			item := c.Item
			item.Grade = g
			_, known := e.shop.Costs.RowOf(c.Item)
			if g.Valid() {
				_, known = e.shop.Costs.RowOf(item)
			}
			switch {
			case g.Valid() && known:
				s.Costs[k] = e.itemCost(p, item)
			case k == 0:
				s.Down = 0
			case k == 2:
				s.Up = 0
			}
		}
		out = append(out, s)
	}
	return out
}

// itemCost is the mean cost of an item's own job on this car, in pounds; the cost table must
// have a row for it.
func (e *Evaluator) itemCost(p *ResolvedLot, item damage.Item) float64 {
	row, _ := e.shop.Costs.RowOf(item)
	c := costs.Case{{Item: item, Row: row}}
	p.Price(c)
	return e.OwnCost(p, c[0])
}

// marketKey names a market: a category's row and what evidence makes of the marker and the spread.
type marketKey struct {
	category int
	share    stats.Amount
	spread   float64
}

// appraised returns the market of an appraisal; lots with the same share it.
func (x *shared) appraised(p *ResolvedLot, a *Appraisal) *market {
	key := marketKey{p.category, a.share, a.spread}
	if m, ok := x.appraisals.Load(key); ok {
		return m.(*lazyMarket).get(key)
	}
	m, _ := x.appraisals.LoadOrStore(key, &lazyMarket{})
	return m.(*lazyMarket).get(key)
}

func (m *lazyMarket) get(key marketKey) *market {
	m.once.Do(func() { m.market = newMarket(key.share, key.spread) })
	return m.market
}

// shift is what the margin's distribution moves by at a hammer price where its mean is so much.
func (a *Appraisal) shift(hammer money.Pence, margin float64) float64 {
	if a == nil || !a.Corrected {
		return 0
	}
	return a.Selection.Shift(hammer.Pounds(), margin)
}

// At is the hammer price at which margin and verdict stand: P50 of the price to beat, in whole
// pounds, where past lots are known; 0 where they are not.
func (a *Appraisal) At() money.Pence {
	if a == nil || !a.Priced {
		return 0
	}
	return money.FromPounds(math.Round(a.Price.Quantile(0.5)))
}

// edges adds to the hammer prices between which a margin falls as bids rise those between which,
// without margin_spread, the correction may rise faster than the margin falls: u rises between its two cuts. It is
// concave there, so that a stretch whose two ends pass passes throughout; an edge is followed by
// one a step later, so that both ends of each stretch are looked at.
func (a *Appraisal) edges(edges []money.Pence, step money.Pence) []money.Pence {
	if a == nil || !a.Corrected || a.Selection.Falls() {
		return edges
	}
	low := money.FromPounds(math.Exp(a.Price.Location - 2*a.Price.Scale))
	high := money.FromPounds(math.Exp(a.Price.Location))
	var out []money.Pence
	add := func(p money.Pence) {
		if n := len(out); p > 0 && (n == 0 || p > out[n-1]) {
			out = append(out, p)
		}
	}
	own := append([]money.Pence{low, high}, edges...)
	slices.Sort(own)
	for _, edge := range own {
		if add(edge); edge >= low && edge <= high {
			add(edge + step)
		}
	}
	return out
}

// gain is what bidding up to a stop is worth, and the chance to win at it. margin is the mean
// margin at a hammer price in pounds, corrected.
func (a *Appraisal) gain(stop, step money.Pence, margin func(pounds float64) float64) (win, gain float64) {
	if stop <= 0 {
		return 0, 0
	}
	rivals, err := a.Rivals()
	if err != nil {
		panic(err) // a price that was fitted has a location and a scale
	}
	win, _ = rivals.WinChance(stop.Pounds())
	return win, a.Price.ExpectedGain(margin, stop.Pounds(), step.Pounds())
}

// Rivals are what has to be beaten on the lot.
func (a *Appraisal) Rivals() (bid.Rivals, error) {
	h, err := bid.StudentHammer(a.Price.Location-a.Price.Gap, a.Price.Scale, a.Price.DF)
	return bid.Rivals{Hammer: h, Gap: a.Price.Gap}, err
}

// FaultColumn is the column of the lot list that an error of Evaluate is about: damage where
// the error does not say.
func FaultColumn(err error) string {
	var f *Fault
	if errors.As(err, &f) {
		return f.Column
	}
	return "damage"
}

// sale has the lines that lead from the value in the list to the mean sale price, in pounds.
func (a *Appraisal) sale(p *ResolvedLot, price, days, fade float64) []deal.Line {
	v, sum := &a.Value, money.Pence(0)
	var out []deal.Line
	to := func(pounds float64, name, how string, args ...any) {
		amount := money.FromPounds(pounds) - sum
		sum += amount
		out = append(out, deal.Line{Name: name, How: fmt.Sprintf(how, args...), Amount: amount})
	}
	if p.Lot.Value > 0 {
		to(p.Lot.Value.Pounds(), "value in the list", "as the list has it")
	}
	standing := v.Mean * math.Exp(-v.Fall)
	switch v.Source {
	case prices.FromBoth:
		to(standing, fmt.Sprintf("from the list and %s", adverts(v.Adverts)),
			"adverts say %s, the list less its usual excess %s", whole(v.AdvertPrice), whole(v.ListingPrice))
	case prices.FromAdverts:
		to(standing, fmt.Sprintf("value from %s", adverts(v.Adverts)), "weighed by age and miles; none in the list")
	default:
		to(standing, "what lists are off by", "past lists were %.1f%% too high", 100*math.Expm1(v.ListingBias))
	}
	to(v.Mean, "price falls while waiting", "%.0f days at %.1f%% a year", days, -100*math.Expm1(v.FallAYear))
	faded := fade * v.Mean
	to(faded, "fading price", "%.2f%% in %.2f days, at your rate a month", 100*(1-fade), days)
	how := "your row for " + p.Category.Name
	if n := a.Marker.Adverts + a.Marker.OwnSales; n > 0 {
		how += fmt.Sprintf(", %s and %s", marked(a.Marker.Adverts), ownSales(a.Marker.OwnSales))
	}
	to(price, "category discount", "%.2f%%: %s", 100*(1-price/faded), how)
	return out
}

// winning is the line for the top-bidder allowance at a hammer price where the mean margin is so much.
func (a *Appraisal) winning(hammer, margin money.Pence) (deal.Line, bool) {
	shift := money.FromPounds(a.shift(hammer, margin.Pounds()))
	s := &a.Selection
	how := fmt.Sprintf("who bids most has often missed something: %.0f%% of what is above %s is counted",
		100*s.B*s.Reliability, whole(s.Pivot))
	if u := s.U(hammer.Pounds()); u <= -0.05 && s.R != 0 {
		how += fmt.Sprintf("; this far under the expected price (%.1f standard deviations) others may know why", -u)
	}
	return deal.Line{Name: "top-bidder allowance", How: how, Amount: shift}, shift != 0
}

func adverts(n int) string  { return tabular.Count(n, "advert") }
func marked(n int) string   { return tabular.Count(n, "marked advert") }
func ownSales(n int) string { return tabular.Count(n, "own sale") }

// Used are the lot and the shop with the value, the spread and the marker that the appraisal
// uses in place of the list's and the shop's: without evidence they give the same figures, but
// for the top-bidder allowance.
func (a *Appraisal) Used(lot *Lot, workshop *shop.Shop) (*Lot, *shop.Shop) {
	used, with := *lot, *workshop
	used.Value = money.FromPounds(a.Value.Mean)
	if a.Value.Source != prices.FromListing {
		with.Fade = 0 // the value used has the car's own fall in it
	}
	with.Segments, with.Categories = slices.Clone(workshop.Segments), slices.Clone(workshop.Categories)
	if i, ok := with.Segment(lot.Segment); ok {
		with.Segments[i].ValueSpread = a.spread
	}
	if i, ok := with.Category(lot.Category, lot.Segment); ok {
		with.Categories[i].Share = a.share
	}
	return &used, &with
}

// Share is what the marker takes off the sale price, as used.
func (a *Appraisal) Share() stats.Amount { return a.share }

// Spread is the standard deviation of the log sale price, as used.
func (a *Appraisal) Spread() float64 { return a.spread }

// fade is what is left of a pound by the day of the sale: adverts that tell of the car's fall while
// waiting take the place of the shop's fading.
func (a *Appraisal) fade(shop float64) float64 {
	if a != nil && a.Value.Source != prices.FromListing {
		return 1
	}
	return shop
}

// usual says that marker and spread are the shop's own.
func (a *Appraisal) usual(p *ResolvedLot) bool {
	return a == nil || a.share == p.Category.Share && a.spread == p.Segment.ValueSpread
}

// worth is the mean price that the car would sell for unmarked, in pounds.
func (a *Appraisal) worth(p *ResolvedLot) float64 {
	if a == nil {
		return p.Lot.Value.Pounds()
	}
	return a.Value.Mean
}

// Appraisal is what evidence says of the lot; nil where there is none.
func (s *Assessment) Appraisal() *Appraisal {
	if s.k != nil {
		return s.k.a
	}
	return s.worlds.appraisal
}
