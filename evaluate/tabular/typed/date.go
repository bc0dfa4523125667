package typed

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// An Order says which of two numbers is the day: in 04/03/2026.
type Order uint8

// The orders. Where it is not known, a date that could be two is an error.
const (
	Unknown Order = iota
	DayFirst
	MonthFirst
)

// String returns the words by which an order is kept and typed.
func (o Order) String() string { return [...]string{"", "day first", "month first"}[o] }

// ParseOrder reads day first or month first.
func ParseOrder(text string) (Order, error) {
	switch strings.ReplaceAll(plain(text), "-", " ") {
	case "day first", "day", "d/m", "dmy":
		return DayFirst, nil
	case "month first", "month", "m/d", "mdy":
		return MonthFirst, nil
	}
	return Unknown, fmt.Errorf("%q is not an order of day and month; write day-first or month-first", shown(text))
}

// A Day is a date as somebody typed it.
type Day struct {
	Time time.Time
	// Serial says that it was the number under which a spreadsheet keeps a day.
	Serial bool
	// Shows is the order that the date itself shows, as 17/03 does; Open says that it shows none and could be two.
	Shows Order
	Open  bool
	// NoYear says that it was written without its year, which the weekday told.
	NoYear bool
}

var (
	isoForm     = regexp.MustCompile(`^([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})$`)
	numericForm = regexp.MustCompile(`^([0-9]{1,2})[-/. ]([0-9]{1,2})[-/. ]([0-9]{4}|[0-9]{2})$`)
	namedForm   = regexp.MustCompile(`^([0-9]{1,2})(?:st|nd|rd|th)?(?: of)?[ -/.]*([a-z]{3,9})\.?,?[ -/.]*` +
		`([0-9]{4}|[0-9]{2})$`)
	monthForm = regexp.MustCompile(`^([a-z]{3,9})\.?[ -]*([0-9]{1,2})(?:st|nd|rd|th)?,?[ -]+([0-9]{4})$`)
	clockForm = regexp.MustCompile(`(?:,? |t)(?:at )?[0-9]{1,2}[:.][0-9]{2}(?::[0-9]{2})?(?: ?[ap]m)?z?$`)
	weekForm  = regexp.MustCompile(`^(mon|tue|tues|wed|weds|thu|thur|thurs|fri|sat|sun|monday|tuesday|wednesday|` +
		`thursday|friday|saturday|sunday)\.?,? `)
)

// ParseDay reads a date: 2026-03-17, 17/03/2026, 17.3.26, 17 Mar 2026, Tue 17 March 2026, a spreadsheet's number
// for a day. order says how 04/03 is read.
func ParseDay(text string, order Order) (Day, error) { return ParseDayNear(text, order, time.Time{}) }

// ParseDayNear is ParseDay for texts that may leave out the year: with its weekday, as in Tue 17 March, a day is in the
// year next to a day where it falls on that. Without one it is an error that names the year of that day.
func ParseDayNear(text string, order Order, near time.Time) (Day, error) {
	s, weekday := splitDay(text)
	if month, number, ok := yearless(s); ok {
		return withoutYear(text, month, number, weekday, near)
	}
	d, err := day(s, text, order)
	if err != nil {
		return Day{}, err
	}
	if is := strings.ToLower(d.Time.Weekday().String()); weekday != "" && is[:3] != weekday {
		return Day{}, fmt.Errorf("%q: %s is a %s; correct the day or the date", shown(text), d.Time.Format("2 January 2006"),
			d.Time.Weekday())
	}
	return d, nil
}

// splitDay takes off the time of day and the weekday, of which it returns three letters.
func splitDay(text string) (s, weekday string) {
	s = clockForm.ReplaceAllString(plain(text), "")
	if m := weekForm.FindString(s + " "); m != "" {
		weekday, s = m[:3], strings.TrimSpace((s + " ")[len(m):])
	}
	return s, weekday
}

// Yearless reports whether a text is a day and a month without a year.
func Yearless(text string) bool {
	s, _ := splitDay(text)
	_, _, ok := yearless(s)
	return ok
}

