package evaluate

import (
	"slices"

	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// strip works out what the strip shows in each world, from scores of its error, and keeps
// the scores of what an unfinished car brings.
func (w *Worlds) strip(score, brought []float64) {
	w.shown = slices.Grow(w.shown[:0], len(w.Base))[:len(w.Base)]
	for i := range w.Base {
		w.shown[i] = w.deal.Stop.Shown(w.cost(i), score[i])
	}
	w.brought, w.left = brought, nil
}

// unfinishedBring returns what an unfinished car brings in each world, by an amount, worked out once.
func (w *Worlds) unfinishedBring(a *stats.Amount) []float64 {
	if len(w.left) != len(w.Base) || w.leftBy != *a {
		w.left, w.leftBy = make([]float64, len(w.Base)), *a
		for i := range w.left {
			w.left[i] = a.At(w.brought[i])
		}
	}
	return w.left
}

// StripAgain works out anew what the strip shows, after the figures were changed, where so
// much is gone already whether the car is finished or not, in pounds, net.
func (w *Worlds) StripAgain(e *Evaluator, gone float64) {
	w.stripped.n, w.gone = 0, gone
	w.strip(e.stripScores())
}

// Moved returns the worlds where so much more is left of a finished car in each, in pounds.
func (w *Worlds) Moved(e *Evaluator, by func(i int) float64) *Worlds {
	out := *w
	out.Base, out.shown, out.sorted, out.stripped.n = slices.Clone(w.Base), nil, nil, 0
	for i := range out.Base {
		out.Base[i] += by(i)
	}
	out.strip(e.stripScores())
	return out.WonAs(w)
}

// AlwaysFinished takes away the right not to finish the car.
func (w *Worlds) AlwaysFinished() { w.shown = nil }

// FadeAgain returns what the resale is to be multiplied by where the car is sold after so
// many days on average instead; fade is the shop's.
func (w *Worlds) FadeAgain(fade, days float64) float64 {
	if w.Fade <= 0 {
		return 1
	}
	faded := fadeOver(fade, days) / w.Fade
	w.Fade *= faded
	return faded
}

// stripScores are the scores of how far the strip errs, and of what an unfinished car
// brings.
func (e *Evaluator) stripScores() (shown, brought []float64) {
	return e.draws.Score(e.draws.Stream("what the strip shows")),
		e.draws.Score(e.draws.Stream("what an unfinished car brings"))
}

// cost returns all that is uncertain beside the sale in a world, net, in pounds.
func (w *Worlds) cost(i int) float64 {
	return w.deal.Kept*w.Resale[i] - w.deal.SellFixed*(1-w.deal.SellBack) - w.Base[i]
}

// leave visits the worlds in which the car is not finished, with what is left of it, and
// returns by how much that moves the mean margin. finished is the mean margin of the car
// finished. What is so on average is taken over these worlds, so that worlds in which
// something is known to be so decide by what is known.
func (w *Worlds) leave(p *deal.Price, finished float64, visit func(i int, m float64)) (gain float64) {
	l := w.leaving(p)
	choice := deal.Choose(l.costs, l.sd, finished, l.mean, p.Stop.Error)
	shown := func(i int) float64 { return w.shown[i] }
	if choice.Error == 0 {
		shown = w.cost
	}
	shift := w.shift(p)
	brings := w.unfinishedBring(l.amount)
	left := func(i int) float64 { return p.Stopped(l.times*brings[i]) - w.gone }
	for i := range w.Base {
		if choice.Shown(shown(i)) {
			gain += left(i) - (p.Margin(w.Base[i], w.Days[i], w.Resale[i]) + shift)
		}
	}
	if gain < 0 { // a right that would cost money on average is not used
		return 0
	}
	for i := 0; i < len(w.Base) && visit != nil; i++ {
		if choice.Shown(shown(i)) {
			visit(i, left(i))
		}
	}
	return gain / float64(len(w.Base))
}

// leaving is what a car is weighed against at a price before the strip.
type leaving struct {
	costs, sd float64 // of the costs
	mean      float64 // of what is left of a car that is not finished
	amount    *stats.Amount
	times     float64
}

func (w *Worlds) leaving(p *deal.Price) leaving {
	var l leaving
	w.weigh()
	l.costs, l.sd = w.stripped.mean, w.stripped.sd
	var mean float64
	l.amount, l.times, mean = p.Brings()
	l.mean = p.Stopped(mean)
	if p.Scheme > 0 { // VAT is due on gains only
		l.mean = 0
		for _, z := range sixtyFour {
			l.mean += p.Stopped(l.times*l.amount.At(z)) / float64(len(sixtyFour))
		}
	}
	l.mean -= w.gone
	return l
}

// marginOf returns the distribution of the margin at a hammer price. room, where it is
// not nil, is memory.
func (w *Worlds) marginOf(sel *stats.Selector, hammer money.Pence, room *[]float64) Margin {
	var own []float64
	if room == nil {
		room = &own
	}
	*room = w.Margin(hammer, *room)
	m := marginOf(sel, *room)
	if len(w.shown) > 0 {
		p := w.deal.At(hammer)
		m.LossFinished = w.finished()(&p).Loss
		m.LossChance = min(m.LossFinished, m.LossStopping)
		m.Stopped, _ = w.gain(hammer)
	}
	return m
}

// gain returns, at a hammer price, the chance that the car is not finished, and what the
// right to leave it unfinished adds to the mean margin, in pounds.
func (w *Worlds) gain(hammer money.Pence) (stopped, gain float64) {
	if len(w.shown) == 0 {
		return 0, 0
	}
	p, left := w.deal.At(hammer), 0
	gain = w.leave(&p, w.meanFinished()(hammer), func(int, float64) { left++ })
	return float64(left) / float64(len(w.Base)), gain
}

// LossChance returns the chance of a loss at a hammer price, where margin is what Margin
// returns there: METHOD.md 10.5.
func (w *Worlds) LossChance(hammer money.Pence, margin []float64) float64 {
	return w.LossChanceAt(w.deal.At(hammer), margin)
}

// LossChanceAt is LossChance at a price of the deal, where margin is what MarginAt returns.
func (w *Worlds) LossChanceAt(p deal.Price, margin []float64) float64 {
	if len(w.shown) == 0 {
		return lossChance(margin)
	}
	return min(lossChance(margin), w.finished()(&p).Loss)
}

// mayStop puts the right to stop into a standing of a car that is finished, as far as the
// limits need it.
func (w *Worlds) mayStop(p *deal.Price, at *bid.Standing, limits bid.Limits) {
	loses := limits.Loses(at.Loss)
	if !loses && at.Mean >= limits.Target(at)+surely {
		return
	}
	if !loses {
		at.Mean += w.leave(p, at.Mean, nil)
		return
	}
	losing := make([]bool, len(w.Base))
	w.margins(p, func(i int, m float64) { losing[i] = m < 0 })
	at.Mean += w.leave(p, at.Mean, func(i int, m float64) { losing[i] = m < 0 })
	count := 0
	for _, yes := range losing {
		if yes {
			count++
		}
	}
	at.Loss = min(at.Loss, float64(count)/float64(len(losing)))
}

// weigh works out mean and standard deviation of the costs, once.
func (w *Worlds) weigh() {
	if w.stripped.n == len(w.Base) {
		return
	}
	costs := make([]float64, len(w.Base))
	for i := range costs {
		costs[i] = w.cost(i)
	}
	w.stripped.n = len(w.Base)
	w.stripped.mean, w.stripped.sd = meanSD(costs)
}
