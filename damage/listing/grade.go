package listing

import (
	"wreckoner/damage"
)

// A finding is a mark that some words gave, before the marks are weighed
// against each other.
type finding struct {
	mark damage.Mark
	// said is false for what is only inferred.
	said bool
	// panel is the part, where the mark is a panel's own.
	panel string
	level int
	area  bool
}

// senses adds what the rows say of the zone at the level of the mention.
func (r *reader) senses(c *clue, m *mention, at site, rows []sense, isArea bool) {
	h := m.hurt
	if h.mended {
		c.note = "said to have been put right"
		return
	}
	if h.ruled {
		r.rule(c, m, at, rows[0], isArea)
		return
	}
	level := h.level
	confined := h.confined && confines(h.class.class, rows[0].class)
	reached := level
	if reached == 0 {
		reached = 2
	}
	for i, row := range rows {
		zone := at.zone
		if i > 0 && row.at.generic == "" && !isArea && rows[0].at != row.at {
			zone = row.at.zone
		}
		if isArea && row.placed {
			// An area row may reach a neighbour.
			zone = row.at.zone
			if row.at.generic != "" {
				continue
			}
		}
		if row.level > reached || i > 0 && confined {
			continue
		}
		f := finding{said: row.percent == 0, level: level, area: isArea}
		f.mark.Zone, f.mark.Class, f.mark.Grade = zone, row.class, row.grade
		if i == 0 {
			f.panel = c.name(m)
			f.mark.Grade = m.gradeOf(row, level, isArea)
			if confined {
				f.mark.Class = h.class.class
				f.mark.Grade = max(damage.Grade(level), 1)
				if h.class.class == rows[0].class {
					f.mark.Grade = m.gradeOf(row, level, isArea)
				}
			}
		}
		f.suspect(row.percent, at.guess, h)
		c.findings = append(c.findings, f)
	}
	if confined {
		return
	}
	for _, s := range h.harms {
		if rows[0].class == damage.Restraint || rows[0].class == damage.Electrical || !at.zone.Impact() {
			continue
		}
		f := finding{level: level}
		f.mark.Zone, f.mark.Class, f.mark.Grade = at.zone, s.class, s.grade
		f.suspect(s.percent, at.guess, h)
		c.findings = append(c.findings, f)
	}
}

// confines reports whether words that confine damage to class a can turn
// damage of class b into it: a scuffed sill is paint, a scuffed module is not.
func confines(a, b damage.Class) bool {
	return a == b || b == damage.Cosmetic || a == damage.Cosmetic && b != damage.Restraint && b != damage.Electrical
}

// suspect makes the finding suspected where anything about it is not certain.
func (f *finding) suspect(percent, guess int, h hurt) {
	chance := 100
	if percent > 0 {
		chance = percent
		f.said = false
	}
	if guess > 0 {
		chance = min(chance, guess)
	}
	if h.hedged {
		hedge := h.percent
		if hedge == 0 && chance == 100 {
			f.mark.State = damage.Suspected
			return
		}
		if hedge == 0 {
			hedge = defaultHedge
		}
		chance = max(chance*hedge/100, 1)
	}
	if chance < 100 {
		f.mark.State, f.mark.Percent = damage.Suspected, chance
	}
}

// defaultHedge stands for the shop's default chance where it is multiplied.
const defaultHedge = 50

// gradeOf is the grade of the part's own mark at a level.
func (m *mention) gradeOf(row sense, level int, isArea bool) damage.Grade {
	g := row.grade
	switch {
	case row.class == damage.Restraint && m.isBags():
		return m.bagGrade(g)
	case level == 0:
		return g
	case row.class == damage.Cosmetic && isArea:
		return damage.Grade(level)
	case row.class == damage.Cosmetic && g == 1:
		// A small part, however badly broken.
		return damage.Grade(min(level, 2))
	case row.class == damage.Cosmetic:
		return damage.Grade(min(level, 3))
	case row.class == damage.Structural && g >= 2 && level >= 4:
		return min(g+1, damage.GradeCount)
	}
	return g
}

// bagGrade is the restraint grade of the bags that are named.
func (m *mention) bagGrade(g damage.Grade) damage.Grade {
	for _, w := range m.at {
		switch {
		case w.all:
			g = 4
		case w.side != 0 && !w.seat || w.flank || w.end&rear != 0:
			g = max(g, 3)
		}
	}
	for _, t := range m.terms {
		if t.is(count) && t.first().number > 2 {
			g = 4
		}
	}
	return g
}

// rule adds what is said not to be there.
func (r *reader) rule(c *clue, m *mention, at site, row sense, isArea bool) {
	f := finding{said: true}
	f.mark.Zone, f.mark.Class, f.mark.Grade, f.mark.State = at.zone, row.class, row.grade, damage.Absent
	if m.hurt.confined && confines(m.hurt.class.class, row.class) {
		f.mark.Class = m.hurt.class.class
		f.mark.Grade = 1
	}
	if row.class == damage.Cosmetic {
		// A single panel in order says nothing of small marks beside it.
		f.mark.Grade = 2
		if isArea || at.zone == damage.Roof || at.zone == damage.Cabin {
			f.mark.Grade = 1
		}
	}
	if at.guess > 0 && !m.plural {
		f.mark.Grade = min(f.mark.Grade+1, damage.GradeCount)
	}
	c.findings = append(c.findings, f)
}
