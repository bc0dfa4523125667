package typed

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

var (
	hoursForm  = regexp.MustCompile(`^([0-9]*(?:\.[0-9]+)?)(?: ?(½|¼|¾)| (1/2|1/4|3/4))? ?(?:hours|hour|hrs|hr|h)?\.?$`)
	clockHours = regexp.MustCompile(`^([0-9]{1,3}) ?(?:hours|hour|hrs|hr|h|:) ?` +
		`(?:([0-5][0-9]) ?(?:minutes|mins|min|m)?|([0-9]) ?(?:minutes|mins|min|m))\.?$`)
	minutesForm = regexp.MustCompile(`^([0-9]{1,4}) ?(?:minutes|minute|mins|min|m)\.?$`)
)

// ParseHours reads working time in hours: 2, 2.5 hrs, 1h30, 4:30, 90 mins, 1½.
func ParseHours(text string) (float64, error) {
	s := plain(text)
	if m := minutesForm.FindStringSubmatch(s); m != nil {
		n, err := strconv.Atoi(m[1])
		return float64(n) / 60, err
	}
	if m := clockHours.FindStringSubmatch(s); m != nil {
		h, err := strconv.Atoi(m[1])
		if err != nil {
			return 0, err
		}
		if strings.Contains(s, ":") && h >= 7 {
			return 0, fmt.Errorf("%q could be a time of day; write %dh%s for so many hours", shown(text), h, m[2])
		}
		n, err := strconv.Atoi(m[2] + m[3])
		return float64(h) + float64(n)/60, err
	}
	return decimalHours(s, text)
}

// decimalHours reads a number of hours, with a fraction behind it or alone.
func decimalHours(s, text string) (float64, error) {
	m := hoursForm.FindStringSubmatch(s)
	if len(s) > 1 && s[1] == '/' { // a fraction alone
		m = hoursForm.FindStringSubmatch("0 " + s)
	}
	if m == nil || m[1] == "" && m[2] == "" || m[1] == "." {
		if strings.HasPrefix(s, "-") {
			return 0, fmt.Errorf("%q is below 0; hours can't be negative: correct the row with too many", shown(text))
		}
		return 0, fmt.Errorf("%q is not a number of hours; write 2, 2.5 or 1h30", shown(text))
	}
	x := 0.0
	if m[1] != "" {
		var err error
		if x, err = strconv.ParseFloat(m[1], 64); err != nil {
			return 0, fmt.Errorf("%q is not a number of hours; write 2, 2.5 or 1h30", shown(text))
		}
	}
	x += map[string]float64{"½": 0.5, "¼": 0.25, "¾": 0.75, "1/2": 0.5, "1/4": 0.25, "3/4": 0.75}[m[2]+m[3]]
	if x > 10000 {
		return 0, fmt.Errorf("%q is more hours than a car takes; is it the right column?", shown(text))
	}
	return x, nil
}
