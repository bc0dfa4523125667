package reforecast

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// left is what the jobs will still cost in each world.
type left struct {
	spend, hours []float64
	// seen and hidden are the longest times, in days, that parts take to come: of
	// what is certain and of what is not known to be there.
	seen, hidden []float64
}

// spot is what one spot will still cost in each world; touched only where it can.
type spot struct {
	damage.Spot
	spend, hours []float64
	chance       float64
	// paid is the chance that an open job's parts are all paid.
	paid float64
}

// remainder works out what is left of every job in each world. t holds the sum of
// the case that is believed now, stretch multiplies lead times in each world.
func (f *Forecaster) remainder(k *known, draws *simulate.Draws, t *simulate.Totals, stretch []float64) (left, []spot) {
	n := draws.Points()
	all := left{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	var spots []spot
	charged := make([]int, n)
	for from := 0; from < len(k.now); {
		here := k.now.AtSpot(k.now[from].Spot)
		s := spot{Spot: here[0].Spot, spend: make([]float64, n), hours: make([]float64, n)}
		job := k.jobs[s.Spot.Index()]
		if from += len(here); job != nil && job.Done {
			continue
		}
		if job != nil && job.own != nil && job.own.charged != nil {
			copy(charged, job.own.charged)
		} else {
			worst(t, from-len(here), here, charged)
		}
		f.charge(&s, here, job, draws, charged)
		for w, i := range charged {
			if i < 0 {
				continue
			}
			s.chance += 1 / float64(n)
			wait := f.shop.Costs.Rows()[here[i].Row].LeadDays * stretch[w]
			all.wait(w, wait, here[i].Kind == costs.Seen, job)
			all.spend[w] += s.spend[w]
			all.hours[w] += s.hours[w]
		}
		s.chance = min(1, s.chance)
		spots = append(spots, s)
	}
	return all, spots
}

// worst sets charged, by world, to the place in here of the worst damage that occurs at a spot
// there, -1 for none. from is the place of here in the totals's case; grades ascend.
func worst(t *simulate.Totals, from int, here costs.Case, charged []int) {
	for w := range charged {
		charged[w] = -1
	}
	for i := range here {
		worlds, certain := t.Occurs(from + i)
		if certain {
			for w := range charged {
				charged[w] = i
			}
		}
		for _, w := range worlds {
			charged[w] = i
		}
	}
}

// wait counts the lead time of a job's parts, in days, in world w. seen says that the damage
// was seen at the sale, so that its parts were ordered then; job is nil where the ledger has
// nothing of it.
func (l *left) wait(w int, days float64, seen bool, job *settled) {
	switch {
	case job != nil && job.Due != nil:
		l.seen[w] = max(l.seen[w], job.arrives(days))
	case job != nil && seen:
		l.seen[w] = max(l.seen[w], days-job.Waited)
	case seen:
		l.seen[w] = max(l.seen[w], days)
	default:
		l.hidden[w] = max(l.hidden[w], days)
	}
}

// charge fills in what is left of the job that is charged at a spot in each world.
func (f *Forecaster) charge(s *spot, here costs.Case, job *settled, draws *simulate.Draws, charged []int) {
	score := draws.SpotScore(s.Spot)
	if job == nil {
		jobs := make([]simulate.Job, len(here))
		for i := range here {
			jobs[i] = draws.Of(&here[i])
		}
		for w, i := range charged {
			if i >= 0 {
				s.spend[w] = f.resolved.Segment.Spend * jobs[i].Spend[w]
				s.hours[w] = f.resolved.Segment.Hours * jobs[i].Hours[w]
			}
		}
		return
	}
	prices := make([]price, len(here))
	spend, hours := make([]rest, len(here)), make([]rest, len(here))
	hit := draws.Severity()
	own := job.own
	if own == nil {
		own = &ownEvidence{bySpend: hit, byHours: hit, habit: hit} // nothing of them is read
	}
	for i, c := range here {
		p := priceOf(c, f.shop.Costs.Rows()[c.Row], f.resolved.Segment, f.shop.LabourRate)
		prices[i] = p
		bySpend, byHours := p.floors(job.Job)
		alone := c.Grade == job.at
		spend[i] = restOf(p.spend, over(job.Spend, p.spendTimes), bySpend, alone, own.others)
		hours[i] = restOf(p.hours, over(job.Hours, p.hoursTimes), byHours, alone, own.others.with(workedShare))
	}
	link := min(f.shop.SeverityLink, furthestLink)
	for w, i := range charged {
		if i < 0 {
			continue
		}
		rank := ownShare(f.shop.SeverityLink, hit[w], score[w])
		u := spend[i].score(link, own.bySpend[w], own.habit[w], rank)
		if spend[i].odds > 0 && u == spend[i].floor {
			s.paid += 1 / float64(len(charged))
		}
		paid, _ := prices[i].at(u)
		_, worked := prices[i].at(hours[i].score(link, own.byHours[w], workedShare, rank))
		s.spend[w], s.hours[w] = max(0, paid-max(0, job.Spend)), max(0, worked-job.Hours)
	}
	for i := range here {
		spend[i].hold(s.spend, charged, i, prices[i].spendTimes)
		hours[i].hold(s.hours, charged, i, prices[i].hoursTimes)
	}
}

// ownShare returns the rank, in (0,1), of the part of a score that it shares with
// no other.
func ownShare(link, severity, score float64) float64 {
	if link >= 1 {
		return 0.5
	}
	own := (score - math.Sqrt(link)*severity) / math.Sqrt(1-link)
	return min(1-1e-12, max(1e-12, distuv.UnitNormal.CDF(own)))
}

// lines returns how each spot stands.
func (f *Forecaster) lines(k *known, spots []spot) []Line {
	var lines []Line
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			at := damage.Spot{Zone: z, Class: c}
			before, job := k.frozen.AtSpot(at), k.jobs[at.Index()]
			if len(before) == 0 && job == nil {
				continue
			}
			l := Line{Spot: at, State: Untouched, Unplanned: len(before) == 0}
			for _, c := range before {
				if c.Kind == costs.Seen {
					l.Grade = c.Grade
				}
			}
			l.Start = f.spots[at]
			for _, s := range spots {
				if s.Spot == at {
					l.Chance, l.ToCome, l.HoursToCome = s.chance, spreadOf(f.repair(s.spend, s.hours, 1, 1)), stats.Mean(s.hours)
					l.Paid = min(1, s.paid)
				}
			}
			if job != nil {
				f.touched(&l, job)
			}
			lines = append(lines, l)
		}
	}
	return lines
}

