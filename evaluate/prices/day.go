package prices

import (
	"math"
	"time"
)

// civil is the days since 1 January 1970 of a date, whatever its clock and zone say.
func civil(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// daysBetween is the whole days from one date to a later one; below 0 where it is earlier.
func daysBetween(from, to time.Time) int { return civil(to) - civil(from) }

// ageAt is a car's age in years on a day, METHOD.md 15.2: counted from 1 July of its year, never below 0.
func ageAt(year int, day time.Time) float64 {
	born := time.Date(year, time.July, 1, 0, 0, 0, 0, time.UTC)
	return max(0, float64(daysBetween(born, day))/daysPerYear)
}

const daysPerYear = 365.25

// halflives is how many half-lives a row lives for; older ones are left out.
const halflives = 6

// faded is the weight of a row that is so many days old, METHOD.md 15.3, and whether it still counts.
// Days below 0 count as 0.
func faded(days int, halflife float64) (weight float64, counts bool) {
	age := max(0, float64(days)) / halflife
	return math.Exp2(-age), age <= halflives
}

func dateText(t time.Time) string { return t.Format(time.DateOnly) }
