package shop

// DayHours returns the own hours that one car gets in a calendar day: those of the
// workshop in a working day, shared by the cars at once, over the days of a week.
func (s *Settings) DayHours() float64 {
	hours := s.HoursPerDay
	if s.CarsAtOnce > 0 {
		hours /= s.CarsAtOnce
	}
	if s.WorkDays > 0 && s.WorkDays != 7 {
		hours *= s.WorkDays / 7
	}
	return hours
}

// SaleHolding returns what a day costs while the car is for sale, in pounds.
func (s *Settings) SaleHolding() float64 {
	if s.HoldingForSale == nil {
		return s.HoldingPerDay
	}
	return *s.HoldingForSale
}

// SellTimes returns what the shop's days to sell are multiplied by for a car of a
// category and a kind.
func SellTimes(c *Category, s *Segment) float64 {
	times := 1.0
	for _, x := range []float64{c.Sell, s.Sell} {
		if x > 0 {
			times *= x
		}
	}
	return times
}
