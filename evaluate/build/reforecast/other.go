package reforecast

import (
	"slices"

	"wreckoner/evaluate/deal"
)

// others sets what was spent on overheads against the fixed items and extras they
// name, and counts the rest on top.
func (s *state) others() {
	w, d := s.worlds, s.worlds.Deal()
	s.other, s.otherBack = slices.Clone(w.Other), slices.Clone(w.OtherBack)
	if len(s.otherBack) == 0 {
		s.otherBack = make([]float64, len(s.other))
	}
	top, paid, extra := s.overheads(d)
	switch {
	case s.progress.Sale != nil:
		// What was not paid by now will not be.
		clear(s.other)
		clear(s.otherBack)
	case len(s.progress.Overheads) > 0:
		s.setOff(d, paid, extra)
	}
	for i, left := range s.other {
		back := 0.0
		if len(w.OtherBack) > 0 {
			back = w.OtherBack[i]
		}
		if all := top + left; all != w.Other[i] {
			w.Base[i] += (w.Other[i] - back) - (all - s.overheadBack - s.otherBack[i])
			w.Other[i] = all
		}
	}
}

// overheads returns what was spent on overheads in all, on each fixed item and on
// extras, in pounds, and notes the VAT taken back.
func (s *state) overheads(d *deal.Deal) (top float64, paid []float64, extra float64) {
	paid = make([]float64, len(s.shop.Fixed))
	for _, x := range s.progress.Overheads {
		top += x.Spend
		s.overheadBack += d.OverheadBack(s.shop, x.What) * (x.Spend - x.Own)
		if i := s.fixed(x.What); i >= 0 {
			paid[i] += x.Spend
		} else if s.extra(x.What) {
			extra += x.Spend
		}
	}
	return top, paid, extra
}

// setOff takes from what is still to come what was paid for each fixed item, and for
// extras, with its VAT.
func (s *state) setOff(d *deal.Deal, paid []float64, extra float64) {
	extras, back := slices.Clone(s.other), slices.Clone(s.otherBack)
	for i, c := range s.shop.Fixed {
		share := 1 - d.Item(c)
		for w, x := range read(c.Amount, s.e.Draws().Score(s.e.FixedStream(i))) {
			extras[w] -= x
			back[w] -= share * x
			if paid[i] > 0 {
				off := min(x, paid[i])
				s.other[w] -= off
				s.otherBack[w] -= share * off
			}
		}
	}
	for w, x := range extras {
		if off := min(max(0, x), max(0, extra)); off > 0 {
			s.other[w] -= off
			s.otherBack[w] -= back[w] * off / x
		}
		s.other[w], s.otherBack[w] = max(0, s.other[w]), max(0, s.otherBack[w])
	}
}

// fixed returns the place of the fixed item that an overhead names, or -1.
func (s *state) fixed(what string) int {
	for i, c := range s.shop.Fixed {
		if deal.Named(what, c.Name) {
			return i
		}
	}
	return -1
}

// extra reports whether an overhead names an extra.
func (s *state) extra(what string) bool {
	for _, x := range s.shop.Extras {
		if deal.Named(what, x.Name) {
			return true
		}
	}
	return false
}
