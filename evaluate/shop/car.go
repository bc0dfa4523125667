package shop

import (
	"slices"

	"wreckoner/damage"
)

// Multipliers are what the cost table is multiplied by on one car: the spend of each class
// and the own hours (METHOD.md 5.1).
type Multipliers struct {
	Classes [damage.ClassCount]float64
	Hours   float64
}

// LeastMultiplier and MostMultiplier bound a multiplier.
const (
	LeastMultiplier = 0.05
	MostMultiplier  = 20
)

// An Age is a band of ages: what it multiplies the cost table by.
type Age struct {
	// From is the first whole year of the band.
	From int
	Multipliers
	Note string
}

// Class returns what a segment multiplies a class's spend by: its own figure, or that of
// all classes.
func (s *Segment) Class(c damage.Class) float64 {
	if x := s.Classes[c]; x > 0 {
		return x
	}
	return s.Spend
}

// Band returns the number of the band of an age in whole years, -1 where the shop has
// none.
func (s *Shop) Band(age int) int {
	band := -1
	for i := range s.Ages {
		if s.Ages[i].From <= age {
			band = i
		}
	}
	return band
}

// Multipliers returns those of a segment and a band of ages, by their numbers; -1 is no
// band, with factors of 1.
func (s *Shop) Multipliers(segment, band int) Multipliers {
	x := &s.Segments[segment]
	m := Multipliers{Hours: x.Hours}
	for c := range m.Classes {
		m.Classes[c] = x.Class(damage.Class(c))
	}
	if band >= 0 {
		age := &s.Ages[band]
		for c := range m.Classes {
			m.Classes[c] *= age.Classes[c]
		}
		m.Hours *= age.Hours
	}
	return m
}

// Scales returns by what the spend of each row of the cost table is multiplied on cars of
// a segment and a band of ages, beside the segment's Spend; nil where that is 1 for all.
func (s *Shop) Scales(segment, band int) []float64 {
	m, spend := s.Multipliers(segment, band), s.Segments[segment].Spend
	rows := s.Costs.Rows()
	out, same := make([]float64, len(rows)), true
	for i := range rows {
		out[i] = rows[i].Times(m.Classes[rows[i].Item.Class]) / spend
		same = same && out[i] == 1
	}
	if same {
		return nil
	}
	return out
}

// SixYears is the age at which a car without a year is taken to be worn.
const SixYears = 6

// Worn returns the age in years and the miles by which wear is judged, and what of them
// was taken since nobody gave it. known is false where the lot has no year; odometer is 0
// where it has none.
func (s *Settings) Worn(age int, known bool, odometer int) (years int, miles float64, taken bool) {
	if years = age; !known {
		years, taken = SixYears, true
	}
	if odometer > 0 {
		return years, float64(odometer), taken
	}
	perYear := DefaultMilesAYear
	if s.Evidence.MilesAYear > 0 {
		perYear = s.Evidence.MilesAYear
	}
	return years, float64(years) * perYear, true
}

// DefaultMilesAYear is what a car is taken to cover in a year, in miles.
const DefaultMilesAYear = 8000.0

// AgeMatters reports whether the age of a car changes any figure of the shop.
func (s *Shop) AgeMatters() bool {
	return len(s.Ages) > 0 || slices.ContainsFunc(s.Extras, func(x Extra) bool { return x.Wear })
}
