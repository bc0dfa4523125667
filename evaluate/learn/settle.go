package learn

import (
	"cmp"
	"slices"
	"time"

	"wreckoner/damage"
)

// A found is what a build's ledger says of one spot, its jobs taken together.
type found struct {
	known bool         // whether the grade is known; 0 is then "not there"
	grade damage.Grade // the worst that was found
	costs bool         // whether the spot's costs can be compared with its row
	job   Job          // the jobs added up; Grade, factors and day are those of the worst
}

// A car is one build as the estimator sees it.
type car struct {
	build *Build
	age   float64 // years from the table's date to the sale, or to the first job where that is not known
	spots [damage.SpotCount]found
	// paid are the indexes of the spots whose costs count, rising.
	paid []int
}

// A settler turns builds into cars, and says what it left out.
type settler struct {
	rows     *rowIndex
	table    *Table
	settings *Settings
	aside    []Aside
}

func (s *settler) leave(b *Build, j *Job, r Reason, note string) {
	a := Aside{Build: b.Name, Reason: r, Note: note, Whole: j == nil}
	if j != nil {
		a.Spot, a.Grade = j.Spot, j.Grade
	}
	s.aside = append(s.aside, a)
}

// cars returns the builds to learn from in the order of their names.
func (s *settler) cars(builds []Build) []*car {
	sorted := make([]*Build, len(builds))
	for i := range builds {
		sorted[i] = &builds[i]
	}
	slices.SortStableFunc(sorted, func(a, b *Build) int { return cmp.Compare(a.Name, b.Name) })
	var all []*car
	for i := 0; i < len(sorted); {
		j := i + 1
		for j < len(sorted) && sorted[j].Name == sorted[i].Name {
			j++
		}
		if b := s.one(sorted[i:j]); b != nil {
			all = append(all, s.car(b))
		}
		i = j
	}
	return s.once(all)
}

// car reads one build.
func (s *settler) car(raw *Build) *car {
	b := tidy(raw)
	c := &car{build: &b}
	s.code(&b)
	var has [damage.SpotCount]bool
	for i := 0; i < len(b.Jobs); {
		spot := b.Jobs[i].Spot
		j := i + 1
		for j < len(b.Jobs) && b.Jobs[j].Spot == spot {
			j++
		}
		if valid(spot) {
			has[spot.Index()] = true
			c.spots[spot.Index()] = s.spot(&b, b.Jobs[i:j])
		} else {
			s.leave(&b, nil, BadCode, "a job is at a place that does not exist")
		}
		i = j
	}
	c.age = s.settings.years(firstDay(&b))
	for i := range c.spots {
		// Nothing in the ledger of a finished build: it was not there.
		c.spots[i].known = c.spots[i].known || b.State == Closed && !has[i]
		if c.spots[i].costs {
			c.paid = append(c.paid, i)
		}
	}
	if b.State == Open && len(b.Candidates) > 0 {
		s.leave(&b, nil, NotLooked, "")
	}
	return c
}

// firstDay returns the day of the sale, or where that is not known of the first job that has one.
func firstDay(b *Build) (day time.Time) {
	if !b.Sale.IsZero() {
		return b.Sale
	}
	for _, j := range b.Jobs {
		if day.IsZero() || !j.Day.IsZero() && j.Day.Before(day) {
			day = j.Day
		}
	}
	return day
}

func valid(s damage.Spot) bool {
	return int(s.Zone) < damage.ZoneCount && int(s.Class) < damage.ClassCount
}

// last returns the day of the last job or sale, zero where no day is known.
func last(cars []*car) (day time.Time) {
	for _, c := range cars {
		if c.build.Sale.After(day) {
			day = c.build.Sale
		}
		for i := range c.spots {
			if c.spots[i].job.Day.After(day) {
				day = c.spots[i].job.Day
			}
		}
	}
	return day
}

// mark returns what the code says of a spot; a spot that is not coded has nothing seen, suspected or ruled out.
func (c *car) mark(s damage.Spot) Mark {
	for _, m := range c.build.Marks {
		if m.Spot == s {
			return m
		}
	}
	return Mark{Spot: s}
}

// occurs returns the grade that a trigger turned out to have: what was found, at most its highest coded grade, or one
// more than the seen one where a row prices that (METHOD.md 16.5). Where it is not known it is the one seen.
func (c *car) occurs(s damage.Spot, rows *rowIndex) damage.Grade {
	m := c.mark(s)
	f := c.spots[s.Index()]
	if !f.known {
		return m.Seen
	}
	top := m.Seen
	if m.Seen > 0 && rows.of(s, m.Seen+1) >= 0 {
		top++
	}
	for _, u := range m.Suspected {
		top = max(top, u.Grade)
	}
	return min(f.grade, top)
}
