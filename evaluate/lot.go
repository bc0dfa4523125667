// Package evaluate turns a lot and a shop into a judgement: what the repair will
// cost, what is left of the sale, and how high to bid.
package evaluate

import (
	"strconv"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
)

// A Lot is one car in a salvage sale. Its Category, Segment and Site must be
// the shop's, which the readers of files see to.
type Lot struct {
	Number      string
	Make, Model string
	// Year and Odometer are 0 where unknown.
	Year, Odometer int
	Segment        string
	Category       string
	Code           damage.Code
	Description    string
	// Value is the retail value just before the damage, above 0.
	Value money.Pence
	// Guide is the expected hammer price; 0 where nobody says.
	Guide money.Pence
	// Site is the sale site, deal.Private for a private purchase, "" where unknown: see
	// deal.New for the fees that it is then charged.
	Site string
	// Miles from the site to the shop.
	Miles float64
	// Plus says that VAT is added to the hammer price.
	Plus bool
	// CollectDays, where not nil, stands in for the shop's.
	CollectDays *float64
	// CollectBy is the last day of free storage, as the list writes it.
	CollectBy string
	// FreeDays, where not nil, stands in for the free days of the site's fees.
	FreeDays *float64
	Note     string
	// Cells are the columns of the list that the shop's extras name, by the name
	// that Extra.Column has.
	Cells map[string]string
	// Keys and Starts are yes, no or unknown; "" where the list has no such column.
	Keys, Starts string
	// SaleDate is the day of the sale as YYYY-MM-DD, "" where unknown.
	SaleDate string
	// Listed is the number as the list has it, where Number is more than that: SITE:LOT, SITE:DAY:LOT or LIST:LOT,
	// as the listed one stands for several lots.
	Listed string
	// Registration is the number plate, as the list writes it.
	Registration string
	// File, Line and Sheet say where the lot was read.
	File, Sheet string
	Line        int
}

// Key tells lots apart in one list: the number, and the site and the day of the sale where they are known.
func (l *Lot) Key() string {
	if l.Site == "" && l.SaleDate == "" {
		return l.Number
	}
	return l.Number + "\x00" + l.Site + "\x00" + l.SaleDate
}

// Car names the car in a few words: "Brantholt Aldra 2019".
func (l *Lot) Car() string {
	words := make([]string, 0, 3)
	for _, w := range []string{l.Make, l.Model} {
		if w != "" {
			words = append(words, w)
		}
	}
	if l.Year != 0 {
		words = append(words, strconv.Itoa(l.Year))
	}
	return strings.Join(words, " ")
}

// amountOf returns a share of the lot's value.
func amountOf(l *Lot, share float64) money.Pence { return money.RateOf(share).Of(l.Value) }
