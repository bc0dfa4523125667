package evaluate

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

func close(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// Closed forms of a lognormal price of mean a: quantile a exp(v z - v^2/2), variance
// a^2 (exp(v^2) - 1), and the mean shortfall below x is the value of a put with strike
// x at no interest: x N(-d2) - a N(-d1), d1 = (ln(a/x) + v^2/2)/v, d2 = d1 - v (Black and
// Scholes 1973, Journal of Political Economy 81).
func TestMarketOfAFixedShare(t *testing.T) {
	n := distuv.UnitNormal.CDF
	for _, v := range []float64{0.02, 0.1, 0.3} {
		const a = 0.75
		m := newMarket(stats.Fixed(1-a), v)
		what := fmt.Sprintf("spread %g: ", v)
		close(t, what+"mean", m.spread.Mean, a, 1e-12)
		close(t, what+"sd", m.sd, a*math.Sqrt(math.Expm1(v*v)), 1e-9)
		for p, got := range map[float64]float64{0.1: m.spread.P10, 0.5: m.spread.P50, 0.9: m.spread.P90} {
			close(t, fmt.Sprintf("%squantile %g", what, p), got, a*math.Exp(v*distuv.UnitNormal.Quantile(p)-v*v/2), 2e-4*v)
		}
		for z := -6.0; z <= 6; z += 0.37 {
			x := a * math.Exp(v*z)
			d1 := (math.Log(a/x) + v*v/2) / v
			d2 := d1 - v
			below, short := m.at(x)
			close(t, fmt.Sprintf("%schance of at most %g", what, x), below, n(-d2), 1e-4)
			close(t, fmt.Sprintf("%schance alone of at most %g", what, x), m.chance(x), below, 1e-12)
			close(t, fmt.Sprintf("%sshortfall below %g", what, x), short, x*n(-d2)-a*n(-d1), 2e-4*v)
		}
	}
	// The worked example of most textbooks (Hull, Options, Futures, and Other Derivatives;
	// from memory): a put at 42 and 40 discounted, volatility 20 %, half a year, is worth 0.81.
	strike := 40 * math.Exp(-0.1*0.5)
	_, short := newMarket(stats.Fixed(0), 0.2*math.Sqrt(0.5)).at(strike / 42)
	close(t, "put", 42*short, 0.81, 0.005)
}

// An uncertain share against integrating over both scores on a fine grid.
func TestMarketOfAnUncertainShare(t *testing.T) {
	share := stats.Amount{Low: 0.12, Mid: 0.2, High: 0.35}
	for _, v := range []float64{0, 0.05, 0.15} {
		m := newMarket(share, v)
		const n = 4000
		for _, x := range []float64{0.5, 0.65, 0.75, 0.8, 0.85, 1} {
			var below, short, mean, square float64
			for i := range n {
				a := 1 - min(1, share.Quantile((float64(i)+0.5)/n))
				mean += a / n
				square += a * a * math.Exp(v*v) / n
				if v == 0 {
					if short += max(0, x-a) / n; a <= x {
						below += 1.0 / n
					}
					continue
				}
				k := (math.Log(x/a) + v*v/2) / v
				below += distuv.UnitNormal.CDF(k) / n
				short += (x*distuv.UnitNormal.CDF(k) - a*distuv.UnitNormal.CDF(k-v)) / n
			}
			gotBelow, gotShort := m.at(x)
			what := fmt.Sprintf("spread %g, at most %g: ", v, x)
			close(t, what+"chance", gotBelow, below, 1e-3)
			close(t, what+"shortfall", gotShort, short, 2e-4)
			close(t, what+"mean", m.spread.Mean, mean, 1e-4)
			close(t, what+"sd", m.sd, math.Sqrt(square-mean*mean), 2e-4)
		}
		if v == 0 {
			close(t, "P10", m.spread.P10, 1-0.35, 1e-3)
			close(t, "P50", m.spread.P50, 1-0.2, 1e-3)
			close(t, "P90", m.spread.P90, 1-0.12, 1e-3)
		}
	}
}

func TestACertainPrice(t *testing.T) {
	m := newMarket(stats.Fixed(0.2), 0)
	if m.sd != 0 || m.spread != (Spread{0.8, 0.8, 0.8, 0.8}) {
		t.Errorf("%v, sd %v", m.spread, m.sd)
	}
	for _, x := range []struct{ at, below, short float64 }{{0.7, 0, 0}, {0.8, 1, 0}, {0.9, 1, 0.1}} {
		below, short := m.at(x.at)
		close(t, "chance", below, x.below, 0)
		close(t, "chance alone", m.chance(x.at), x.below, 0)
		close(t, "shortfall", short, x.short, 1e-12)
	}
}

// Days for parts, max(seen t, strip + hidden t), and their squares against integrating over
// the normal score on a fine grid.
func TestWaiting(t *testing.T) {
	b, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	workshop := &shop.Shop{Settings: shop.Settings{StripDays: 3, LeadSpread: stats.Amount{Low: 0.8, Mid: 1, High: 2.5},
		SellDays: stats.Amount{Low: 7, Mid: 21, High: 60}}, Costs: b, Tariff: new(shop.Tariff)}
	terms := deal.TermsOf(&workshop.Settings)
	e, err := newShared(workshop, &terms, nil)
	if err != nil {
		t.Fatal(err)
	}
	const step = 1.0 / 256
	for _, l := range []lead{{0, 0, 1}, {5, 0, 1}, {0, 5, 1}, {9, 7, 1}, {20, 3, 2.5}, {4, 21, 0.1}} {
		parts, square := 0.0, 0.0
		for z := -9.0; z <= 9; z += step {
			s, w := workshop.LeadSpread.At(z), step*distuv.UnitNormal.Prob(z)
			d := max(l.seen*s, workshop.StripDays+l.hidden*s)
			parts += w * d
			square += w * d * d
		}
		w := e.waiting(l)
		close(t, fmt.Sprintf("%+v: days", l), w.parts, parts, 1e-4*parts)
		close(t, fmt.Sprintf("%+v: squares", l), w.square, square, 2e-4*square)
		if again := e.waiting(l); again != w {
			t.Errorf("%+v is worked out twice", l)
		}
		mean, chance := meanOf(w.days)
		close(t, "chances of the days", chance, 1, 1e-9)
		close(t, "mean of the days", mean, l.unit*w.parts, 5e-4*mean+1e-12)
	}
	mean, _ := meanOf(e.selling(2))
	close(t, "twice the days to sell", mean, 2*workshop.SellDays.Mean(), 1e-3*mean)
}

// meanOf returns the mean of a part, and what its chances add up to.
func meanOf(p *convolve.Part) (mean, chance float64) {
	for i, x := range p.Chances {
		mean += x * (p.At(p.Edges[i]) + p.At(p.Edges[i+1])) / 2
		chance += x
	}
	return mean, chance
}
