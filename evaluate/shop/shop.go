// Package shop holds a workshop's own settings and tables, and reads them from their
// folder: each fault has its file, line, column and remedy.
package shop

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// A Settings holds the numbers of a shop. Shares are fractions.
type Settings struct {
	// Currency is the three-letter code of what money is shown in.
	Currency string
	// LabourRate is what an hour of own work must earn, in pounds.
	LabourRate float64
	// HoursPerDay is the own hours of the whole workshop in a working day, above 0.
	// CarsAtOnce share them, at least 1; WorkDays are the working days in a week, 1 to 7.
	// 0 stands for what is not said: one car, and every day.
	HoursPerDay, CarsAtOnce, WorkDays float64
	// CollectDays, StripDays and FinishDays are the days from the sale to the
	// yard, to a stripped car, and from the last job to ready for sale.
	CollectDays, StripDays, FinishDays float64
	// LeadSpread multiplies every lead time. SellDays is the time to sell.
	LeadSpread, SellDays stats.Amount
	// HoldingPerDay is what a day costs until the car is ready for sale, in pounds, and
	// HoldingForSale what it costs from then on, nil for the same; FinanceRate is what a
	// year of the outlay costs, as a share of it.
	HoldingPerDay  float64
	HoldingForSale *float64
	FinanceRate    float64
	// Fade is the share of the sale price that is lost in a month, 0 to 1.
	Fade float64
	// SellOn is the share of the hammer price that a car brings if it is sold as it
	// stands after the strip; nil where cars are never sold so. StripHours are the own
	// hours until a car is stripped. StripError is how far off the costs are judged at
	// the strip, on the log scale, 0 to 1.
	SellOn                 *stats.Amount
	StripHours, StripError float64
	// Visit is what one trip to the sale costs, in pounds, however many inspections are
	// made there.
	Visit         float64
	VATRegistered bool
	VATRate       money.Rate
	// SpendVATShare is the share of the book's spend that carries VAT.
	SpendVATShare float64
	// SellFixed, in pounds, and SellPercent of the resale are what selling costs.
	SellFixed, SellPercent float64
	// SellVAT and HoldingVAT say whether those costs carry VAT.
	SellVAT, HoldingVAT bool
	// TargetMargin, in pounds, and TargetReturn, a share of outlay and mean
	// repair: the mean margin must reach the larger.
	TargetMargin, TargetReturn float64
	// LossLimit is the largest chance of a loss that is accepted.
	LossLimit float64
	// Cash, in pounds, must cover the outlay and P80 of the repair. 0: no limit.
	Cash float64
	// BidStep is what bids are multiples of, above 0.
	BidStep money.Pence
	// GuideSpread multiplies the guide price.
	GuideSpread stats.Amount
	// SeverityLink and HiddenLink are the correlations of one car's jobs.
	SeverityLink, HiddenLink float64
	// SuspectedChance is that of a ? without a percentage.
	SuspectedChance float64
	// UncodedStructure is the chance that a category S lot coded without a
	// structural mark has s2 where it was hit worst.
	UncodedStructure float64
	// CostBias is how far the whole book may be off, as a share of the mean.
	CostBias float64
	// CodingUp and CodingDown are the chances, by class, that a seen mark is one grade
	// more, or less, than was written from photographs.
	CodingUp, CodingDown [damage.ClassCount]float64
	// CostsAsOf is the day of the cost table's prices, for rows without a day of their own; zero where nobody said.
	CostsAsOf time.Time
	// Inflation is by how much the cost table's spend grows a year, on the log scale.
	Inflation float64
	// PriceLink, from 0 to below 1, is how far a whole sale runs dear or cheap together;
	// MarketLink the part of value_spread that all cars share, log-scale standard deviation.
	PriceLink, MarketLink float64
	// BayValue and MoneyValue are what a free bay, and a pound, left after the sale are
	// worth, in pounds.
	BayValue, MoneyValue float64
	// Turnover of the last twelve months and the VATThreshold above which a
	// shop must register, in pounds. 0: not watched.
	Turnover, VATThreshold float64
	// Evidence says how adverts, past hammer prices and own builds are weighed.
	Evidence Evidence
	// Bays are the places in which a car can be worked on; 0: nobody says. SaleEvery is
	// how many days lie between two sales; 0 stands for 7.
	Bays, SaleEvery float64
}

// DaysBetweenSales returns SaleEvery, or what stands for it.
func (s *Settings) DaysBetweenSales() float64 {
	if s.SaleEvery == 0 {
		return 7
	}
	return s.SaleEvery
}

// A Charge is a cost beside the book, in pounds, VAT included.
type Charge struct {
	Name   string
	Amount stats.Amount
	// VAT says whether the amount carries VAT.
	VAT bool
	// AfterSale says that it is paid after the car is sold, and so ties up no cash.
	AfterSale bool
}

