package plan

import "math"

// points is Tukey's g-distribution through P10, P50 and P90.
type points struct{ mid, side, skew float64 }

func newPoints(p [3]float64) points {
	down, up := p[1]-p[0], p[2]-p[1]
	if down <= 0 || up <= 0 || down == up { // one-sided: as even, by the whole width
		return points{mid: p[1], side: (p[2] - p[0]) / 2 / z90}
	}
	t := math.Log(up/down) / z90
	return points{mid: p[1], side: down / -math.Expm1(-t*z90), skew: t}
}

// at returns the amount at a standard normal score.
func (p points) at(z float64) float64 {
	if p.skew == 0 {
		return p.mid + p.side*z
	}
	return p.mid + p.side*math.Expm1(p.skew*z)
}

// mean returns the expected amount, in closed form.
func (p points) mean() float64 { return p.mid + p.side*math.Expm1(p.skew*p.skew/2) }

// A luck is how one car may turn out apart from what its mean margin says.
type luck struct {
	margin   points
	mean     float64
	market   float64 // the share q of the market's score in the car's own
	own      float64 // sqrt(1 - q^2)
	bias     float64 // pounds to one sd of the cost table's error
	spend    points
	reserved float64
	repaired float64 // pounds of spend to one sd of the cost table's error
}

// newLuck: METHOD.md 19.17 to 19.19.
func newLuck(l *Lot, s *Settings) luck {
	u := luck{margin: newPoints(l.Score), bias: s.CostBias * l.Repair, spend: newPoints(l.Spend), reserved: l.Reserved}
	u.mean = u.margin.mean()
	if l.SD > 0 {
		u.market = min(0.95, s.MarketLink*l.Resale*(1-s.SellPercent)/l.SD)
	}
	u.own = math.Sqrt(1 - u.market*u.market)
	u.repaired = s.CostBias * u.spend.mean()
	return u
}

// draw returns by how much the margin differs from its mean, given the scores of
// the market, of the cost table and of the car.
func (u *luck) draw(market, table, own float64) float64 {
	return u.margin.at(u.market*market+u.own*own) - u.mean - u.bias*table
}

// over returns by how much the spend exceeds what the plan holds for it.
func (u *luck) over(table, own float64) float64 {
	return max(0, u.spend.at(own)+u.repaired*table) - u.reserved
}