var (
	dayMonth = regexp.MustCompile(`^(?:the )?([0-9]{1,2})(?:st|nd|rd|th)?(?: of)?[ -/.]*([a-z]{3,9})\.?$`)
	monthDay = regexp.MustCompile(`^([a-z]{3,9})\.?[ -]*(?:the )?([0-9]{1,2})(?:st|nd|rd|th)?$`)
	twoParts = regexp.MustCompile(`^([0-9]{1,2})[/.]([0-9]{1,2})$`)
)

// yearless splits a day without a year. The month of one in figures that could be either is 0.
func yearless(s string) (month, number int, ok bool) {
	if m := twoParts.FindStringSubmatch(s); m != nil {
		return inFigures(atoi(m[1]), atoi(m[2]), strings.Contains(s, "/"))
	}
	if m := dayMonth.FindStringSubmatch(s); m != nil {
		month, number = atoi(monthNamed(m[2])), atoi(m[1])
	} else if m := monthDay.FindStringSubmatch(s); m != nil {
		month, number = atoi(monthNamed(m[1])), atoi(m[2])
	}
	return month, number, month > 0 && number >= 1 && number <= 31
}

// inFigures tells the day from the month of two figures. With a slash they may be either; 4.5 is a number.
func inFigures(a, b int, slash bool) (month, number int, ok bool) {
	if a < 1 || b < 1 || min(a, b) > 12 || max(a, b) > 31 {
		return 0, 0, false
	}
	switch {
	case a > 12:
		return b, a, true
	case b > 12:
		return a, b, true
	}
	return 0, 0, slash
}

func atoi(digits string) int {
	n, err := strconv.Atoi(digits)
	if err != nil {
		return 0
	}
	return n
}

func withoutYear(text string, month, number int, weekday string, near time.Time) (Day, error) {
	const say = "%q has no year; write it out, such as %s"
	if near.IsZero() {
		return Day{}, fmt.Errorf(say, shown(text), "2026-03-17")
	}
	if month == 0 {
		return Day{}, fmt.Errorf(say, shown(text), fmt.Sprintf("%d-03-17", near.Year()))
	}
	on := func(year int) time.Time { return time.Date(year, time.Month(month), number, 0, 0, 0, 0, time.UTC) }
	if weekday == "" {
		return Day{}, fmt.Errorf(say, shown(text), on(near.Year()).Format(time.DateOnly))
	}
	for _, year := range []int{near.Year(), near.Year() + 1, near.Year() - 1} {
		t := on(year)
		if t.Day() == number && strings.HasPrefix(strings.ToLower(t.Weekday().String()), weekday) {
			return Day{Time: t, NoYear: true}, nil
		}
	}
	return Day{}, fmt.Errorf("%q is on no such weekday in %d; write the date with its year", shown(text), near.Year())
}

func day(s, text string, order Order) (Day, error) {
	if m := isoForm.FindStringSubmatch(s); m != nil {
		return calendar(m[1], m[2], m[3], text)
	}
	if m := namedForm.FindStringSubmatch(s); m != nil {
		if month := monthNamed(m[2]); month != "" {
			return calendar(m[3], month, m[1], text)
		}
	}
	if m := monthForm.FindStringSubmatch(s); m != nil {
		if month := monthNamed(m[1]); month != "" {
			return calendar(m[3], month, m[2], text)
		}
	}
	if m := numericForm.FindStringSubmatch(s); m != nil {
		if s[len(m[1])] == '.' && order == Unknown {
			return dotted(m[1], m[2], m[3], text)
		}
		return numeric(m[1], m[2], m[3], text, order)
	}
	if n, err := strconv.Atoi(s); err == nil && digitsOnly(s, 5) && n >= firstSerial && n <= lastSerial {
		return Day{Time: serialFrom.AddDate(0, 0, n), Serial: true}, nil
	}
	return Day{}, fmt.Errorf("%q is not a date; write 2026-03-17", shown(text))
}

