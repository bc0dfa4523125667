// Package stats holds uncertain quantities given as three points, the one rule by
// which this program reads quantiles, and what holds forecasts against what came of
// them: whether intervals cover as often as they say, how large the habitual error is.
// It takes plain numbers and does not know what a car is.
package stats

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Z90 is the standard normal quantile of 0.9.
const Z90 = 1.2815515655446004

// A Shape says which distribution runs through the three points.
type Shape uint8

const (
	// Skewed is Tukey's g-distribution: low, mid and high are P10, P50 and P90.
	Skewed Shape = iota
	// PERT is the beta distribution with shape parameter 4: low, mid and high
	// are minimum, mode and maximum.
	PERT
	// Triangle has low, mid and high as minimum, mode and maximum.
	Triangle
)

// ParseShape reads the name of a shape: blank, pert or triangle.
func ParseShape(name string) (Shape, error) {
	switch name {
	case "":
		return Skewed, nil
	case "pert":
		return PERT, nil
	case "triangle":
		return Triangle, nil
	}
	return 0, fmt.Errorf("%q is not a shape; leave it blank, or write pert or triangle", name)
}

func (s Shape) String() string { return [...]string{"", "pert", "triangle"}[s] }

// Ratios of the two sides of a skewed amount, of which the worse is judged: a
// tail above WarnRatio is one that few mean, above FaultRatio nobody does.
const (
	WarnRatio  = 6.0
	FaultRatio = 12.0
)

// An Amount is an uncertain quantity that is never negative. The zero Amount is
// the fixed amount 0. Its unit is whatever Low, Mid and High are given in.
//
// The skewed shape is Tukey's g-distribution through the three points: a
// lognormal with a shift, of either skew, with the normal in the middle (Tukey
// 1977, Exploratory Data Analysis; Hoaglin 1985, in Exploring Data Tables,
// Trends, and Shapes, chapter 11), cut at zero: METHOD.md 3.2.
type Amount struct {
	Low, Mid, High float64
	Shape          Shape
}

// Fixed returns the amount that is certain.
func Fixed(x float64) Amount { return Amount{Low: x, Mid: x, High: x} }

// New returns the amount through the three points, or says what is wrong with
// them.
func New(low, mid, high float64, shape Shape) (Amount, error) {
	a := Amount{low, mid, high, shape}
	for _, x := range []float64{low, mid, high} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return a, fmt.Errorf("%v is not an amount", x)
		}
	}
	switch {
	case low < 0:
		return a, fmt.Errorf("low %v is negative; an amount starts at 0", low)
	case low > mid:
		return a, fmt.Errorf("low %v is above mid %v; write the three in rising order", low, mid)
	case mid > high:
		return a, fmt.Errorf("mid %v is above high %v; write the three in rising order", mid, high)
	case shape != Skewed:
		return a, nil
	case (low == mid) != (mid == high):
		return a, fmt.Errorf("low %v, mid %v, high %v: only one side is uncertain; make both differ from mid, or make "+
			"all three equal for a fixed amount", low, mid, high)
	case a.TailRatio() > FaultRatio:
		return a, fmt.Errorf("low %v, mid %v, high %v: one side is %.0f times the other, a tail that nobody means; bring "+
			"the three points closer to even", low, mid, high, a.TailRatio())
	}
	return a, nil
}

// TailRatio returns the longer side of a skewed amount over the shorter, at
// least 1. It is 1 for fixed amounts and for the other shapes.
func (a Amount) TailRatio() float64 {
	down, up := a.Mid-a.Low, a.High-a.Mid
	if a.Shape != Skewed || down <= 0 || up <= 0 {
		return 1
	}
	return max(up/down, down/up)
}

// Certain reports whether the amount is fixed.
func (a Amount) Certain() bool { return a.Low == a.High }

// At returns the amount at a standard normal score: the amount whose
// probability of not being exceeded is that of the score.
func (a Amount) At(z float64) float64 {
	switch {
	case a.Certain():
		return a.Mid
	case a.Shape == PERT:
		p, q := a.pert()
		return a.Low + (a.High-a.Low)*mathext.InvRegIncBeta(p, q, distuv.UnitNormal.CDF(z))
	case a.Shape == Triangle:
		return a.triangle(distuv.UnitNormal.CDF(z))
	}
	s, c := a.skew()
	return a.along(z, s, c)
}

// Curve returns At for many scores: what no score changes is worked out once.
func (a Amount) Curve() func(z float64) float64 {
	if a.Certain() || a.Shape != Skewed {
		return a.At
	}
	s, c := a.skew()
	return func(z float64) float64 { return a.along(z, s, c) }
}

// along returns the skewed amount at a score, by what skew returned.
func (a Amount) along(z, s, c float64) float64 {
	if s == 0 {
		return max(0, a.Mid+c*z)
	}
	return max(0, a.Mid+c*math.Expm1(s*z))
}

