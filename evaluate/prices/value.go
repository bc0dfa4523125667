package prices

import (
	"fmt"
	"math"
	"time"
)

// A ValueSource says where a value comes from.
type ValueSource string

// The sources of a value.
const (
	FromListing ValueSource = "listing"
	FromAdverts ValueSource = "adverts"
	FromBoth    ValueSource = "listing and adverts"
)

// A Value is what an unmarked car would sell for, METHOD.md 15.13 to 15.15.
type Value struct {
	// Mean is the mean sale price in pounds, LogSD the standard deviation of its log, rounded up to 0.0025 where
	// evidence moved it: value and value_spread as the engine takes them.
	Mean, LogSD float64
	// Centre and Spread are the log price's mean, the fall included, and exact standard deviation.
	Centre, Spread float64
	// CarVar is the variance of the log of what the car is worth, the luck of its sale left out; the rest of Spread
	// squared is that luck.
	CarVar float64
	// LevelVar is L of METHOD.md 15.29, the variance of the shop's own error about the level.
	LevelVar float64
	Source   ValueSource
	// Adverts counts the model's cars behind it, 0 where they do not serve; Weight is what is left of them after fading.
	Adverts int
	Weight  float64
	// ListingBias is how much too high listings are, log.
	ListingBias float64
	// Fall is what the log price moves by while waiting, and FallAYear a year; 0 where adverts do not serve.
	Fall, FallAYear float64
	// AdvertPrice and ListingPrice are the middle prices that each source alone says, pounds, 0 where absent.
	AdvertPrice, ListingPrice float64
	// Apart says that the two differ by more than three standard deviations.
	Apart bool
}

// Interval is the central 8 in 10 of the sale price, pounds.
func (v *Value) Interval() (low, high float64) {
	return math.Exp(v.Centre - z90*v.Spread), math.Exp(v.Centre + z90*v.Spread)
}

// spreadStep is what value spreads are rounded up to, so that lots share tables.
const spreadStep = 0.0025

// roundSpread rounds up to the step; a spread that is a step to within rounding stays.
func roundSpread(sd float64) float64 { return math.Ceil(sd/spreadStep-1e-9) * spreadStep }

// Adverts serve a lot that has a value from leastWeight on, one that has none from aloneCount rows and aloneWeight
// on.
const leastWeight, aloneCount, aloneWeight = 0.25, 3, 1.5

// Value says what a lot's car would sell for if it were not marked. It fails where neither the list nor the adverts
// say; the error's text follows "value: " in a message.
func (m *Model) Value(l *Lot) (Value, error) {
	segment := segmentOf(l.Segment)
	v, ok := m.settings.ValueSpread[segment]
	if !ok {
		return Value{}, fmt.Errorf("%q is not a car type of the shop", segment)
	}
	k := m.market
	if k == nil || len(k.rows) == 0 {
		if !(l.Value > 0) {
			return Value{}, m.noValue(l)
		}
		return m.listed(l, v), nil
	}
	luck := k.sale2(v)
	model, known := k.models[carName(l.Make, l.Model)]
	serves := known && l.Year > 0 && k.serve(model, l.Value > 0)
	if !serves && !(l.Value > 0) {
		return Value{}, m.noValue(l)
	}
	var out Value
	var precision, sum, adverts2, listing2 float64
	if serves {
		var p float64
		p, adverts2 = k.car(model, luck, ageAt(l.Year, m.day(l.SaleDate)), l.Miles, m.settings.MilesAYear)
		precision, sum = 1/adverts2, p/adverts2
		out.Source, out.Adverts, out.Weight, out.AdvertPrice = FromAdverts, k.count[model], k.weight[model], math.Exp(p)
		out.FallAYear = k.arrow.mu[colAge] + k.arrow.blocks[model].mu[1]
		out.Fall = out.FallAYear * l.MeanDays / daysPerYear
	}
	if l.Value > 0 {
		out.ListingBias = k.arrow.mu[colListing]
		listing2 = k.listing2(v) + k.arrow.cov[int(colListing)*k.arrow.n+int(colListing)]
		c := math.Log(l.Value) - v*v/2 - out.ListingBias
		precision += 1 / listing2
		sum += c / listing2
		out.ListingPrice = math.Exp(c)
		out.Source = FromListing
		if serves {
			out.Source = FromBoth
			out.Apart = math.Abs(math.Log(out.AdvertPrice)-c) > 3*math.Sqrt(adverts2+listing2)
		}
	}
	out.CarVar = 1 / precision
	out.LevelVar = out.CarVar
	if !serves {
		out.LevelVar = m.settings.ListingShare * v * v
	}
	out.Centre = sum/precision + out.Fall
	out.Spread = math.Sqrt(out.CarVar + luck)
	out.Mean = math.Exp(out.Centre + out.Spread*out.Spread/2)
	out.LogSD = roundSpread(out.Spread)
	return out, nil
}

