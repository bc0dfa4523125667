package listing

import "strings"

// A kind says what a word does in a sentence. Kinds are bits, so that a set of
// them is written a|b.
type kind uint32

const (
	part kind = 1 << iota
	fitting
	area
	positional
	harm
	severity
	event
	depth
	negation
	sound
	hedge
	unseen
	repaired
	class
	count
	extra
	link
	filler
)

// Sets of kinds.
const (
	// things are parts that a person can point at.
	things = part | fitting
	// content names something of the car.
	content = things | positional | event | extra
	// saying is what says that something is damaged, or that it is not.
	saying = harm | severity | sound | unseen | repaired
	// quiet words may come between any two that belong together.
	quiet = filler | depth
)

// kinds are the kinds in the order of their bits: the name in the file, the
// columns that a row of the kind must fill, and those that it may.
var kinds = []struct{ name, must, may string }{
	{"part", "means class grade", "level chance role"},
	{"fitting", "means class grade", "level chance role"},
	{"area", "class grade role", "means level chance"},
	{"position", "means", ""},
	{"harm", "", "class grade level chance role"},
	{"severity", "level", "role"},
	{"event", "means class grade", "level chance role"},
	{"depth", "level", ""},
	{"negation", "", "role"},
	{"sound", "", "role"},
	{"hedge", "", "chance"},
	{"unseen", "chance", ""},
	{"repaired", "", ""},
	{"class", "class", "role"},
	{"count", "means", "role"},
	{"extra", "means", ""},
	{"link", "means", "role"},
	{"filler", "", "role"},
}

// Kinds returns the kinds of row: part (damaged where it is named), fitting (a
// part that counts only where damage is said of it), area (what damage to a
// whole end, side or corner means), position, harm, severity, event, depth (of
// water), negation, sound (said to be in order), hedge, unseen (nobody looked),
// repaired (put right since), class, count, extra, link, filler.
func Kinds() []string {
	names := make([]string, len(kinds))
	for i, k := range kinds {
		names[i] = k.name
	}
	return names
}

// kindNamed returns the kind of that name, 0 where there is none.
func kindNamed(name string) kind {
	for i, k := range kinds {
		if k.name == strings.ToLower(strings.TrimSpace(name)) {
			return 1 << i
		}
	}
	return 0
}

// row returns the kind's line of the table of kinds.
func (k kind) row() struct{ name, must, may string } {
	for i := range kinds {
		if k == 1<<i {
			return kinds[i]
		}
	}
	panic("listing: a set of kinds has no row")
}

func (k kind) String() string { return k.row().name }
