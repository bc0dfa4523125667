package typed

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

var (
	fourDigits   = regexp.MustCompile(`\b(19[0-9][0-9]|20[0-9][0-9])\b`)
	plateForm    = regexp.MustCompile(`^'?([0-9]{2})(?:[ -]?(?:plate|reg|registered|registration))?\.?$`)
	yearAndPlate = regexp.MustCompile(`^([0-9]{2}) ?[/(-] ?([0-9]{2})\)?$`)
	plateBehind  = regexp.MustCompile(`^(19[0-9][0-9]|20[0-9][0-9])[ /-]*\(?'?([0-9]{2})?(?:[ -]?(?:plate|reg))?\)?$`)
)

// ParseYear reads a car's year: 2019, 2019 (69), 19, 69 plate, a date of registration. Two digits are an age
// identifier of a number plate: 02 to 50 are the year from March, 51 to 99 the year fifty before from September
// (Road Vehicles (Registration and Licensing) Regulations 2002, from memory). now bounds what a year can be.
func ParseYear(text string, now time.Time) (int, error) {
	if len(text) == 4 && digitsOnly(text, 4) {
		return within(text, text, now)
	}
	return yearTyped(plain(text), text, now)
}

// yearTyped reads a year that is not plain figures.
func yearTyped(s, text string, now time.Time) (int, error) {
	if m := plateBehind.FindStringSubmatch(s); m != nil {
		if m[2] != "" && !plateOf(atoi(m[2]), atoi(m[1])) {
			return 0, fmt.Errorf("%q: the plate %s is not of %s; write the right year", shown(text), m[2], m[1])
		}
		return within(text, m[1], now)
	}
	if m := yearAndPlate.FindStringSubmatch(s); m != nil {
		year, plate := atoi(m[1]), atoi(m[2])
		if plate != year && plate != year+50 && plate != year+49 { // 12/13 may be a month
			return 0, fmt.Errorf("%q could be a month or a plate; write the year, such as 2019", shown(text))
		}
		return within(text, strconv.Itoa(2000+year), now)
	}
	if m := plateForm.FindStringSubmatch(s); m != nil {
		n, err := strconv.Atoi(m[1])
		if err != nil {
			return 0, err
		}
		if n > 50 {
			n -= 50
		}
		return within(text, strconv.Itoa(2000+n), now)
	}
	if found := fourDigits.FindAllString(s, -1); len(found) == 1 && strings.IndexFunc(strings.Replace(s, found[0], "", 1),
		notDatePart) < 0 {
		return within(text, found[0], now)
	}
	return 0, fmt.Errorf("%q is not a year; write 2019 or 19 plate", shown(text))
}

// plateOf reports whether a plate's two digits can be those of a car of a year: made then and first registered within
// the year after, or registered in the last months of the year before.
func plateOf(plate, year int) bool {
	if plate > 50 {
		plate -= 50
	}
	return 2000+plate >= year-1 && 2000+plate <= year+1 || year < 2002
}

// notDatePart reports whether a rune can't stand in a date: digits, letters of months and the marks between them can.
func notDatePart(r rune) bool {
	return !(r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || strings.ContainsRune(" /-.,:", r))
}

func within(text, year string, now time.Time) (int, error) {
	n, err := strconv.Atoi(year)
	if err != nil {
		return 0, err
	}
	if n < 1900 || n > now.Year()+1 {
		return 0, fmt.Errorf("%q is not between 1900 and %d; write the year of registration", shown(text), now.Year()+1)
	}
	return n, nil
}