// The days that a spreadsheet's number may mean in a trade's list: 2009-07-06 to 2064-04-08. A workbook counts days
// from 1899-12-30 (ECMA-376 part 1, 18.17.4.1, the 1900 date base, its false leap day behind it).
const firstSerial, lastSerial = 40000, 60000

var serialFrom = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)

// dotted reads figures with points between them: where these are written the day comes first (common practice, no
// source), unless somebody says otherwise.
func dotted(first, second, year, text string) (Day, error) {
	t := calendarOrZero(year, second, first)
	if t.IsZero() {
		return Day{}, fmt.Errorf("%q is not a date that exists; write 2026-03-17", shown(text))
	}
	d := Day{Time: t}
	if calendarOrZero(year, first, second).IsZero() {
		d.Shows = DayFirst
	}
	return d, nil
}

func numeric(first, second, year, text string, order Order) (Day, error) {
	a, b := calendarOrZero(year, second, first), calendarOrZero(year, first, second)
	switch {
	case a.IsZero() && b.IsZero():
		return Day{}, fmt.Errorf("%q is not a date that exists; write 2026-03-17", shown(text))
	case b.IsZero():
		if order == MonthFirst {
			return Day{}, fmt.Errorf("%q is not written month first as the other dates are; write %s", shown(text),
				a.Format(time.DateOnly))
		}
		return Day{Time: a, Shows: DayFirst}, nil
	case a.IsZero():
		if order == DayFirst {
			return Day{}, fmt.Errorf("%q is not written day first as the other dates are; write %s", shown(text),
				b.Format(time.DateOnly))
		}
		return Day{Time: b, Shows: MonthFirst}, nil
	case a.Equal(b), order == DayFirst:
		return Day{Time: a, Open: !a.Equal(b)}, nil
	case order == MonthFirst:
		return Day{Time: b, Open: true}, nil
	}
	return Day{Open: true}, fmt.Errorf("%q could be %s or %s; write it as %s or %s, or say which comes first with "+
		"--dates day-first",
		shown(text), a.Format("2 January 2006"), b.Format("2 January 2006"), a.Format(time.DateOnly), b.Format(time.DateOnly))
}

// ShowsOrder returns the order that a date shows, whatever else is wrong with it, and whether it could be two.
func ShowsOrder(text string) (shows Order, open bool) {
	orders := []Order{DayFirst, MonthFirst}
	if strings.Contains(text, ".") {
		orders[1] = Unknown // with points nobody writes the month first
	}
	for _, order := range orders {
		if d, err := ParseDay(text, order); err == nil {
			return d.Shows, d.Open
		}
	}
	return Unknown, false
}

func calendar(year, month, day, text string) (Day, error) {
	t := calendarOrZero(year, month, day)
	if t.IsZero() {
		return Day{}, fmt.Errorf("%q is not a date that exists; write 2026-03-17", shown(text))
	}
	return Day{Time: t}, nil
}

// calendarOrZero returns the day, zero where there is none such. Two digits are a year from 2000 on.
func calendarOrZero(year, month, day string) time.Time {
	if len(year) == 2 {
		year = "20" + year
	}
	t, err := time.Parse("2006-1-2", year+"-"+strings.TrimPrefix(month, "0")+"-"+strings.TrimPrefix(day, "0"))
	if err != nil || t.Year() < 1900 || t.Year() > 2199 {
		return time.Time{}
	}
	return t
}

func monthNamed(word string) string {
	for m := time.January; m <= time.December; m++ {
		if name := strings.ToLower(m.String()); strings.HasPrefix(name, word) || m == time.September && word == "sept" {
			return strconv.Itoa(int(m))
		}
	}
	return ""
}

// Decide returns the order that a file's dates show, counted by order: Unknown where they show none, or both.
func Decide(votes [3]int) Order {
	switch day, month := votes[DayFirst], votes[MonthFirst]; {
	case day > 0 && month == 0:
		return DayFirst
	case month > 0 && day == 0:
		return MonthFirst
	}
	return Unknown
}
