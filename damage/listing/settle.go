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

// counts reports whether the finding is of panels that are counted together: those of
// a part, or so many as the words say of an area.
func (f finding) counts() bool { return (f.panel != nil || f.count > 1) && f.body() }

// body reports whether the finding is seen damage of outer panels that polish
// does not cure.
func (f finding) body() bool {
	return f.mark.Class == damage.Cosmetic && f.mark.State == damage.Seen && f.mark.Grade >= 2
}

// A gathering is the damaged panels of one zone.
type gathering struct {
	// panels are how many of each part are to be repaired or replaced, painted how
	// many are to be painted or more.
	panels, painted map[*entry]int
	// broken are the parts that are broken.
	broken int
	// open is set where there are several of one part and nothing says how many, or how
	// bad they are.
	open bool
}

// sum adds up the panels.
func sum(panels map[*entry]int) (n int) {
	for _, k := range panels {
		n += k
	}
	return n
}

// Painted panels of one zone from which on replacing some of them is suspected, and
// at what percentage: grade 2 is the work of one panel. openPercent is that of
// doors of one side of which nothing says how many, or how bad they are.
const (
	manyPainted    = 3
	paintedPercent = 35
	openPercent    = 45
)

// gather raises panels that are damaged together: two panels of one zone are
// not repaired one by one (grade 3), a zone of which three or more are damaged,
// two of them broken, is grade 4. Three that are only painted may come to grade 3.
func (r *reader) gather() {
	zones := r.gathered()
	for _, c := range r.clues {
		for i, f := range c.findings {
			g := zones[f.mark.Zone]
			if g == nil || !f.counts() {
				continue
			}
			n := sum(g.panels)
			switch {
			case !f.painted && n >= 3 && g.broken >= 2:
				c.findings[i].mark.Grade = 4
			case !f.painted && n >= 2:
				c.findings[i].mark.Grade = max(f.mark.Grade, 3)
			case f.painted && f.mark.Grade == 2 && n+sum(g.painted) >= manyPainted:
				c.suspectPanels(f.mark.Zone, paintedPercent)
			case !f.painted && g.open:
				c.suspectPanels(f.mark.Zone, openPercent)
			}
		}
	}
}

// suspectPanels suspects that panels of the zone are to be replaced.
func (c *clue) suspectPanels(z damage.Zone, percent int) {
	f := newFinding(z, damage.Cosmetic, 3)
	f.suspect(percent, 0, condition{})
	c.findings = append(c.findings, f)
}

// gathered adds up the damaged panels of each zone.
func (r *reader) gathered() map[damage.Zone]*gathering {
	zones := map[damage.Zone]*gathering{}
	for _, c := range r.clues {
		for _, f := range c.findings {
			z := f.mark.Zone
			if !f.counts() || z == damage.Cabin {
				continue
			}
			g := zones[z]
			if g == nil {
				g = &gathering{panels: map[*entry]int{}, painted: map[*entry]int{}}
				zones[z] = g
			}
			panels := g.panels
			if f.painted {
				panels = g.painted
			}
			if !f.painted && panels[f.panel] == 0 && f.level >= 4 {
				g.broken++
			}
			several := f.count
			if f.open && several > 1 && !f.painted {
				g.open, several = true, 1
			}
			panels[f.panel] = max(panels[f.panel], several)
		}
	}
	return zones
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

// wheelCost says what an alloy is priced as.
const wheelCost = "the cost table has no row for a wheel alone: it counts as a panel of its corner"

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
		if c.terms.plays(wheel) && len(e.Marks) > 0 {
			e.Note = strings.TrimPrefix(e.Note+"; "+wheelCost, "; ")
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
