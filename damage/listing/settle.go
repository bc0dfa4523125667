package listing

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
)

// settle weighs the findings against each other, spot by spot, and returns the
// code and what each clue gave to it.
func (r *reader) settle() (damage.Code, []Evidence) {
	r.gather()
	bySpot := map[damage.Spot][]finding{}
	for _, c := range r.clues {
		for _, f := range c.findings {
			bySpot[f.mark.Spot] = append(bySpot[f.mark.Spot], f)
		}
	}
	var marks []damage.Mark
	for _, z := range damage.Zones() {
		for _, k := range damage.Classes() {
			marks = append(marks, weigh(bySpot[damage.Spot{Zone: z, Class: k}])...)
		}
	}
	var code damage.Code
	if len(marks) > 0 {
		var err error
		if code, err = damage.NewCode(marks...); err != nil {
			panic("words: marks that were weighed contradict each other: " + err.Error())
		}
	}
	return code, r.evidence(marks)
}

// gather raises panels that are damaged together: two panels of one zone are
// not repaired one by one (grade 3), a zone whose panels are all broken is
// grade 4.
func (r *reader) gather() {
	type seen struct {
		panels map[string]bool
		hard   int
	}
	zones := map[damage.Zone]*seen{}
	counts := func(f finding) bool {
		return f.panel != "" && !f.area && f.mark.Class == damage.Cosmetic && f.mark.State == damage.Seen && f.mark.Grade >= 2
	}
	for _, c := range r.clues {
		for _, f := range c.findings {
			if !counts(f) {
				continue
			}
			s := zones[f.mark.Zone]
			if s == nil {
				s = &seen{panels: map[string]bool{}}
				zones[f.mark.Zone] = s
			}
			if !s.panels[f.panel] && f.level >= 4 {
				s.hard++
			}
			s.panels[f.panel] = true
		}
	}
	for _, c := range r.clues {
		for i, f := range c.findings {
			s := zones[f.mark.Zone]
			if !counts(f) || s == nil || len(s.panels) < 2 || f.mark.Zone == damage.Cabin {
				continue
			}
			c.findings[i].mark.Grade = max(f.mark.Grade, 3)
			if len(s.panels) >= 3 && s.hard >= 2 {
				c.findings[i].mark.Grade = 4
			}
		}
	}
}

// weigh returns the marks of one spot that can stand together: the worst seen
// grade, suspected grades above it, and the lowest absence above both. What was
// said outweighs what was inferred; damage outweighs its absence.
func weigh(findings []finding) []damage.Mark {
	if len(findings) == 0 {
		return nil
	}
	var seen damage.Grade
	for _, f := range findings {
		if f.mark.State == damage.Seen {
			seen = max(seen, f.mark.Grade)
		}
	}
	floor := seen
	for _, f := range findings {
		if f.mark.State == damage.Suspected && f.said {
			floor = max(floor, f.mark.Grade)
		}
	}
	var absent damage.Grade
	for _, f := range findings {
		if f.mark.State == damage.Absent && f.mark.Grade > floor && (absent == 0 || f.mark.Grade < absent) {
			absent = f.mark.Grade
		}
	}
	spot := findings[0].mark.Spot
	var marks []damage.Mark
	add := func(g damage.Grade, s damage.State, percent int) {
		marks = append(marks, damage.Mark{Item: damage.Item{Spot: spot, Grade: g}, State: s, Percent: percent})
	}
	if seen > 0 {
		add(seen, damage.Seen, 0)
	}
	for g := seen + 1; g.Valid() && (absent == 0 || g < absent); g++ {
		if percent, ok := chance(findings, g); ok {
			add(g, damage.Suspected, percent)
		}
	}
	if absent > 0 {
		add(absent, damage.Absent, 0)
	}
	return marks
}

// chance returns the chance of a suspected grade: that of the surest words,
// said before inferred.
func chance(findings []finding, g damage.Grade) (int, bool) {
	percent, found, said := 0, false, false
	for _, f := range findings {
		if f.mark.State != damage.Suspected || f.mark.Grade != g {
			continue
		}
		switch {
		case !found || f.said && !said:
			percent, found, said = f.mark.Percent, true, f.said
		case f.said == said:
			percent = max(percent, f.mark.Percent)
		}
	}
	return percent, found
}

// evidence says what every clue gave to the marks that stand.
func (r *reader) evidence(marks []damage.Mark) []Evidence {
	out := make([]Evidence, 0, len(r.clues))
	slices.SortStableFunc(r.clues, func(a, b *clue) int { return a.start() - b.start() })
	for _, c := range r.clues {
		e := Evidence{Words: r.words(c.terms), Note: c.note}
		lost := ""
		for _, f := range c.findings {
			at := slices.IndexFunc(marks, func(m damage.Mark) bool {
				return m.Item == f.mark.Item && m.State == f.mark.State
			})
			switch {
			case at >= 0 && !slices.Contains(e.Marks, marks[at]):
				e.Marks = append(e.Marks, marks[at])
			case at < 0 && lost == "":
				lost = f.mark.Zone.String() + " " + f.mark.String()
			}
		}
		if e.Note == "" && lost != "" {
			e.Note = lost + " outweighed by other words"
		}
		if fixed := r.fixed(c.terms); fixed != "" {
			e.Note = strings.TrimPrefix(e.Note+"; "+fixed, "; ")
		}
		out = append(out, e)
	}
	return out
}

// fixed says which words were read as others.
func (r *reader) fixed(terms []term) string {
	var parts []string
	for _, t := range terms {
		if t.fixed {
			parts = append(parts, fmt.Sprintf("%q read as %s", r.words([]term{t}), t.key))
		}
	}
	return strings.Join(slices.Compact(parts), ", ")
}

func (c *clue) start() int {
	first := 0
	for i, t := range c.terms {
		if i == 0 || t.from < first {
			first = t.from
		}
	}
	return first
}
