package evaluate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// normal is the standard normal, for where it is asked at each point of the costs.
var normal = stats.NewTable(distuv.UnitNormal, normalReach)

// normalReach is beyond where a standard normal number lies with a chance of 1e-15.
const normalReach = 8

// chanceBelow is the chance that a standard normal number is at most z, to 1e-9.
func chanceBelow(z float64) float64 {
	switch {
	case z <= -normalReach:
		return 0
	case z >= normalReach:
		return 1
	}
	return normal.CDF(z)
}

// daysOfMonth is the month that the fade of a sale price is counted by.
const daysOfMonth = 30

// fadeOver returns what is left of a pound of the sale price after so many days, where
// fade is the share of it that is lost in a month.
func fadeOver(fade, days float64) float64 {
	if fade == 0 {
		return 1
	}
	return math.Pow(1-fade, days/daysOfMonth)
}

// A stopWay is how a car that was worked out by convolution may be left unfinished (METHOD.md chapter 10). What
// reset sets holds at every hammer price, the rest at one.
type stopWay struct {
	costs, sd float64   // of all that is uncertain beside the sale, net, in pounds
	at        []float64 // the costs at each of analytic.points
	logs      []float64 // their logarithms

	price    deal.Price
	choice   deal.Choice
	logLimit float64 // of choice.Limit
	mean     float64 // of what is left of a car that is not finished
	brings   amountOf64
	finished []point // of the costs, where the car is finished
	share    float64 // chance that it is not
}

// amountOf64 is an amount times a factor, in pounds, also as 64 equally likely ones.
type amountOf64 struct {
	*stats.Amount
	times  float64
	values [len(sixtyFour)]float64
}

// sixtyFour are the mean scores of 64 equally likely parts.
var sixtyFour = func() (z [64]float64) {
	for i := range z {
		from, to := float64(i)/float64(len(z)), float64(i+1)/float64(len(z))
		z[i] = float64(len(z)) * (density(from) - density(to))
	}
	return z
}()

// density is the standard normal's at the score of a share in [0,1].
func density(share float64) float64 {
	if share == 0 || share == 1 {
		return 0
	}
	return distuv.UnitNormal.Prob(distuv.UnitNormal.Quantile(share))
}

// set makes it that amount, the values' mean being right.
func (a *amountOf64) set(amount *stats.Amount, times, mean float64) {
	if a.Amount == nil || *a.Amount != *amount {
		for i, z := range sixtyFour {
			a.values[i] = amount.At(z)
		}
		sum := 0.0
		for _, x := range a.values {
			sum += x
		}
		if sum > 0 && times > 0 {
			for i := range a.values {
				a.values[i] *= mean / times * float64(len(a.values)) / sum
			}
		}
	}
	a.Amount, a.times = amount, times
}

// below returns the chance that it is at most x.
func (a *amountOf64) below(x float64) float64 {
	switch {
	case x < 0:
		return 0
	case a.times == 0:
		return 1
	case a.Certain():
		if x < a.times*a.Mid {
			return 0
		}
		return 1
	}
	return distuv.UnitNormal.CDF(a.Score(x / a.times))
}

// reset takes over the costs of a lot that was convolved.
func (w *stopWay) reset(r *analytic) {
	w.costs = -r.base - r.d.SellFixed*(1-r.d.SellBack)
	w.sd = math.Sqrt(r.varianceAt(r.d.Terms.Day, r.d.Terms.ForSale))
	stretch := 0.0
	if r.costs.SD > 0 {
		stretch = w.sd / math.Hypot(r.costs.SD, r.costs.Blur)
	}
	w.at, w.logs = w.at[:0], w.logs[:0]
	for _, p := range r.points {
		x := w.costs + stretch*(p.amount-r.costs.Mean)
		w.at, w.logs = append(w.at, x), append(w.logs, math.Log(max(x, 1e-9)))
	}
}

// prepare sets what is left of a car that is not finished, on average.
func (w *stopWay) prepare(p *deal.Price) {
	amount, times, mean := p.Brings()
	w.price, w.mean = *p, p.Stopped(mean)
	w.brings.set(amount, times, mean)
	if p.Scheme > 0 { // VAT is due on gains only
		w.mean = 0
		for _, x := range w.brings.values {
			w.mean += p.Stopped(times*x) / float64(len(w.brings.values))
		}
	}
}

