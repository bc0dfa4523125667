package reforecast

import (
	"strings"

	"wreckoner/evaluate/simulate"
)

// others sets what was spent on overheads against the fixed items and extras they
// name. The rest comes on top.
func (s *state) others() {
	n := s.opt.Points
	s.other = make([]float64, n)
	copy(s.other, s.worlds.Other)
	if s.progress.Sale != nil {
		// What was not paid by now will not be.
		clear(s.other)
	}
	paid, extra := make([]float64, len(s.shop.Fixed)), 0.0
	top := 0.0
	for _, x := range s.progress.Overheads {
		top += x.Spend
		if i := s.fixed(x.What); i >= 0 {
			paid[i] += x.Spend
		} else if s.extra(x.What) {
			extra += x.Spend
		}
	}
	if s.progress.Sale == nil && len(s.progress.Overheads) > 0 {
		extras := make([]float64, n)
		copy(extras, s.worlds.Other)
		for i, c := range s.shop.Fixed {
			amounts := read(c.Amount, s.e.Space().Score(simulate.ShopDim+i))
			for w, x := range amounts {
				extras[w] -= x
				if paid[i] > 0 {
					s.other[w] -= min(x, paid[i])
				}
			}
		}
		for w := range n {
			s.other[w] = max(0, s.other[w]-min(max(0, extras[w]), max(0, extra)))
		}
	}
	rest, within := top, s.within()
	for i, c := range s.shop.Fixed {
		rest -= paid[i]
		if c.VAT {
			s.overheadBack += within * paid[i]
		}
	}
	within *= s.shop.SpendVATShare
	s.overheadBack += within * rest
	for w := range n {
		if all := top + s.other[w]; all != s.worlds.Other[w] {
			s.worlds.Base[w] -= (all - s.worlds.Other[w]) * (1 - within)
			s.worlds.Other[w] = all
		}
	}
}

// fixed returns the place of the fixed item that an overhead names, or -1.
func (s *state) fixed(what string) int {
	for i, c := range s.shop.Fixed {
		if names(what, c.Name) {
			return i
		}
	}
	return -1
}

// extra reports whether an overhead names an extra.
func (s *state) extra(what string) bool {
	for _, x := range s.shop.Extras {
		if names(what, x.Name) {
			return true
		}
	}
	return false
}

// names reports whether the words of the ledger are the name of an item.
func names(what, name string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(what), " "), strings.Join(strings.Fields(name), " "))
}
