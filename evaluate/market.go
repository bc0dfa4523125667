package evaluate

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/stats"
)

// market is the resale price of a car worth one pound before the damage: less the
// marker's share, in a market that stands somewhere. It is the same for all cars
// of a category and a segment.
type market struct {
	spread Spread
	sd     float64
	low    float64
	step   float64
	// perStep is 1 over step.
	perStep float64
	// below is the chance, at low plus so many steps, that the price is not above
	// that; short is the mean of what it falls short of it by.
	below, short []float64
}

const marketCells = 384

// newMarket tabulates the price (1 - d) exp(v w - v^2/2), d the share that the
// marker takes and w a standard normal score, in closed form given d: the chance
// and the mean shortfall of a lognormal (Black and Scholes 1973).
func newMarket(share stats.Amount, v float64) *market {
	// The marker's share at scores that stand close enough for the trapezoidal rule,
	// or for equal chances where it alone is uncertain.
	var rest, weight []float64
	switch {
	case share.Certain():
		rest, weight = []float64{1 - min(1, share.Mid)}, []float64{1}
	case v > 0:
		total := 0.0
		for z := -5.5; z <= 5.5; z += 1.0 / 3 {
			w := math.Exp(-z * z / 2)
			rest, weight = append(rest, 1-min(1, share.At(z))), append(weight, w)
			total += w
		}
		for i := range weight {
			weight[i] /= total
		}
	default:
		const n = 1 << 14
		for i := range n {
			rest, weight = append(rest, 1-min(1, share.Quantile((float64(i)+0.5)/n))), append(weight, 1.0/n)
		}
	}
	m := &market{below: make([]float64, marketCells+1), short: make([]float64, marketCells+1)}
	low, high, square := math.Inf(1), 0.0, 0.0
	for i, a := range rest {
		m.spread.Mean += weight[i] * a
		square += weight[i] * a * a
		if weight[i] > 1e-7 {
			low, high = min(low, a), max(high, a)
		}
	}
	m.sd = math.Sqrt(max(0, square*math.Exp(v*v)-m.spread.Mean*m.spread.Mean))
	m.low, high = low*math.Exp(-5.2*v), high*math.Exp(5.2*v)
	m.step = (high - m.low) / marketCells
	if m.sd <= 1e-12 {
		m.sd, m.step = 0, 0
		m.spread.P10, m.spread.P50, m.spread.P90 = m.spread.Mean, m.spread.Mean, m.spread.Mean
		return m
	}
	m.perStep = 1 / m.step
	for i := range m.below {
		x := m.low + float64(i)*m.step
		for k, a := range rest {
			p, s := lognormal(a, v, x)
			m.below[i] += weight[k] * p
			m.short[i] += weight[k] * s
		}
	}
	m.spread.P10, m.spread.P50, m.spread.P90 = m.quantile(0.1), m.quantile(0.5), m.quantile(0.9)
	return m
}

// lognormal returns, for a lognormal of mean a and log-scale spread v, the chance
// of not being above x, and the mean of what it falls short of x by.
func lognormal(a, v, x float64) (below, short float64) {
	switch {
	case x < a && (v == 0 || x <= 0):
		return 0, 0
	case v == 0 || a <= 0:
		return 1, x - a
	}
	k := (math.Log(x/a) + v*v/2) / v
	below = distuv.UnitNormal.CDF(k)
	return below, x*below - a*distuv.UnitNormal.CDF(k-v)
}

// at returns the chance that the price is not above x, and the mean of what it
// falls short of x by.
func (m *market) at(x float64) (below, short float64) {
	if m.step == 0 {
		if x < m.spread.Mean {
			return 0, 0
		}
		return 1, x - m.spread.Mean
	}
	t := (x - m.low) / m.step
	if t <= 0 {
		return 0, 0
	}
	i := int(t)
	if i >= marketCells {
		return 1, x - m.spread.Mean
	}
	t -= float64(i)
	return m.below[i] + t*(m.below[i+1]-m.below[i]), m.short[i] + t*(m.short[i+1]-m.short[i])
}

// chance is at, without the shortfall.
func (m *market) chance(x float64) float64 {
	t := (x - m.low) * m.perStep
	switch {
	case t <= 0 && m.step > 0, m.step == 0 && x < m.spread.Mean:
		return 0
	case t >= marketCells, m.step == 0:
		return 1
	}
	i := int(t)
	return m.below[i] + (t-float64(i))*(m.below[i+1]-m.below[i])
}

// quantileOf is quantile, also of a price that is certain.
func (m *market) quantileOf(p float64) float64 {
	if m.step == 0 {
		return m.spread.Mean
	}
	return m.quantile(p)
}

func (m *market) quantile(p float64) float64 {
	i := sort.SearchFloat64s(m.below, p)
	if i == 0 || i == len(m.below) {
		return m.low + float64(min(i, marketCells))*m.step
	}
	return m.low + (float64(i-1)+(p-m.below[i-1])/(m.below[i]-m.below[i-1]))*m.step
}
