package evaluate

import "wreckoner/evaluate/money"

// MeanMargin returns the mean margin at a hammer price, in pounds: that of Along,
// without the quantiles, which take their time.
func (s *Study) MeanMargin(hammer money.Pence) float64 {
	if s.k != nil {
		return s.k.at(hammer).mean
	}
	if s.mean == nil {
		s.mean = s.worlds.MeanMargin()
	}
	return s.mean(hammer)
}

// Outlay returns what is paid at a hammer price to have the car in the yard.
func (s *Study) Outlay(hammer money.Pence) money.Pence {
	if s.k != nil {
		total, _, _ := s.k.outlay(hammer)
		return total
	}
	total, _, _ := s.worlds.Outlay(hammer)
	return total
}
