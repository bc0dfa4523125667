package damage

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A State says how a mark came about.
type State uint8

const (
	// Seen damage is certain.
	Seen State = iota
	// Suspected damage is there with a chance.
	Suspected
	// Absent damage was looked for and is not there: nothing of that spot at
	// that grade or above is added.
	Absent
)

// A Mark is one finding.
type Mark struct {
	Item
	State State
	// Percent is the chance of a suspected mark, 1 to 99. Zero means the
	// shop's default chance. It is zero for the other states.
	Percent int
}

// String prints the mark without its zone: "s2", "s3?", "r2?70", "m1-".
func (m Mark) String() string {
	text := m.Mark()
	switch {
	case m.State == Absent:
		return text + "-"
	case m.State == Suspected && m.Percent > 0:
		return text + "?" + strconv.Itoa(m.Percent)
	case m.State == Suspected:
		return text + "?"
	}
	return text
}

// A Code is what was found on one car. The zero Code is uncoded: nobody has
// said anything, which is not the same as an undamaged car (None).
type Code struct {
	marks []Mark
	coded bool
}

// None is the code of a car that was looked at and is undamaged.
func None() Code { return Code{coded: true} }

// Coded reports whether anything was said of the car at all.
func (c Code) Coded() bool { return c.coded }

// Marks returns the marks in printing order. The slice is the caller's.
func (c Code) Marks() []Mark { return slices.Clone(c.marks) }

// String prints the code in canonical form; Parse reads it back. An uncoded
// car prints as "", an undamaged one as "none".
func (c Code) String() string {
	if c.coded && len(c.marks) == 0 {
		return "none"
	}
	var b strings.Builder
	b.Grow(16 * len(c.marks)) // as much as most take
	for i, m := range c.marks {
		switch {
		case i == 0:
			b.WriteString(m.Zone.String())
		case m.Zone != c.marks[i-1].Zone:
			b.WriteString("; ")
			b.WriteString(m.Zone.String())
		}
		b.WriteByte(' ')
		b.WriteString(m.String())
	}
	return b.String()
}

// NewCode returns the code made of the marks, in any order. It fails where the
// marks contradict each other, as Parse does.
func NewCode(marks ...Mark) (Code, error) {
	for i, m := range marks {
		if err := conflict(marks[:i], m); err != nil {
			return Code{}, err
		}
	}
	return canonical(slices.Clone(marks)), nil
}

// canonical returns the code of the marks, which it keeps and sorts.
func canonical(marks []Mark) Code {
	slices.SortFunc(marks, func(a, b Mark) int {
		return cmp.Or(cmp.Compare(a.Index(), b.Index()), cmp.Compare(a.State, b.State))
	})
	return Code{marks: marks, coded: true}
}

// A SyntaxError says what is wrong with a damage code, and where.
type SyntaxError struct {
	// Code is the whole text that was read.
	Code string
	// Offset is the byte in Code where the offending word starts.
	Offset int
	// Text is the offending text with its zone, as to be shown.
	Text string
	// Problem says what is wrong and what to write instead.
	Problem string
	// NoZone says that the text stands where a zone should and names none.
	NoZone bool
}

func (e *SyntaxError) Error() string {
	if e.Offset > 0 && e.Text != e.Code {
		return fmt.Sprintf("%q at character %d: %s", e.Text, len([]rune(e.Code[:e.Offset]))+1, e.Problem)
	}
	return fmt.Sprintf("%q: %s", e.Text, e.Problem)
}

// Parse reads a damage code:
//
//	damage = "none" / group *( ";" group )
//	group  = zone 1*( mark )
//	mark   = class grade [ "?" [ percent ] / "-" ]
//
// This is METHOD.md 2.1. Case does not matter; commas, colons and slashes act as spaces; a zone
// written twice is merged. Blank text is the uncoded zero Code. Any fault is a
// *SyntaxError.
func Parse(text string) (Code, error) {
	p := parser{text: text}
	return p.code()
}

type parser struct {
	text string
	at   int
}

func (p *parser) fail(offset int, shown, format string, args ...any) error {
	return &SyntaxError{Code: p.text, Offset: offset, Text: strings.TrimSpace(shown), Problem: fmt.Sprintf(format,
		args...)}
}

// word returns the next word in lower case and its offset, "" at the end.
// A semicolon is a word of its own.
func (p *parser) word() (string, int) {
	for p.at < len(p.text) && isSpace(p.text[p.at]) {
		p.at++
	}
	start := p.at
	if p.at < len(p.text) && p.text[p.at] == ';' {
		p.at++
		return ";", start
	}
	for p.at < len(p.text) && !isSpace(p.text[p.at]) && p.text[p.at] != ';' {
		p.at++
	}
	return strings.ToLower(p.text[start:p.at]), start
}

func isSpace(b byte) bool {
	switch b {
	case ' ', '\t', '\r', '\n', '\v', '\f', ',', ':', '/':
		return true
	}
	return false
}

