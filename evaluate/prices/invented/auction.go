// Package invented makes sales and adverts for tests, by processes that are none of our models: bidders at an
// auction, and a market with errors of its own. Everything in it is made up. The same generator gives the same
// rows.
package invented

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"wreckoner/evaluate/prices"
)

// Today is the as-of day of everything invented.
var Today = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)

// An Auction is an ascending auction among rivals who know the repair better or worse, and want different margins.
type Auction struct {
	// Rivals is how many bid, at least 2; Apart the sd of the log of what they would give; Dearer the part that a year
	// makes prices dearer.
	Rivals        int
	Apart, Dearer float64
}

// FiveRivals is the auction that figures are quoted for.
var FiveRivals = Auction{Rivals: 5, Apart: 0.15}

// A Sale is one auctioned lot.
type Sale struct {
	prices.Result
	// Top is what the highest rival would have given, the hammer price what the second-highest would, and a step of 25.
	Top float64
	// TrueRepair is the repair's share of the value, known or not.
	TrueRepair float64
}

// Categories that lots have, their shares of all lots, and what each takes off a rebuilt car.
var categories = []struct {
	name        string
	share, loss float64
}{{"N", 0.55, 0.25}, {"S", 0.25, 0.33}, {"C", 0.06, 0.30}, {"D", 0.06, 0.25}, {"unrecorded", 0.08, 0.08}}

// Sites, their shares of all lots, what bids there are higher by, and what guides there are higher by: logs.
var sites = []struct {
	name              string
	share, bid, guide float64
}{{"A", 0.40, 0, -0.25}, {"B", 0.25, 0.06, 0.05}, {"C", 0.20, -0.05, -0.10}, {"D", 0.10, 0.10, 0}, {"", 0.05, 0, -0.10}}

// pick draws an index with the given shares.
func pick(rng *rand.Rand, n int, share func(int) float64) int {
	u := rng.Float64()
	for i := range n - 1 {
		if u -= share(i); u < 0 {
			return i
		}
	}
	return n - 1
}

// softened keeps a share above 0.12, softly.
func softened(x float64) float64 { return 0.12 + 0.06*math.Log1p(math.Exp((x-0.12)/0.06)) }

// third is yes, unknown or no.
func third(rng *rand.Rand, yes, unknown float64) (prices.Answer, float64) {
	switch u := rng.Float64(); {
	case u < yes:
		return prices.Yes, 0
	case u < yes+unknown:
		return prices.Unknown, 0.5
	}
	return prices.No, 1
}

// Sales holds n auctions on days of the year before [Today]. One in five lots has no damage code.
func (a Auction) Sales(rng *rand.Rand, n int) []Sale {
	out := make([]Sale, n)
	for i := range out {
		out[i] = a.sale(rng, i)
	}
	return out
}

func (a Auction) sale(rng *rand.Rand, i int) Sale {
	value := 9000 * math.Exp(0.5*rng.NormFloat64())
	category := categories[pick(rng, len(categories), func(i int) float64 { return categories[i].share })]
	site := sites[pick(rng, len(sites), func(i int) float64 { return sites[i].share })]
	repair := min(1.2, -0.1*math.Log(rng.Float64()*rng.Float64()*rng.Float64()))
	starts, dead := third(rng, 0.5, 0.2)
	keys, _ := third(rng, 0.7, 0.15)
	days := rng.IntN(365)
	s := Sale{TrueRepair: repair}
	s.Line, s.Number = i+2, fmt.Sprint(i+1)
	s.Lot = prices.Lot{Category: category.name, Value: value, Site: site.name, Starts: starts, Keys: keys,
		VATPlus:  rng.Float64() < 0.15,
		SaleDate: Today.AddDate(0, 0, -days)}
	if rng.Float64() >= 0.2 {
		s.Repair = prices.Some(repair * value)
	}
	o := Offer{Value: value, Loss: category.loss, Repair: repair, Dead: dead, VATPlus: s.VATPlus,
		Bias: site.bid - a.Dearer*float64(days)/365}
	s.Top, s.Hammer = a.Knocked(rng, &o)
	s.Guide = o.Guide(rng, site.guide)
	return s
}

// An Offer is a lot as its rivals know it.
type Offer struct {
	// Value is the unmarked car's price in pounds; Loss the share that its marker takes off; Repair the share of the value
	// that the repair truly costs; Dead is 1 where it does not start, 0.5 where nobody knows.
	Value, Loss, Repair, Dead float64
	// VATPlus says that VAT comes on top of the hammer price; Bias is the log that bids are higher by.
	VATPlus bool
	Bias    float64
}

// Knocked is what the highest rival would give and the hammer price without us, pounds: what the second-highest would
// give, and a step of 25.
func (a Auction) Knocked(rng *rand.Rand, o *Offer) (top, hammer float64) {
	net := softened(0.9 - o.Loss - 1.15*o.Repair*math.Exp(-0.03+0.25*rng.NormFloat64()) - 0.04*o.Dead)
	fees := 1.08
	if o.VATPlus {
		fees = 1.2
	}
	common := 0.12*rng.NormFloat64() + o.Bias
	bids := make([]float64, a.Rivals)
	for j := range bids {
		bids[j] = o.Value * net / fees * math.Exp(common+a.Apart*rng.NormFloat64())
	}
	slices.Sort(bids)
	return bids[a.Rivals-1], bids[a.Rivals-2] + 25
}

// Guide is a guide price, pounds, by somebody who knows the repair but not the bidders; bias is the log that the site's
// guides are higher by.
func (o *Offer) Guide(rng *rand.Rand, bias float64) float64 {
	return o.Value * softened(0.9-o.Loss-1.15*o.Repair) * math.Exp(bias+0.22*rng.NormFloat64()+0.1)
}

// Loss is the share of a car's value that an auction's rivals take a category's marker to cost; 0.25 for one that they
// do not know.
func Loss(category string) float64 {
	for _, c := range categories {
		if c.name == category {
			return c.loss
		}
	}
	return 0.25
}

// Results are the sales' rows.
func Results(sales []Sale) []prices.Result {
	out := make([]prices.Result, len(sales))
	for i := range sales {
		out[i] = sales[i].Result
	}
	return out
}

// Ahead are the sales' lots as they would be offered today.
func Ahead(s *Sale) prices.Lot {
	l := s.Lot
	l.SaleDate = time.Time{}
	return l
}

// Typo is a mistyped figure: a digit too many or too few, or the first two exchanged.
func Typo(rng *rand.Rand, x float64) float64 {
	text := fmt.Sprintf("%.0f", x)
	var y float64
	switch k := rng.IntN(3); {
	case k == 0 || len(text) < 2 || k == 2 && text[1] == '0':
		y = math.Trunc(x) * 10
	case k == 1:
		y = math.Trunc(x / 10)
	default:
		text = text[1:2] + text[:1] + text[2:]
		if _, err := fmt.Sscan(text, &y); err != nil {
			panic(err) // a number that was just printed
		}
	}
	return y
}
