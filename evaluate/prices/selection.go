package prices

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A lot's u is cut to [lowestU, 0], a build's to [lowestU, highestU]: METHOD.md 15.23.
const lowestU, highestU = -2, 2

// Prior sds of A (pounds), B and r where the builds' error has sd 1, and the degrees of freedom: METHOD.md 15.27.
var selectionSD = [3]float64{200, 0.15, 0.15}

const selectionDF = 6

// Told is what won cars tell: the coefficients of METHOD.md 15.26.
type Told struct {
	// A is pounds; B multiplies B_i (m - P), R the repair cost's standard deviation times u.
	A, B, R float64
	// Scales are the scales of their Student t distributions, with DF degrees of freedom.
	Scales [3]float64
	DF     float64
	// Builds is how many builds they rest on.
	Builds int
}

// Intervals are the central intervals of A, B and R that hold with a chance, such as 0.95.
func (t *Told) Intervals(chance float64) [3][2]float64 {
	q := (distuv.StudentsT{Sigma: 1, Nu: t.DF}).Quantile(0.5 + chance/2)
	var out [3][2]float64
	for i, c := range [3]float64{t.A, t.B, t.R} {
		out[i] = [2]float64{c - q*t.Scales[i], c + q*t.Scales[i]}
	}
	return out
}

// told fits METHOD.md 15.26 to the builds.
func (m *Model) fitTold(builds []Build) (Told, error) {
	pivot := m.settings.pivot()
	y := make([]float64, len(builds))
	for i := range builds {
		y[i] = (builds[i].Realised - pivot) / builds[i].MarginSD
	}
	prior := &regressionPrior{mean: m.settings.Selection[:], sd: selectionSD[:], a: selectionDF / 2, b: selectionDF / 2}
	c, err := fitConjugate(len(builds), 3, func(i int, row []float64) {
		b := &builds[i]
		u := min(highestU, max(lowestU, b.U))
		row[0] = 1 / b.MarginSD
		row[1] = m.buildReliability(b) * (b.Predicted - pivot) / b.MarginSD
		row[2] = b.RepairSD * u / b.MarginSD
	}, y, nil, prior)
	if err != nil {
		return Told{}, err
	}
	t := Told{A: c.mean[0], B: c.mean[1], R: c.mean[2], DF: c.df(), Builds: len(builds)}
	copy(t.Scales[:], c.scales())
	if len(builds) == 0 { // what went in, bit for bit
		t.A, t.B, t.R = m.settings.Selection[0], m.settings.Selection[1], m.settings.Selection[2]
	}
	return t, nil
}

// leastMarginSpread is the least that true margins are taken to differ, as a share of the value.
const leastMarginSpread = 0.03

// reliability is B_i, METHOD.md 15.25: the part of a margin's distance from the usual one that is to be believed.
func (m *Model) reliability(value, tau2 float64) float64 {
	if !m.settings.MarginSpread.Known {
		return 1
	}
	sigma := max(leastMarginSpread, m.settings.MarginSpread.V) * value
	if !(sigma > 0) {
		return 1
	}
	return sigma * sigma / (sigma*sigma + max(0, tau2))
}

func (m *Model) buildReliability(b *Build) float64 {
	if !b.Value.Known || !b.Tau.Known {
		return 1
	}
	return m.reliability(b.Value.V, b.Tau.V*b.Tau.V)
}

// A Selection is the top-bidder allowance of one lot, METHOD.md 15.25.
type Selection struct {
	// A, B and R are the coefficients, Reliability is B_i, Pivot is P in pounds, RepairSD the repair cost's standard
	// deviation in pounds, Builds how many builds A, B and R rest on.
	A, B, R, Reliability, Pivot, RepairSD float64
	Builds                                int
	price                                 *Price
	cut                                   bool

	// saved is the least that a pound off the price saves. Below the price alike, each pound tells of more than that;
	// toldAlike is what that price tells. All in pounds.
	saved, alike, toldAlike float64
}

// Identity says that the correction changes nothing at any price.
func (s *Selection) Identity() bool {
	return s.A == 0 && s.B*s.Reliability == 1 && (s.R == 0 || s.RepairSD == 0)
}

// U is how surprising it is that a hammer price was enough: (ln h - location) / scale of the price to beat, cut to
// [-2, 0]; 0 without a price.
func (s *Selection) U(hammer float64) float64 {
	if s.price == nil {
		return 0
	}
	return s.price.surprise(hammer, 0)
}

// Shift is what the margin's whole distribution moves by at a hammer price, pounds; margin is its mean there. With
// margin_spread it is never above 0.
func (s *Selection) Shift(hammer, margin float64) float64 {
	if s.Identity() {
		return 0
	}
	shift := s.A + (s.B*s.Reliability-1)*(margin-s.Pivot) + s.news(hammer)
	if s.cut {
		return min(0, shift)
	}
	return shift
}

