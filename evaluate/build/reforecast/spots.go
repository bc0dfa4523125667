package reforecast

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/severity"
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
		worst(t, from-len(here), here, charged)
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
	for i, c := range here {
		p := priceOf(c, f.shop.Costs.Rows()[c.Row], f.resolved.Segment, f.shop.LabourRate)
		prices[i] = p
		spend[i].floor, hours[i].floor = p.floors(job.Job)
		spend[i].times, hours[i].times = settling(p.spend, p.spendTimes, job.Spend), settling(p.hours, p.hoursTimes,
			job.Hours)
	}
	link := min(f.shop.SeverityLink, furthestLink)
	hit := draws.Severity()
	bySpend, byHours := hit, hit
	if job.bySpend != nil {
		bySpend, byHours = job.bySpend, job.byHours
	}
	for w, i := range charged {
		if i < 0 {
			continue
		}
		own := ownShare(f.shop.SeverityLink, hit[w], score[w])
		paid, _ := prices[i].at(spend[i].score(link, bySpend[w], own))
		_, worked := prices[i].at(hours[i].score(link, byHours[w], own))
		s.spend[w] = spend[i].times * max(0, paid-max(0, job.Spend))
		s.hours[w] = hours[i].times * max(0, worked-job.Hours)
	}
}

// rest is what is known of the rest of an open job, of spend or of hours: the score that
// it has at least, and what the rest is multiplied by.
type rest struct{ floor, times float64 }

// score returns the score at a severity factor, where own is the rank of the part that it
// shares with no other.
func (r rest) score(link, severityFactor, own float64) float64 {
	if math.IsInf(r.floor, -1) {
		if link >= 1 {
			return severityFactor
		}
		return math.Sqrt(link)*severityFactor + math.Sqrt(1-link)*distuv.UnitNormal.Quantile(own)
	}
	return severity.ScoreAbove(link, severityFactor, min(r.floor, furthestOpen), own)
}

// ownEvidence works out, for each open job that money or hours went to, the severity
// factor without its hours, for what it will still cost, and without its spend, for how
// long it will still take: buying the last part says nothing of the work that is left.
func (s *state) ownEvidence() error {
	for _, j := range s.known.jobs {
		if j == nil || j.Done || j.Spend <= 0 && j.Hours <= 0 {
			continue
		}
		for _, x := range []struct {
			into *[]float64
			but  func(*Job)
		}{{&j.bySpend, func(j *Job) { j.Hours = 0 }}, {&j.byHours, func(j *Job) { j.Spend = 0 }}} {
			factor, err := severity.New(s.known.evidenceBut(&s.shop.Settings, s.Forecaster.price, j, x.but))
			if err != nil {
				return err
			}
			*x.into = s.e.Draws().SeverityBy(factor.Quantile)
		}
	}
	return nil
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
func read(a interface{ At(z float64) float64 }, score []float64) []float64 {
	out := make([]float64, len(score))
	for i, z := range score {
		out[i] = a.At(z)
	}
	return out
}
