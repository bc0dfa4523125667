package reforecast

import (
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/severity"
	"wreckoner/evaluate/shop"
)

// furthestLink is the highest correlation that the posterior is computed with: at
// 1 one job would settle everything.
const furthestLink = 0.999

// evidence returns what the ledger says of the severity factor.
func (k *known) evidence(s *shop.Settings, prices func(damage.Item) (price, bool)) severity.Evidence {
	return k.evidenceBut(s, prices, nil, nil)
}

// evidenceBut is evidence, with but changing what it reads of one open job.
func (k *known) evidenceBut(s *shop.Settings, prices func(damage.Item) (price, bool), open *settled,
	but func(*Job)) severity.Evidence {
	e := severity.Evidence{Link: min(s.SeverityLink, furthestLink), HiddenLink: min(s.HiddenLink, furthestLink)}
	for _, j := range k.jobs {
		if j == nil {
			continue
		}
		if j == open {
			changed := *j
			but(&changed.Job)
			k.scores(&e, &changed, prices)
		} else {
			k.scores(&e, j, prices)
		}
		for _, c := range k.frozen.AtSpot(j.Spot) {
			there, absent := j.decides(c)
			if c.Kind == costs.Seen || c.Kind == costs.Misread || !there && !absent {
				continue
			}
			chance := c.Chance
			if c.Kind == costs.Hidden {
				i := slices.IndexFunc(k.chances, func(o costs.Candidate) bool { return o.Item == c.Item })
				if i < 0 {
					continue
				}
				o := k.chances[i]
				o.Step = c.Step
				chance = k.chance(o)
			}
			if chance > 0 && chance < 1 {
				e.Looks = append(e.Looks, severity.Look{Chance: chance, Found: there})
			}
		}
	}
	return e
}

// scores adds how dear one job ran: exactly where it is done, at least where it
// is open.
func (k *known) scores(e *severity.Evidence, j *settled, prices func(damage.Item) (price, bool)) {
	p, ok := prices(damage.Item{Spot: j.Spot, Grade: j.at})
	if j.at == 0 || !ok {
		return
	}
	if j.Done {
		if u, _, ok := p.score(j.Job); ok {
			e.Scores = append(e.Scores, u)
		}
		return
	}
	if o, ok := p.open(j.Job); ok {
		k.worse(&o, j, prices)
		e.Open = append(e.Open, o)
	}
}

// worse fills in how likely something worse may still come out at the spot of an open job, and
// how dear the job is then at least.
func (k *known) worse(o *severity.Open, j *settled, prices func(damage.Item) (price, bool)) {
	none := 1.0
	o.WorseFloor = o.Floor
	for _, c := range k.now.AtSpot(j.Spot) {
		if c.Grade <= j.at {
			continue
		}
		if p, ok := prices(c.Item); ok {
			u, _ := p.floor(j.Job)
			o.WorseFloor = max(-noFloor, min(o.WorseFloor, u))
			none *= 1 - k.chance(c)
		}
	}
	o.WorseChance = 1 - none
}

// noFloor is how far down a floor lies that says nothing.
const noFloor = 30

// chance is that of a candidate of the case.
func (k *known) chance(c costs.Candidate) float64 {
	if c.Kind != costs.Hidden {
		return c.Chance
	}
	return 1 - (1-k.hiddenChance(c, nil, 0))*(1-c.Step)
}
