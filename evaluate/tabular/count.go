package tabular

import "wreckoner/evaluate/money"

// Count says how many there are of a thing whose name takes an s: "1 lot", "1,200 lots".
func Count(n int, one string) string { return Counted(n, one, one+"s") }

// Counted says how many there are of a thing: "1 row of totals", "3 rows of totals".
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return money.Group(int64(n)) + " " + many
}
