package build

import (
	"fmt"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/conjugate"
	"wreckoner/evaluate/build/severity"
)

// there says what a build turned out to have at a spot: the grade that was found,
// 0 for nothing. known is false where money went there and no grade is named.
func there(o *Outcome, s damage.Spot) (grade damage.Grade, known bool) {
	j := o.Build.Job(s)
	if j == nil || !j.Found() {
		return 0, true
	}
	return j.Grade, j.Grade > 0
}

// chances counts, for one build, which rules came true. A case counts where a
// trigger was there and it can be told whether what it makes likely was. It returns
// the severity factor that is to be expected from what was there and what was not.
func (l *lessonReader) chances(o *Outcome) (hit float64) {
	c, rules, err := o.Frozen.foreseen()
	if err != nil {
		l.leave("%s: %v", o.Build.Name, err)
		return 0
	}
	s := o.Frozen.Shop()
	e := severity.Evidence{Link: min(s.SeverityLink, 0.99), HiddenLink: min(s.HiddenLink, 0.99)}
	for _, x := range c {
		chance, found, known := x.Chance, false, false
		switch x.Kind {
		case costs.Suspected:
			found, known = l.found(o, c, x)
		case costs.Hidden:
			if found, known = l.found(o, c, x); known {
				chance, known = l.credit(o, rules, c, x, found)
			}
		}
		if known && chance > 0 && chance < 1 {
			e.Looks = append(e.Looks, severity.Look{Chance: chance, Found: found})
		}
	}
	f, err := severity.New(e)
	if err != nil {
		l.leave("%s: %v", o.Build.Name, err)
		return 0
	}
	return f.Mean()
}

// foreseen returns the candidates of the frozen estimate and the rules they came by.
func (f *Frozen) foreseen() (costs.Case, []costs.Rule, error) {
	lot, err := f.Lot()
	if err != nil {
		return nil, nil, err
	}
	e, err := evaluate.New(f.workshop, evaluate.Options{Points: 64})
	if err != nil {
		return nil, nil, err
	}
	p, err := e.Prospect(lot)
	if err != nil {
		return nil, nil, err
	}
	return p.Case, f.workshop.Costs.Rules(), nil
}

// found says whether a candidate turned out to be there.
func (l *lessonReader) found(o *Outcome, c costs.Case, x costs.Candidate) (found, known bool) {
	if o.Stopped() && o.Build.Job(x.Spot) == nil {
		return false, false // nobody looked
	}
	grade, named := there(o, x.Spot)
	at := c.AtSpot(x.Spot)
	if !named {
		// Money went there. What was seen explains it; a single candidate is it; of
		// several nobody can tell.
		if at[0].Kind == costs.Seen {
			return false, true
		}
		return len(at) == 1, len(at) == 1
	}
	// Behind a worse grade it can't be told whether the lesser was there too.
	return grade == x.Grade, grade <= x.Grade
}

// credit counts a case for every rule that could have brought the candidate, and
// returns the chance that they gave it together. known is false where it can't be
// told which of them could.
func (l *lessonReader) credit(o *Outcome, rules []costs.Rule, c costs.Case, hidden costs.Candidate, found bool) (chance float64, known bool) {
	type cause struct {
		rule   int
		chance float64
	}
	var causes []cause
	miss := 1.0
	for _, t := range hidden.Triggers {
		grade, ok := triggered(o, c.AtSpot(t.Spot))
		if !ok {
			return 0, false
		}
		if n := t.Rule[grade]; n >= 0 {
			causes = append(causes, cause{n, t.Chance[grade]})
			miss *= 1 - t.Chance[grade]
		}
	}
	for _, x := range causes {
		name := rules[x.rule].Name()
		n := slices.IndexFunc(l.shop.Costs.Rules(), func(r costs.Rule) bool { return r.Name() == name })
		if n < 0 {
			l.leave("%s: the shop has no rule %s any more", o.Build.Name, name)
			continue
		}
		r := l.rules[n]
		if r == nil {
			r = &RuleLesson{Old: l.shop.Costs.Rules()[n]}
			l.rules[n] = r
		}
		r.Looked++
		if found {
			r.Found += x.chance / (1 - miss)
		}
	}
	return 1 - miss, len(causes) > 0
}

// triggered returns the highest coded grade that turned out to be at a spot, 0 for
// none; ok is false where that can't be told.
func triggered(o *Outcome, at costs.Case) (g damage.Grade, ok bool) {
	grade, named := there(o, at[0].Spot)
	doubt := false
	for _, c := range at {
		switch c.Kind {
		case costs.Seen:
			g = max(g, c.Grade)
		case costs.Suspected:
			if doubt = true; named && c.Grade <= grade {
				g = max(g, c.Grade)
			}
		}
	}
	if doubt && !named {
		// Money went there without a grade: beside a seen grade, that; of a single
		// suspicion, that it was true.
		switch {
		case at[0].Kind == costs.Seen:
		case len(at) == 1:
			g = at[0].Grade
		default:
			return 0, false
		}
	}
	return g, true
}

func (l *lessonReader) learnRules() error {
	for n := range l.shop.Costs.Rules() {
		r := l.rules[n]
		if r == nil {
			continue
		}
		c, err := conjugate.NewChance(r.Old.Chance, r.Old.Seen)
		if err == nil {
			c, err = c.UpdateLikely(min(r.Found, float64(r.Looked)), r.Looked)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", r.Old.Name(), err)
		}
		r.New = r.Old
		r.New.Chance, r.New.Seen = max(rounded(c.Mean, 1e4), 1e-4), rounded(c.Seen, 100)
		l.out.Rules = append(l.out.Rules, *r)
	}
	return nil
}
