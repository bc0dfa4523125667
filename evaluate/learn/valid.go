package learn

import (
	"slices"

	"wreckoner/damage"
)

// code drops marks, candidates and limits that make no sense, so that the rest need not look again.
func (s *settler) code(b *Build) {
	at := map[damage.Spot]bool{}
	b.Marks = slices.DeleteFunc(b.Marks, func(m Mark) bool {
		fault := m.fault()
		if fault == "" && at[m.Spot] {
			fault = "two marks at " + m.Spot.String()
		}
		at[m.Spot] = true
		if fault != "" {
			s.leave(b, nil, BadCode, fault)
		}
		return fault != ""
	})
	b.Candidates = slices.DeleteFunc(b.Candidates, func(c Candidate) bool {
		good := c.good(len(s.table.Rules))
		if !good {
			s.leave(b, nil, BadCode, "a hidden candidate has no place, grade or rule")
		}
		return !good
	})
	switch {
	case b.Limit == nil:
	case b.State != Stopped:
		b.Limit = nil
	case !b.Limit.good():
		s.leave(b, nil, BadCode, "the limit of a stopped build needs amounts above 0 and shares that sum to at most 1")
		b.Limit = nil
	}
}

// fault says what is wrong with a mark, "" where nothing is.
func (m *Mark) fault() string {
	if !valid(m.Spot) {
		return "a mark is at a place that does not exist"
	}
	if m.Seen > damage.GradeCount || m.Clear > damage.GradeCount || negative(m.CodedFrom) {
		return "a grade or factor of the mark at " + m.Spot.String() + " is out of range"
	}
	for _, u := range m.Suspected {
		if !u.Grade.Valid() || u.Grade <= m.Seen || !(u.Chance > 0 && u.Chance < 1) {
			return "a suspected grade at " + m.Spot.String() +
				" is not above the seen one, or its chance not between 0 and 1"
		}
	}
	return ""
}

// good reports whether a candidate and its triggers are at places that exist, and its rules among so many.
func (c *Candidate) good(rules int) bool {
	if !c.Grade.Valid() || !valid(c.Spot) {
		return false
	}
	for _, t := range c.Triggers {
		if !valid(t.Spot) || slices.ContainsFunc(t.Rule[:], func(r int) bool { return r >= rules }) {
			return false
		}
	}
	return true
}

func (l *Limit) good() bool {
	sum := 0.0
	for _, x := range l.Shares {
		if negative(x) {
			return false
		}
		sum += x
	}
	for _, x := range []float64{l.Above, l.Mean, l.SD} {
		if negative(x) || x == 0 {
			return false
		}
	}
	return sum <= 1+1e-9
}