// Continued returns the analytic function of a complex score that At is on the real line where it is
// not cut at zero: the amount itself where that is certain, else mid + c expm1(s z) or mid + c z. rate is s,
// without its sign, and cut the chance of the cut. Shapes other than Skewed have none: nil, and cut is 1.
func (a Amount) Continued() (at func(complex128) complex128, rate, cut float64) {
	mid := complex(a.Mid, 0)
	if a.Certain() {
		return func(complex128) complex128 { return mid }, 0, 0
	}
	if a.Shape != Skewed {
		return nil, 0, 1
	}
	s, c := a.skew()
	if zero := a.Score(0); !math.IsInf(zero, 0) {
		cut = distuv.UnitNormal.CDF(zero)
	}
	if s == 0 {
		return func(z complex128) complex128 { return mid + complex(c, 0)*z }, 0, cut
	}
	return func(z complex128) complex128 { return mid + complex(c, 0)*(cmplx.Exp(complex(s, 0)*z)-1) }, math.Abs(s), cut
}

// Quantile returns the amount that is not exceeded with probability p in (0,1).
func (a Amount) Quantile(p float64) float64 { return a.At(distuv.UnitNormal.Quantile(p)) }

// skew returns s and c of mid + c expm1(s z); where s is 0, of mid + c z.
func (a Amount) skew() (s, c float64) {
	down, up := a.Mid-a.Low, a.High-a.Mid
	s = math.Log(up/down) / Z90
	if s == 0 {
		return 0, down / Z90
	}
	return s, down / -math.Expm1(-s*Z90)
}

// pert returns the two parameters of the beta distribution.
func (a Amount) pert() (p, q float64) {
	span := a.High - a.Low
	return 1 + 4*(a.Mid-a.Low)/span, 1 + 4*(a.High-a.Mid)/span
}

func (a Amount) triangle(p float64) float64 {
	span := a.High - a.Low
	if rise := (a.Mid - a.Low) / span; p <= rise {
		return a.Low + math.Sqrt(p*span*(a.Mid-a.Low))
	}
	return a.High - math.Sqrt((1-p)*span*(a.High-a.Mid))
}

// Mean returns the expected amount, in closed form.
func (a Amount) Mean() float64 { m, _ := a.moments(); return m }

// SD returns the standard deviation, in closed form.
func (a Amount) SD() float64 {
	m, sq := a.moments()
	return math.Sqrt(max(0, sq-m*m))
}

// moments returns the mean and the mean square.
func (a Amount) moments() (mean, square float64) {
	switch {
	case a.Certain():
		return a.Mid, a.Mid * a.Mid
	case a.Shape == PERT:
		p, q := a.pert()
		span := a.High - a.Low
		mean = a.Low + span*p/(p+q)
		variance := span * span * p * q / ((p + q) * (p + q) * (p + q + 1))
		return mean, variance + mean*mean
	case a.Shape == Triangle:
		l, m, h := a.Low, a.Mid, a.High
		mean = (l + m + h) / 3
		variance := (l*l + m*m + h*h - l*m - l*h - m*h) / 18
		return mean, variance + mean*mean
	}
	// The part above zero of b + c exp(s z), by the partial moments of the
	// lognormal; of mid + c z, by those of the normal.
	phi, cdf := distuv.UnitNormal.Prob, distuv.UnitNormal.CDF
	s, c := a.skew()
	if math.Abs(s) < 1e-5 { // the formula below would cancel its digits
		c = (a.Mid - a.Low) / Z90
		t := -a.Mid / c
		up := cdf(-t)
		mean = a.Mid*up + c*phi(t)
		square = (a.Mid*a.Mid+c*c)*up + (a.Mid*c)*phi(t)
		return mean, square
	}
	b := a.Mid - c
	// above(k) is E[exp(k s z); amount > 0].
	above := func(k float64) float64 { return math.Exp(k * k * s * s / 2) }
	if zero := -b / c; zero > 0 {
		// The amount rises with z for either sign of s, and is 0 at t.
		t := math.Log(zero) / s
		above = func(k float64) float64 { return math.Exp(k*k*s*s/2) * cdf(k*s-t) }
	}
	mean = b*above(0) + c*above(1)
	square = b*b*above(0) + 2*b*c*above(1) + c*c*above(2)
	return mean, square
}

// Score returns the standard normal score at which the amount is x: the inverse
// of At. It is infinite where x lies beyond what the amount can be, and NaN where
// the amount is fixed, as no score can then be told.
func (a Amount) Score(x float64) float64 {
	switch {
	case a.Certain():
		return math.NaN()
	case a.Shape == PERT:
		p, q := a.pert()
		return distuv.UnitNormal.Quantile(mathext.RegIncBeta(p, q, min(1, max(0, (x-a.Low)/(a.High-a.Low)))))
	case a.Shape == Triangle:
		return distuv.UnitNormal.Quantile(distuv.NewTriangle(a.Low, a.High, a.Mid, nil).CDF(x))
	}
	s, c := a.skew()
	if s == 0 {
		return (x - a.Mid) / c
	}
	// x = mid + c expm1(s z)
	t := (x - a.Mid) / c
	if t <= -1 {
		return math.Copysign(math.Inf(1), -s)
	}
	return math.Log1p(t) / s
}