// listed is a lot's value where there is no evidence: the list's, bit for bit.
func (m *Model) listed(l *Lot, v float64) Value {
	c := math.Log(l.Value) - v*v/2
	share := m.settings.ListingShare * v * v
	return Value{Mean: l.Value, LogSD: v, Centre: c, Spread: v, CarVar: share, LevelVar: share, Source: FromListing,
		ListingPrice: math.Exp(c)}
}

// serve says whether a model's adverts count for a lot.
func (k *market) serve(model int, hasValue bool) bool {
	if hasValue {
		return k.weight[model] >= leastWeight
	}
	return k.count[model] >= aloneCount && k.weight[model] >= aloneWeight
}

// car is the line's log price of a car of the model, and its variance without sale luck, METHOD.md 15.13.
func (k *market) car(model int, luck, age float64, miles Optional, aYear float64) (centre, variance float64) {
	e := equation{model: model}
	blank := 0.0
	driven := miles.V / milesUnit
	if !miles.Known {
		driven = aYear / milesUnit * age
		g := k.arrow.mu[colMiles] * milesBlank
		blank = g * g
	}
	e.xm = vec3{1, age - centreAge, driven - centreMiles}
	e.add(colAge, e.xm[1])
	e.add(colMiles, e.xm[2])
	own := max(tailFactor*tailFactor*k.error2-luck, leastError*leastError)
	return k.fitted(&e), k.lever(&e) + blank + own
}

// day is a lot's sale date, else the as-of day.
func (m *Model) day(sale time.Time) time.Time {
	if sale.IsZero() {
		return m.AsOf
	}
	return sale
}

// noValue words what is missing.
func (m *Model) noValue(l *Lot) error {
	have := 0
	if m.market != nil {
		if i, ok := m.market.models[carName(l.Make, l.Model)]; ok {
			have = m.market.count[i]
		}
	}
	name := l.Make + " " + l.Model
	switch {
	case l.Make == "" && l.Model == "":
		return fmt.Errorf("blank, and make and model too; write the value")
	case l.Year <= 0:
		return fmt.Errorf("blank, and year too, so that adverts cannot say; write the value, or the year")
	case have >= aloneCount:
		return fmt.Errorf("blank, and the %d adverts of %s in adverts.csv are too old; write the value, or copy newer ones",
			have, name)
	}
	more := aloneCount - have
	plural := "s"
	if more == 1 {
		plural = ""
	}
	return fmt.Errorf("blank, and adverts.csv has %d %s; write the value, or copy %d more advert%s", have, name,
		more, plural)
}

// A MarkerShare is what a category takes off the price, METHOD.md 15.16.
type MarkerShare struct {
	// Points are P10, P50 and P90 of the share.
	Points Points
	// Adverts and OwnSales count the cars of the row behind it.
	Adverts, OwnSales int
	// Centre and SD are of log(1 - share).
	Centre, SD float64
}

// Marker says what a category takes off the price in a segment. It fails where the shop has no such row. Without
// marked adverts or own sales it is the row, bit for bit.
func (m *Model) Marker(category, segment string) (MarkerShare, error) {
	row := m.settings.row(category, segmentOf(segment))
	if row < 0 {
		return MarkerShare{}, fmt.Errorf("%q is not a category of the shop", category)
	}
	mk := m.settings.Markers[row]
	p := mk.prior()
	out := MarkerShare{Points: mk.Points(), Centre: p.centre, SD: p.sd}
	if m.market == nil {
		return out, nil
	}
	seen := m.markerSeen[row]
	out.Adverts, out.OwnSales = seen[0], seen[1]
	if !m.market.marked || p.sd == 0 {
		return out, nil
	}
	shift, v := m.market.markerShift(row, p)
	out.Centre, out.SD = p.centre+shift, math.Sqrt(p.car2()+v)
	k := out.SD / p.sd
	for i, d := range out.Points {
		out.Points[i] = 1 - math.Exp(out.Centre+k*(math.Log1p(-d)-p.centre))
	}
	return out, nil
}

// markerShift is the mean and variance of cG + e of a marker row.
func (k *market) markerShift(row int, p markerPrior) (mean, variance float64) {
	e := equation{model: -1}
	e.add(colMarker, p.common)
	col := k.marks[row]
	if col < 0 {
		return k.fitted(&e), k.lever(&e) + p.own*p.own
	}
	e.add(column(col), 1)
	return k.fitted(&e), k.lever(&e)
}
