package reforecast

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/build/severity"
	"wreckoner/evaluate/stats"
)

// Of a job that is not said to be done, that is paid in part, the share paid is taken as no
// likelier to be between 10 and 20 % than between 40 and 80 %, from leastShare on. Common
// practice, no source: the first thing that is bought is rarely less.
const leastShare = 0.3

// workedShare is how likely it is that the work of a job is over once hours went to it and
// nobody has called it done. Common practice, no source: who ends a job says so.
const workedShare = 0.25

// odds returns what the density of the score counts against the chance of a dearer one, where
// an amount is just what it is at that score: see METHOD.md 17.5.
func odds(a stats.Amount, u float64) float64 {
	const h = 1e-3
	at, rise := a.At(u), (a.At(u+h)-a.At(u-h))/(2*h)
	if !(at > 0 && rise > 0) {
		return 0
	}
	return math.Log(1/leastShare) * at / rise
}

// open returns what an open job says of the severity factor, by its money or its hours,
// whichever went further. ok is false where nothing went there.
func (p price) open(j Job) (o severity.Open, ok bool) {
	spend, hours := p.floors(j)
	if math.IsInf(spend, -1) && math.IsInf(hours, -1) {
		return o, false
	}
	if spend >= hours-1e-9 {
		o.Floor = min(spend, furthestOpen)
		o.Odds = odds(p.spend, o.Floor)
	} else {
		o.Floor = min(hours, furthestOpen)
		o.Odds, o.Share = odds(p.hours, o.Floor), workedShare
	}
	return o, true
}

// rest is what is known of the rest of an open job, of spend or of hours: the score that
// it has at least, the odds that it is just that, and the mean of the rest before this car's
// multiplier; odds and mean are 0 where nothing was paid, or worked.
// beyond says that the score lies further out than is believed.
type rest struct {
	floor, odds, mean float64
	beyond            bool
}

// score returns the score at a severity factor and a habit, where own is the rank of the part
// that it shares with no other.
func (r rest) score(link, severityFactor, habit, own float64) float64 {
	if math.IsInf(r.floor, -1) {
		if link >= 1 {
			return severityFactor
		}
		return math.Sqrt(link)*severityFactor + math.Sqrt(1-link)*distuv.UnitNormal.Quantile(own)
	}
	return severity.ScoreOpen(link, severityFactor, r.floor, r.odds, habit, own)
}

// A belief is what is believed of the score of a job by all but the job itself: given each of
// the severity factors, equally likely, it is normal about mean, and the habit is habit on
// average.
type belief struct {
	mean, habit []float64
	sd          float64
}

// noScore is how far down no score lies.
const noScore = 6

// beliefs is how many severity factors a belief tells apart.
const beliefs = 24

// believe returns the belief that a severity factor and a habit leave.
func believe(f *severity.Factor, link float64) *belief {
	b := &belief{sd: math.Sqrt(1 - link)}
	z := make([]float64, beliefs)
	for i := range z {
		z[i] = f.Quantile((float64(i) + 0.5) / beliefs)
	}
	// So few lie closer together than the factor does: spread out to its standard deviation.
	mean, sd := stat.PopMeanStdDev(z, nil)
	for _, x := range z {
		x = f.Mean() + (x-mean)*f.SD()/sd
		b.mean, b.habit = append(b.mean, math.Sqrt(link)*x), append(b.habit, f.HabitAt(x))
	}
	return b
}

// with returns the belief at a habit that is known.
func (b *belief) with(habit float64) *belief {
	if b == nil {
		return nil
	}
	return &belief{mean: b.mean, sd: b.sd, habit: slices.Repeat([]float64{habit}, len(b.mean))}
}

// restOf returns what is known of the rest of an open job by what was paid of an amount, or
// worked, before this car's multiplier, up to where its score is floor. alone says that the job
// is of the grade that is there, so that it may be all paid. b is nil where nothing went to the
// job at all.
func restOf(a stats.Amount, paid, floor float64, alone bool, b *belief) rest {
	if b == nil || a.Certain() {
		return rest{floor: floor}
	}
	if math.IsInf(floor, -1) {
		// Too little to tell anything.
		return rest{floor: floor, mean: max(0, a.At(-noScore)+leastMean(a, -noScore, b.with(0))-max(0, paid))}
	}
	r := rest{floor: min(floor, furthestOpen), beyond: floor > furthestOpen}
	if alone {
		r.odds = odds(a, r.floor)
	} else {
		b = b.with(0)
	}
	r.mean = leastMean(a, r.floor, b)
	return r
}

// leastMean returns the mean of the rest of an open job, by what was paid of an amount up to
// where its score is floor. Given that a job costs at least so much, a long tail would let the
// mean of the rest rise with what was paid: the least mean that it had on the way is kept, so
// that paying for a part, or working, never raises what is still to come.
func leastMean(a stats.Amount, floor float64, b *belief) float64 {
	const step, above = 0.1, 80
	var scores []float64
	for u := -furthestOpen; u < floor-1e-9; u += step {
		scores = append(scores, u)
	}
	paid := len(scores)
	top := max(floor+1, slices.Max(b.mean)+6*b.sd)
	for i := range above + 1 {
		scores = append(scores, floor+(top-floor)*float64(i)/above)
	}
	return slices.Min(restMeans(a, scores, b)[:paid+1])
}

// restMeans returns the mean of what an amount exceeds what it is at each of the scores, given
// that it is just that or more: by the trapezoidal rule from the last score down.
func restMeans(a stats.Amount, scores []float64, b *belief) []float64 {
	n := len(scores)
	at, weight, sum, out := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, u := range scores {
		at[i] = a.At(u)
	}
	just := make([]float64, n)
	for i, u := range scores {
		just[i] = odds(a, u)
	}
	density := make([]float64, n)
	for k, mean := range b.mean {
		prior := distuv.Normal{Mu: mean, Sigma: b.sd}
		for i, u := range scores {
			density[i] = prior.Prob(u)
		}
		chance, total := 0.0, 0.0
		for i := n - 2; i >= 0; i-- {
			half := (scores[i+1] - scores[i]) / 2
			chance += half * (density[i] + density[i+1])
			total += half * (density[i]*at[i] + density[i+1]*at[i+1])
			weight[i] += b.habit[k]*just[i]*density[i] + (1-b.habit[k])*chance
			sum[i] += (1 - b.habit[k]) * max(0, total-at[i]*chance)
		}
	}
	for i := range out {
		if weight[i] > 0 {
			out[i] = sum[i] / weight[i]
		}
	}
	return out
}

// hold scales what is left of a job in the worlds in which an item is charged so that its mean
// there is that of the rest at this car's multiplier, or at most that where the score lies
// further out than is believed.
func (r rest) hold(left []float64, charged []int, item int, times float64) {
	if r.mean == 0 {
		return
	}
	sum, n, last := 0.0, 0.0, -1
	for w, i := range charged {
		if i == item {
			sum += left[w]
			n++
			last = w
		}
	}
	switch scale := times * r.mean * n / sum; {
	case n == 0 || r.beyond && !(scale <= 1):
	case sum == 0: // all paid in each of them: one stands for the few in which it is not
		left[last] = times * r.mean * n
	default:
		for w, i := range charged {
			if i == item {
				left[w] *= scale
			}
		}
	}
}

// over returns what was paid, or worked, before this car's multiplier.
func over(paid, times float64) float64 {
	if !(times > 0) {
		return 0
	}
	return paid / times
}
