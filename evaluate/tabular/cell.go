package tabular

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"wreckoner/evaluate/money"
)

// A State says whether there is anything in a cell.
type State uint8

// The states. The zero value is Absent.
const (
	Absent State = iota // the file has no such column
	Blank               // the column is there and the cell is empty or spaces
	Given
)

// String names the state: absent, blank, given.
func (s State) String() string {
	switch s {
	case Absent:
		return "absent"
	case Blank:
		return "blank"
	case Given:
		return "given"
	}
	return "state " + strconv.Itoa(int(s))
}

// A Cell is one field of a row, as it stands in the file. The zero value is the
// cell of a column that is not there. The methods that read a value give an error
// that says what was found and what to write instead, without file and line, for
// Place.At; a cell that is not Given is such an error, so that a caller with a
// default asks Given first.
type Cell struct {
	// Raw is the text as in the file, untrimmed.
	Raw   string
	State State
}

// NewCell returns a cell that holds a text.
func NewCell(raw string) Cell {
	if trim(raw) == "" {
		return Cell{raw, Blank}
	}
	return Cell{raw, Given}
}

// UnmarshalCSV sets the cell to a text. It never fails: an error here would cost
// the whole file.
func (c *Cell) UnmarshalCSV(raw string) error {
	*c = NewCell(raw)
	return nil
}

// Given reports whether there is anything in the cell.
func (c Cell) Given() bool { return c.State == Given }

// Text returns the cell without the spaces at its ends, no-break spaces included.
func (c Cell) Text() string {
	text := trim(c.Raw)
	if len(text) > 1 && text[0] == '\'' && strings.IndexByte(guarded, text[1]) >= 0 {
		return text[1:]
	}
	return text
}

// guarded are the first characters of text that a spreadsheet would run: a ' is written before them, here and
// elsewhere, and is no part of the text.
const guarded = "=+-@\t\r"

// Int reads a whole number from least to most; 54,000 is 54000. The bounds
// math.MinInt and math.MaxInt are none.
func (c Cell) Int(least, most int) (int, error) {
	if err := c.empty("a whole number"); err != nil {
		return 0, err
	}
	digits, ok := ungroup(c.Text())
	if !ok {
		return 0, notNumber(c.Text(), "a whole number", "1250 or 1,250")
	}
	if strings.Contains(digits, ".") {
		return 0, fmt.Errorf("%q is not a whole number; leave the decimals out", excerpt(c.Text()))
	}
	n, err := strconv.Atoi(digits)
	if err != nil { // out of range: all else was checked
		return 0, fmt.Errorf("%s is too large; is it the right column?", excerpt(c.Text()))
	}
	if n < least || n > most {
		return 0, outside(c.Text(), strconv.Itoa(least), strconv.Itoa(most), least == math.MinInt, most == math.MaxInt,
			n < least)
	}
	return n, nil
}

// Number reads a decimal number from least to most; 1,250.5 is 1250.5. There are
// no exponents, and a comma only groups thousands. The bounds math.Inf(-1) and
// math.Inf(1) are none.
func (c Cell) Number(least, most float64) (float64, error) {
	if err := c.empty("a number"); err != nil {
		return 0, err
	}
	digits, ok := ungroup(c.Text())
	if !ok {
		return 0, notNumber(c.Text(), "a number", "1250 or 1,250.5")
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return 0, fmt.Errorf("%s is too large; is it the right column?", excerpt(c.Text()))
	}
	if !(x >= least && x <= most) {
		return 0, outside(c.Text(), money.Plain(least), money.Plain(most), math.IsInf(least, -1), math.IsInf(most, 1),
			x < least)
	}
	return x, nil
}

