package deal

import (
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// Private is what a lot's site says where the car is bought from a person rather than
// at a sale: no site's fees apply, only those charged for every lot.
const Private = "none"

// A Deal is one car for a shop to buy. The zero Deal is not usable; see New.
type Deal struct {
	Terms
	// Buy is what the fees depend on beside the hammer price. Its site is the one
	// charged as: see Assumed.
	Buy shop.Purchase
	// Assumed says that the lot names no site, and that Buy.Site is the dearest.
	Assumed bool
	// Kept is what is left of a pound of the sale price after selling and, on a lot
	// with VAT on the hammer price, the VAT due on the sale.
	Kept float64
	// Scheme is the share of what the sale exceeds the purchase price by that is due
	// as VAT under the margin scheme; 0 where the scheme does not apply.
	Scheme float64
	// Stop is what the car brings if it is not finished.
	Stop Stopping

	tariff *shop.Tariff
}

// guessedGuide is the share of the value at which sites are compared where a lot has
// no guide price.
const guessedGuide = 0.2

// New returns the deal of a lot. buy has the lot's own site, "" where it names none;
// guide is its guide price, 0 where it has none, and value its value before the damage.
//
// A lot without a site is charged, at every hammer price, as at the site whose outlay
// is largest at the guide price, or at a fifth of the value where there is none; of
// several such sites at the first by name. A private purchase (Private) pays the fees
// of every lot only, unless the shop has fees of that name.
func New(s *shop.Shop, terms Terms, buy shop.Purchase, guide, value money.Pence) Deal {
	d := Deal{Buy: buy, tariff: s.Tariff}.As(terms)
	d.Stop = stoppingOf(&s.Settings, buy.Days, guide)
	switch {
	case buy.Site == "":
		if guide == 0 {
			guide = money.RateOf(guessedGuide).Of(value)
		}
		d.Buy.Site, d.Assumed = dearest(s.Tariff, buy, guide)
	case strings.EqualFold(buy.Site, Private) && !s.Tariff.Has(buy.Site):
		d.Buy.Site = shop.AnySite
	}
	return d
}

// dearest returns the site whose outlay is largest at a hammer price; false where the
// tariff has no sites.
func dearest(t *shop.Tariff, buy shop.Purchase, hammer money.Pence) (site string, ok bool) {
	most := money.Pence(0)
	for _, name := range t.Sites() { // sorted by name
		buy.Site = name
		if total, _, _ := t.Sum(hammer, buy); !ok || total > most {
			site, most, ok = name, total, true
		}
	}
	return site, ok
}

// As returns the deal by other terms.
func (d Deal) As(terms Terms) Deal {
	d.Terms, d.Kept, d.Scheme = terms, terms.KeptOf(d.Buy.Plus), 0
	if !d.Buy.Plus {
		d.Scheme = terms.VAT
	}
	return d
}

// Steps returns the hammer prices above 0 at which a fee changes, ascending. Between
// two of them the outlay never falls.
func (d *Deal) Steps() []money.Pence { return d.tariff.Steps(d.Buy.Site) }

// Outlay returns line by line what is paid at a hammer price to have the car in the yard.
func (d *Deal) Outlay(hammer money.Pence) shop.Outlay { return d.tariff.Outlay(hammer, d.Buy) }

// Bands returns the fees that the car may be charged by.
func (d *Deal) Bands() []shop.Band { return d.tariff.Bands(d.Buy.Site) }

// A Price is a deal at one hammer price.
type Price struct {
	*Deal
	Hammer money.Pence
	// Outlay is all that is paid to have the car in the yard, OutlayBack the VAT of it
	// that is taken back, in pounds.
	Outlay, OutlayBack float64
	// Bought is the purchase price that the VAT margin scheme counts, in pounds.
	Bought float64
	// Day is what a day more costs, net, finance included, while the car is being
	// built; ForSale while it is for sale.
	Day, ForSale float64
}

// At returns the deal at a hammer price.
func (d *Deal) At(hammer money.Pence) Price {
	total, vat, bought := d.tariff.Sum(hammer, d.Buy)
	return d.price(hammer, total.Pounds(), vat.Pounds(), bought.Pounds())
}

func (d *Deal) price(hammer money.Pence, outlay, vat, bought float64) Price {
	p := Price{Deal: d, Hammer: hammer, Outlay: outlay, Bought: bought}
	if d.Registered() {
		p.OutlayBack = vat
	}
	finance := d.Finance * outlay
	p.Day, p.ForSale = d.Terms.Day+finance, d.Terms.ForSale+finance
	return p
}

// Paid is the outlay, net.
func (p *Price) Paid() float64 { return p.Outlay - p.OutlayBack }

// Due returns the VAT due on a sale price: on all of it where VAT was added to the
// hammer price, else under the margin scheme. 0 for a shop that is not registered.
// Money spent on the car never counts toward the purchase price.
func (p *Price) Due(sale float64) float64 {
	if p.Buy.Plus {
		return p.VAT * sale
	}
	return p.Scheme * max(0, sale-p.Bought)
}

// Time returns what days cost before VAT is taken back, in pounds: holding, and finance
// on the outlay. forSale of the days the car is for sale.
func (p *Price) Time(days, forSale float64) (holding, finance float64) {
	return p.DayGross*(days-forSale) + p.ForSaleGross*forSale, p.Finance * p.Outlay * days
}

// Cash returns what leaves the bank before the sale: the outlay, the mean of the fixed
// items and extras paid before it (items), and P80 of the spend on damage (spend), all
// in pounds with their VAT. Own wages are not cash: they are the shop's own.
func (p *Price) Cash(items, spend float64) float64 { return p.Outlay + items + spend }

// A Car is one way in which a car may turn out.
type Car struct {
	// Spend on damage, in pounds, and own Hours.
	Spend, Hours float64
	// Days from the sale to the money; ForSale of them it is for sale.
	Days, ForSale float64
	// Items are the fixed items and extras, in pounds, net.
	Items float64
	// Sale is the price that it brings.
	Sale float64
}

// Base returns what is left of a car before the outlay and what depends on it.
func (d *Deal) Base(c Car) float64 {
	return d.Kept*c.Sale - d.SellFixed*(1-d.SellBack) - d.Spend*c.Spend - d.Labour*c.Hours -
		d.Day*(c.Days-c.ForSale) - d.ForSale*c.ForSale - c.Items
}

// BaseSold is Base of a car that is sold, where selling did cost so much, in pounds
// before VAT is taken back.
func (d *Deal) BaseSold(c Car, selling float64) float64 {
	return d.Base(c) + (d.Selling(c.Sale)-selling)*(1-d.SellBack)
}

// Margin returns what is left of a car at the price: base is Base of it, days and sale
// are the car's.
func (p *Price) Margin(base, days, sale float64) float64 {
	m := base - p.Outlay*(1+p.Finance*days) + p.OutlayBack
	if p.Scheme > 0 {
		m -= p.Scheme * max(0, sale-p.Bought)
	}
	return m
}
