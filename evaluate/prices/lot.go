package prices

import (
	"strings"
	"time"
)

// An Answer is yes, no or unknown.
type Answer int

// The answers. The zero value is [Unknown].
const (
	Unknown Answer = iota
	Yes
	No
)

// A Lot is what the sale's list says of a car, and what the shop's book says of its damage.
type Lot struct {
	// Make and Model are compared without regard to capitals and doubled spaces. Segment: [DefaultSegment] where blank.
	Make, Model, Segment string
	// Year is the car's model year, 0 where blank.
	Year int
	// Miles is the odometer reading.
	Miles Optional
	// Category is the shop's name of the marker.
	Category string
	// Value and Guide are pounds, 0 where blank.
	Value, Guide float64
	// Site is where it is sold; blank counts as a site of its own.
	Site string
	// Starts and Keys: whether it starts, and has its keys.
	Starts, Keys Answer
	// VATPlus: VAT comes on top of the hammer price.
	VATPlus bool
	// Repair is the mean repair cost by the damage code, pounds, at least 0; missing where the lot is uncoded.
	Repair Optional
	// SaleDate is the day of the sale; zero: the as-of day.
	SaleDate time.Time
	// MeanDays is the mean number of days from the sale until the car is sold again.
	MeanDays float64
}

// A Result is a past lot: one row of results.csv.
type Result struct {
	Lot
	// Line is the row's line in its file, Number the lot's number or name.
	Line   int
	Number string
	// Hammer is pounds, 0 where it was not sold.
	Hammer float64
	// Outcome is what the row says became of it.
	Outcome Outcome
	// Stop is the shop's own highest bid, 0 where it did not bid; Won says whether it got the car.
	Stop float64
	Won  Answer
}

// An Outcome is what became of a past lot.
type Outcome int

// The outcomes. The zero value leaves it to the hammer price.
const (
	NotSaid Outcome = iota
	Sold
	Unsold
	Withdrawn
)

// An Advert is one row of adverts.csv: a car advertised, or one of the shop's own sales.
type Advert struct {
	Line                 int
	Make, Model, Segment string
	Year                 int
	Miles                float64
	// Asked is the price asked, Got the price received in an own sale, Listed the value that its lot had in the
	// sale's list: pounds, 0 where blank.
	Asked, Got, Listed float64
	// Marked is "", "no", [MarkedYes] or a category of the shop.
	Marked string
	// FirstSeen, LastSeen and Sold are zero where blank.
	FirstSeen, LastSeen, Sold time.Time
	// VATPlus: VAT comes on top of the prices.
	VATPlus bool
}

// Day is the day that an advert speaks of: sold, else last seen, else first seen.
func (a *Advert) Day() time.Time {
	switch {
	case !a.Sold.IsZero():
		return a.Sold
	case !a.LastSeen.IsZero():
		return a.LastSeen
	}
	return a.FirstSeen
}

// dayColumn is the column that [Advert.Day] comes from.
func (a *Advert) dayColumn() string {
	switch {
	case !a.Sold.IsZero():
		return "sold"
	case !a.LastSeen.IsZero():
		return "last_seen"
	}
	return "first_seen"
}

// A Build is one row of builds.csv: what the shop expected of a car that it won, and what it made.
type Build struct {
	Line     int
	Name     string
	SaleDate time.Time
	// Predicted is the mean margin at the hammer price before any correction, MarginSD the margin's and RepairSD
	// the repair cost's standard deviation, Realised what was made: pounds.
	Predicted, MarginSD, RepairSD, Realised float64
	// U is how far the hammer price lay from what was expected, METHOD.md 15.23.
	U float64
	// Value is the car's value and Tau the standard deviation of the shop's own error about it, METHOD.md 15.29:
	// pounds. Where one is missing the row counts as wholly reliable.
	Value, Tau Optional
}

// fold is how names are compared: small letters, single spaces.
func fold(name string) string {
	if plain(name) {
		return name
	}
	return strings.Join(strings.Fields(strings.ToLower(name)), " ")
}

// plain says that a name is small ASCII letters, digits and hyphens already.
func plain(name string) bool {
	for i := range len(name) {
		if c := name[i]; !('a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '-') {
			return false
		}
	}
	return true
}

// carName is what adverts and lots of one model share.
func carName(maker, model string) string { return fold(strings.TrimSpace(maker + " " + model)) }

func segmentOf(name string) string {
	if name == "" {
		return DefaultSegment
	}
	return name
}