// Fraction reads a share from 0 to 1: 0.2 is 20 %. Percentages are not guessed at.
func (c Cell) Fraction() (float64, error) {
	if err := c.empty("a share, such as 0.2 for 20%"); err != nil {
		return 0, err
	}
	text := c.Text()
	number, percent := strings.CutSuffix(text, "%")
	digits, ok := ungroup(trim(number))
	if !ok {
		return 0, fmt.Errorf("%q is not a share; write a fraction such as 0.2 for 20%%", excerpt(text))
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err == nil && x >= 0 && x <= 1 && !percent {
		return x, nil
	}
	message := excerpt(text) + " is not a share between 0 and 1"
	if err == nil && x >= 0 && x <= 100 {
		hundredth, err := strconv.ParseFloat(digits+"e-2", 64)
		if err != nil {
			return 0, err
		}
		return 0, fmt.Errorf("%s; did you mean %s?", message, money.Plain(hundredth))
	}
	return 0, fmt.Errorf("%s; write a fraction such as 0.2 for 20%%", message)
}

// YesNo reads yes or no; y, n, true and false mean the same.
func (c Cell) YesNo() (bool, error) {
	if err := c.empty("yes or no"); err != nil {
		return false, err
	}
	switch strings.ToLower(c.Text()) {
	case "yes", "y", "true":
		return true, nil
	case "no", "n", "false":
		return false, nil
	}
	return false, fmt.Errorf("%q is neither yes nor no; write yes or no", excerpt(c.Text()))
}

// Word reads one of the words, in any case, and returns it as the caller spells
// it.
func (c Cell) Word(words ...string) (string, error) {
	if text := c.Text(); text != "" {
		for _, word := range words {
			if strings.EqualFold(word, text) {
				return word, nil
			}
		}
	}
	choice := strings.Join(words, ", ")
	if n := len(words); n > 1 {
		choice = strings.Join(words[:n-1], ", ") + " or " + words[n-1]
	}
	if err := c.empty(choice); err != nil {
		return "", err
	}
	if near := Nearest(c.Text(), words); near != "" {
		return "", fmt.Errorf("%q is not one of the choices here; did you mean %s? write %s", excerpt(c.Text()), near, choice)
	}
	return "", fmt.Errorf("%q is not one of the choices here; write %s", excerpt(c.Text()), choice)
}

// Date reads a day written as year-month-day (ISO 8601), in UTC.
func (c Cell) Date() (time.Time, error) {
	if err := c.empty("a date such as 2026-04-30"); err != nil {
		return time.Time{}, err
	}
	day, err := time.Parse(time.DateOnly, c.Text())
	if err != nil {
		return time.Time{}, fmt.Errorf("%q is not a date; write year-month-day, such as 2026-04-30", excerpt(c.Text()))
	}
	return day, nil
}

// empty is the error of a cell that should hold something.
func (c Cell) empty(what string) error {
	switch c.State {
	case Absent:
		return errors.New("there is no such column; add it, with " + what)
	case Blank:
		return errors.New("is blank; write " + what)
	}
	return nil
}

// ungroup checks that the text is a plain decimal number with or without commas
// between thousands, and takes these out.
func ungroup(text string) (digits string, ok bool) {
	sign := ""
	if rest, minus := strings.CutPrefix(text, "-"); minus {
		sign, text = "-", rest
	}
	whole, part, dotted := strings.Cut(text, ".")
	if dotted && part == "" || !dotted && whole == "" {
		return "", false
	}
	if digits, ok = money.Ungroup(whole); !ok {
		return "", false
	}
	for _, d := range []byte(digits + part) {
		if d < '0' || d > '9' {
			return "", false
		}
	}
	if dotted {
		digits += "." + part
	}
	return sign + digits, true
}

func notNumber(text, what, example string) error {
	return fmt.Errorf("%q is not %s; write %s", excerpt(text), what, example)
}

// outside is the error of a number out of bounds, of which one may be open.
func outside(text, least, most string, noLeast, noMost, below bool) error {
	text = excerpt(text)
	switch {
	case !noLeast && !noMost:
		return fmt.Errorf("%s is not between %s and %s; write a number in that range", text, least, most)
	case below:
		return fmt.Errorf("%s is below %s; write %s or more", text, least, least)
	default:
		return fmt.Errorf("%s is above %s; write %s or less", text, most, most)
	}
}
