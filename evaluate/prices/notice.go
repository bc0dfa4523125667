package prices

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wreckoner/evaluate/money"
)

// A Kind is what a notice is about.
type Kind int

// The kinds of notice. All but [Unusable] leave nothing undone that the rows allow.
const (
	// Mistyped: the row hardly counts because it is so far from the others.
	Mistyped Kind = iota
	// SameCar: a later row of the same car takes this one's place.
	SameCar
	// Relisted: the car was offered again within 90 days; only the last row counts.
	Relisted
	// WithdrawnLot: the lot never came up.
	WithdrawnLot
	// NotSold: no hammer price; counted by site, not used for the price.
	NotSold
	// TooOld: older than six half-lives.
	TooOld
	// AfterAsOf: later than the day of the reckoning.
	AfterAsOf
	// Spelling: a name is nearly another's.
	Spelling
	// YearAhead: the car's year is after the row's day.
	YearAhead
	// NoValue: a past lot without a value, and too few adverts to give it one.
	NoValue
	// WonBlank: a stop, but not whether the car was won; the row says nothing of the rivals' limits.
	WonBlank
	// Unusable: something that the row needs is missing or cannot be; the row is left out.
	Unusable
)

// File names, as they stand in notices.
const (
	AdvertsFile = "adverts.csv"
	ResultsFile = "results.csv"
	BuildsFile  = "builds.csv"
)

// A Notice is something about one row that a person should know.
type Notice struct {
	Kind   Kind
	File   string
	Line   int
	Column string
	Text   string
}

// String is the notice as a screen shows it: adverts.csv:6: asked: 94,500 is 10 times what the others say ...
func (n Notice) String() string {
	return fmt.Sprintf("%s:%d: %s: %s", n.File, n.Line, n.Column, n.Text)
}

func sortNotices(list []Notice) {
	slices.SortStableFunc(list, func(a, b Notice) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Kind, b.Kind),
			cmp.Compare(a.Column, b.Column), cmp.Compare(a.Text, b.Text))
	})
}

// mistyped words how a price differs from what the others say; off is the log of their ratio.
func mistyped(price, off float64) string {
	return fmt.Sprintf("%s is %s what the others say; it hardly counts: mistyped?", money.Whole(price), times(off))
}

var parts = [...]string{2: "half", 3: "a third of", 4: "a quarter of", 5: "a fifth of", 6: "a sixth of",
	7: "a seventh of",
	8: "an eighth of", 9: "a ninth of", 10: "a tenth of"}

// times says how many times, or which part of.
func times(off float64) string {
	ratio := math.Exp(off)
	switch {
	case ratio >= 1.95:
		return fmt.Sprintf("%.0f times", ratio)
	case ratio > 0.6:
		return fmt.Sprintf("%.1f times", ratio)
	}
	if n := int(math.Round(1 / ratio)); n < len(parts) {
		return parts[n]
	}
	return fmt.Sprintf("a %.0fth of", 1/ratio)
}
