package costs

import (
	"cmp"
	"fmt"
	"slices"

	"wreckoner/damage"
)

// A Kind says how a candidate came about.
type Kind uint8

const (
	// Seen: the code has it as a certainty.
	Seen Kind = iota
	// Suspected: the code has it with a chance.
	Suspected
	// Hidden: nobody coded it; a rule makes it likely.
	Hidden
	// Misread: the grade beside one that was seen, since a seen mark is not certain.
	Misread
)

func (k Kind) String() string { return [...]string{"seen", "suspected", "hidden", "misread"}[k] }

// A Candidate is one thing that may be wrong with a car.
type Candidate struct {
	damage.Item
	Kind Kind
	// Chance of a seen candidate is 1 unless the mark may be one grade too high; of a
	// suspected one, its own. A hidden candidate's chance depends on which of its triggers
	// occur. That of a misread one is 1 for the lesser grade, which is there at least.
	Chance float64
	// Step is the chance of a hidden candidate by itself: that the mark seen one grade
	// below it is too low. It hangs on nothing; nor do the chances of what was seen and misread.
	Step float64
	// Triggers of a hidden candidate, one for each spot that can bring it.
	// Chances of several combine as noisy-or.
	Triggers []Trigger
	// Row is the number of the book row that prices it.
	Row int
	// Scale multiplies the row's spend on this car, beside the segment's multiplier; 0
	// stands for 1. Quote, where not nil, takes the place of the row's amounts.
	Scale float64
	Quote *Quote
}

// A Case is everything that may be wrong with one car, by item in ascending
// order of its index.
type Case []Candidate

// A Finding is a mark of the code with the chance that it is there.
type Finding struct {
	damage.Item
	State  damage.State
	Chance float64
	// Down and Up are the chances that a seen mark is one grade less, or more, than was
	// written; each at most 0.95.
	Down, Up float64
}

// Findings returns the marks of a code, suspected ones without a percentage at
// the chance given.
func Findings(code damage.Code, suspected float64) []Finding {
	marks := code.Marks()
	found := make([]Finding, len(marks))
	for i, m := range marks {
		found[i] = Finding{Item: m.Item, State: m.State}
		switch {
		case m.State == damage.Seen:
			found[i].Chance = 1
		case m.State == damage.Suspected && m.Percent > 0:
			found[i].Chance = float64(m.Percent) / 100
		case m.State == damage.Suspected:
			found[i].Chance = suspected
		}
	}
	return found
}

// spot is what the code says of one spot.
type spot struct {
	coded  [damage.GradeCount + 1]bool // seen or suspected
	worst  damage.Grade                // highest grade coded, 0 for none
	seen   damage.Grade                // 0 for none
	absent damage.Grade                // lowest grade ruled out, 0 for none
	// of the seen grade
	down, up float64
}

// Case returns the candidates of a car of a segment on which these things were
// found, and those which they make likely. It fails where the book has no row
// for one.
func (b *Table) Case(segment string, found []Finding) (Case, error) {
	var spots [damage.SpotCount]spot
	c := make(Case, 0, len(found)+16) // few cars have more hidden
	for _, f := range found {
		s := &spots[f.Spot.Index()]
		if f.State == damage.Absent {
			s.absent = f.Grade
			continue
		}
		x := Candidate{Item: f.Item, Kind: Suspected, Chance: f.Chance}
		if f.State == damage.Seen {
			s.seen, s.down, s.up = f.Grade, f.Down, f.Up
			x.Kind, x.Chance = Seen, 1
		}
		s.coded[f.Grade] = true
		s.worst = max(s.worst, f.Grade)
		c = append(c, x)
	}
	marks := len(c)
	c = b.hidden(c, segment, &spots)
	c = misread(c, marks, &spots)
	slices.SortFunc(c, func(a, b Candidate) int { return cmp.Compare(a.Index(), b.Index()) })
	for i := range c {
		row, ok := b.RowOf(c[i].Item)
		if !ok {
			return nil, fmt.Errorf("the cost table has no row for %q; add one to costs.csv, or one with zone * for every zone",
				c[i].Item)
		}
		c[i].Row = row
	}
	return c, nil
}

// misread appends the grades beside those that were seen among the first marks
// candidates. At grade 1 something was seen, so that there is nothing less; where a worse
// grade has a chance of its own or is ruled out, there is nothing more.
func misread(c Case, marks int, spots *[damage.SpotCount]spot) Case {
	for i := range marks {
		s, g := &spots[c[i].Spot.Index()], c[i].Grade
		if c[i].Kind != Seen {
			continue
		}
		if 1-s.down < 1 && g > 1 { // else it is as good as certain
			c[i].Chance = 1 - s.down
			c = append(c, Candidate{Item: damage.Item{Spot: c[i].Spot, Grade: g - 1}, Kind: Misread, Chance: 1})
		}
		more := damage.Item{Spot: c[i].Spot, Grade: g + 1}
		if s.up == 0 || !more.Grade.Valid() || s.coded[more.Grade] || s.absent > 0 && more.Grade >= s.absent {
			continue
		}
		if k := slices.IndexFunc(c, func(x Candidate) bool { return x.Item == more }); k >= 0 {
			c[k].Step = s.up // a rule leads there too: either makes it so
			continue
		}
		c = append(c, Candidate{Item: more, Kind: Misread, Chance: s.up})
	}
	return c
}

// WithOdds returns the case with every suspected and hidden chance p moved to
// k p / (1 - p + k p): k times the odds. k is 0 or above. What is certain stays so.
func (c Case) WithOdds(k float64) Case {
	shift := func(p float64) float64 {
		if p == 1 { // 0 times its odds is no number
			return 1
		}
		return k * p / (1 - p + k*p)
	}
	moved := slices.Clone(c)
	for i := range moved {
		if moved[i].Kind == Suspected {
			moved[i].Chance = shift(moved[i].Chance)
		}
		moved[i].Triggers = slices.Clone(moved[i].Triggers)
		for t := range moved[i].Triggers {
			for g, p := range moved[i].Triggers[t].Chance {
				moved[i].Triggers[t].Chance[g] = shift(p)
			}
		}
	}
	return moved
}

// AtSpot returns the candidates of one spot, which follow each other.
func (c Case) AtSpot(s damage.Spot) Case {
	from := 0
	for from < len(c) && c[from].Spot != s {
		from++
	}
	to := from
	for to < len(c) && c[to].Spot == s {
		to++
	}
	return c[from:to]
}
