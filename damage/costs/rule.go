package costs

import (
	"strings"

	"wreckoner/damage"
)

// Rules of hidden damage: what they are, and when they apply to a car (METHOD.md 4.3).

// A Rule says that damage which was found makes other damage likely.
type Rule struct {
	// When is the trigger, its grade the lowest that fires. Its zone counts
	// only where AnyZone is false.
	When    damage.Item
	AnyZone bool
	// Then is what becomes likely. Its zone counts only where Same is false;
	// otherwise it is the trigger's.
	Then damage.Item
	Same bool
	// Segment is the only kind of car that the rule is for; "" is any.
	Segment string
	// Chance of it, above 0 and at most 1.
	Chance float64
	// Seen is how many builds stand behind the chance.
	Seen float64
	// Why says in a sentence how the one brings the other.
	Why string
}

// Name prints the rule: "nose s2 -> bay m1", "under s2 -> under e4
// (electric)".
func (r Rule) Name() string {
	name := itemName(r.AnyZone, "*", r.When) + " -> " + itemName(r.Same, "same", r.Then)
	if r.Segment != "" {
		name += " (" + r.Segment + ")"
	}
	return name
}

// then returns what the rule makes likely when it is fired in a zone.
func (r *Rule) then(zone damage.Zone) damage.Item {
	item := r.Then
	if r.Same {
		item.Zone = zone
	}
	return item
}

// A Trigger is a spot with coded damage that can bring a hidden candidate. One
// rule applies in a world, by the highest grade that occurs at the spot.
type Trigger struct {
	Spot damage.Spot
	// Rule is the number of the rule that applies when the highest coded grade
	// that occurs at the spot is the index; -1 where none does.
	Rule [damage.GradeCount + 1]int
	// Chance is that rule's, 0 where none applies.
	Chance [damage.GradeCount + 1]float64
}

// hidden appends the candidates that rules add.
func (b *Table) hidden(c Case, segment string, spots *[damage.SpotCount]spot) Case {
	first := len(c)
	var room []Trigger // few candidates have more than one
	for i := range spots {
		s, at := &spots[i], damage.SpotAt(i)
		if s.worst == 0 {
			continue
		}
		for _, n := range b.firing[i] {
			r := &b.rules[n]
			if r.When.Grade > s.worst || r.Segment != "" && !strings.EqualFold(r.Segment, segment) {
				continue
			}
			then := r.then(at.Zone)
			o := &spots[then.Spot.Index()]
			if then.Grade <= o.seen || o.coded[then.Grade] || o.absent > 0 && then.Grade >= o.absent {
				continue
			}
			k := first
			for k < len(c) && c[k].Item != then {
				k++
			}
			if k == len(c) {
				if len(room) == 0 {
					room = make([]Trigger, 8)
				}
				c = append(c, Candidate{Item: then, Kind: Hidden, Triggers: room[:0:1]})
				room = room[1:]
			}
			b.fire(&c[k], at, n, s)
		}
	}
	return c
}

// fire adds rule n, triggered at a spot, to a hidden candidate: spot by spot, so
// that a spot's trigger is the last. Of the rules that match the highest grade
// that occurs, the one of the spot's own zone comes before that of any zone, then
// the one with the highest grade, then the one for the car's own segment
// (METHOD.md 4.3).
func (b *Table) fire(c *Candidate, at damage.Spot, n int, s *spot) {
	if k := len(c.Triggers); k == 0 || c.Triggers[k-1].Spot != at {
		c.Triggers = append(c.Triggers, Trigger{Spot: at, Rule: [damage.GradeCount + 1]int{-1, -1, -1, -1, -1}})
	}
	t, r := &c.Triggers[len(c.Triggers)-1], &b.rules[n]
	for g := max(r.When.Grade, s.seen); g <= s.worst; g++ {
		if s.coded[g] && (t.Rule[g] < 0 || r.before(&b.rules[t.Rule[g]])) {
			t.Rule[g], t.Chance[g] = n, r.Chance
		}
	}
}

// before reports whether r applies rather than o where both match.
func (r *Rule) before(o *Rule) bool {
	if r.AnyZone != o.AnyZone {
		return o.AnyZone
	}
	if r.When.Grade != o.When.Grade {
		return r.When.Grade > o.When.Grade
	}
	return r.Segment != "" && o.Segment == ""
}
