package tabular

import (
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"wreckoner/evaluate/money"
)

// kind says what a number of some format is.
type kind byte

const (
	number kind = iota
	day
	clock    // a time of day
	dayClock // a day with a time
)

// readStyles finds which cell formats are those of dates.
func (b *book) readStyles(part string) error {
	r, err := b.open(part, mostPart)
	if err != nil {
		return err
	}
	own := map[string]kind{}
	within := false
	for {
		t, err := r.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "numFmt":
				own[attribute(e, "numFmtId")] = formatKind(attribute(e, "formatCode"))
			case "cellXfs":
				within = true
			case "xf":
				if within {
					id := attribute(e, "numFmtId")
					k, ok := own[id]
					if !ok {
						k = builtIn(id)
					}
					b.styles = append(b.styles, k)
				}
			}
		case xml.EndElement:
			if e.Name.Local == "cellXfs" {
				within = false
			}
		}
	}
}

// builtIn returns the kind of a number format that a workbook need not spell out:
// ECMA-376 part 1, 18.8.30, the East Asian ones included.
func builtIn(id string) kind {
	n, err := strconv.Atoi(id)
	switch {
	case err != nil:
		return number
	case n >= 14 && n <= 17, n >= 27 && n <= 31, n == 36, n >= 50 && n <= 54, n == 57, n == 58:
		return day
	case n >= 18 && n <= 21, n >= 32 && n <= 35, n >= 45 && n <= 47, n == 55, n == 56:
		return clock
	case n == 22:
		return dayClock
	}
	return number
}

// formatKind tells dates from numbers by the letters of a format, but for what is
// in quotes, brackets or behind a backslash. Elapsed hours ([h]) are a number.
func formatKind(code string) kind {
	code, _, _ = strings.Cut(code, ";")
	runes := []rune(strings.ToLower(code))
	if strings.Contains(string(runes), "general") {
		return number
	}
	days, times, elapsed := formatLetters(runes)
	if !days && !times { // a month alone, not minutes
		days = strings.Contains(plainLetters(runes), "mmm")
	}
	switch {
	case elapsed:
		return number
	case days && times:
		return dayClock
	case days:
		return day
	case times:
		return clock
	}
	return number
}

// formatLetters reports which letters a format has outside quotes, brackets and behind
// backslashes: those of days and years, those of hours and seconds, and whether brackets
// hold those of elapsed time.
func formatLetters(runes []rune) (days, times, elapsed bool) {
	for i := 0; i < len(runes); i++ {
		skip := func(to rune) {
			for i++; i < len(runes) && runes[i] != to; i++ {
			}
		}
		switch runes[i] {
		case '"':
			skip('"')
		case '[':
			start := i + 1
			skip(']')
			inside := string(runes[min(start, len(runes)):min(i, len(runes))])
			elapsed = elapsed || inside != "" && strings.Trim(inside, "hms") == ""
		case '\\', '_', '*':
			i++
		case 'y', 'd':
			days = true
		case 'h', 's':
			times = true
		}
	}
	return days, times, elapsed
}

// plainLetters returns a format without what is in quotes.
func plainLetters(runes []rune) string {
	parts := strings.Split(string(runes), `"`)
	var b strings.Builder
	for i := 0; i < len(parts); i += 2 {
		b.WriteString(parts[i])
	}
	return b.String()
}

// numeral returns a number as a person reads it: 15 digits, as spreadsheets keep
// them, and no exponent.
func numeral(text string) (string, bool) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return "", false
	}
	if x, err = strconv.ParseFloat(strconv.FormatFloat(x, 'g', 15, 64), 64); err != nil {
		return "", false
	}
	if x == 0 {
		return "0", true // also -0
	}
	return money.Plain(x), true
}

// moment returns a number of days as a date, a time, or both. Before March 1900
// dates are off by a day in the workbooks themselves, which count a 29 February
// 1900 that never was (ECMA-376 part 1, 18.17.4.1).
func (b *book) moment(text string, k kind) (string, bool) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !(x >= 0) || x >= 2958466 { // 10000-01-01
		return "", false
	}
	whole, part := math.Modf(x)
	seconds := int64(math.Round(part * 86400))
	from := time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	if b.from == 1900 {
		from = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
		if whole > 0 && whole < 60 {
			whole++
		}
	}
	t := from.AddDate(0, 0, int(whole)).Add(time.Duration(seconds) * time.Second)
	switch {
	case k == clock && whole == 0:
		return t.Format("15:04:05"), true
	case k == day, seconds == 0:
		return t.Format(time.DateOnly), true
	}
	return t.Format("2006-01-02 15:04:05"), true
}

// unescape returns a text with the characters that XML cannot hold, which
// workbooks write as _x001F_ (ECMA-376 part 1, 22.9.2.19).
func unescape(text string) string {
	if !strings.Contains(text, "_x") {
		return text
	}
	var units []uint16
	runes := utf16.Encode([]rune(text))
	for i := 0; i < len(runes); i++ {
		if i+6 < len(runes) && runes[i] == '_' && runes[i+1] == 'x' && runes[i+6] == '_' {
			if n, err := strconv.ParseUint(string(utf16.Decode(runes[i+2:i+6])), 16, 16); err == nil {
				units = append(units, uint16(n))
				i += 6
				continue
			}
		}
		units = append(units, runes[i])
	}
	return string(utf16.Decode(units))
}
