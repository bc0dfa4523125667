package typed

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"wreckoner/evaluate/money"
)

// An Amount is money as somebody typed it.
type Amount struct {
	// Pence is the amount, of a range its middle; below 0 where money came back.
	Pence money.Pence
	// Low and High are the ends of a range, else both Pence.
	Low, High money.Pence
	// PlusVAT says that VAT comes on top: "+ VAT".
	PlusVAT bool
	// WithVAT says that VAT is within: "inc VAT".
	WithVAT bool
	// None says that there is no amount: "POA", "TBC", "-".
	None bool
	// Thousands says that the amount was written with a k.
	Thousands bool
}

// Range reports whether two amounts were given.
func (a Amount) Range() bool { return a.Low != a.High }

// none are the ways in which people say that they give no price.
var none = map[string]bool{
	"poa": true, "p.o.a": true, "p.o.a.": true, "on application": true, "price on application": true, "tbc": true,
	"t.b.c.": true, "t.b.c": true,
	"tba": true, "t.b.a.": true, "to be confirmed": true, "to be advised": true, "-": true, "--": true, "n/a": true,
	"na": true, "none": true,
	"no reserve": true, "no guide": true, "unknown": true, "n/k": true, "not known": true, "?": true, "offers": true,
	"ask": true,
}

// plusVAT are endings that say that VAT comes on top.
var plusVAT = []string{"+ vat", "+vat", "plus vat", "& vat", "ex vat", "ex. vat", "exc vat", "exc. vat", "excl vat",
	"excl. vat", "excluding vat", "ex-vat"}

// withVAT are endings that say that VAT is within.
var withVAT = []string{"inc vat", "inc. vat", "incl vat", "incl. vat", "including vat", "inclusive of vat", "with vat",
	"vat inc", "vat inc.", "vat incl", "vat incl.", "vat included", "vat inclusive", "vat paid", "inc-vat"}

// ParseAmount reads an amount: 1250, £1,250.50, 2.1k, 2,100 + VAT, 2400-2800, 3 to 4k, POA, (45.00), 45 cr. sign
// is the currency's, such as £ (see Sign); another is an error. A range has its middle.
func ParseAmount(text, sign string) (Amount, error) {
	if digitsOnly(text, 9) { // most are just that
		n, err := money.Parse(text)
		return Amount{Pence: n, Low: n, High: n}, err
	}
	s := plain(text)
	if none[s] {
		return Amount{None: true}, nil
	}
	a := Amount{}
	if s, a.PlusVAT = cutVAT(s, plusVAT); !a.PlusVAT {
		s, a.WithVAT = cutVAT(s, withVAT)
	}
	if low, high, ok := ends(s); ok {
		return a.between(low, high, text, sign)
	}
	credit := false
	s, credit = cutCredit(s)
	n, k, err := one(s, sign)
	if err != nil {
		return Amount{}, notAmount(text, err)
	}
	if credit {
		if n < 0 {
			return Amount{}, fmt.Errorf("%q has two signs for money back; write -45 for 45 that came back", shown(text))
		}
		n = -n
	}
	a.Pence, a.Low, a.High, a.Thousands = n, n, n, k
	return a, nil
}

func notAmount(text string, why error) error {
	if why != nil && why.Error() != "" {
		return fmt.Errorf("%q %w", shown(text), why)
	}
	return fmt.Errorf("%q is not an amount; write 1200 or 1,200.00", shown(text))
}

// cutVAT takes off one of some endings, in brackets or not.
func cutVAT(s string, endings []string) (string, bool) {
	for _, end := range endings {
		for _, e := range []string{end, "(" + end + ")"} {
			if rest, ok := strings.CutSuffix(s, e); ok {
				return strings.TrimSpace(rest), true
			}
		}
	}
	return s, false
}

// cutCredit takes off what says that money came back: brackets, cr, a minus sign behind.
func cutCredit(s string) (string, bool) {
	if strings.HasPrefix(s, "(") && strings.HasSuffix(s, ")") {
		return strings.TrimSpace(s[1 : len(s)-1]), true
	}
	for _, end := range []string{" credit", " cr", "cr", "-"} {
		if rest, ok := strings.CutSuffix(s, end); ok && rest != "" {
			return strings.TrimSpace(rest), true
		}
	}
	return s, false
}

// ends returns the ends of a range: 2400-2800, 3 to 4k, £2,000 - £2,400.
func ends(s string) (low, high string, ok bool) {
	for _, between := range []string{" to ", " - ", "-", " / ", " and "} {
		low, high, ok = strings.Cut(strings.TrimPrefix(s, "between "), between)
		if ok && startsAmount(low) && startsAmount(high) {
			return strings.TrimSpace(low), strings.TrimSpace(high), true
		}
	}
	low, high, ok = strings.Cut(s, "/")
	return low, high, ok && inHundreds.MatchString(low) && inHundreds.MatchString(high)
}

// inHundreds is an amount of three digits and more: those with a slash between them are a range, and 22/2400 is not.
var inHundreds = regexp.MustCompile(`^\D?(?:[1-9][0-9]{2,}|[1-9][0-9]{0,2}(?:,[0-9]{3})+)$`)

func startsAmount(s string) bool {
	s = strings.TrimSpace(s)
	r, size := utf8.DecodeRuneInString(s)
	if unicode.Is(unicode.Sc, r) {
		s = strings.TrimSpace(s[size:])
	}
	return s != "" && (s[0] >= '0' && s[0] <= '9')
}

