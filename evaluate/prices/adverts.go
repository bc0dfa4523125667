package prices

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// sale is one car of adverts.csv, or one past lot's listing, ready for model 1.
type sale struct {
	line       int
	name       string
	segment    string
	age, miles float64 // years; ten thousand miles
	stand      float64 // days
	fade       float64
	asked, got float64
	listed     float64
	mark       marking
	past       bool // a past lot of results.csv
}

// carsOf merges the rows of one car, METHOD.md 15.4: the latest counts, with the earliest first day. Rows of one day
// are taken own sale first, then the lowest price, so that the order in the file says nothing.
func carsOf(adverts []Advert, tell func(Notice)) []Advert {
	type key struct {
		name, marked string
		year         int
		miles        float64
	}
	rows := slices.Clone(adverts)
	slices.SortStableFunc(rows, func(a, b Advert) int { return compareAdverts(&a, &b) })
	last := map[key]int{}
	var out []Advert
	for _, a := range rows {
		marked := fold(a.Marked)
		if marked == "no" {
			marked = ""
		}
		if a.FirstSeen.IsZero() {
			a.FirstSeen = a.Day()
		}
		k := key{carName(a.Make, a.Model), marked, a.Year, a.Miles}
		i, seen := last[k]
		if !seen {
			last[k] = len(out)
			out = append(out, a)
			continue
		}
		old := out[i]
		tell(Notice{SameCar, AdvertsFile, old.Line, old.dayColumn(), fmt.Sprintf(
			"line %d has the same car later or at another price; the two count as one, at that price", a.Line)})
		if old.FirstSeen.Before(a.FirstSeen) {
			a.FirstSeen = old.FirstSeen
		}
		out[i] = a
	}
	return out
}

// compareAdverts orders rows by day and content, whatever their order in the file; the line decides between equals.
func compareAdverts(a, b *Advert) int {
	if c := cmp.Or(a.Day().Compare(b.Day()), cmp.Compare(a.Got, b.Got), -cmp.Compare(a.Asked, b.Asked)); c != 0 {
		return c
	}
	return cmp.Or(
		cmp.Compare(carName(a.Make, a.Model), carName(b.Make, b.Model)), cmp.Compare(a.Year, b.Year),
		cmp.Compare(a.Miles, b.Miles), cmp.Compare(a.Marked, b.Marked), cmp.Compare(a.Listed, b.Listed),
		a.FirstSeen.Compare(b.FirstSeen), cmp.Compare(a.Line, b.Line))
}

// readAdverts turns adverts into sales, in an order that does not depend on the file's.
func (m *Model) readAdverts(adverts []Advert) []sale {
	var usable []Advert
	for i := range adverts {
		a := &adverts[i]
		if column, text := m.advertProblem(a); text != "" {
			m.tell(Notice{Unusable, AdvertsFile, a.Line, column, text})
			continue
		}
		if daysBetween(m.AsOf, a.Day()) > 0 {
			m.tell(Notice{AfterAsOf, AdvertsFile, a.Line, a.dayColumn(), m.afterAsOf(a.Day())})
			continue
		}
		usable = append(usable, *a)
	}
	cars := carsOf(usable, m.tell)
	sales := make([]sale, 0, len(cars))
	for i := range cars {
		a := &cars[i]
		days := daysBetween(a.Day(), m.AsOf)
		fade, counts := faded(days, m.settings.AdvertHalflife)
		if !counts {
			m.tell(Notice{TooOld, AdvertsFile, a.Line, a.dayColumn(), tooOld(a.Day(), m.AsOf, m.settings.AdvertHalflife)})
		}
		if a.Year > a.Day().Year() {
			m.tell(Notice{YearAhead, AdvertsFile, a.Line, "year", yearAhead(a.Year, a.Day())})
		}
		vat := 1.0
		if a.VATPlus {
			vat += m.settings.VATRate
		}
		mark, _ := m.settings.marking(a.Marked, segmentOf(a.Segment))
		s := sale{line: a.Line, name: carName(a.Make, a.Model), segment: segmentOf(a.Segment),
			age: ageAt(a.Year, a.Day()), miles: a.Miles / milesUnit, stand: float64(daysBetween(a.FirstSeen, a.Day())),
			fade: fade, asked: a.Asked * vat, got: a.Got * vat, listed: a.Listed, mark: mark}
		if !counts {
			s.fade = 0
		}
		sales = append(sales, s)
	}
	return sales
}

// milesUnit is what model 1 counts miles in.
const milesUnit = 10000

// advertProblem says what keeps a row from being used: its column, and what to write.
func (m *Model) advertProblem(a *Advert) (column, text string) {
	switch {
	case a.Day().IsZero():
		return "last_seen", "blank, and first_seen and sold too; write the day the advert was last seen, such as 2026-03-04"
	case a.Asked == 0 && a.Got == 0:
		return "asked", "blank, and got too; write the price asked, or for an own sale the price received"
	case a.Year <= 0:
		return "year", "blank; write the car's year, such as 2018"
	case !a.FirstSeen.IsZero() && a.Day().Before(a.FirstSeen):
		return a.dayColumn(), fmt.Sprintf("%s is before first_seen, %s; is one of them mistyped?",
			dateText(a.Day()), dateText(a.FirstSeen))
	}
	for _, p := range []struct {
		column string
		x      float64
	}{{"asked", a.Asked}, {"got", a.Got}, {"listed", a.Listed}, {"miles", a.Miles}} {
		if !amount(p.x) {
			return p.column, fmt.Sprintf("%v is not an amount of at least 0; write one such as 7450", p.x)
		}
	}
	if _, ok := m.settings.ValueSpread[segmentOf(a.Segment)]; !ok {
		return "segment", fmt.Sprintf("%q is not a car type of the shop", segmentOf(a.Segment))
	}
	if _, ok := m.settings.marking(a.Marked, segmentOf(a.Segment)); !ok {
		return "marked", fmt.Sprintf("%q is not yes, no or a category of the shop", a.Marked)
	}
	return "", ""
}

func (m *Model) afterAsOf(day time.Time) string {
	return fmt.Sprintf("%s is after %s, the day of this reckoning; the row is left out", dateText(day), dateText(m.AsOf))
}

func tooOld(day, asOf time.Time, halflife float64) string {
	return fmt.Sprintf("%s is more than %.0f days before %s; the row no longer counts", dateText(day), halflives*halflife,
		dateText(asOf))
}

func yearAhead(year int, day time.Time) string {
	return fmt.Sprintf("%d is after the row's day, %s; the age counts as 0", year, dateText(day))
}

// amount says whether x is a number from 0 on.
func amount(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
