package sale

import (
	"math"

	"wreckoner/evaluate/money"
)

// pounds writes whole pounds for a message.
func pounds(x float64) string { return money.Group(int64(math.Round(x))) }
