package shop

import (
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/tabular"
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

type inspectionRow struct {
	Inspection tabular.Cell `csv:"look"`
	Price      tabular.Cell `csv:"price"`
	Finds      tabular.Cell `csv:"finds"`
	Zones      tabular.Cell `csv:"zones,omitempty"`
	Classes    tabular.Cell `csv:"classes,omitempty"`
	Note       tabular.Cell `csv:"note,omitempty"`
	Visit      tabular.Cell `csv:"visit,omitempty"`
}

func (r *shopReader) inspections() error {
	return each(r, InspectionsFile, func(v *inspectionRow, k *tabular.Check) {
		l := Inspection{Name: k.Name("look", v.Inspection, nameless), Note: v.Note.Text()}
		l.Price = k.Number("price", v.Price, 0, 1e6)
		l.Finds = k.Chance("finds", v.Finds, "means it finds nothing; write a chance above 0")
		if v.Visit.Given() {
			l.Visit = k.YesNo("visit", v.Visit)
		}
		for _, word := range strings.Fields(anyAs(v.Zones.Text(), "")) {
			z, err := damage.ParseZone(word)
			k.Bad("zones", err)
			l.Zones = append(l.Zones, z)
		}
		for _, word := range strings.Fields(anyAs(v.Classes.Text(), "")) {
			c, err := damage.ParseClass(word)
			k.Bad("classes", err)
			l.Classes = append(l.Classes, c)
		}
		if !k.Failed {
			r.shop.Inspections = append(r.shop.Inspections, l)
		}
	})
}