// leastFall is the least that a margin falls by for each pound more of the hammer price, in pounds: where VAT is due on
// gains it falls by 1/1.2, anywhere else by more than 1.
const leastFall = 0.8

// news is what a hammer price tells of the repair, pounds, at most 0 where R is above 0. With margin_spread a pound
// off the price tells of no more than what it saves, so that the corrected margin never rises with the price.
func (s *Selection) news(hammer float64) float64 {
	told := s.R * s.RepairSD * s.U(hammer)
	if !s.cut || s.price == nil || !(s.R*s.RepairSD > 0) {
		return told
	}
	if hammer >= s.alike {
		return told
	}
	return max(told, s.toldAlike-s.saved*(s.alike-hammer))
}

// Falls says that the corrected margin falls, or stays, as the hammer price rises, as the margin before it does.
func (s *Selection) Falls() bool { return s.cut || s.R*s.RepairSD <= 0 }

// Corrected is the mean margin at a hammer price once it is known to be enough, pounds.
func (s *Selection) Corrected(hammer, margin float64) float64 {
	return margin + s.Shift(hammer, margin)
}

// Selection is the correction for one lot. value is the value used, repairSD the repair cost's standard deviation,
// tau2 what [Tau2] gives; price is what [Model.Price] gave, nil where there is none.
func (m *Model) Selection(value, repairSD, tau2 float64, price *Price) Selection {
	s := Selection{A: m.told.A, B: m.told.B, R: m.told.R, Builds: m.told.Builds, Reliability: m.reliability(value, tau2),
		Pivot: m.settings.pivot(), RepairSD: repairSD, price: price, cut: m.settings.MarginSpread.Known}
	if price != nil {
		// u is concave between its cuts: what it tells gains on what is saved up to the price at which both grow alike.
		s.saved, s.alike = leastFall*max(0, s.B*s.Reliability), math.Exp(price.Location)
		if s.saved > 0 {
			s.alike = min(s.alike, s.R*s.RepairSD/(price.Scale*s.saved))
		}
		s.toldAlike = s.R * s.RepairSD * s.U(s.alike)
	}
	return s
}

// BuildU is a build's u: how far the hammer price that it was won at lay from what was expected, cut to [-2, 2].
func BuildU(hammer float64, price *Price) float64 {
	if price == nil {
		return 0
	}
	return price.surprise(hammer, highestU)
}

// A Spot is seen, unquoted damage whose grade may have been misjudged.
type Spot struct {
	// Costs are the row's mean cost for this car a grade below, as coded, and a grade above: spend and hours at the
	// labour rate, pounds.
	Costs [3]float64
	// Up is the chance that the grade is one higher; Down that it is one lower where it is not higher.
	Up, Down float64
}

// variance of the spot's cost over the three grades, METHOD.md 15.29.
func (s *Spot) variance() float64 {
	chances := [3]float64{(1 - s.Up) * s.Down, (1 - s.Up) * (1 - s.Down), s.Up}
	mean := 0.0
	for i, p := range chances {
		mean += p * s.Costs[i]
	}
	v := 0.0
	for i, p := range chances {
		v += p * (s.Costs[i] - mean) * (s.Costs[i] - mean)
	}
	return v
}

// Tau2 is the variance of the shop's own error about a lot, pounds squared, METHOD.md 15.29: kept is what a pound of
// sale price adds to the margin, salePrice the mean sale price, levelVar [Value.LevelVar].
func Tau2(kept, salePrice, levelVar float64, spots []Spot) float64 {
	sum := kept * salePrice * kept * salePrice * levelVar
	for i := range spots {
		sum += spots[i].variance()
	}
	return sum
}

// A SpreadRow is one past lot with a damage code and a value: the mean margin at its hammer price before any
// correction, the standard deviation tau of the shop's own error, and the value, pounds.
type SpreadRow struct{ Margin, Tau, Value float64 }

// spreadRows is how many past lots margin_spread needs.
const spreadRows = 30

// MarginSpread is how far true margins differ from lot to lot, as a share of the value, METHOD.md 15.30; false where
// fewer than thirty rows have a value above 0.
func MarginSpread(rows []SpreadRow) (spread float64, enough bool) {
	n, mean, noise := 0.0, 0.0, 0.0
	for _, r := range rows {
		if r.Value > 0 {
			n++
			mean += r.Margin / r.Value
			noise += r.Tau / r.Value * r.Tau / r.Value
		}
	}
	if n < spreadRows {
		return 0, false
	}
	mean /= n
	v := 0.0
	for _, r := range rows {
		if r.Value > 0 {
			d := r.Margin/r.Value - mean
			v += d * d
		}
	}
	return math.Sqrt(max(leastMarginSpread*leastMarginSpread, v/(n-1)-noise/n)), true
}
