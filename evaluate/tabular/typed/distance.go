package typed

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"wreckoner/evaluate/money"
)

// A Distance is a car's odometer as somebody typed it.
type Distance struct {
	Miles int
	// Kilometres says that it was given so, and converted.
	Kilometres bool
	// Bare says that nothing but digits were given, and Unsaid that neither miles nor kilometres were named.
	Bare, Unsaid bool
	// None says that nobody knows: "n/k", "unknown", "-".
	None bool
}

// KilometresAMile is exact: the international yard and pound agreement of 1959 sets the mile at 1609.344 metres.
const KilometresAMile = 1.609344

var distanceForm = regexp.MustCompile(`^(?:approx\.?|about|circa|c\.|c|ca|~)? ?` +
	`([0-9][0-9, ]*(?:\.[0-9]+)?) ?(?:(kilometres|kilometers|kms|km)|(k)? ?(miles|mile|mls|ml|mi|m)?)\.?` +
	`(?: ?\([^()]*\))?$`)

// ParseDistance reads 48210, 48,210 miles, 48k, approx 41000, 77,600 km. kilometres says that a bare number is in
// kilometres, as the column's name tells.
func ParseDistance(text string, kilometres bool) (Distance, error) {
	if digitsOnly(text, 7) && !kilometres {
		n, err := strconv.Atoi(text)
		return Distance{Miles: n, Bare: true, Unsaid: true}, err
	}
	s := plain(text)
	if none[s] || s == "tmu" {
		return Distance{None: true}, nil
	}
	m := distanceForm.FindStringSubmatch(s)
	if m == nil {
		return Distance{}, fmt.Errorf("%q is not a distance; write 48210 or 48k", shown(text))
	}
	digits := joinGroups(strings.TrimSpace(m[1]))
	whole, _, _ := strings.Cut(digits, ".")
	if _, ok := money.Ungroup(whole); !ok {
		return Distance{}, fmt.Errorf("%q is not a distance; write 48210 or 48,210", shown(text))
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(digits, ",", ""), 64)
	if err != nil {
		return Distance{}, fmt.Errorf("%q is not a distance; write 48210 or 48k", shown(text))
	}
	if m[3] == "k" {
		x *= 1000
	}
	d := Distance{Bare: m[2]+m[3]+m[4] == "", Unsaid: m[2]+m[4] == "", Kilometres: m[2] != "" || m[4] == "" && kilometres}
	if d.Kilometres {
		x /= KilometresAMile
	}
	if x > 9_999_999 {
		return Distance{}, fmt.Errorf("%q is more miles than any car does; is it the right column?", shown(text))
	}
	d.Miles = int(math.Round(x))
	return d, nil
}
