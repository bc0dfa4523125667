package build

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"wreckoner/evaluate/money"
)

// drawn is one finished car: what freeze promised as coded, what it promised corrected (not a number: bought without
// evidence), and what was made.
func drawn(promised, corrected, made float64) *Outcome {
	o := &Outcome{Frozen: &Frozen{}, Build: &Build{}, MarginExpected: money.FromPounds(promised),
		MarginActual: money.FromPounds(made)}
	if !math.IsNaN(corrected) {
		o.Frozen.Evidence = &EvidenceRecord{Corrected: corrected}
	}
	return o
}

// The three best of fifty, 700 times over: true margins are normal with mean 400 and standard deviation 900, what a car
// promises is off by a normal error of 600. As coded, what is made regresses on what is promised with slope B = 900^2 /
// (900^2 + 600^2) = 0.692, and the best promise more than they make by (1 - B) of what they promise above the mean.
// Corrected by B (James and Stein 1961), the slope is 1 and what is promised is made (Smith and Winkler 2006).
func TestMadeOnPromisedOfTheBestOfFifty(t *testing.T) {
	const mean, sd, err, cars = 400.0, 900.0, 600.0, 2100
	b := sd * sd / (sd*sd + err*err)
	r := rand.New(rand.NewPCG(18, 3))
	var all []*Outcome
	sum := 0.0
	for len(all) < cars {
		best := [3][2]float64{{math.Inf(-1)}, {math.Inf(-1)}, {math.Inf(-1)}} // promised, made; the last is the least
		for range 50 {
			made := mean + sd*r.NormFloat64()
			promised := made + err*r.NormFloat64()
			for k := range best {
				if promised > best[k][0] {
					copy(best[k+1:], best[k:])
					best[k] = [2]float64{promised, made}
					break
				}
			}
		}
		for _, x := range best {
			all = append(all, drawn(x[0], mean+b*(x[0]-mean), x[1]))
			sum += x[0] / cars
		}
	}
	m, fault := margins(all)
	if fault != nil {
		t.Fatal(fault)
	}
	raw, c := &m.AsCoded, m.Corrected
	se := err * math.Sqrt(b) / math.Sqrt(cars)
	if want := -(1 - b) * (sum - mean); math.Abs(raw.Off.Mean-want) > 4*se {
		t.Errorf("as coded, made less promised is %.0f a car; %.0f is expected", raw.Off.Mean, want)
	}
	if math.Abs(c.Off.Mean) > 4*se || c.Off.Interval.Low > 0 || c.Off.Interval.High < 0 {
		t.Errorf("corrected, made less promised is %.0f a car (%+v)", c.Off.Mean, *c.Off.Interval)
	}
	if i := raw.Line.SlopeInterval; math.Abs(raw.Line.Slope-b) > 4*raw.Line.SlopeSD || !(i.Low < b && b < i.High) {
		t.Errorf("as coded, the slope is %.3f (%+v), %.3f is expected", raw.Line.Slope, *i, b)
	}
	if i := c.Line.SlopeInterval; math.Abs(c.Line.Slope-1) > 4*c.Line.SlopeSD || !(i.Low < 1 && 1 < i.High) {
		t.Errorf("corrected, the slope is %.3f (%+v), 1 is expected", c.Line.Slope, *i)
	}
}

// Every build counts, one that was given up too; the corrected sums are of those that were bought with evidence alone.
func TestMarginsCountEveryBuild(t *testing.T) {
	given := drawn(500, math.NaN(), -700)
	given.Build.Stopped = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	m, err := margins([]*Outcome{drawn(1000, 800, 900), drawn(2000, 1500, 2500), given, drawn(300, math.NaN(), 300)})
	if err != nil {
		t.Fatal(err)
	}
	a, c := m.AsCoded, m.Corrected
	if a.Builds != 4 || a.Promised != 380000 || a.Made != 300000 || a.Behind != 2 || a.Lost != 1 || a.Off.Mean != -200 {
		t.Errorf("as coded: %+v", a)
	}
	if c.Builds != 2 || c.Promised != 230000 || c.Made != 340000 || c.Behind != 0 || c.Off.Mean != 550 ||
		c.Line.SlopeInterval != nil {
		t.Errorf("corrected: %+v", *c)
	}
	if m, err = margins([]*Outcome{given}); err != nil || m.Corrected != nil || m.AsCoded.Off.Interval != nil {
		t.Errorf("one without evidence: %+v, %v", m, err)
	}
}
