// Package money counts in whole pence: parsing, rounding, printing, and what a
// sale site charges.
package money

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Pence is an amount of money in hundredths of the currency.
type Pence int64

// Max is the largest amount that Parse accepts, a thousand million pounds.
const Max = Pence(1e11)

// Pounds returns the amount in pounds.
func (p Pence) Pounds() float64 { return float64(p) / 100 }

// FromPounds rounds an amount in pounds to pence, half away from zero.
func FromPounds(x float64) Pence { return Pence(math.Round(x * 100)) }

// String prints the amount with two decimals and thousands separators:
// "1,250.50", "-3.00".
func (p Pence) String() string {
	sign := ""
	if p < 0 {
		sign, p = "-", -p
	}
	return fmt.Sprintf("%s%s.%02d", sign, Group(int64(p/100)), p%100)
}

// Group prints a whole number with thousands separators.
func Group(n int64) string {
	text := strconv.FormatInt(n, 10)
	sign := ""
	if n < 0 {
		sign, text = "-", text[1:]
	}
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return sign + text
}

// Whole writes an amount in pounds to the nearest one, with thousands separators.
func Whole(pounds float64) string { return Group(int64(math.Round(pounds))) }

// Tens rounds an amount in pounds to the nearest ten: the digits below are noise. It starts from the pence, so that an
// amount and what was written of it to the penny never differ on an edge.
func Tens(pounds float64) float64 { return math.Round(math.Round(pounds*100)/1000) * 10 }

// Plain writes a number with the digits that it has, and no separators: 1250.5.
func Plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Ungroup takes the commas out of a whole number such as 1,250; ok is false where they
// do not part digits into thousands. A text without commas comes back as it is.
func Ungroup(whole string) (digits string, ok bool) {
	if !strings.Contains(whole, ",") {
		return whole, true
	}
	groups := strings.Split(whole, ",")
	for i, g := range groups {
		if g == "" || len(g) > 3 || i > 0 && len(g) != 3 || strings.Trim(g, "0123456789") != "" {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

// Parse reads an amount: 1250, 1,250, 1250.50, with a currency sign in front
// or not, and a minus sign where the caller allows one. Nothing is guessed:
// 1,25 and 12.5k are errors.
func Parse(text string) (Pence, error) {
	fail := func() (Pence, error) {
		return 0, fmt.Errorf("%q is not an amount; write 1200 or 1,200.00", text)
	}
	s, minus := cutSigns(strings.TrimSpace(text))
	whole, part, dotted := strings.Cut(s, ".")
	if dotted && (len(part) < 1 || len(part) > 2) {
		return fail()
	}
	digits, ok := Ungroup(whole)
	if digits == "" || !ok {
		return fail()
	}
	var n Pence
	for _, d := range []byte(digits + (part + "00")[:2]) {
		if d < '0' || d > '9' {
			return fail()
		}
		if n = n*10 + Pence(d-'0'); n > Max {
			return 0, fmt.Errorf("%q is more than any car costs; write 1200 or 1,200.00", text)
		}
	}
	if minus {
		n = -n
	}
	return n, nil
}

// cutSigns takes a minus sign and a currency sign off the front of an amount, in either order.
func cutSigns(s string) (rest string, minus bool) {
	s, minus = strings.CutPrefix(s, "-")
	if r, size := utf8.DecodeRuneInString(s); unicode.Is(unicode.Sc, r) {
		s = strings.TrimSpace(s[size:])
		if !minus {
			s, minus = strings.CutPrefix(s, "-")
		}
	}
	return s, minus
}

// A Rate is a share in millionths: 0.2, which is 20 %, is 200,000.
type Rate int64

const whole = 1_000_000

// ParseRate reads a share written as a decimal fraction of at most six
// decimals, such as 0.2 for 20%.
func ParseRate(text string) (Rate, error) {
	r, ok := new(big.Rat).SetString(text)
	if !ok || strings.ContainsAny(text, "eE/_xX") {
		return 0, fmt.Errorf("%q is not a share; write a fraction such as 0.2 for 20%%", text)
	}
	r.Mul(r, big.NewRat(whole, 1))
	if !r.IsInt() {
		return 0, fmt.Errorf("%q has more than six decimals; round it", text)
	}
	if n := r.Num(); n.Sign() >= 0 && n.Cmp(big.NewInt(whole)) <= 0 {
		return Rate(n.Int64()), nil
	}
	return 0, fmt.Errorf("%q is not a share between 0 and 1; 20%% is written 0.2", text)
}

// RateOf returns the rate nearest to a fraction.
func RateOf(x float64) Rate { return Rate(x*whole + 0.5) }

// Float returns the rate as a fraction.
func (r Rate) Float() float64 { return float64(r) / whole }

// Percent prints the rate in per cent, exactly: "7.25".
func (r Rate) Percent() string { return strconv.FormatFloat(math.Round(float64(r))/1e4, 'f', -1, 64) }

// Of returns the share of an amount, rounded half away from zero.
func (r Rate) Of(p Pence) Pence { return Divide(int64(p)*int64(r), whole) }

// Within returns the share that is already inside an amount to which the rate
// was added, rate / (1 + rate) of it: a sixth at 20 %.
func (r Rate) Within(p Pence) Pence { return Divide(int64(p)*int64(r), whole+int64(r)) }

// Divide rounds half away from zero.
func Divide(n, by int64) Pence {
	if n < 0 {
		return -Divide(-n, by)
	}
	return Pence((n + by/2) / by)
}
