// Package damage is the vocabulary of a damaged car: where it was hit, what kind
// of damage that is and how bad, and the short code that says all three.
//
//	nose s3 c2; front-near m2?; cabin r2?70; tail s1-
//
// It knows nothing of money. Package costs says what such damage costs.
package damage

import (
	"fmt"
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
