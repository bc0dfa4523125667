package listing

import (
	"slices"

	"wreckoner/damage"
)

// hitPart places "structural damage" and its like: where it is said, else
// later, where the car was hit.
func (r *reader) hitPart(c *clue, m *mention, p parsed, j int) {
	at := m.at
	if len(at) == 0 {
		// The position of an area in the same sentence, if it has one.
		for _, o := range p.mentions {
			if o.kind == area && !o.hurt.ruled && !m.hurt.ruled {
				at = o.at
			}
		}
	}
	if len(at) == 0 {
		c.hit = m
		return
	}
	for _, w := range at {
		for _, s := range w.sites(r.nearby(p, j)) {
			r.part(c, m, s)
		}
	}
}

// placeHits places what belongs where the car was hit.
func (r *reader) placeHits() {
	hits := r.hits()
	for _, c := range r.clues {
		m := c.hit
		if m == nil {
			continue
		}
		row := m.entry.first()
		switch {
		case m.hurt.ruled:
			for _, z := range hits {
				r.rule(c, m, site{zone: z}, row, false)
			}
			if len(hits) == 0 {
				c.note = "no damage is said that it could belong to"
			}
		case len(hits) > 0:
			r.part(c, m, site{zone: hits[0]})
			c.note = "placed where the car was hit worst"
		default:
			r.part(c, m, site{zone: damage.Nose, guess: guessPercent})
			r.part(c, m, site{zone: damage.Tail, guess: 30})
			c.note = "no zone is said"
		}
	}
}

// hits are the zones of sheet metal that were hit, the worst first, of equals
// the one that is spoken of first.
func (r *reader) hits() []damage.Zone {
	worst := map[damage.Zone]damage.Grade{}
	var zones []damage.Zone
	for _, c := range r.clues {
		for _, f := range c.findings {
			m := f.mark
			if m.State == damage.Absent || !f.said || !m.Zone.Impact() || m.Class == damage.Restraint || m.Class == damage.Electrical {
				continue
			}
			if worst[m.Zone] == 0 {
				zones = append(zones, m.Zone)
			}
			worst[m.Zone] = max(worst[m.Zone], m.Grade)
		}
	}
	slices.SortStableFunc(zones, func(a, b damage.Zone) int { return int(worst[b]) - int(worst[a]) })
	return zones
}
