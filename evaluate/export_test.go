package evaluate

import "wreckoner/evaluate/money"

// At makes the assessment that of the same lot at another guide price, seen by another evaluator; the two shops may
// differ in what they do with evidence only. It is for lots that are reckoned, and far quicker than a new assessment.
func (s *Assessment) At(e *Evaluator, guide money.Pence) {
	lot := *s.p.Lot
	lot.Guide = guide
	s.e, s.k.e, s.p.Lot = e, e, &lot
	s.p.Deal.Stop.Usual = guide
	s.k.appraise()
}

// Seldom sets how seldom a pair of lead times is the longest where its hours are taken at their mean, and returns what
// sets it back.
func Seldom(chance float64) (back func()) {
	before := seldom
	seldom = chance
	return func() { seldom = before }
}
