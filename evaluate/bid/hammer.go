package bid

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// z90 is the standard normal quantile of 0.9.
const z90 = 1.2815515655446004

// A kind says which distribution a Hammer is.
type kind uint8

const (
	unknown kind = iota
	certain
	threePoint
	studentT
)

// A Hammer is the distribution of a lot's hammer price, in pounds, as the
// others make it among themselves, without a bid of ours. The zero Hammer is not
// known: nothing was learned and there is no guide.
//
// METHOD.md 19.1 to 19.3.
type Hammer struct {
	kind kind
	mid  float64 // pounds; of studentT the location of the log price
	side float64 // pounds to one unit of the score; of studentT the scale
	skew float64 // of threePoint
	df   float64 // of studentT
}

// CertainHammer returns the hammer that will be exactly this price, in pounds.
func CertainHammer(price float64) (Hammer, error) {
	if !(price > 0) || math.IsInf(price, 0) {
		return Hammer{}, fmt.Errorf("hammer %v is not a price above 0", price)
	}
	return Hammer{kind: certain, mid: price}, nil
}

// ThreePointHammer returns the hammer with these P10, P50 and P90, in pounds:
// Tukey's g-distribution through the three points (Tukey 1977, Exploratory Data
// Analysis; Hoaglin 1985, in Exploring Data Tables, Trends, and Shapes, chapter
// 11). Three equal points are a certain hammer.
func ThreePointHammer(low, mid, high float64) (Hammer, error) {
	for _, x := range []float64{low, mid, high} {
		if !(x > 0) || math.IsInf(x, 0) {
			return Hammer{}, fmt.Errorf("hammer %v is not a price above 0", x)
		}
	}
	down, up := mid-low, high-mid
	switch {
	case down < 0 || up < 0:
		return Hammer{}, fmt.Errorf("hammer %v, %v, %v: the three points must rise", low, mid, high)
	case down == 0 && up == 0:
		return CertainHammer(mid)
	case down == 0 || up == 0:
		return Hammer{}, fmt.Errorf("hammer %v, %v, %v: only one side is uncertain", low, mid, high)
	case down == up:
		return Hammer{kind: threePoint, mid: mid, side: down / z90}, nil
	}
	t := math.Log(up/down) / z90
	return Hammer{kind: threePoint, mid: mid, side: down / -math.Expm1(-t*z90), skew: t}, nil
}

// StudentHammer returns the hammer whose natural logarithm, less location and
// over scale, has Student's t distribution with df degrees of freedom.
func StudentHammer(location, scale, df float64) (Hammer, error) {
	h := Hammer{kind: studentT, mid: location, side: scale, df: df}
	switch {
	case math.IsNaN(h.mid) || math.IsInf(h.mid, 0):
		return Hammer{}, fmt.Errorf("location %v of the log hammer is not a number", h.mid)
	case !(h.side > 0) || math.IsInf(h.side, 0):
		return Hammer{}, fmt.Errorf("scale %v of the log hammer is not above 0", h.side)
	case !(h.df > 0) || math.IsInf(h.df, 0):
		return Hammer{}, fmt.Errorf("%v degrees of freedom of the log hammer are not above 0", h.df)
	}
	return h, nil
}

// Known reports whether anything is known of the hammer.
func (h Hammer) Known() bool { return h.kind != unknown }

// Certain reports whether the hammer is one price.
func (h Hammer) Certain() bool { return h.kind == certain }

// Score returns the standard normal score of a price x in pounds: the hammer is
// below x with the chance that a standard normal number is below Score(x). It is
// -Inf where the hammer cannot be below x or is not known, +Inf where it always is.
func (h Hammer) Score(x float64) float64 {
	switch h.kind {
	case certain:
		if x > h.mid {
			return math.Inf(1)
		}
	case threePoint:
		return h.pointScore(x)
	case studentT:
		t := h.logScore(x)
		// Through the lower tail on either side: the upper one has no digits left near 1.
		tail := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: h.df}.CDF(-math.Abs(t))
		return math.Copysign(distuv.UnitNormal.Quantile(tail), t)
	}
	return math.Inf(-1)
}

func (h Hammer) pointScore(x float64) float64 {
	y := (x - h.mid) / h.side
	switch {
	case h.skew == 0:
		return y
	case y <= -1: // beyond the bound of the distribution
		return math.Copysign(math.Inf(1), -h.skew)
	}
	return math.Log1p(y) / h.skew
}

func (h Hammer) logScore(x float64) float64 {
	if x <= 0 {
		return math.Inf(-1)
	}
	return (math.Log(x) - h.mid) / h.side
}

// At returns the price in pounds at a standard normal score: the inverse of
// Score. It is NaN where the hammer is not known.
func (h Hammer) At(z float64) float64 {
	switch h.kind {
	case certain:
		return h.mid
	case threePoint:
		if h.skew == 0 {
			return h.mid + h.side*z
		}
		return h.mid + h.side*math.Expm1(h.skew*z)
	case studentT:
		// Through the lower tail, as in Score.
		t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: h.df}.Quantile(below(-math.Abs(z)))
		return math.Exp(h.mid + h.side*math.Copysign(t, z))
	}
	return math.NaN()
}

// Learned returns location, scale and degrees of freedom of the log price, as
// StudentHammer takes them. It is false for other hammers.
func (h Hammer) Learned() (location, scale, df float64, ok bool) {
	if h.kind != studentT {
		return 0, 0, 0, false
	}
	return h.mid, h.side, h.df, true
}

// Rivals are what has to be beaten on one lot.
type Rivals struct {
	// Hammer is the hammer price without us.
	Hammer Hammer
	// Gap is the logarithm of the highest that anybody else would go to over the
	// hammer that they make among themselves: the hammer shows the second-highest
	// limit in the room, and we must beat the highest.
	Gap float64
	// Opening is the price at which bidding starts, in pounds; 0: anywhere.
	Opening float64
}

// Score returns the standard normal score of a bid in pounds: the bid wins with
// the chance that a standard normal number is below it. Below the opening no bid
// wins. METHOD.md 19.4.
func (r Rivals) Score(bid float64) float64 {
	if bid < r.Opening {
		return math.Inf(-1)
	}
	return r.Hammer.Score(bid * math.Exp(-r.Gap))
}

// WinChance returns the chance that a bid in pounds, at a bid step, wins. It is
// false where nothing is known of the hammer.
func (r Rivals) WinChance(bid float64) (chance float64, known bool) {
	return below(r.Score(bid)), r.Hammer.Known()
}

// below returns the chance that a standard normal number is below z.
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
