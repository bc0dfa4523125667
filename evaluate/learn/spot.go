package learn

import "math"

// spot takes the jobs of one spot together.
func (s *settler) spot(b *Build, jobs []Job) (f found) {
	for i := range jobs {
		if jobs[i].broken() {
			s.leave(b, &jobs[i], Negative, "")
			return found{}
		}
	}
	sum, seen := addUp(jobs)
	f.job = sum
	switch {
	case seen.clear && (sum.Grade != 0 || sum.Spend > 0 || sum.Hours > 0):
		s.leave(b, &sum, Contradiction, "")
	case seen.clear:
		f.known = true
	case sum.Grade == 0:
		s.leave(b, &sum, NoGrade, "")
	case s.rows.of(sum.Spot, sum.Grade) < 0:
		s.leave(b, &sum, NoRow, "")
	default:
		f.known, f.grade = true, sum.Grade
		f.costs = s.counts(b, &f.job)
		if seen.blank {
			s.leave(b, &sum, NoGrade, "another job there has one, and is taken to be the same")
		}
	}
	return f
}

// A sighting says which kinds of job a spot has.
type sighting struct{ clear, blank bool }

// addUp returns the jobs of one spot as one, done where all of its work is. Factors are those of the worst grade.
func addUp(jobs []Job) (sum Job, seen sighting) {
	sum = Job{Spot: jobs[0].Spot, Done: true}
	for i := range jobs {
		j := &jobs[i]
		work := j.Grade != 0 || j.Spend > 0 || j.Hours > 0
		seen.clear = seen.clear || j.Clear
		seen.blank = seen.blank || !j.Clear && j.Grade == 0
		sum.Done = sum.Done && (j.Done || !work)
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
	return sum, seen
}

func (j *Job) broken() bool {
	return negative(j.Spend) || negative(j.Hours) || negative(j.SpendFactor) || negative(j.HoursFactor)
}

func negative(x float64) bool { return !(x >= 0) || math.IsInf(x, 1) }

// counts reports whether a job's costs can be compared with its row, and gives it the factors and the day that are
// taken where none is written.
func (s *settler) counts(b *Build, j *Job) bool {
	if j.SpendFactor == 0 {
		j.SpendFactor = 1
	}
	if j.HoursFactor == 0 {
		j.HoursFactor = 1
	}
	if !b.Sale.IsZero() {
		j.Day = b.Sale
	}
	rate := s.settings.LabourRate
	if j.NoHours {
		rate = 0
	}
	switch {
	case b.State == Stopped:
		return false
	case !j.Done:
		s.leave(b, j, Unfinished, "")
	case j.Spend+rate*j.Hours <= 0:
		s.leave(b, j, NoCost, "")
	case s.certain(j, rate):
		s.leave(b, j, FixedRow, "")
	default:
		if j.Day.IsZero() && !s.settings.Priced.IsZero() {
			s.leave(b, j, NoDate, "")
		}
		return true
	}
	return false
}

// certain reports whether a job's row leaves nothing to learn: it costs nothing, or always the same.
func (s *settler) certain(j *Job, rate float64) bool {
	r := &s.table.Rows[s.rows.of(j.Spot, j.Grade)]
	mid := r.Spend.Mid*j.SpendFactor + rate*r.Hours.Mid*j.HoursFactor
	return mid <= 0 || r.Spend.Certain() && (rate == 0 || r.Hours.Certain())
}
