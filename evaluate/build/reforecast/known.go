package reforecast

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
)

// known is what has been learned of the car's damage.
type known struct {
	frozen costs.Case // what was believed at the freeze
	jobs   [damage.SpotCount]*settled
	// now is what is believed now: frozen, with what was found and what was ruled
	// out. Its hidden chances are those that what was found gives them.
	now costs.Case
	// chances holds the case before what was decided was taken out, for the chance
	// that each decided thing had.
	chances costs.Case
	found   []costs.Finding // what chances come from
}

// A settled job is one whose rows were read against what was believed.
type settled struct {
	Job
	// at is the grade that is there, at the least where the job is open; 0 for none.
	at damage.Grade
	// seen is the grade that the code has as certain there, 0 for none.
	seen damage.Grade
	// planned says that the frozen estimate has something there at all; guessed
	// that at is nobody's word.
	planned, guessed bool
	// own is nil where it is not open, or nothing went there.
	own *ownEvidence
}

// settle reads a job against the candidates of its spot.
func settle(j Job, frozen costs.Case) *settled {
	s := &settled{Job: j, at: j.Found}
	here := frozen.AtSpot(j.Spot)
	s.planned = len(here) > 0
	for _, c := range here {
		if c.Kind == costs.Seen {
			s.seen = c.Grade
		}
	}
	ruled := func(g damage.Grade) bool { return j.Absent > 0 && g >= j.Absent }
	switch {
	case j.Found > 0 && j.Done: // what was found is what there was
	case s.seen > j.Found && !ruled(s.seen):
		s.at = s.seen
	case j.Found == 0 && j.Spend > 0:
		// Nobody buys parts for what is not there: the least that was expected.
		for _, c := range here {
			if !ruled(c.Grade) {
				s.at, s.guessed = c.Grade, true
				break
			}
		}
	}
	if s.at == 0 && j.Absent > 0 && !slices.ContainsFunc(here, func(c costs.Candidate) bool { return !ruled(c.Grade) }) {
		s.Done = true
	}
	return s
}

// decides reports whether a candidate of the spot was found, or turned out not to
// be there; neither where that is still open, or hidden below something worse.
func (s *settled) decides(c costs.Candidate) (found, absent bool) {
	if c.Grade > s.at && (s.Done || s.Absent > 0 && c.Grade >= s.Absent) {
		return false, true
	}
	return c.Grade == s.at && !s.guessed, false
}

// learn works out what is believed of the car's damage now.
func learn(p *evaluate.ResolvedLot, b *costs.Table, jobs []Job) (*known, error) {
	k := &known{frozen: p.Case}
	for _, j := range jobs {
		k.jobs[j.Spot.Index()] = settle(j, p.Case)
	}
	k.found = k.findings(p)
	var err error
	if k.chances, err = b.Case(p.Segment.Name, k.found); err != nil {
		return nil, err
	}
	if k.infer() {
		if k.chances, err = b.Case(p.Segment.Name, k.found); err != nil {
			return nil, err
		}
	}
	k.now = k.remaining(b)
	p.Price(k.now)
	return k, nil
}

// findings returns the code as it would be written today, as far as it brings
// hidden damage: damage that nobody coded brings no more, as at the freeze.
func (k *known) findings(p *evaluate.ResolvedLot) []costs.Finding {
	var found []costs.Finding
	for _, m := range p.Lot.Code.Marks() {
		if m.State == damage.Absent {
			found = append(found, costs.Finding{Item: m.Item, State: damage.Absent})
		}
	}
	for from := 0; from < len(k.frozen); {
		spot := k.frozen[from].Spot
		here := k.frozen.AtSpot(spot)
		from += len(here)
		s := k.jobs[spot.Index()]
		base := s.coded(here)
		if base > 0 {
			f := costs.Finding{Item: damage.Item{Spot: spot, Grade: base}, State: damage.Seen, Chance: 1}
			if s == nil {
				f.Down, f.Up = here.Steps()
			}
			found = append(found, f)
		}
		for _, c := range here {
			if c.Kind != costs.Suspected || s != nil && c.Grade <= s.at {
				continue
			}
			if s != nil && (s.Done || s.Absent > 0 && c.Grade >= s.Absent) {
				continue
			}
			found = append(found, costs.Finding{Item: c.Item, State: damage.Suspected, Chance: c.Chance})
		}
	}
	return found
}

// coded returns the grade that is surely there of those that somebody coded, 0
// for none; where less than any of them was found, that.
func (s *settled) coded(here costs.Case) (base damage.Grade) {
	least := damage.Grade(0)
	for _, c := range here {
		if c.Kind == costs.Hidden || c.Kind == costs.Misread {
			continue
		}
		if least == 0 {
			least = c.Grade
		}
		if s == nil && c.Kind == costs.Seen || s != nil && c.Grade <= s.at {
			base = c.Grade
		}
	}
	if s != nil && base == 0 && least > 0 {
		return s.at
	}
	return base
}

// remaining returns the case with what was decided: at the spots that the ledger
// names, what was found is seen, and what is not there is gone.
func (k *known) remaining(b *costs.Table) costs.Case {
	var now costs.Case
	for _, c := range k.chances {
		s := k.jobs[c.Spot.Index()]
		if s == nil {
			now = append(now, c)
			continue
		}
		if _, absent := s.decides(c); c.Grade > s.at && !absent {
			now = append(now, c)
		}
	}
	for _, s := range k.jobs {
		if s == nil || s.at == 0 {
			continue
		}
		item := damage.Item{Spot: s.Spot, Grade: s.at}
		row, ok := b.RowOf(item)
		if !ok {
			// Without a row it costs what it cost; it still brings what its coded
			// grade brings.
			base := s.coded(k.frozen.AtSpot(s.Spot))
			if base == 0 {
				continue
			}
			item.Grade = base
			if row, ok = b.RowOf(item); !ok {
				continue
			}
		}
		now = append(now, costs.Candidate{Item: item, Kind: costs.Seen, Chance: 1, Row: row})
	}
	slices.SortFunc(now, func(a, b costs.Candidate) int { return a.Index() - b.Index() })
	for i := range now {
		now[i].Triggers = slices.Clone(now[i].Triggers)
		for t := range now[i].Triggers {
			k.carry(&now[i].Triggers[t])
		}
	}
	return now
}

// carry lets a trigger bring at the grade found what it brings at the coded one,
// where they differ.
func (k *known) carry(t *costs.Trigger) {
	s := k.jobs[t.Spot.Index()]
	if s == nil || s.at == 0 {
		return
	}
	if base := s.coded(k.frozen.AtSpot(t.Spot)); base != s.at {
		t.Chance[s.at], t.Rule[s.at] = t.Chance[base], t.Rule[base]
	}
}
