package lots

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// clockForms are the ways in which people write a time of day: 14:05, 9.05, 9:20 am, 9am, 0930, 09:30:00, 9h30.
var clockForms = []*regexp.Regexp{
	regexp.MustCompile(`^([0-9]{1,2})[:.h]([0-9]{2})(?:[:.]([0-9]{2}))? ?([ap]m)?$`),
	regexp.MustCompile(`^([0-9]{2})([0-9]{2})()()$`),
	regexp.MustCompile(`^([0-9]{1,2})()() ?([ap]m)$`),
}

// clockWords are times of day with a name.
var clockWords = map[string]string{"noon": "12:00", "12 noon": "12:00", "midday": "12:00", "12:00 noon": "12:00",
	"midnight": ""}

// clockTime reads a time of day, as the time since midnight. ok is false where the text is none. A time in the small
// hours that is as likely in the afternoon is an error: 2.05.
func clockTime(text string) (since time.Duration, ok bool, err error) {
	s := strings.ToLower(strings.Join(strings.Fields(text), " "))
	s = strings.NewReplacer("a.m.", "am", "p.m.", "pm", "a.m", "am", "p.m", "pm").Replace(s)
	for _, end := range []string{" o'clock", "hours", "hrs", "hr", "sharp"} {
		s = strings.TrimSpace(strings.TrimSuffix(s, end))
	}
	if word, known := clockWords[s]; known && word != "" {
		s = word
	}
	for _, form := range clockForms {
		if m := form.FindStringSubmatch(s); m != nil {
			return onClock(text, m[1], m[2], m[3], m[4])
		}
	}
	return 0, false, nil
}

// onClock is clockTime of a text whose hours, minutes, seconds and half of the day, am or pm, have been found.
func onClock(text, hours, minutes, seconds, half string) (since time.Duration, ok bool, err error) {
	hour, minute, second := number(hours), number(minutes), number(seconds)
	switch {
	case minute > 59 || second > 59 || hour > 23 || half != "" && (hour < 1 || hour > 12):
		return 0, false, nil
	case half == "pm":
		hour = hour%12 + 12
	case half == "am":
		hour %= 12
	case len(hours) == 1 && hour >= 1 && hour < firstHour:
		return 0, false, fmt.Errorf("%q could be in the afternoon or at night; write %d:%02d or %02d:%02d", text, hour+12,
			minute, hour, minute)
	}
	return time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second, true, nil
}

// firstHour is the hour before which no sale closes in the morning, so that 6.30 is more likely in the evening.
const firstHour = 7

// number is a group of digits, 0 where it is empty.
func number(digits string) int {
	n, _ := strconv.Atoi(digits) // at most two digits by the forms
	return n
}

// dayBeforeTime is a day as people write it, and a time of day behind it. A bare 2026 is a year.
var dayBeforeTime = regexp.MustCompile(`(?i)^(.*?[^ ,])(?:[ ,]+(?:at +)?)([0-9]{1,2}[:.h][0-9]{2}(?:[:.][0-9]{2})? ?` +
	`(?:[ap]\.?m\.?)?|[0-9]{1,2} ?[ap]\.?m\.?|(?:12 )?noon|midday|[0-9]{4} ?(?:hrs|hours))$`)