// touched says in a line what the ledger has of a job.
func (f *Forecaster) touched(l *Line, job *settled) {
	l.Grade, l.Spent, l.Hours = job.at, job.Spend, job.Hours
	l.Actual = job.Spend + f.shop.LabourRate*job.Hours
	switch {
	case job.Done && job.at == 0:
		l.State = Gone
	case job.Done:
		l.State, l.Chance = Done, 1
	default:
		l.State = Open
	}
	if p, ok := f.price(job.item()); ok {
		l.Usual = p.spend.Mean()*p.spendTimes + f.shop.LabourRate*p.hours.Mean()*p.hoursTimes
		l.Over = l.Actual > l.Usual && !l.Unplanned
	}
}

// repair returns spend and hours, times the multipliers, as money.
func (f *Forecaster) repair(spend, hours []float64, spendTimes, hoursTimes float64) []float64 {
	out := make([]float64, len(spend))
	for i := range out {
		out[i] = spendTimes*spend[i] + f.shop.LabourRate*hoursTimes*hours[i]
	}
	return out
}

// read returns an amount in each world, by a score.
func read(a stats.Amount, score []float64) []float64 {
	out, at := make([]float64, len(score)), a.Curve()
	for i, z := range score {
		out[i] = at(z)
	}
	return out
}
