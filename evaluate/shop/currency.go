package shop

import "strings"

// signs of currencies by their codes.
var signs = map[string]string{"GBP": "£", "EUR": "€", "USD": "$"}

// Money writes an amount, given as text, with the sign of the workshop's currency before it, or
// with the code behind it where that has no sign here: "£1,250", "-£40", "1,250 CHF".
func (s *Settings) Money(amount string) string {
	sign := signs[s.Currency]
	if sign == "" {
		return strings.TrimSpace(amount + " " + s.Currency)
	}
	if rest, negative := strings.CutPrefix(amount, "-"); negative {
		return "-" + sign + rest
	}
	return sign + amount
}