// between reads a range. A k behind the second end goes for the first too: 15-20k; not where the first is in hundreds
// and makes a range as it is: 900-1.2k.
func (a Amount) between(low, high, text, sign string) (Amount, error) {
	from, fromK, err := one(low, sign)
	if err != nil {
		return Amount{}, notAmount(text, err)
	}
	to, toK, err := one(high, sign)
	if err != nil {
		return Amount{}, notAmount(text, err)
	}
	if toK && !fromK && (from < hundred || from < thousand && from*1000 < to) {
		from *= 1000
	}
	if from >= to {
		return Amount{}, fmt.Errorf("%q is a range that does not rise; write one amount, such as 2600", shown(text))
	}
	a.Low, a.High, a.Thousands = from, to, fromK || toK
	a.Pence = money.Divide(int64(from)+int64(to), 2)
	return a, nil
}

// A hundred and a thousand of the currency.
const (
	hundred  money.Pence = 100_00
	thousand money.Pence = 1000_00
)

// one reads a single amount with its sign, a k for thousands, and spaces between groups of three.
func one(s, sign string) (n money.Pence, thousands bool, err error) {
	s, minus, err := unsign(s, sign)
	if err != nil {
		return 0, false, err
	}
	for _, word := range []string{" pounds", "gbp"} {
		if sign == "£" {
			s = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(s, "gbp"), word))
		}
	}
	s = joinGroups(s)
	digits, thousands := strings.CutSuffix(s, "k")
	if thousands {
		return kilo(strings.TrimSpace(digits), minus)
	}
	if digits == "" || strings.IndexFunc(digits, func(r rune) bool {
		return (r < '0' || r > '9') && r != ',' &&
			r != '.'
	}) >= 0 {
		return 0, false, fmt.Errorf("is not an amount; write 1200 or 1,200.00")
	}
	if n, err = money.Parse(digits); err != nil {
		return 0, false, commaFault(digits)
	}
	if minus {
		n = -n
	}
	return n, false, nil
}

// commaFault says why digits with commas and points are not an amount.
func commaFault(digits string) error {
	if len(digits) > 11 {
		return fmt.Errorf("is more than any car costs; write 1200 or 1,200.00")
	}
	if strings.Count(digits, ".") == 1 && strings.Index(digits, ".") < strings.Index(digits, ",") {
		return fmt.Errorf("has a point before its comma; write thousands with a comma or without: 1,600 or 1600")
	}
	if at := strings.LastIndex(digits, ","); at >= 0 && len(digits)-at-1 != 3 {
		return fmt.Errorf("could be %s or %s; write it with a point before the pence, such as 1200.50",
			strings.ReplaceAll(digits, ",", "."), strings.ReplaceAll(digits, ",", ""))
	}
	return fmt.Errorf("is not an amount; write 1200 or 1,200.00")
}

// kilo reads what stands before a k: up to three decimals.
func kilo(s string, minus bool) (money.Pence, bool, error) {
	whole, part, dotted := strings.Cut(s, ".")
	if !digitsOnly(whole, 6) || dotted && !digitsOnly(part, 3) {
		return 0, false, fmt.Errorf("is not an amount in thousands; write 2.1k or 2100")
	}
	n, err := money.Parse(whole + (part + "000")[:3])
	if err != nil {
		return 0, false, fmt.Errorf("is not an amount; write 1200 or 1,200.00")
	}
	if minus {
		n = -n
	}
	return n, true, nil
}

// unsign takes off a minus sign and the currency's.
func unsign(s, sign string) (rest string, minus bool, err error) {
	s = strings.TrimSpace(s)
	s, minus = strings.CutPrefix(s, "-")
	s = strings.TrimSpace(s)
	r, size := utf8.DecodeRuneInString(s)
	if !unicode.Is(unicode.Sc, r) {
		if last, size := utf8.DecodeLastRuneInString(s); unicode.Is(unicode.Sc, last) {
			if string(last) != sign && sign != "" {
				return "", false, foreign(last, sign)
			}
			s = strings.TrimSpace(s[:len(s)-size])
		}
		return s, minus, nil
	}
	if string(r) != sign && sign != "" {
		return "", false, foreign(r, sign)
	}
	s = strings.TrimSpace(s[size:])
	if !minus {
		s, minus = strings.CutPrefix(s, "-")
	}
	return strings.TrimSpace(s), minus, nil
}

func foreign(found rune, sign string) error {
	return fmt.Errorf("is in %c, and the workshop's money is %s; write the amount in %s", found, sign, sign)
}

// joinGroups takes out the spaces between groups of three digits: 16 000.
func joinGroups(s string) string {
	groups := strings.Fields(s)
	for i, g := range groups {
		digits, _, _ := strings.Cut(strings.TrimSuffix(g, "k"), ".")
		if !digitsOnly(digits, 3) || i > 0 && len(digits) != 3 || i < len(groups)-1 && digits != g {
			if i == len(groups)-1 && g == "k" {
				continue
			}
			return s
		}
	}
	return strings.Join(groups, "")
}

// Sign returns the sign of a currency by its code (ISO 4217), "" where any will do.
func Sign(currency string) string {
	return map[string]string{"GBP": "£", "EUR": "€", "USD": "$", "AUD": "$", "CAD": "$", "NZD": "$", "JPY": "¥",
		"INR": "₹"}[strings.ToUpper(currency)]
}
