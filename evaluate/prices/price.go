package prices

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/evaluate/stats"
)

// A PriceSource says what a price comes from.
type PriceSource string

// The sources of a price. [PriceFromShare] is the prior alone, without a guide or results: it says how surprising a
// hammer price is, and is no price to work with.
const (
	PriceFromGuide   PriceSource = "guide"
	PriceFromResults PriceSource = "results"
	PriceFromBoth    PriceSource = "guide and results"
	PriceFromShare   PriceSource = "share of value"
)

// A Price is the distribution of the price to beat: the most that any rival would give. Its log is a Student t
// with DF degrees of freedom; such a price has no mean. METHOD.md 15.20 to 15.22.
type Price struct {
	// Location and Scale are of the log of the price to beat; the hammer price's location is Location - Gap.
	Location, Scale, DF float64
	Gap                 float64
	Source              PriceSource
	// Results counts the past lots behind it, Weight what is left of them after fading and doubts.
	Results int
	Weight  float64
	curve   *curve
}

func (p *Price) t() distuv.StudentsT {
	return distuv.StudentsT{Mu: p.Location, Sigma: p.Scale, Nu: p.DF}
}

// CDF is the chance that the price to beat is at most so many pounds.
func (p *Price) CDF(pounds float64) float64 {
	if !(pounds > 0) {
		return 0
	}
	return p.t().CDF(math.Log(pounds))
}

// WinChance is the chance that a bid of so many pounds wins: METHOD.md 15.22.
func (p *Price) WinChance(bid float64) float64 { return p.CDF(bid) }

// Quantile is the price to beat that is not exceeded with a chance between 0 and 1, pounds.
func (p *Price) Quantile(chance float64) float64 { return math.Exp(p.logQuantile(chance)) }

func (p *Price) logQuantile(chance float64) float64 {
	if p.curve != nil {
		switch chance { // those that each lot is shown with
		case 0.1:
			return p.Location + p.Scale*p.curve.p10
		case 0.9:
			return p.Location + p.Scale*p.curve.p90
		}
	}
	return p.t().Quantile(chance)
}

// HammerQuantile is the same of the hammer price among others, without us.
func (p *Price) HammerQuantile(chance float64) float64 {
	return math.Exp(p.logQuantile(chance) - p.Gap)
}

// Points are P10, P50 and P90 of the price to beat, pounds.
func (p *Price) Points() Points { return Points{p.Quantile(0.1), p.Quantile(0.5), p.Quantile(0.9)} }

// Grid is n equally likely prices to beat: the quantiles (i + 0.5)/n, METHOD.md 15.24.
func (p *Price) Grid(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = p.Quantile((float64(i) + 0.5) / float64(n))
	}
	return out
}

// surprise is how far a hammer price lies from what was expected, in scales of the price, cut to [-2, high].
func (p *Price) surprise(hammer, high float64) float64 {
	if !(hammer > 0) {
		return lowestU
	}
	return min(high, max(lowestU, (math.Log(hammer)-p.Location)/p.Scale))
}

// mostSteps is the most steps that an expected gain is summed over.
const mostSteps = 200

// ExpectedGain is what bidding up to a stop is worth, pounds: METHOD.md 15.24. margin gives the corrected mean
// margin at a price; step is what bids are multiples of.
func (p *Price) ExpectedGain(margin func(price float64) float64, stop, step float64) float64 {
	if !(stop > 0) || !(step > 0) {
		return 0
	}
	k := int(min(mostSteps, math.RoundToEven(stop/step)))
	sum, below, logStep := 0.0, 0.0, math.Log(stop/float64(k))
	for i := range k {
		low, high := stop*float64(i)/float64(k), stop*float64(i+1)/float64(k)
		upTo := p.quickCDF(logStep + logs[i])
		if m := margin((low + high) / 2); m > 0 {
			sum += m * (upTo - below)
		}
		below = upTo
	}
	return sum
}

// logs are those of 1 to mostSteps.
var logs = func() (logs [mostSteps]float64) {
	for i := range logs {
		logs[i] = math.Log(float64(i + 1))
	}
	return logs
}()

// quickCDF is the chance that the price to beat is at most that of a log.
func (p *Price) quickCDF(log float64) float64 {
	z := (log - p.Location) / p.Scale
	if p.curve == nil {
		return (distuv.StudentsT{Sigma: 1, Nu: p.DF}).CDF(z)
	}
	return p.curve.CDF(z)
}

// curve is a Student t's distribution function on a table, with two of its quantiles. All lots of a fit share the degrees
// of freedom.
type curve struct {
	*stats.Table
	p10, p90 float64
}

// curveReach is how far either side of 0 the table goes.
const curveReach = 24

func newCurve(df float64) *curve {
	t := distuv.StudentsT{Sigma: 1, Nu: df}
	return &curve{stats.NewTable(t, curveReach), t.Quantile(0.1), t.Quantile(0.9)}
}
