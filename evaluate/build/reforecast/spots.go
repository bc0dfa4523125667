package reforecast

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/build/severity"
	"wreckoner/evaluate/simulate"
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
func (f *Forecaster) remainder(k *known, space *simulate.Space, t *simulate.Tally, stretch []float64) (left, []spot) {
	n := space.Points()
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
		for w := range charged {
			charged[w] = -1
		}
		for i := range here { // grades ascend
			worlds, certain := t.Occurs(from - len(here) + i)
			if certain {
				for w := range charged {
					charged[w] = i
				}
			}
			for _, w := range worlds {
				charged[w] = i
			}
		}
		f.charge(&s, here, job, space, charged)
		for w, i := range charged {
			if i < 0 {
				continue
			}
			s.chance += 1 / float64(n)
			wait := f.shop.Costs.Rows()[here[i].Row].LeadDays * stretch[w]
			switch {
			case job != nil && here[i].Kind == costs.Seen:
				all.seen[w] = max(all.seen[w], wait-job.Waited)
			case here[i].Kind == costs.Seen:
				all.seen[w] = max(all.seen[w], wait)
			default:
				all.hidden[w] = max(all.hidden[w], wait)
			}
			all.spend[w] += s.spend[w]
			all.hours[w] += s.hours[w]
		}
		s.chance = min(1, s.chance)
		spots = append(spots, s)
	}
	return all, spots
}

// charge fills in what is left of the job that is charged at a spot in each world.
func (f *Forecaster) charge(s *spot, here costs.Case, job *settled, space *simulate.Space, charged []int) {
	score := space.SpotScore(s.Spot)
	if job == nil {
		jobs := make([]simulate.Job, len(here))
		for i := range here {
			jobs[i] = space.Of(&here[i])
		}
		for w, i := range charged {
			if i >= 0 {
				s.spend[w] = f.prospect.Segment.Spend * jobs[i].Spend[w]
				s.hours[w] = f.prospect.Segment.Hours * jobs[i].Hours[w]
			}
		}
		return
	}
	prices, floors := make([]price, len(here)), make([]float64, len(here))
	for i, c := range here {
		prices[i] = priceOf(c, f.shop.Costs.Rows()[c.Row], f.prospect.Segment, f.shop.LabourRate)
		floors[i], _ = prices[i].floor(job.Job)
	}
	link := min(f.shop.SeverityLink, furthestLink)
	hit := space.Severity()
	for w, i := range charged {
		if i < 0 {
			continue
		}
		u := score[w]
		if !math.IsInf(floors[i], 0) {
			u = severity.ScoreAbove(link, hit[w], floors[i], ownShare(f.shop.SeverityLink, hit[w], u))
		}
		spend, hours := prices[i].at(u)
		s.spend[w], s.hours[w] = max(0, spend-max(0, job.Spend)), max(0, hours-job.Hours)
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
					l.Chance, l.ToCome = s.chance, spreadOf(f.repair(s.spend, s.hours, 1, 1))
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
	l.Over = l.Actual > l.Start.Mean && !l.Unplanned
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
