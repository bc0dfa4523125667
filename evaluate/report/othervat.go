package report

import "fmt"

// OtherVAT says what the mean margin would be, in pounds, at the same hammer price if the
// shop were not registered for VAT, where it is, or were, where it is not.
func OtherVAT(registered bool, margin float64) string {
	if registered {
		return fmt.Sprintf("If you were not registered for VAT: a margin of %s at the same hammer price.", Pounds(margin))
	}
	return fmt.Sprintf("If you were registered for VAT: a margin of %s at the same hammer price.", Pounds(margin))
}
