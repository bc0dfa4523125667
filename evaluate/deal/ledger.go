package deal

import (
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A Paid is what a ledger says was paid to have a car in the yard, in pounds; nil where
// it does not say. The hammer price is the one called: where the lot has VAT on it, that
// follows from the lot and is in no row.
type Paid struct {
	Hammer, Fees, Transport *float64
}

// AtLedger returns the deal at what was paid: what the ledger says, and where it says
// nothing the frozen hammer price, and what the site charges at the hammer price. A
// hammer price that is the frozen one with VAT on it (WithVAT) is that one. Of fees and
// of transport, VAT has the share that it has by the site's charges.
func (d *Deal) AtLedger(paid Paid, frozen money.Pence) Price {
	hammer := frozen
	if paid.Hammer != nil {
		if row := money.FromPounds(*paid.Hammer); !d.WithVAT(row, frozen) {
			hammer = row
		}
	}
	outlay := d.Outlay(hammer)
	called := outlay.Lines[0]
	total, vat := (called.Amount + called.VAT).Pounds(), called.VAT.Pounds()
	fees, transport := d.charged(outlay)
	for _, x := range []struct {
		charged bill
		paid    *float64
	}{{fees, paid.Fees}, {transport, paid.Transport}} {
		t, v := x.charged.total, x.charged.vat
		if x.paid != nil {
			if t > 0 {
				v *= *x.paid / t
			}
			t = *x.paid
		}
		total += t
		vat += v
	}
	return d.price(hammer, total, vat, outlay.PurchasePrice.Pounds())
}

// bill is an amount with the VAT in it, in pounds.
type bill struct{ total, vat float64 }

// charged returns what a site charges beside the hammer price: fees, and transport.
func (d *Deal) charged(o shop.Outlay) (fees, transport bill) {
	for _, l := range o.Lines[1:] {
		into := &fees
		if d.carries(l.Name) {
			into = &transport
		}
		into.total += (l.Amount + l.VAT).Pounds()
		into.vat += l.VAT.Pounds()
	}
	return fees, transport
}

// carries reports whether a fee brings the car in: it is called so, or counted by the
// mile.
func (d *Deal) carries(fee string) bool {
	if strings.EqualFold(fee, "transport") || strings.EqualFold(fee, "carriage") {
		return true
	}
	for _, b := range d.tariff.Bands(d.Buy.Site) {
		if b.Fee == fee && b.Per == shop.PerMile {
			return true
		}
	}
	return false
}

// WithVAT reports whether a hammer price of the ledger is, to the pound, what was frozen
// with VAT on top, so that no VAT is to be added to it: the invoice's total, where the
// hammer price as called is meant.
func (d *Deal) WithVAT(row, frozen money.Pence) bool {
	with := frozen + d.Rate.Of(frozen)
	return d.Buy.Plus && row != frozen && row-with < 100 && with-row < 100
}

// OverheadBack returns the VAT taken back on a pound of an overhead row of the ledger:
// as its name says where that is a fixed item or an extra, else as of spend on damage.
func (t *Terms) OverheadBack(s *shop.Shop, what string) float64 {
	for _, c := range s.Fixed {
		if Named(what, c.Name) {
			return 1 - t.Item(c)
		}
	}
	for _, x := range s.Extras {
		if Named(what, x.Name) {
			return 1 - t.Item(x.Charge)
		}
	}
	return t.SpendBack
}

// Named reports whether the words of a ledger row are the name of an item.
func Named(what, name string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(what), " "), strings.Join(strings.Fields(name), " "))
}
