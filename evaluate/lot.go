// Package evaluate turns a lot and a shop into a judgement: what the repair will
// cost, what is left of the sale, and how high to bid.
package evaluate

import (
	"strconv"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// A Lot is one car in a salvage sale. Its Category, Segment and Site must be
// the shop's, which the readers of files see to.
type Lot struct {
	Number      string
	Make, Model string
	// Year and Odometer are 0 where unknown.
	Year, Odometer int
	// SaleYear is that of the sale, at which the car's age counts; 0: nobody knows.
	SaleYear int
	// CodedFrom says what the code was written from; Quotes are offers for its items.
	CodedFrom   Coded
	Quotes      []Quote
	Segment     string
	Category    string
	Code        damage.Code
	Description string
	// Value is the retail value just before the damage; 0 where the list has none, which
	// only evidence can make good.
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
	// CollectDays, where not nil, is used in place of the shop's.
	CollectDays *float64
	// CollectBy is the last day of free storage, as the list writes it.
	CollectBy string
	// FreeDays, where not nil, is used in place of the free days of the site's fees.
	FreeDays *float64
	// Closes is when the lot closes, and Bidding what else the list says of it.
	Closes Closing
	Bidding
	// PartsValue, where not nil, is what the car brings broken for parts, in pounds, net
	// of the work of breaking.
	PartsValue *stats.Amount
	Note       string
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

// A Closing is when a lot closes. The zero Closing is not known.
type Closing struct {
	// At is the time. TimeOnly: its day is not known, and At counts from midnight
	// of 1 January of the year 1.
	At       time.Time
	TimeOnly bool
	// Given says that the list has it.
	Given bool
}

// Bidding is what a list says of how a lot is sold.
type Bidding struct {
	// Opening is where bidding starts; 0: anywhere.
	Opening money.Pence
	// GuideLow and GuideHigh are P10 and P90 of the hammer price, the guide being its
	// P50; 0 where the list has only a guide.
	GuideLow, GuideHigh money.Pence
	// PayBy is the last day to pay, as the list writes it.
	PayBy string
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

// amountOf returns a share of a value.
func amountOf(value money.Pence, share float64) money.Pence { return money.RateOf(share).Of(value) }
