package learn

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
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

func (s *settler) car(raw *Build) *car {
	b := tidy(raw)
	c := &car{build: &b}
	s.code(&b)
	day := b.Sale
	for i := 0; i < len(b.Jobs); {
		j := i + 1
		for j < len(b.Jobs) && b.Jobs[j].Spot == b.Jobs[i].Spot {
			j++
		}
		if b.Jobs[i].Spot.Index() < damage.SpotCount && int(b.Jobs[i].Spot.Class) < damage.ClassCount {
			c.spots[b.Jobs[i].Spot.Index()] = s.spot(&b, b.Jobs[i:j])
		} else {
			s.leave(&b, nil, BadCode, "a job is at a place that does not exist")
		}
		for _, job := range b.Jobs[i:j] {
			if day.IsZero() || b.Sale.IsZero() && !job.Day.IsZero() && job.Day.Before(day) {
				day = job.Day
			}
		}
		i = j
	}
	c.age = s.settings.years(day)
	if b.State == Closed {
		for i := range c.spots {
			if f := &c.spots[i]; !s.has(&b, i) {
				f.known = true // nothing in the ledger of a finished build: it was not there
			}
		}
	}
	if b.State == Open && len(b.Candidates) > 0 {
		s.leave(&b, nil, NotLooked, "")
	}
	for i := range c.spots {
		if c.spots[i].costs && b.State != Stopped {
			c.paid = append(c.paid, i)
		}
	}
	return c
}

func (s *settler) has(b *Build, spot int) bool {
	return slices.ContainsFunc(b.Jobs, func(j Job) bool { return j.Spot.Index() == spot })
}

// spot takes the jobs of one spot together.
func (s *settler) spot(b *Build, jobs []Job) (f found) {
	clear, blank, done := false, false, true
	sum := Job{Spot: jobs[0].Spot}
	for i := range jobs {
		j := &jobs[i]
		if negative(j.Spend) || negative(j.Hours) || negative(j.SpendFactor) || negative(j.HoursFactor) {
			s.leave(b, j, Negative, "")
			return found{}
		}
		work := j.Grade != 0 || j.Spend > 0 || j.Hours > 0
		clear = clear || j.Clear
		blank = blank || !j.Clear && j.Grade == 0
		done = done && (j.Done || !work)
		sum.Spend += j.Spend
		sum.Hours += j.Hours
		sum.NoHours = sum.NoHours || work && j.NoHours
		if j.Grade >= sum.Grade {
			sum.Grade, sum.SpendFactor, sum.HoursFactor = j.Grade, j.SpendFactor, j.HoursFactor
		}
		if sum.Day.IsZero() || j.Day.After(sum.Day) {
			sum.Day = j.Day
		}
	}
	f.job = sum
	paid := sum.Spend > 0 || sum.Hours > 0
	switch {
	case clear && (sum.Grade != 0 || paid):
		s.leave(b, &sum, Contradiction, "")
	case clear:
		f.known = true
	case sum.Grade == 0:
		s.leave(b, &sum, NoGrade, "")
	case s.rows.of(sum.Spot, sum.Grade) < 0:
		s.leave(b, &sum, NoRow, "")
	default:
		f.known, f.grade = true, sum.Grade
		f.costs = s.counts(b, &f.job, done)
	}
	if f.known && blank && sum.Grade != 0 {
		s.leave(b, &sum, NoGrade, "another job there has one, and is taken to be the same")
	}
	return f
}

// counts reports whether a job's costs can be compared with its row, and gives it the factors and the day that are
// taken where none is written.
func (s *settler) counts(b *Build, j *Job, done bool) bool {
	if j.SpendFactor == 0 {
		j.SpendFactor = 1
	}
	if j.HoursFactor == 0 {
		j.HoursFactor = 1
	}
	if b.State == Stopped {
		return false
	}
	if !done {
		s.leave(b, j, Unfinished, "")
		return false
	}
	r := &s.table.Rows[s.rows.of(j.Spot, j.Grade)]
	rate := s.settings.LabourRate
	if j.NoHours {
		rate = 0
	}
	if j.Spend+rate*j.Hours <= 0 {
		s.leave(b, j, NoCost, "")
		return false
	}
	if mid := r.Spend.Mid*j.SpendFactor + rate*r.Hours.Mid*j.HoursFactor; mid <= 0 || r.Spend.Certain() && (rate == 0 || r.Hours.Certain()) {
		s.leave(b, j, FixedRow, "")
		return false
	}
	if !b.Sale.IsZero() {
		j.Day = b.Sale
	}
	if j.Day.IsZero() && !s.settings.Priced.IsZero() {
		s.leave(b, j, NoDate, "")
	}
	return true
}

func negative(x float64) bool { return !(x >= 0) || math.IsInf(x, 1) }

// code drops marks and candidates that make no sense, so that the rest need not look again.
func (s *settler) code(b *Build) {
	at := map[damage.Spot]bool{}
	b.Marks = slices.DeleteFunc(b.Marks, func(m Mark) bool {
		note := ""
		switch {
		case m.Spot.Index() >= damage.SpotCount || int(m.Spot.Class) >= damage.ClassCount:
			note = "a mark is at a place that does not exist"
		case at[m.Spot]:
			note = "two marks at " + m.Spot.String()
		case m.Seen > damage.GradeCount || m.Clear > damage.GradeCount || negative(m.CodedFrom):
			note = "a grade or factor of the mark at " + m.Spot.String() + " is out of range"
		case slices.ContainsFunc(m.Suspected, func(u Suspicion) bool {
			return !u.Grade.Valid() || u.Grade <= m.Seen || !(u.Chance > 0 && u.Chance < 1)
		}):
			note = "a suspected grade at " + m.Spot.String() + " is not above the seen one, or its chance not between 0 and 1"
		}
		at[m.Spot] = true
		if note != "" {
			s.leave(b, nil, BadCode, note)
		}
		return note != ""
	})
	b.Candidates = slices.DeleteFunc(b.Candidates, func(c Candidate) bool {
		good := c.Grade.Valid() && c.Spot.Index() < damage.SpotCount && int(c.Class) < damage.ClassCount
		for _, t := range c.Triggers {
			good = good && t.Spot.Index() < damage.SpotCount && int(t.Spot.Class) < damage.ClassCount
			for _, r := range t.Rule {
				good = good && r < len(s.table.Rules)
			}
		}
		if !good {
			s.leave(b, nil, BadCode, "a hidden candidate has no place, grade or rule")
		}
		return !good
	})
	if l := b.Limit; l != nil && (b.State != Stopped || !l.good()) {
		if b.State == Stopped {
			s.leave(b, nil, BadCode, "the limit of a stopped build needs amounts above 0 and shares that sum to at most 1")
		}
		b.Limit = nil
	}
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
