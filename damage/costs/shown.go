package costs

import (
	"slices"

	"wreckoner/damage"
)

// A Shown is what looking at a spot has shown: the worst damage that is there is of the grade
// AtLeast or worse, and of a grade less than Below. 0 leaves either open.
type Shown struct {
	damage.Spot
	AtLeast, Below damage.Grade
}

// Allows reports whether the worst damage at the spot may be of a grade, 0 for none.
func (x Shown) Allows(worst damage.Grade) bool {
	return worst >= x.AtLeast && (x.Below == 0 || worst < x.Below)
}

// Possible reports whether any grade is allowed.
func (x Shown) Possible() bool { return x.Below == 0 || x.AtLeast < x.Below }

// Show adds that an item was found, or that neither it nor anything worse is there at its spot.
func Show(shown []Shown, item damage.Item, found bool) []Shown {
	i := slices.IndexFunc(shown, func(x Shown) bool { return x.Spot == item.Spot })
	if i < 0 {
		i, shown = len(shown), append(shown, Shown{Spot: item.Spot})
	}
	switch x := &shown[i]; {
	case found:
		x.AtLeast = max(x.AtLeast, item.Grade)
	case x.Below == 0 || item.Grade < x.Below:
		x.Below = item.Grade
	}
	return shown
}