// code reads the whole text.
func (p *parser) code() (Code, error) {
	var marks []Mark
	var zone Zone
	inGroup, bare, groups := false, false, 0
	zoneAt := 0
	for {
		word, at := p.word()
		switch {
		case word == "" || word == ";":
			if bare {
				return Code{}, p.fail(zoneAt, zone.String(), "a zone needs at least one mark after it, such as %q",
					zone.String()+" c2")
			}
			if word == "" {
				return whole(marks, groups), nil
			}
			inGroup = false
		case !inGroup && word == "none":
			next, _ := p.word()
			if groups > 0 || next != "" {
				return Code{}, p.fail(at, "none", "none means the car is undamaged, and is written alone")
			}
			return None(), nil
		case !inGroup:
			z, err := p.zone(word, at)
			if err != nil {
				return Code{}, err
			}
			zone, zoneAt, inGroup, bare = z, at, true, true
			groups++
		default:
			m, err := p.mark(word, at, zone, marks)
			if err != nil {
				return Code{}, err
			}
			marks = append(marks, m)
			bare = false
		}
	}
}

// whole returns the code of the marks of so many groups; without groups nothing was coded.
func whole(marks []Mark, groups int) Code {
	if groups == 0 {
		return Code{}
	}
	return canonical(marks)
}

// zone reads the word at an offset as the zone that a group begins with.
func (p *parser) zone(word string, at int) (Zone, error) {
	if z, ok := zoneNamed(strings.TrimSpace(word)); ok {
		return z, nil
	}
	if _, err := parseMark(word); err == nil {
		return 0, p.fail(at, word, "a mark needs its zone first, such as %q", "nose "+word)
	}
	return 0, &SyntaxError{Code: p.text, Offset: at, Text: strings.TrimSpace(p.text[at:p.at]),
		Problem: fmt.Sprintf("not a zone; write one of %s", zoneNames()), NoZone: true}
}

// mark reads the word at an offset as a mark of a zone, after the marks before it.
func (p *parser) mark(word string, at int, zone Zone, before []Mark) (Mark, error) {
	if _, ok := zoneNamed(strings.TrimSpace(word)); ok {
		return Mark{}, p.fail(at, word, "put ; before the next zone")
	}
	m, err := parseMark(word)
	if m.Zone = zone; err == nil {
		err = conflict(before, m)
	}
	if err != nil {
		return Mark{}, p.fail(at, zone.String()+" "+p.text[at:p.at], "%v", err)
	}
	return m, nil
}

// parseMark reads one mark in lower case. Its zone is left at zero.
func parseMark(word string) (Mark, error) {
	class, ok := classLettered(word[:1])
	rest := strings.TrimLeft(word[1:], "0123456789")
	upTo := word[:len(word)-len(rest)] // the letter and the grade
	if !ok || len(upTo) < 2 {
		return Mark{}, fmt.Errorf("not a mark; write a class s, c, r, m or e and a grade, such as c2, c2?, c2?70 or c2-")
	}
	grade, err := strconv.Atoi(upTo[1:])
	if err != nil || grade < 1 || grade > GradeCount {
		return Mark{}, fmt.Errorf("%s grades run from 1 to 4 (wreckoner codes lists them)", class)
	}
	m := Mark{Item: Item{Spot{Class: class}, Grade(grade)}}
	percent, suspected := strings.CutPrefix(rest, "?")
	switch {
	case rest == "":
	case rest == "-":
		m.State = Absent
	case suspected && percent == "":
		m.State = Suspected
	case suspected:
		m.State = Suspected
		m.Percent, err = strconv.Atoi(percent)
		if err != nil || m.Percent < 1 || m.Percent > 99 || percent[0] == '+' {
			return Mark{}, fmt.Errorf("a chance is a whole percentage from 1 to 99, such as %s?70; leave ? off for what was "+
				"seen", upTo)
		}
	default:
		return Mark{}, fmt.Errorf("after the grade write nothing, ?, ? with a percentage, or -")
	}
	return m, nil
}

// conflict says why m does not fit with the marks before it.
func conflict(marks []Mark, m Mark) error {
	for _, o := range marks {
		if o.Spot != m.Spot {
			continue
		}
		if err := conflictOf(o, m); err != nil {
			return err
		}
	}
	return nil
}

// conflictOf says why m does not fit with o, a mark of the same spot before it.
func conflictOf(o, m Mark) error {
	low, high := o, m
	if high.Grade < low.Grade {
		low, high = m, o
	}
	same := o.Grade == m.Grade
	switch {
	case same && o.State == m.State:
		return fmt.Errorf("%s is written twice for the %s; keep one", m.Mark(), m.Zone)
	case o.State == Seen && m.State == Seen:
		return fmt.Errorf("the %s already has %s seen; only the worst seen grade of a class is written", m.Zone, o)
	case o.State == Absent && m.State == Absent:
		return fmt.Errorf("%s already says that nothing above it is there; keep the lower of the two", low)
	case low.State == Absent || same && high.State == Absent:
		absent, coded := low, high
		if absent.State != Absent {
			absent, coded = high, low
		}
		return fmt.Errorf("%s says that nothing at that grade or above is there, but %s is coded too; drop one", absent,
			coded)
	case same || high.State == Seen && low.State == Suspected:
		return fmt.Errorf("a suspected grade at or below the seen one changes nothing; keep only the seen one")
	}
	return nil
}
