package evaluate

import (
	"math"

	"wreckoner/evaluate/money"
)

// marginsTo returns the function from a hammer price, above 0 and up to stop, to the mean margin of a reckoned lot
// there, both in pounds: with the top-bidder allowance and with the right not to finish the car, as the margin at one
// price has them. It is for a lot with an appraisal.
//
// Hundreds of prices are asked for, so that what lies on a line is worked out at its two ends, and what the right not
// to finish the car adds, which is smooth, at a few prices.
func (r *analytic) marginsTo(stop money.Pence) func(pounds float64) float64 {
	plain, right := r.plainTo(stop), r.rightTo(stop)
	return func(pounds float64) float64 {
		m := plain(pounds)
		return m + r.shift(money.FromPounds(pounds), m) + right(pounds)
	}
}

// A line is what an amount is from a hammer price on, both in pounds.
type line struct{ from, at, slope float64 }

// plainTo is plainMargin up to a stop. Between two prices at which a fee changes that is a line, but for the rounding
// of fees to pence, unless VAT is due on gains only.
func (r *analytic) plainTo(stop money.Pence) func(pounds float64) float64 {
	if r.d.Scheme > 0 {
		return r.plainMargin
	}
	lines := make([]line, 0, 8)
	add := func(from, to money.Pence) {
		l := line{from: from.Pounds(), at: r.plainMargin(from.Pounds())}
		if to > from {
			l.slope = (r.plainMargin(to.Pounds()) - l.at) / (to - from).Pounds()
		}
		lines = append(lines, l)
	}
	from := money.Pence(1)
	for _, edge := range r.d.Steps() {
		if edge > from && edge <= stop {
			add(from, edge-1)
			from = edge
		}
	}
	add(from, max(from, stop))
	return func(pounds float64) float64 {
		i := len(lines) - 1
		for i > 0 && lines[i].from > pounds {
			i--
		}
		return lines[i].at + lines[i].slope*(pounds-lines[i].from)
	}
}

// farBelow is how many scales of the log price below its middle hammer prices hardly occur any more.
const farBelow = 4

// rightTo is what the right not to finish the car adds to the mean margin at hammer prices up to a stop, in pounds,
// from the lowest price that may well occur: by parabolas on either side of the usual price, above which an unfinished
// car brings no more.
func (r *analytic) rightTo(stop money.Pence) func(pounds float64) float64 {
	if !r.d.MayStop() {
		return func(float64) float64 { return 0 }
	}
	low := money.FromPounds(math.Exp(r.a.Price.Location - farBelow*r.a.Price.Scale))
	low = max(1, min(low, stop))
	var all []parabola
	if usual := r.d.Stop.Usual; usual > low && usual < stop {
		all = r.parabolas(all, low, usual, r.right(low), r.right(usual), mostSplits)
		low = usual
	}
	all = r.parabolas(all, low, stop, r.right(low), r.right(stop), mostSplits)
	return func(pounds float64) float64 {
		i := len(all) - 1
		for i > 0 && all[i].low > pounds {
			i--
		}
		return all[i].at(pounds)
	}
}

// right is what the right not to finish the car adds to the mean margin at a hammer price, in pounds.
func (r *analytic) right(hammer money.Pence) float64 {
	_, gain := r.gain(hammer)
	return gain
}

// A stretch of prices is halved so many times at most, where the amount bends by more than bends, in pounds.
const mostSplits, bends = 2, 20

// A parabola goes through three amounts: at a price, half way, and at another price, all in pounds.
type parabola struct {
	low, high float64
	y         [3]float64
}

// parabolas appends those from a price to another, at which the right adds so much.
func (r *analytic) parabolas(all []parabola, low, high money.Pence, atLow, atHigh float64, splits int) []parabola {
	mid := (low + high) / 2
	p := parabola{low.Pounds(), high.Pounds(), [3]float64{atLow, r.right(mid), atHigh}}
	if splits == 0 || math.Abs(p.y[0]+p.y[2]-2*p.y[1]) <= bends {
		return append(all, p)
	}
	all = r.parabolas(all, low, mid, atLow, p.y[1], splits-1)
	return r.parabolas(all, mid, high, p.y[1], atHigh, splits-1)
}

// at is the amount at a price; beyond the ends it is that at the end.
func (p *parabola) at(price float64) float64 {
	if p.high <= p.low {
		return p.y[2]
	}
	x := min(1, max(0, (price-p.low)/(p.high-p.low)))
	return p.y[0] + x*(4*p.y[1]-3*p.y[0]-p.y[2]+x*2*(p.y[0]+p.y[2]-2*p.y[1]))
}
