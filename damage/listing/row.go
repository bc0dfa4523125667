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
	// same words needs only the first of them.
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
	// Note says in words why.
	Note string
}

// A Fault is a row that cannot be used.
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

// A kind says what a word does in the grammar.
type kind uint8

const (
	noKind kind = iota
	part
	fitting
	area
	position
	harm
	severity
	event
	depth
	negation
	sound
	hedge
	unseen
	mended
	class
	count
	extra
	link
	filler
)

var kindNames = []string{
	part:     "part",
	fitting:  "fitting",
	area:     "area",
	position: "position",
	harm:     "harm",
	severity: "severity",
	event:    "event",
	depth:    "depth",
	negation: "negation",
	sound:    "sound",
	hedge:    "hedge",
	unseen:   "unseen",
	mended:   "mended",
	class:    "class",
	count:    "count",
	extra:    "extra",
	link:     "link",
	filler:   "filler",
}

// Kinds returns the kinds of row: part (damaged where it is named), fitting (a
// part that counts only where damage is said of it), area (what damage to a
// whole end, side or corner means), position, harm, severity, event, depth (of
// water), negation, sound (said to be in order), hedge, unseen (nobody looked),
// mended (put right since), class, count, extra, link, filler.
func Kinds() []string { return slices.Clone(kindNames[1:]) }

// A place is where a part sits before its position is known.
type place struct {
	// zone is fixed where generic is "".
	zone    damage.Zone
	generic string
}

// The generic places: end is a nose or a tail, front and rear a corner that is
// there unless said otherwise, side a side, corner any corner, leg a corner
// where a side is said and otherwise an end, bags the cabin with a grade that
// depends on which bags, hit wherever the car was hit, beside the zone of the
// part named before it, else the engine bay.
var generics = []string{"end", "front", "rear", "side", "corner", "leg", "bags", "hit", "beside"}

func parsePlace(text string) (place, error) {
	low := strings.ToLower(text)
	if slices.Contains(generics, low) {
		return place{generic: low}, nil
	}
	z, err := damage.ParseZone(low)
	if err != nil {
		return place{}, fmt.Errorf("%q is no place; write a zone such as nose, or one of %s", text, strings.Join(generics, ", "))
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
	position where
	number   int
	link     string
	column   string
	value    string
}

// needs says which columns a kind must fill and which it may.
var needs = map[kind]struct{ must, may string }{
	part:     {"means class grade", "level chance"},
	fitting:  {"means class grade", "level chance"},
	area:     {"class grade", "means level chance"},
	position: {"means", ""},
	harm:     {"", "class grade level chance"},
	severity: {"level", ""},
	event:    {"means class grade", "level chance"},
	depth:    {"level", ""},
	negation: {"", ""},
	sound:    {"", ""},
	hedge:    {"", "chance"},
	unseen:   {"chance", ""},
	mended:   {"", ""},
	class:    {"class", ""},
	count:    {"means", ""},
	extra:    {"means", ""},
	link:     {"means", ""},
	filler:   {"", ""},
}

func (r Row) fault(column, format string, args ...any) error {
	return &Fault{Line: r.Line, Column: column, Problem: fmt.Sprintf(format, args...)}
}

// parse reads the row's cells.
func (r Row) parse() (kind, sense, error) {
	k := kind(max(slices.Index(kindNames, strings.ToLower(strings.TrimSpace(r.Kind))), 0))
	if k == noKind {
		return 0, sense{}, r.fault("kind", "%q is not a kind; write one of %s", r.Kind, strings.Join(Kinds(), ", "))
	}
	must, may := strings.Fields(needs[k].must), strings.Fields(needs[k].may)
	for _, c := range r.columns() {
		switch {
		case c.text == "" && slices.Contains(must, c.name):
			return 0, sense{}, r.fault(c.name, "is blank; a %s needs it", kindNames[k])
		case c.text != "" && !slices.Contains(must, c.name) && !slices.Contains(may, c.name):
			return 0, sense{}, r.fault(c.name, "%q has no effect on a %s; leave it blank", c.text, kindNames[k])
		}
	}
	s, err := r.sense(k)
	return k, s, err
}

type column struct{ name, text string }

func (r Row) columns() []column {
	trim := strings.TrimSpace
	return []column{
		{"means", trim(r.Means)}, {"class", trim(r.Class)}, {"grade", trim(r.Grade)},
		{"level", trim(r.Level)}, {"chance", trim(r.Chance)},
	}
}

func (r Row) sense(k kind) (sense, error) {
	var s sense
	var err error
	for _, c := range r.columns() {
		if c.text == "" {
			continue
		}
		switch c.name {
		case "means":
			err = s.setMeans(k, c.text)
		case "class":
			s.class, err = damage.ParseClass(c.text)
			s.hasClass = true
		case "grade":
			var n int
			n, err = whole(c.text, 1, damage.GradeCount)
			s.grade = damage.Grade(n)
		case "level":
			s.level, err = whole(c.text, 1, 4)
		case "chance":
			s.percent, err = whole(c.text, 1, 99)
		}
		if err != nil {
			return s, r.fault(c.name, "%v", err)
		}
	}
	if k == harm && s.grade > 0 && !s.hasClass {
		return s, r.fault("class", "is blank; a harm with a grade needs the class of that grade")
	}
	return s, nil
}

func (s *sense) setMeans(k kind, text string) error {
	var err error
	switch k {
	case part, fitting, event, area:
		s.at, err = parsePlace(text)
		s.placed = true
		if err == nil && k == event && s.at.generic != "" {
			err = fmt.Errorf("%q moves about; an event needs a zone such as whole", text)
		}
	case position:
		s.position, err = parseWhere(text)
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
