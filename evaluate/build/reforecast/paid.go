package reforecast

import (
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// paid returns what the car in the yard cost, in pounds: what the ledger says, and
// where it does not what the tariff charges at that hammer price.
func (s *state) paid(hammer money.Pence) float64 {
	o := s.shop.Tariff.Outlay(hammer, s.buy)
	fees, transport := 0.0, 0.0
	for _, l := range o.Lines[1:] {
		if s.carriage(l.Name) {
			transport += (l.Amount + l.VAT).Pounds()
		} else {
			fees += (l.Amount + l.VAT).Pounds()
		}
	}
	if s.progress.Fees != nil {
		fees = *s.progress.Fees
	}
	if s.progress.Transport != nil {
		transport = *s.progress.Transport
	}
	if s.progress.Fees == nil && s.progress.Transport == nil {
		return o.Total.Pounds()
	}
	return (o.Lines[0].Amount + o.Lines[0].VAT).Pounds() + fees + transport
}

// carriage reports whether a fee brings the car in: one that is counted by the
// mile.
func (s *state) carriage(fee string) bool {
	for _, b := range s.shop.Tariff.Bands(s.buy.Site) {
		if b.Fee == fee && b.Per == shop.PerMile {
			return true
		}
	}
	return false
}
