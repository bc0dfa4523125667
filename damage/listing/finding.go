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
	panel *entry
	level int
	// count is how many panels the mark is of; open says that it may be fewer, or
	// little. painted is one whose paint alone is damaged.
	count         int
	open, painted bool
}

func newFinding(z damage.Zone, c damage.Class, g damage.Grade) finding {
	return finding{mark: damage.Mark{Item: damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}}}
}

// unsaidLevel is how bad damage is taken to be where nothing says so, when rows
// are chosen by it.
const unsaidLevel = 2

// addArea adds what the rows of its area say of a zone. Of damage all round only
// the panels are said, not what is behind each.
func (r *reader) addArea(c *clue, m *mention, at candidate, panelsOnly bool) {
	rows := r.lexicon.playing(areaRoles[at.zone], area).senses
	if panelsOnly {
		rows = rows[:1]
	}
	r.addSenses(c, m, at, rows)
}

// addSenses adds what the rows say of the zone at the level of the mention.
func (r *reader) addSenses(c *clue, m *mention, at candidate, rows []sense) {
	h := m.cond
	confined := h.confined && confines(h.class.class, rows[0].class)
	switch {
	case h.repaired:
		c.note = "said to be repaired"
		return
	case h.sound:
		c.ruleOut(m, at, rows[0], m.is(area))
		return
	}
	for i, row := range rows {
		zone, ok := m.zoneOf(row, rows[0], at)
		if !ok || row.level > orElse(h.level, unsaidLevel) || i > 0 && (confined || m.spares(row)) {
			continue
		}
		f := newFinding(zone, row.class, row.grade)
		f.said, f.level = row.percent == 0, h.level
		if i == 0 {
			f.ofPart(m, row, confined)
		}
		f.suspect(row.percent, at.guess, h)
		c.findings = append(c.findings, f)
	}
	c.addLeaning(h, at, rows, confined)
}

// ofPart makes it the finding of the part itself, which may be several panels.
func (f *finding) ofPart(m *mention, row sense, confined bool) {
	f.panel, f.count = m.entry, m.panelsAt()
	f.open = f.count > 1 && m.is(things) && (m.number < 2 || m.cond.level == 0)
	f.painted = confined && m.cond.class.class == damage.Cosmetic
	f.mark.Class, f.mark.Grade = m.ownMark(row, confined)
}

// addLeaning adds what the words of harm say beside the part: of the class that they are confined to, else of all that
// a blow there may reach.
func (c *clue) addLeaning(h condition, at candidate, rows []sense, confined bool) {
	if confined && !h.slight && rows[0].grade >= 2 {
		c.addHarms(h, at, func(s sense) bool { return s.class == h.class.class })
	}
	if !confined && rows[0].class != damage.Restraint && rows[0].class != damage.Electrical && at.zone.Impact() {
		c.addHarms(h, at, func(s sense) bool { return s.class != damage.Cosmetic })
	}
}

// spares reports whether what is behind the part, as the row has it, is out of
// reach of the harm: a slash through a roof bends no rail.
func (m *mention) spares(row sense) bool {
	return m.is(things) && m.cond.cut && row.class == damage.Structural
}

// panelsAt is how many panels of one zone the mention is of: "both nearside
// doors" are two, and so is "three panels" of a side three.
func (m *mention) panelsAt() int {
	switch {
	case m.is(area):
		return max(m.cond.panels, 1)
	case m.plural && m.generic() == anySide && !m.plays(window):
		return 2
	}
	return 1
}

// addHarms adds the marks that the words of harm give themselves, of those that
// count: what is pushed in leans on structure, what is scratched may need paint.
func (c *clue) addHarms(h condition, at candidate, counts func(sense) bool) {
	for _, s := range h.harms {
		if !counts(s) {
			continue
		}
		f := newFinding(at.zone, s.class, s.grade)
		f.level = h.level
		f.suspect(s.percent, at.guess, h)
		c.findings = append(c.findings, f)
	}
}

// zoneOf is the zone of a row's mark: of a row with a zone of its own, that zone.
// ok is false for an area's row that could be anywhere.
func (m *mention) zoneOf(row, first sense, at candidate) (z damage.Zone, ok bool) {
	switch {
	case m.is(area) && row.placed:
		return row.at.zone, row.at.generic == ""
	case !m.is(area) && row.at.generic == "" && row.at != first.at:
		return row.at.zone, true
	}
	return at.zone, true
}

// ownMark is the class and grade of the mention's own mark: of its row, or where
// a word confines the damage to another class, of that one.
func (m *mention) ownMark(row sense, confined bool) (damage.Class, damage.Grade) {
	if own := m.cond.class.class; confined && own != row.class {
		return own, max(damage.Grade(m.cond.level), 1)
	}
	return row.class, m.gradeOf(row)
}

// confines reports whether words that confine damage to class a can turn
// damage of class b into it: a scuffed sill is paint, a scuffed module is not.
func confines(a, b damage.Class) bool {
	return a == b || b == damage.Cosmetic || a == damage.Cosmetic && b != damage.Restraint && b != damage.Electrical
}

// defaultHedge is the chance, in percent, of a suspicion that is multiplied by
// another chance, where its own is not said.
const defaultHedge = 50

// suspect makes the finding suspected where anything about it is not certain.
func (f *finding) suspect(percent, guess int, h condition) {
	chance := 100
	if percent > 0 {
		chance = percent
		f.said = false
	}
	if guess > 0 {
		chance = min(chance, guess)
	}
	if h.hedged && h.percent == 0 && chance == 100 {
		f.mark.State = damage.Suspected
		return
	}
	if h.hedged {
		chance = max(chance*orElse(h.percent, defaultHedge)/100, 1)
	}
	if chance < 100 {
		f.mark.State, f.mark.Percent = damage.Suspected, chance
	}
}

// gradeOf is the grade of the part's own mark at the level that is said.
func (m *mention) gradeOf(row sense) damage.Grade {
	level, cosmetic := damage.Grade(m.cond.level), row.class == damage.Cosmetic
	switch {
	case row.class == damage.Restraint && m.isBags():
		return m.bagGrade(row.grade)
	case level == 0:
		return row.grade
	case m.plays(wheel) && m.cond.cracked:
		return 3
	case m.plays(replaced) && level >= 2:
		return row.grade
	case cosmetic:
		return m.cosmeticGrade(row, level)
	case row.class == damage.Structural && row.grade >= 2 && level >= 4:
		// "sill crushed"
		return min(row.grade+1, damage.GradeCount)
	}
	return row.grade
}

// cosmeticGrade is the cosmetic grade at a level: an area's as said, a small part's, however badly broken, 2 at most,
// one panel's 3.
func (m *mention) cosmeticGrade(row sense, level damage.Grade) damage.Grade {
	switch {
	case m.is(area):
		return level
	case row.grade == 1:
		return min(level, 2)
	}
	return min(level, 3)
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
	if m.terms.any(func(t term) bool { return t.is(count) && t.sense().number > 2 }) {
		g = 4
	}
	return g
}

// ruleOut adds what is said not to be there.
func (c *clue) ruleOut(m *mention, at candidate, row sense, isArea bool) {
	f := newFinding(at.zone, row.class, row.grade)
	f.said, f.mark.State = true, damage.Absent
	if m.cond.confined && confines(m.cond.class.class, row.class) {
		f.mark.Class, f.mark.Grade = m.cond.class.class, 1
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
