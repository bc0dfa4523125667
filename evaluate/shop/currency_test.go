package shop

import "testing"

// British print sets the sign before the digits and the minus before the sign; a currency
// without a sign here keeps its three-letter code (ISO 4217).
func TestMoneyHasItsSign(t *testing.T) {
	for _, x := range [][3]string{{"GBP", "1,250", "£1,250"}, {"GBP", "-40", "-£40"}, {"EUR", "3", "€3"},
		{"CHF", "1,250", "1,250 CHF"}, {"", "7", "7"}} {
		if got := (&Settings{Currency: x[0]}).Money(x[1]); got != x[2] {
			t.Errorf("%s %s: %q, want %q", x[0], x[1], got, x[2])
		}
	}
}
