package learn

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
)

// one returns the build of a name, nil where builds of that name differ.
func (s *settler) one(same []*Build) *Build {
	for _, b := range same[1:] {
		if !reflect.DeepEqual(tidy(b), tidy(same[0])) {
			s.leave(b, nil, NameTwice, "")
			return nil
		}
	}
	for _, b := range same[1:] {
		s.leave(b, nil, CountedTwice, "the same as the other "+b.Name)
	}
	return same[0]
}

// tidy returns a build whose lists do not depend on the order in which they were written.
func tidy(b *Build) Build {
	c := *b
	c.Jobs = slices.Clone(b.Jobs)
	slices.SortStableFunc(c.Jobs, compareJobs)
	c.Marks = slices.Clone(b.Marks)
	slices.SortStableFunc(c.Marks, func(x, y Mark) int { return cmp.Compare(x.Spot.Index(), y.Spot.Index()) })
	for i := range c.Marks {
		u := slices.Clone(c.Marks[i].Suspected)
		slices.SortStableFunc(u, func(x, y Suspicion) int { return cmp.Compare(x.Grade, y.Grade) })
		c.Marks[i].Suspected = u
	}
	c.Candidates = slices.Clone(b.Candidates)
	slices.SortStableFunc(c.Candidates, func(x, y Candidate) int { return cmp.Compare(x.Index(), y.Index()) })
	for i := range c.Candidates {
		t := slices.Clone(c.Candidates[i].Triggers)
		slices.SortStableFunc(t, func(x, y Trigger) int { return cmp.Compare(x.Spot.Index(), y.Spot.Index()) })
		c.Candidates[i].Triggers = t
	}
	return c
}

func compareJobs(a, b Job) int {
	return cmp.Or(cmp.Compare(a.Spot.Index(), b.Spot.Index()), cmp.Compare(a.Grade, b.Grade), a.Day.Compare(b.Day),
		cmp.Compare(a.Spend, b.Spend), cmp.Compare(a.Hours, b.Hours),
		cmp.Compare(a.SpendFactor, b.SpendFactor), cmp.Compare(a.HoursFactor, b.HoursFactor),
		cmp.Compare(fmt.Sprint(a.Clear, a.Done, a.NoHours), fmt.Sprint(b.Clear, b.Done, b.NoHours)))
}

// once leaves out a car whose paid jobs are, to the penny and the day, those of one before it under another name.
func (s *settler) once(all []*car) []*car {
	seen := map[string]string{}
	return slices.DeleteFunc(all, func(c *car) bool {
		key := ""
		for _, i := range c.paid {
			j := c.spots[i].job
			key += fmt.Sprint(i, j.Grade, j.Spend, j.Hours, j.Day.Unix(), ";")
		}
		if key == "" {
			return false
		}
		first, twice := seen[key]
		if twice {
			s.leave(c.build, nil, CountedTwice, "its jobs are those of "+first)
			return true
		}
		seen[key] = c.build.Name
		return false
	})
}