// below returns the chance that the car is not finished and leaves at most x.
func (w *stopWay) below(x float64) float64 {
	if w.share == 0 {
		return 0
	}
	return w.share * w.brings.below(w.price.BringsAt(x))
}

// short returns the mean of what a car that is not finished falls short of x by, times
// the chance that it is not.
func (w *stopWay) short(x float64) (short float64) {
	if w.share == 0 {
		return 0
	}
	for _, y := range w.brings.values {
		short += max(0, x-w.price.Stopped(w.brings.times*y))
	}
	return w.share * short / float64(len(w.brings.values))
}

// chanceAt returns the chance at each point that the car is not finished.
func (w *stopWay) chanceAt(i int) float64 {
	c := &w.choice
	if c.Error > 0 && c.Most > 0 && w.at[i] > 0 {
		return chanceBelow((w.logs[i] - w.logLimit) / c.Error)
	}
	if c.Error > 0 || c.Most <= 0 || len(w.at) == 1 {
		return c.Chance(w.at[i])
	}
	// The point represents the costs half way to its neighbours.
	low, high := w.at[i], w.at[i]
	if i > 0 {
		low = (w.at[i-1] + w.at[i]) / 2
	}
	if i < len(w.at)-1 {
		high = (w.at[i] + w.at[i+1]) / 2
	}
	if high <= low {
		return c.Chance(w.at[i])
	}
	return min(1, max(0, (high-c.Limit)/(high-low)))
}

// stop makes the margin that of a car that need not be finished, where it need not be.
func (t *atPrice) stop() {
	r := t.r
	if !r.d.MayStop() {
		return
	}
	w := &r.way
	w.prepare(&t.Price)
	w.choice = deal.Choose(w.costs, w.sd, t.mean, w.mean, t.Stop.Error)
	w.logLimit = math.Log(w.choice.Limit)
	w.finished, w.share = w.finished[:0], 0
	gain, square := 0.0, 0.0
	unfinished := 0.0 // mean square of what is left of it
	for _, x := range w.brings.values {
		y := t.Stopped(w.brings.times * x)
		unfinished += y * y / float64(len(w.brings.values))
	}
	for i, p := range r.points {
		stop := w.chanceAt(i)
		m := t.mean - t.stretch*(p.amount-r.costs.Mean)
		gain += p.chance * stop * (w.mean - m)
		square += p.chance * (stop*unfinished + (1-stop)*(m*m+t.spread*t.spread))
		w.finished = append(w.finished, point{p.amount, p.chance * (1 - stop)})
		w.share += p.chance * stop
	}
	if gain < 0 { // a right that would cost money on average is not used
		return
	}
	t.mean += gain
	t.sd = math.Sqrt(max(0, square-t.mean*t.mean))
	t.stopped = w
}

// mayStop puts the right to stop into a standing of a car that is finished, as far as the
// limits need it: stopping cannot help where the car passes them finished, nor where even
// a strip that shows everything would not be enough. It is called after prepare.
func (t *atPrice) mayStop(at *bid.Standing, limits bid.Limits) {
	w := &t.r.way
	target := limits.Target(at)
	helps := at.Mean < target+surely && at.Mean+t.most() >= target
	if limits.Loses(at.Loss) && w.brings.below(w.price.BringsAt(0)) < 1-1e-12 {
		helps = true
	}
	if !helps {
		return
	}
	t.stop()
	at.Mean = t.mean
	if limits.Loses(at.Loss) {
		at.Loss = min(at.Loss, t.loss())
	}
}

// surely, in pounds, is more than the right to stop ever takes from the mean.
const surely = 2

// most returns the most that the right to stop can add to the mean, in pounds.
func (t *atPrice) most() (gain float64) {
	for _, p := range t.r.points {
		gain += p.chance * max(0, t.r.way.mean-t.mean+t.stretch*(p.amount-t.r.costs.Mean))
	}
	return gain
}

// gain returns, at a hammer price, the chance that the car is not finished, and what the
// right to leave it unfinished adds to the mean margin, in pounds.
func (r *analytic) gain(hammer money.Pence) (stopped, gain float64) {
	t := r.at(hammer)
	finished := t.mean
	t.stop()
	if t.stopped == nil {
		return 0, 0
	}
	return t.stopped.share, t.mean - finished
}
