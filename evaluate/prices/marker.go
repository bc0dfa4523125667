package prices

import (
	"fmt"
	"math"
	"slices"
)

// z90 is the normal distribution's 0.9 quantile.
const z90 = 1.2815515655446004

// A Marker is one row of the categories: the share of its price that a car of the category loses.
type Marker struct {
	// Category is the shop's name of it, Segment the segment that the row is for, or "*" for all others.
	Category, Segment string
	// Low, Mid and High are P10, P50 and P90 of the share, at least 0 and below 1.
	Low, Mid, High float64
	// Builds is how many builds the row is worth.
	Builds float64
}

func (m Marker) validate() error {
	if !(m.Low >= 0 && m.Low <= m.Mid && m.Mid <= m.High && m.High < 1) || !(m.Builds >= 0) {
		return fmt.Errorf("category %s: %v, %v, %v do not rise from 0 to below 1; write shares such as 0.14, 0.20, 0.28",
			m.Category, m.Low, m.Mid, m.High)
	}
	return nil
}

// Points are the marker's three shares.
func (m Marker) Points() Points { return Points{m.Low, m.Mid, m.High} }

// markerPrior is log(1 - share) of a row before anything is seen, METHOD.md 15.6.
type markerPrior struct {
	centre float64 // of the middle share
	sd     float64 // of one car's
	common float64 // of the part of the centre's error that all rows share
	own    float64 // of the row's own part
}

func (m Marker) prior() markerPrior {
	p := markerPrior{centre: math.Log1p(-m.Mid), sd: (math.Log1p(-m.Low) - math.Log1p(-m.High)) / (2 * z90)}
	p.own = p.sd / math.Sqrt(max(m.Builds, 2))
	p.common = min(maxCommon, math.Sqrt(commonShare*max(p.sd*p.sd-p.own*p.own, 0)))
	return p
}

// A marker's common error is at most maxCommon, and at most commonShare of the variance that its own leaves.
const maxCommon, commonShare = 0.05, 0.6

// car2 is the variance from car to car that is left, METHOD.md 15.6.
func (p markerPrior) car2() float64 { return max(p.sd*p.sd-p.common*p.common-p.own*p.own, 0) }

// marking is what being marked puts into a row's equation: METHOD.md 15.7.
type marking struct {
	offset float64 // m
	common float64 // c, the coefficient of G
	car2   float64 // k2
	rows   [2]int  // marker rows whose e it has, -1 for none
	shares [2]float64
}

// clean is the marking of a car that is not marked.
func clean() marking { return marking{rows: [2]int{-1, -1}} }

// row finds the marker of a category and segment: its own row, else the one for all; -1 without either.
func (s *Settings) row(category, segment string) int {
	all := -1
	for i, m := range s.Markers {
		if m.Category != category {
			continue
		}
		if m.Segment == segment {
			return i
		}
		if m.Segment == "*" || m.Segment == "" {
			all = i
		}
	}
	return all
}

// MarkedYes is what an advert's marked column says where it does not say which category.
const MarkedYes = "yes"

// marking reads what an advert says: "", "no" is clean, "yes" half N and half S, else a category.
// Where the shop has only one of N and S, "yes" is that one. It fails for a category that the shop does not have.
func (s *Settings) marking(marked, segment string) (marking, bool) {
	k := clean()
	if marked == "" || marked == "no" {
		return k, true
	}
	var found []int
	names := []string{marked}
	if marked == MarkedYes {
		names = []string{"N", "S"}
	}
	for _, name := range names {
		if i := s.row(name, segment); i >= 0 {
			found = append(found, i)
		}
	}
	if len(found) == 0 {
		return k, false
	}
	slices.Sort(found)
	for j, i := range found {
		p, share := s.Markers[i].prior(), 1/float64(len(found))
		k.rows[j], k.shares[j] = i, share
		k.offset += share * p.centre
		k.common += share * p.common
		k.car2 += share * p.car2()
	}
	if len(found) == 2 {
		d := s.Markers[found[0]].prior().centre - s.Markers[found[1]].prior().centre
		k.car2 += d * d / 4
	}
	return k, true
}
