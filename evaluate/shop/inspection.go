package shop

import (
	"slices"

	"wreckoner/damage"
)

// An Inspection is a way of finding out before bidding.
type Inspection struct {
	Name string
	// Price of the look, in pounds.
	Price float64
	// Finds is the chance that it shows a thing that is there, above 0 to 1.
	Finds float64
	// Zones and Classes that it can show; nil is all of them.
	Zones   []damage.Zone
	Classes []damage.Class
	Note    string
	// Visit says that it needs a trip to the sale, which costs Settings.Visit.
	Visit bool
}

// Shows reports whether the look can show the item.
func (l Inspection) Shows(i damage.Item) bool {
	return (l.Zones == nil || slices.Contains(l.Zones, i.Zone)) &&
		(l.Classes == nil || slices.Contains(l.Classes, i.Class))
}
