package damage

import (
	"fmt"
	"strings"
)

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
		"Structural joints must stand up to the next crash. Cut and join only where the maker's repair method allows, " +
			"with its steel grades and joining process, by people qualified in them; measure the shell before and after."},
	{"c", "cosmetic", "bolt-on panels, lamps, glass, paint, trim",
		[4]string{
			"polish or small repair",
			"repair and refinish a panel",
			"replace and refinish panels",
			"panels, lamps and glass of the whole zone",
		},
		"Paint with isocyanates needs air-fed breathing protection and extraction. Bonded glass is part of the structure " +
			"on many cars: the maker's adhesive and curing time apply."},
	{"r", "restraint", "airbags, pretensioners, belts, crash sensors, their control unit, and the trim that must go " +
		"with them",
		[4]string{
			"sensors or belt pretensioner only",
			"front bags",
			"front plus side or curtain bags",
			"all round: bags, belts, control unit, headlining",
		},
		"Airbags and pretensioners are explosive articles. Trained people only: battery disconnected, the maker's own " +
			"waiting time, nothing in the deployment path, no cutting, drilling or heat near a module, and new parts for " +
			"every fired unit. Storage and transport are regulated."},
	{"m", "mechanical", "cooling, steering, suspension, driveline",
		[4]string{
			"cooling pack, airbox, hoses",
			"one suspension or steering corner",
			"subframe, axle or gearbox",
			"engine or drive unit",
		},
		"Never work under a car held by a jack alone: rated lift or stands on the maker's lifting points. Refrigerant is " +
			"for licensed handlers. Steering and suspension fasteners that the maker says are used once are renewed."},
	{"e", "electrical", "loom, modules, sensors, traction battery",
		[4]string{
			"connectors, sensors",
			"lamps, modules, radar",
			"a loom section or junction box",
			"main loom, traction battery, water through modules",
		},
		"A traction battery can kill, and can burn days after the damage. Isolation by a person qualified for high " +
			"voltage, and quarantine outdoors away from buildings, come before any other work. Radar and cameras are " +
			"calibrated before the car is driven."},
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
