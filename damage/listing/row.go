package listing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wreckoner/damage"
)

// A Row is one row of the lexicon, its cells as written. A word may have
// several rows of one kind: it then gives several marks.
type Row struct {
	// Line is the row's line in its file, for messages. Zero leaves it out.
	Line int
	// Words are the ways to write it, separated by "|", such as
	// "bonnet|hood". A plural s need not be written. A further row for the
	// same words needs only one of them.
	Words string
	// Kind says what the words do: see Kinds.
	Kind string
	// Means is the place of a part, event or area, the sides and ends of a
	// position, the number of a count, what a link joins, or the lot's column
	// and value that an extra sets ("starts=no").
	Means string
	// Class is a class letter.
	Class string
	// Grade is the grade that the words give where no severity is said.
	Grade string
	// Level is how bad the words are, 1 to 4 (severity, harm, depth), or from
	// which level on the row counts (part, event, area). Blank is any.
	Level string
	// Chance, 1 to 99, makes the mark suspected at that percentage.
	Chance string
	// Role names what the grammar asks of the words beyond their kind.
	Role string
	// Note says in words why.
	Note string
}

// A Fault is a row that cannot be used, or one that is missing.
type Fault struct {
	// Line is the row's line in its file, 0 where it has none.
	Line int
	// Column is the offending column, in lower case.
	Column string
	// Problem says what was found and what to write.
	Problem string
}

func (f *Fault) Error() string {
	if f.Line > 0 {
		return fmt.Sprintf("line %d: %s: %s", f.Line, f.Column, f.Problem)
	}
	return f.Column + ": " + f.Problem
}

func (r Row) fault(column, format string, args ...any) error {
	return &Fault{Line: r.Line, Column: column, Problem: fmt.Sprintf(format, args...)}
}

// A place is where a part is before its position is known: a zone, or where
// generic is not blank, any of several.
type place struct {
	zone    damage.Zone
	generic string
}

// The generic places.
const (
	// anyEnd is the nose or the tail.
	anyEnd = "end"
	// frontCorner and rearCorner are corners that are there unless said otherwise.
	frontCorner = "front"
	rearCorner  = "rear"
	// anySide is a side, anyCorner any corner.
	anySide   = "side"
	anyCorner = "corner"
	// leg is a corner where a side is said, otherwise an end.
	leg = "leg"
	// bags is the cabin with a grade that depends on which bags.
	bags = "bags"
	// hitZone is wherever the car was hit.
	hitZone = "hit"
	// besideLast is the zone of the part named before it, else the engine bay.
	besideLast = "beside"
)

var generics = []string{anyEnd, frontCorner, rearCorner, anySide, anyCorner, leg, bags, hitZone, besideLast}

func parsePlace(text string) (place, error) {
	low := strings.ToLower(text)
	if slices.Contains(generics, low) {
		return place{generic: low}, nil
	}
	z, err := damage.ParseZone(low)
	if err != nil {
		return place{}, fmt.Errorf("%q is not a place; write a zone such as nose, or one of %s",
			text, strings.Join(generics, ", "))
	}
	return place{zone: z}, nil
}

// A sense is one row, parsed.
type sense struct {
	at       place
	placed   bool
	class    damage.Class
	hasClass bool
	grade    damage.Grade
	level    int
	percent  int
	position location
	number   int
	link     string
	column   string
	value    string
}

// parse reads the row's cells.
func (r Row) parse() (kind, role, sense, error) {
	k := kindNamed(r.Kind)
	if k == 0 {
		return 0, 0, sense{}, r.fault("kind", "%q is not a kind; write one of %s", r.Kind, strings.Join(Kinds(), ", "))
	}
	must, may := strings.Fields(k.row().must), strings.Fields(k.row().may)
	var s sense
	var played role
	for _, c := range []struct{ name, text string }{
		{"means", r.Means}, {"class", r.Class}, {"grade", r.Grade},
		{"level", r.Level}, {"chance", r.Chance}, {"role", r.Role},
	} {
		text := strings.TrimSpace(c.text)
		needed := slices.Contains(must, c.name)
		switch {
		case text == "" && needed:
			return 0, 0, s, r.fault(c.name, "is blank; a %s needs it", k)
		case text == "":
			continue
		case !needed && !slices.Contains(may, c.name):
			return 0, 0, s, r.fault(c.name, "%q has no effect on a %s; leave it blank", text, k)
		}
		var err error
		if c.name == "role" {
			played, err = parseRoles(text, k)
		} else {
			err = s.set(k, c.name, text)
		}
		if err != nil {
			return 0, 0, s, r.fault(c.name, "%v", err)
		}
	}
	if k == harm && s.grade > 0 && !s.hasClass {
		return 0, 0, s, r.fault("class", "is blank; a harm with a grade needs the class of that grade")
	}
	return k, played, s, nil
}

func (s *sense) set(k kind, column, text string) (err error) {
	switch column {
	case "means":
		return s.setMeans(k, text)
	case "class":
		s.class, err = damage.ParseClass(text)
		s.hasClass = true
	case "grade":
		var n int
		n, err = whole(text, 1, damage.GradeCount)
		s.grade = damage.Grade(n)
	case "level":
		s.level, err = whole(text, 1, 4)
	case "chance":
		s.percent, err = whole(text, 1, 99)
	}
	return err
}

func (s *sense) setMeans(k kind, text string) (err error) {
	switch k {
	case part, fitting, event, area:
		s.at, err = parsePlace(text)
		s.placed = true
		if err == nil && k == event && s.at.generic != "" {
			err = fmt.Errorf("%q is not one zone; an event needs a zone such as whole", text)
		}
	case positional:
		s.position, err = parseLocation(text)
	case count:
		s.number, err = whole(text, 1, 9)
	case link:
		s.link = strings.ToLower(text)
		if !slices.Contains([]string{"and", "or", "but", "to"}, s.link) {
			err = fmt.Errorf("%q joins nothing; write and, or, but or to", text)
		}
	case extra:
		var found bool
		s.column, s.value, found = strings.Cut(strings.ToLower(text), "=")
		if !found || s.column == "" || s.value == "" {
			err = fmt.Errorf("%q sets nothing; write a column of the lot list and its value, such as starts=no", text)
		}
	}
	return err
}

func whole(text string, low, high int) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < low || n > high {
		return 0, fmt.Errorf("%q is not a whole number from %d to %d", text, low, high)
	}
	return n, nil
}
