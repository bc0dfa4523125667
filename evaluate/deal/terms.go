// Package deal turns a hammer price into a margin. It is the only place where the
// rules for fees, VAT, holding, finance and selling are put together: the engines, the
// workings, probe, reforecast and review all read their coefficients here.
//
// Amounts are in pounds unless a type says pence; shares are fractions of 1; days are
// calendar days. "Net" means less the VAT that a registered shop takes back.
package deal

import (
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// Terms are what a shop's settings make of a pound, an hour and a day.
type Terms struct {
	// VAT is the share of an amount that carries VAT which is VAT: rate / (1 + rate).
	// It is 0 for a shop that is not registered, which neither takes back nor owes any.
	VAT float64
	// Rate is the rate of VAT, whether the shop is registered or not.
	Rate money.Rate
	// Spend is what a pound of spend on damage costs, net.
	Spend float64
	// SpendBack is the VAT taken back on a pound of spend on damage.
	SpendBack float64
	// Labour is what an hour of own work counts, in pounds.
	Labour float64
	// Day is what a day of holding costs, net, while the car is being built; ForSale
	// while it is for sale. Finance is not in them: see Price.
	Day, ForSale float64
	// DayGross and ForSaleGross are the same before VAT is taken back.
	DayGross, ForSaleGross float64
	// HoldingBack is the VAT taken back on a pound of holding.
	HoldingBack float64
	// Finance is what a day of having bought the car costs, as a share of the outlay.
	Finance float64
	// SellFixed, in pounds, and SellShare of the sale price are what selling costs,
	// before VAT is taken back; SellBack is the VAT taken back on a pound of it.
	SellFixed, SellShare, SellBack float64

	financeYear float64
}

// TermsOf returns the terms of a shop.
func TermsOf(s *shop.Settings) Terms {
	t := Terms{
		Rate: s.VATRate, Labour: s.LabourRate, DayGross: s.HoldingPerDay, ForSaleGross: s.SaleHolding(),
		Finance: s.FinanceRate / daysOfYear, financeYear: s.FinanceRate, SellFixed: s.SellFixed, SellShare: s.SellPercent,
	}
	if s.VATRegistered {
		t.VAT = s.VATRate.Float() / (1 + s.VATRate.Float())
	}
	t.SpendBack = t.VAT * s.SpendVATShare
	t.Spend = 1 - t.SpendBack
	if s.HoldingVAT {
		t.HoldingBack = t.VAT
	}
	t.Day, t.ForSale = t.DayGross*(1-t.HoldingBack), t.ForSaleGross*(1-t.HoldingBack)
	if s.SellVAT {
		t.SellBack = t.VAT
	}
	return t
}

// daysOfYear is the year that finance is charged by.
const daysOfYear = 365

// Registered reports whether the shop takes back and owes VAT.
func (t *Terms) Registered() bool { return t.VAT > 0 }

// Item returns what a pound of a fixed item or an extra costs, net.
func (t *Terms) Item(c shop.Charge) float64 {
	if c.VAT {
		return 1 - t.VAT
	}
	return 1
}

// Repair returns what a repair costs before VAT is taken back: spend and own hours.
func (t *Terms) Repair(spend, hours float64) float64 { return spend + t.Labour*hours }

// Selling returns what selling costs at a sale price, before VAT is taken back.
func (t *Terms) Selling(sale float64) float64 { return t.SellFixed + t.SellShare*sale }

// KeptOf returns what is left of a pound of the sale price once selling is paid for
// and, where VAT was added to the hammer price (plus), the VAT on the sale.
func (t *Terms) KeptOf(plus bool) float64 {
	kept := 1 - t.SellShare*(1-t.SellBack)
	if plus {
		kept -= t.VAT
	}
	return kept
}

// LeastKept is the least that is ever left of a pound of the sale price: after
// selling and VAT on the whole of it. Where it is 0 or less the margin need not rise
// with the price.
func (t *Terms) LeastKept() float64 { return 1 - t.SellShare - t.VAT }