// AfterSale is how shop.toml says when such a charge is paid.
const AfterSale = "after sale"

// An Extra is a charge that applies to some lots.
type Extra struct {
	Charge
	// Column and Value: charged where the lot's column holds the value. Column
	// is in canonical form: lower case, no spaces, underscores or hyphens. An
	// empty one matches every lot.
	Column, Value string
	// UnknownChance is that of the charge where the column is blank, absent or
	// "unknown".
	UnknownChance float64
	// After, where not empty: charged only in worlds where one of these is.
	After []After
	// Scaled says that the amount is multiplied by what the car multiplies Scale by.
	Scaled bool
	Scale  damage.Class
	// YearFrom, where above 0: only for cars of that year or later, and for those of which
	// nobody knows the year.
	YearFrom int
	// Wear says that the extra is one that the crash did not cause: charged where the car
	// has covered OdometerFrom miles and is AgeFrom years old. Of those with one name only
	// the last that is reached counts.
	Wear         bool
	OdometerFrom float64
	AgeFrom      int
}

// An After names charged damage: a class, at a grade or above, in a zone or in
// any.
type After struct {
	Class   damage.Class
	Grade   damage.Grade
	Zone    damage.Zone
	AnyZone bool
}

// ParseAfter reads "s", "m2" or "nose e2".
func ParseAfter(text string) (After, error) {
	a := After{AnyZone: true, Grade: 1}
	fields := strings.Fields(strings.ToLower(text))
	fail := fmt.Errorf("%q does not name damage; write a class such as s, with a grade such as m2, or with a zone "+
		"such as nose e2", text)
	if len(fields) == 2 {
		zone, err := damage.ParseZone(fields[0])
		if err != nil {
			return a, err
		}
		a.Zone, a.AnyZone = zone, false
		fields = fields[1:]
	}
	if len(fields) != 1 || len(fields[0]) > 2 {
		return a, fail
	}
	class, err := damage.ParseClass(fields[0][:1])
	if err != nil {
		return a, fail
	}
	if a.Class = class; len(fields[0]) == 2 {
		if a.Grade = damage.Grade(fields[0][1] - '0'); !a.Grade.Valid() {
			return a, fail
		}
	}
	return a, nil
}

// Matches reports whether the item is such damage.
func (a After) Matches(i damage.Item) bool {
	return i.Class == a.Class && i.Grade >= a.Grade && (a.AnyZone || i.Zone == a.Zone)
}

// A Segment is a kind of car: it multiplies the book.
type Segment struct {
	Name         string
	Spend, Hours float64
	// ValueSpread is the log-scale standard deviation of the resale price.
	ValueSpread float64
	// Classes are what the spend of each class is multiplied by in place of Spend; 0: by
	// Spend. Sell multiplies the days to sell; 0 stands for 1.
	Classes [damage.ClassCount]float64
	Sell    float64
	// Called is what people call such a car in a list; InName are the words of a car's own name that say it.
	Called, InName []string
}

// A Category is an insurer's marker.
type Category struct {
	Name    string
	Rebuild bool
	// Segment that the row is for; "" is any.
	Segment string
	// Share is what the marker takes off the value.
	Share stats.Amount
	// Builds is the experience behind the share.
	Builds float64
	Note   string
	// GuideShare of the value stands in for a missing guide price. 0: none does.
	GuideShare float64
	// Sell multiplies the days to sell; 0 stands for 1.
	Sell float64
}

// A Source says where one file of the shop folder was read.
type Source struct {
	File string
	// BuiltIn says that the starter set served.
	BuiltIn bool
}

// A Shop is the rebuilder's own settings and tables.
type Shop struct {
	Settings
	Fixed    []Charge
	Extras   []Extra
	Costs    *costs.Table
	Segments []Segment
	// Ages are the bands of ages, rising from 0; none: every age is the same.
	Ages       []Age
	Categories []Category
	Tariff     *Tariff
	// Inspections are the ways of finding out before bidding.
	Inspections []Inspection
	Sources     []Source
}

// Segment returns the segment of that name, whatever its case.
func (s *Shop) Segment(name string) (int, bool) {
	i := slices.IndexFunc(s.Segments, func(x Segment) bool { return strings.EqualFold(x.Name, name) })
	return i, i >= 0
}

// Category returns the row of a category for a segment: that of the segment
// comes before that of any.
func (s *Shop) Category(name, segment string) (int, bool) {
	best := -1
	for i, c := range s.Categories {
		if !strings.EqualFold(c.Name, name) {
			continue
		}
		if strings.EqualFold(c.Segment, segment) {
			return i, true
		}
		if c.Segment == "" && best < 0 {
			best = i
		}
	}
	return best, best >= 0
}

// HasCategory reports whether any row has that category.
func (s *Shop) HasCategory(name string) bool {
	return slices.ContainsFunc(s.Categories, func(c Category) bool { return strings.EqualFold(c.Name, name) })
}
