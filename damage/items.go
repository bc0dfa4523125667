package damage

import (
	"fmt"
	"strconv"
)

// A Grade is how bad the damage is, 1 to 4, worse upwards. Each class says
// what its grades mean.
type Grade uint8

// GradeCount is the number of grades of a class.
const GradeCount = 4

// Valid reports whether the grade lies between 1 and 4.
func (g Grade) Valid() bool { return g >= 1 && g <= GradeCount }

// A Spot is a zone and a class: the place where grades compete, since only the
// worst one there is charged.
type Spot struct {
	Zone  Zone
	Class Class
}

// SpotCount is the number of spots.
const SpotCount = ZoneCount * ClassCount

// Index numbers the spots from 0, zone by zone.
func (s Spot) Index() int { return int(s.Zone)*ClassCount + int(s.Class) }

// SpotAt returns the spot of an index.
func SpotAt(index int) Spot { return Spot{Zone(index / ClassCount), Class(index % ClassCount)} }

// String prints the spot as the code does without a grade: "nose s".
func (s Spot) String() string { return s.Zone.String() + " " + s.Class.Letter() }

// An Item is a spot at a grade: one thing that may be wrong with a car.
type Item struct {
	Spot
	Grade Grade
}

// ItemCount is the number of items.
const ItemCount = SpotCount * GradeCount

// Index numbers the items from 0, spot by spot.
func (i Item) Index() int { return i.Spot.Index()*GradeCount + int(i.Grade) - 1 }

// ItemAt returns the item of an index.
func ItemAt(index int) Item { return Item{SpotAt(index / GradeCount), Grade(index%GradeCount + 1)} }

// String prints the item as the code does: "nose s2".
func (i Item) String() string { return i.Zone.String() + " " + i.Mark() }

// Mark prints the item without its zone: "s2".
func (i Item) Mark() string { return i.Class.Letter() + strconv.Itoa(int(i.Grade)) }

// Words says the item in words: "nose, structural: pulled and dressed".
func (i Item) Words() string {
	return fmt.Sprintf("%s, %s: %s", i.Zone, i.Class, i.Class.Describe(i.Grade))
}
