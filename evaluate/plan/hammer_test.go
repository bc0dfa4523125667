package plan

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	rival "wreckoner/evaluate/bid"
)

func must(t testing.TB) func(h Hammer, err error) Hammer {
	return func(h Hammer, err error) Hammer {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
}

func TestHammerChances(t *testing.T) {
	for _, c := range []struct {
		source string
		hammer Hammer
		x      float64
		want   float64
		within float64
	}{
		{"definition: P10 of three points", must(t)(ThreePointHammer(750, 1000, 1350)), 750, 0.1, 1e-12},
		{"definition: P50", must(t)(ThreePointHammer(750, 1000, 1350)), 1000, 0.5, 1e-12},
		{"definition: P90", must(t)(ThreePointHammer(750, 1000, 1350)), 1350, 0.9, 1e-12},
		{"definition: P10, skewed to the left", must(t)(ThreePointHammer(600, 1000, 1200)), 600, 0.1, 1e-12},
		{"definition: P90, skewed to the left", must(t)(ThreePointHammer(600, 1000, 1200)), 1200, 0.9, 1e-12},
		{"definition: P90, even sides", must(t)(ThreePointHammer(800, 1000, 1200)), 1200, 0.9, 1e-12},
		// The g-distribution of 750, 1000, 1350 ends at mid - a / (1 - exp(-t z90)) = 1000 - 250 / (1 - 250/350).
		{"closed form: the lower bound", must(t)(ThreePointHammer(750, 1000, 1350)), 125, 0, 0},
		{"closed form: beyond the upper bound",
			must(t)(ThreePointHammer(600, 1000, 1200)), 1401, 1, 0},
		{"Student's t table, 5 degrees of freedom: 1.475884 is P90 (Abramowitz and Stegun 1964, table 26.10: 1.476)",
			must(t)(rival.StudentHammer(7, 0.2, 5)), math.Exp(7 + 0.2*1.475884), 0.9, 1e-6},
		{"the same table: 2.015048 is P95",
			must(t)(rival.StudentHammer(7, 0.2, 5)), math.Exp(7 - 0.2*2.015048), 0.05, 1e-6},
		{"closed form: Cauchy, 1/2 + atan(x)/pi",
			must(t)(rival.StudentHammer(0, 1, 1)), math.Exp(20), 0.5 + math.Atan(20)/math.Pi, 1e-12},
		{"normal table: P(Z < 1.96) = 0.9750021",
			must(t)(lognormalHammer(8, 0.25)), math.Exp(8 + 0.25*1.96), 0.9750021, 1e-7},
		{"definition: a certain hammer is not below itself", must(t)(rival.CertainHammer(500)), 500, 0, 0},
		{"definition: but below the next pound", must(t)(rival.CertainHammer(500)), 501, 1, 0},
		{"definition: nobody knows", Hammer{}, 1e6, 0, 0},
	} {
		near(t, c.source, below(c.hammer.Score(c.x)), c.want, c.within)
	}
}

// A t distribution with very many degrees of freedom is the normal; far out, the
// score neither ends nor turns round.
func TestStudentScores(t *testing.T) {
	wide, normal := must(t)(rival.StudentHammer(8, 0.3, 1e7)), must(t)(lognormalHammer(8, 0.3))
	for z := -6.0; z <= 6; z += 0.5 {
		x := math.Exp(8 + 0.3*z)
		near(t, "score", wide.Score(x), normal.Score(x), 1e-4)
	}
	h, last := must(t)(rival.StudentHammer(8, 0.3, 4)), math.Inf(-1)
	for x := 1.0; x < 1e12; x *= 1.5 {
		z := h.Score(x)
		if z <= last || math.IsInf(z, 0) {
			t.Fatalf("score %v at %v, after %v", z, x, last)
		}
		last = z
	}
}

// A score turns into the price that it came from, and the learned figures come back.
func TestHammerInverts(t *testing.T) {
	for _, h := range []Hammer{
		must(t)(ThreePointHammer(750, 1000, 1350)), must(t)(ThreePointHammer(600, 1000, 1200)),
		must(t)(ThreePointHammer(800, 1000, 1200)), must(t)(lognormalHammer(7, 0.3)), must(t)(rival.StudentHammer(7, 0.3, 9)),
	} {
		for z := -3.0; z <= 3; z += 0.25 {
			near(t, "score of the price at a score", h.Score(h.At(z)), z, 1e-8)
		}
	}
	near(t, "certain", must(t)(rival.CertainHammer(800)).At(2), 800, 0)
	if !math.IsNaN((Hammer{}).At(0)) {
		t.Error("a price of nothing known")
	}
	at, scale, df, ok := must(t)(rival.StudentHammer(7, 0.3, 9)).Learned()
	if at != 7 || scale != 0.3 || df != 9 || !ok {
		t.Errorf("%v %v %v %v", at, scale, df, ok)
	}
	if _, _, _, ok := must(t)(ThreePointHammer(750, 1000, 1350)).Learned(); ok {
		t.Error("three points were learned")
	}
}

func TestBadHammers(t *testing.T) {
	nan := math.NaN()
	for _, err := range []error{
		second(ThreePointHammer(0, 1, 2)), second(ThreePointHammer(2, 1, 3)), second(ThreePointHammer(1, 1, 3)),
		second(ThreePointHammer(1, 3, 3)), second(ThreePointHammer(1, 2, math.Inf(1))),
		second(ThreePointHammer(1, nan, 3)),
		second(rival.StudentHammer(nan, 1, 3)), second(rival.StudentHammer(8, 0, 3)), second(rival.StudentHammer(8, 1, 0)),
		second(rival.StudentHammer(8, nan, 3)), second(rival.CertainHammer(-1)),
	} {
		if err == nil {
			t.Error("taken")
		}
	}
}

// lognormalHammer returns the hammer whose natural logarithm is normal with this mean and
// standard deviation: a g-distribution whose skewness is the standard deviation.
func lognormalHammer(location, scale float64) (Hammer, error) {
	return ThreePointHammer(math.Exp(location-scale*z90), math.Exp(location), math.Exp(location+scale*z90))
}

func second(_ Hammer, err error) error { return err }

// Gap and opening, by definition: to win, the highest rival limit must be beaten,
// exp(gap) above the hammer; below the opening no bid counts, and what would have
// gone for less goes at the opening.
func TestWinChance(t *testing.T) {
	h := must(t)(ThreePointHammer(750, 1000, 1350))
	r := Rivals{Hammer: h, Gap: 0.1, Opening: 900}
	for _, c := range []struct{ bid, want float64 }{
		{1350 * math.Exp(0.1), 0.9}, {1000 * math.Exp(0.1), 0.5}, {899, 0},
	} {
		got, known := r.WinChance(c.bid)
		if near(t, "chance", got, c.want, 1e-12); !known {
			t.Error("not known")
		}
	}
	lot := Lot{Name: "1", Limit: 1500, Hammer: h, Opening: 900}
	lot.Margin, lot.Tied = Ladder(50, 1500, func(x float64) (float64, float64) { return 2000 - x, x })
	d := newLadder(&lot, &Settings{BidStep: 50, Gap: 0.1}, Common{Var: 1}, false)
	near(t, "no chance at 850", d.chance[16], 0, 0)
	near(t, "all below at 900", d.chance[17], below(h.Score(900*math.Exp(-0.1))), 1e-15)
	at900, at950 := below(h.Score(900*math.Exp(-0.1))), below(h.Score(950*math.Exp(-0.1)))
	near(t, "one step at 950", d.chance[18], at950-at900, 1e-15)
	if _, known := (Rivals{}).WinChance(100); known {
		t.Error("known, of nothing")
	}
	if got, want := d.paid(h.Score(930*math.Exp(-0.1))), 18; got != want {
		t.Errorf("paid step %d, want %d", got, want)
	}
	if got, want := d.paid(-9), 17; got != want {
		t.Errorf("paid step %d, want the opening, %d", got, want)
	}
}

// The law of total probability: linked prices averaged over the sale's score are
// the unlinked ones.
func TestLinkedPricesAverageToTheSame(t *testing.T) {
	h := must(t)(ThreePointHammer(750, 1000, 1350))
	for _, before := range []Common{{Link: 0.3, Var: 1}, learn(0.3, []float64{0.4, 1.1, -0.2})} {
		z := before.of(h.Score(1100))
		sum, mass := 0.0, 0.0
		for x := -9.0; x <= 9; x += 1.0 / 512 {
			p := distuv.UnitNormal.Prob(x)
			sum += p * below(before.within(x).of(z))
			mass += p
		}
		near(t, "linked", sum/mass, below(z), 1e-9)
	}
}

// Bayes' rule by a numerical integral.
func TestScoreOfTheSale(t *testing.T) {
	z, link := []float64{0.4, 1.1, -0.2}, 0.3
	mass, mean, square := 0.0, 0.0, 0.0
	for w := -8.0; w <= 8; w += 1e-3 {
		p := distuv.UnitNormal.Prob(w)
		for _, a := range z {
			p *= distuv.Normal{Mu: math.Sqrt(link) * w, Sigma: math.Sqrt(1 - link)}.Prob(a)
		}
		mass, mean, square = mass+p, mean+p*w, square+p*w*w
	}
	mean /= mass
	got := learn(link, z)
	near(t, "mean", got.Mean, mean, 1e-9)
	near(t, "variance", got.Var, square/mass-mean*mean, 1e-9)
	near(t, "one wild guide is cut", learn(link, []float64{40}).Mean, learn(link, []float64{2.5}).Mean, 0)
	near(t, "nothing closed: the prior", learn(link, nil).Var, 1, 0)
}

// What a closed lot teaches: readings of METHOD.md 19.8.
func TestClosedScores(t *testing.T) {
	h := must(t)(lognormalHammer(math.Log(1000), 0.25))
	r := Rivals{Hammer: h, Gap: 0.1}
	z, _ := closedScore(r, 50, 1000, false)
	near(t, "another's at its median", z, 0, 1e-12)
	z, _ = closedScore(r, 50, 1000, true)
	near(t, "ours in the step below", z, (math.Log(975)-0.1-math.Log(1000))/0.25, 1e-12)
	r.Opening = 980
	z, _ = closedScore(r, 50, 1000, true)
	near(t, "ours at the opening: half the chance of the step", below(z), below(r.Score(1000))/2, 1e-12)
	if _, ok := closedScore(Rivals{}, 50, 1000, true); ok {
		t.Error("a lot of which nothing was known teaches something")
	}
	if _, ok := closedScore(Rivals{Hammer: must(t)(rival.CertainHammer(900))}, 50, 1000, false); ok {
		t.Error("a certain hammer teaches something")
	}
}
