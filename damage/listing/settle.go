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
			panic("listing: marks that were weighed contradict each other: " + err.Error())
		}
	}
	return code, r.evidence(marks)
}

// isPanel reports whether the finding is that of a panel to be repaired or
// replaced.
func (f finding) isPanel() bool {
	return f.panel != nil && f.mark.Class == damage.Cosmetic && f.mark.State == damage.Seen && f.mark.Grade >= 2
}

// gather raises panels that are damaged together: two panels of one zone are
// not repaired one by one (grade 3), a zone of which three or more are damaged,
// two of them broken, is grade 4.
func (r *reader) gather() {
	panels := map[damage.Zone]map[*entry]bool{}
	broken := map[damage.Zone]int{}
	for _, c := range r.clues {
		for _, f := range c.findings {
			z := f.mark.Zone
			if !f.isPanel() || z == damage.Cabin {
				continue
			}
			if panels[z] == nil {
				panels[z] = map[*entry]bool{}
			}
			if !panels[z][f.panel] && f.level >= 4 {
				broken[z]++
			}
			panels[z][f.panel] = true
		}
	}
	for _, c := range r.clues {
		for i, f := range c.findings {
			n := len(panels[f.mark.Zone])
			switch {
			case !f.isPanel() || n < 2:
			case n >= 3 && broken[f.mark.Zone] >= 2:
				c.findings[i].mark.Grade = 4
			default:
				c.findings[i].mark.Grade = max(f.mark.Grade, 3)
			}
		}
	}
}

// weigh returns the marks of one spot that can be together: the worst seen
// grade, suspected grades above it, and the lowest absence above both. What was
// said outweighs what was inferred; damage outweighs its absence.
func weigh(findings []finding) []damage.Mark {
	if len(findings) == 0 {
		return nil
	}
	seen := worst(findings, func(f finding) bool { return f.mark.State == damage.Seen })
	floor := max(seen, worst(findings, func(f finding) bool { return f.mark.State == damage.Suspected && f.said }))
	var absent damage.Grade
	for _, f := range findings {
		if f.mark.State == damage.Absent && f.mark.Grade > floor && (absent == 0 || f.mark.Grade < absent) {
			absent = f.mark.Grade
		}
	}
	var marks []damage.Mark
	add := func(g damage.Grade, s damage.State, percent int) {
		item := damage.Item{Spot: findings[0].mark.Spot, Grade: g}
		marks = append(marks, damage.Mark{Item: item, State: s, Percent: percent})
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

// worst returns the highest grade of the findings that count, 0 where none does.
func worst(findings []finding, counts func(finding) bool) (g damage.Grade) {
	for _, f := range findings {
		if counts(f) {
			g = max(g, f.mark.Grade)
		}
	}
	return g
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

// evidence says what every clue gave to the marks that are in the code.
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
func (r *reader) fixed(ts terms) string {
	var parts []string
	for _, t := range ts {
		if t.fixed {
			parts = append(parts, fmt.Sprintf("%q read as %s", r.words(terms{t}), t.key))
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
