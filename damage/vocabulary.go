// Package damage is the vocabulary of a damaged car: where it was hit, what kind
// of damage that is and how bad, and the short code that says all three.
//
//	nose s3 c2; front-near m2?; cabin r2?70; tail s1-
//
// It knows nothing of money. Package costs says what such damage costs.
package damage

import (
	"fmt"
	"strconv"
	"strings"
)

// A Zone is a part of the car. Near is the nearside (kerb), off the offside.
type Zone uint8

// The zones, in the order in which codes are printed.
const (
	Nose Zone = iota
	FrontNear
	FrontOff
	SideNear
	SideOff
	RearNear
	RearOff
	Tail
	Roof
	Under
	Bay
	Cabin
	Whole

	// ZoneCount is the number of zones.
	ZoneCount = int(Whole) + 1
)

var zones = [ZoneCount]struct{ name, covers string }{
	{"nose", "bumper, grille, lamps, slam panel"},
	{"front-near", "nearside wing, arch, inner wing, suspension corner"},
	{"front-off", "offside wing, arch, inner wing, suspension corner"},
	{"side-near", "nearside doors, sill, pillars"},
	{"side-off", "offside doors, sill, pillars"},
	{"rear-near", "nearside quarter panel, arch, suspension corner"},
	{"rear-off", "offside quarter panel, arch, suspension corner"},
	{"tail", "bumper, boot lid or tailgate, rear panel"},
	{"roof", "roof skin, rails, glass roof"},
	{"under", "floor, sump, underside, traction-battery case"},
	{"bay", "engine, gearbox, cooling"},
	{"cabin", "dashboard, seats, trim, restraints"},
	{"whole", "the whole car: water, fire, stripped"},
}

// Zones returns every zone in printing order.
func Zones() []Zone {
	all := make([]Zone, ZoneCount)
	for i := range all {
		all[i] = Zone(i)
	}
	return all
}

// String returns the zone's name in the code.
func (z Zone) String() string {
	if int(z) < ZoneCount {
		return zones[z].name
	}
	return fmt.Sprintf("Zone(%d)", uint8(z))
}

// Covers lists in words the parts that belong to the zone.
func (z Zone) Covers() string { return zones[z].covers }

// Impact reports whether the zone is outside sheet metal that a collision can
// hit. The engine bay, the cabin and the whole car are damaged in other ways.
func (z Zone) Impact() bool { return z <= Under }

// ParseZone returns the zone of that name, whatever its case.
func ParseZone(name string) (Zone, error) {
	if z, ok := zoneNamed(strings.ToLower(strings.TrimSpace(name))); ok {
		return z, nil
	}
	return 0, fmt.Errorf("%q is not a zone; write one of %s", name, zoneNames())
}

// zoneNamed returns the zone of a name in lower case.
func zoneNamed(name string) (Zone, bool) {
	for i := range zones {
		if zones[i].name == name {
			return Zone(i), true
		}
	}
	return 0, false
}

func zoneNames() string {
	names := make([]string, ZoneCount)
	for i, z := range zones {
		names[i] = z.name
	}
	return strings.Join(names, ", ")
}

// A Class is a kind of damage.
type Class uint8

// The classes, in the order in which codes are printed. The first three are the
// backbone of a collision; the last two carry what such a hit drags along.
const (
	Structural Class = iota
	Cosmetic
	Restraint
	Mechanical
	Electrical

	// ClassCount is the number of classes.
	ClassCount = int(Electrical) + 1
)

var classes = [ClassCount]struct {
	letter  string
	name    string
	covers  string
	grades  [4]string
	caution string
}{
	{"s", "structural", "load paths of the body and where suspension bolts to it",
		[4]string{
			"bolt-on structure: bumper beam, slam panel",
			"pulled and dressed",
			"a section cut out and a new one joined",
			"several load paths, shell in doubt",
		},
		"Structural joints must stand up to the next crash. Cut and join only where the maker's repair method allows, with its steel grades and joining process, by people qualified in them; measure the shell before and after."},
	{"c", "cosmetic", "bolt-on panels, lamps, glass, paint, trim",
		[4]string{
			"polish or small repair",
			"repair and refinish a panel",
			"replace and refinish panels",
			"panels, lamps and glass of the whole zone",
		},
		"Paint with isocyanates needs air-fed breathing protection and extraction. Bonded glass is part of the structure on many cars: the maker's adhesive and curing time apply."},
	{"r", "restraint", "airbags, pretensioners, belts, crash sensors, their control unit, and the trim that must go with them",
		[4]string{
			"sensors or belt pretensioner only",
			"front bags",
			"front plus side or curtain bags",
			"all round: bags, belts, control unit, headlining",
		},
		"Airbags and pretensioners are explosive articles. Trained people only: battery disconnected, the maker's own waiting time, nothing in the deployment path, no cutting, drilling or heat near a module, and new parts for every fired unit. Storage and transport are regulated."},
	{"m", "mechanical", "cooling, steering, suspension, driveline",
		[4]string{
			"cooling pack, airbox, hoses",
			"one suspension or steering corner",
			"subframe, axle or gearbox",
			"engine or drive unit",
		},
		"Never work under a car held by a jack alone: rated lift or stands on the maker's lifting points. Refrigerant is for licensed handlers. Steering and suspension fasteners that the maker says are used once are renewed."},
	{"e", "electrical", "loom, modules, sensors, traction battery",
		[4]string{
			"connectors, sensors",
			"lamps, modules, radar",
			"a loom section or junction box",
			"main loom, traction battery, water through modules",
		},
		"A traction battery can kill, and can burn days after the damage. Isolation by a person qualified for high voltage, and quarantine outdoors away from buildings, come before any other work. Radar and cameras are calibrated before the car is driven."},
}

// Classes returns every class in printing order.
func Classes() []Class {
	all := make([]Class, ClassCount)
	for i := range all {
		all[i] = Class(i)
	}
	return all
}

// String returns the class's name in words.
func (c Class) String() string {
	if int(c) < ClassCount {
		return classes[c].name
	}
	return fmt.Sprintf("Class(%d)", uint8(c))
}

// Letter returns the class's letter in the code.
func (c Class) Letter() string { return classes[c].letter }

// Covers says in words what belongs to the class.
func (c Class) Covers() string { return classes[c].covers }

// Caution is the warning that belongs to work of this class.
func (c Class) Caution() string { return classes[c].caution }

// Describe says in words what a grade of the class means.
func (c Class) Describe(g Grade) string {
	if !g.Valid() {
		return ""
	}
	return classes[c].grades[g-1]
}

// ParseClass returns the class of that letter or name, whatever its case.
func ParseClass(name string) (Class, error) {
	low := strings.ToLower(strings.TrimSpace(name))
	for i := range classes {
		if classes[i].name == low || classes[i].letter == low {
			return Class(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a class; write s, c, r, m or e", name)
}

// classLettered returns the class of a letter in lower case.
func classLettered(letter string) (Class, bool) {
	for i := range classes {
		if classes[i].letter == letter {
			return Class(i), true
		}
	}
	return 0, false
}

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
