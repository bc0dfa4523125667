package evaluate

import "wreckoner/evaluate/money"

// At makes the study that of the same lot at another guide price, seen by another evaluator; the two shops may
// differ in what they do with evidence only. It is for lots that are reckoned, and far quicker than a new study.
func (s *Study) At(e *Evaluator, guide money.Pence) {
	lot := *s.p.Lot
	lot.Guide = guide
	s.e, s.k.e, s.p.Lot = e, e, &lot
	s.p.Deal.Stop.Usual = guide
	s.k.appraise()
}
