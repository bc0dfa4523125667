package evaluate

import (
	"slices"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
)

// Method is the version of the model and of the simulated streams by which figures are
// reached. It goes up where the same lot and shop give other figures than before.
const Method = 2

// A Figure is one distribution: its mean and standard deviation, and quantiles.
type Figure struct {
	Mean, SD, P10, P50, P90 float64
	// Quantiles are at the levels that were asked for.
	Quantiles []float64
}

// Figures are the distributions of a lot bought at a hammer price, in pounds, hours and
// days. Repair, Resale and Margin have the fine levels, the others the coarse ones.
type Figures struct {
	Repair, Hours, Days, Other, Resale, Margin Figure
	LossChance                                 float64
}

// Figures returns the distributions of the lot at a hammer price, with quantiles at
// levels in (0,1), ascending. They are those of a Result.
//
// Nothing convolves fixed items and extras by themselves: how they are spread is
// simulated, about their exact mean.
func (s *Assessment) Figures(hammer money.Pence, fine, coarse []float64) Figures {
	other := s.otherFigure(coarse)
	if s.k != nil {
		f := s.k.figures(hammer, fine, coarse)
		shift := s.k.other - other.Mean
		other.Mean += shift
		for _, x := range []*float64{&other.P10, &other.P50, &other.P90} {
			*x = max(0, *x+shift)
		}
		for i := range other.Quantiles {
			other.Quantiles[i] = max(0, other.Quantiles[i]+shift)
		}
		f.Other = other
		return f
	}
	w := s.worlds
	s.b.margin = w.Margin(hammer, s.b.margin)
	return Figures{
		Repair: FigureOf(w.Repair, fine), Hours: FigureOf(w.Hours, coarse), Days: FigureOf(w.Days, coarse), Other: other,
		Resale: FigureOf(w.Resale, fine), Margin: FigureOf(s.b.margin, fine), LossChance: w.LossChance(hammer, s.b.margin),
	}
}

// otherFigure returns the simulated distribution of fixed items and extras.
func (s *Assessment) otherFigure(levels []float64) Figure {
	if s.worlds != nil {
		return FigureOf(s.worlds.Other, levels)
	}
	b := &scratch{}
	b.totals.Sum(s.e.draws, s.p.Case)
	return FigureOf(s.e.worlds(s.p, b, Overrides{}).Other, levels)
}

// FigureOf returns the distribution of values.
func FigureOf(values, levels []float64) Figure {
	var f Figure
	f.Mean, f.SD = meanSD(values)
	sorted := slices.Sorted(slices.Values(values))
	f.P10, f.P50, f.P90 = stats.Sorted(sorted, 0.1), stats.Sorted(sorted, 0.5), stats.Sorted(sorted, 0.9)
	for _, p := range levels {
		f.Quantiles = append(f.Quantiles, stats.Sorted(sorted, p))
	}
	return f
}

// figures returns those of a lot but for fixed items and extras.
func (r *analytic) figures(hammer money.Pence, fine, coarse []float64) Figures {
	repair, hours, days := r.repairs(), r.hoursSpread(), r.daysSpread()
	price, margin := r.market.spread.times(r.value), r.margin(hammer)
	t := r.at(hammer)
	t.stop()
	f := Figures{
		Repair: Figure{Mean: repair.Mean, SD: repair.SD, P10: repair.P10, P50: repair.P50, P90: repair.P90},
		Hours:  spreadFigure(hours, r.hours.SD*r.p.Segment.Hours), Days: spreadFigure(days, r.daysSD()),
		Resale: spreadFigure(price, r.market.sd*r.value),
		Margin: Figure{Mean: margin.Mean, SD: margin.SD, P10: margin.P10, P50: margin.P50, P90: margin.P90},
	}
	f.LossChance = margin.LossChance
	const reach = 6 // standard deviations that far levels need
	var d convolve.Distribution
	quantiles := func(measure int, levels []float64, times float64) []float64 {
		out := make([]float64, len(levels))
		r.sum.Distribution(measure, reach, &d)
		d.Quantiles(levels, out)
		for i := range out {
			out[i] *= times
		}
		slices.Sort(out)
		return out
	}
	f.Repair.Quantiles = quantiles(r.e.shared.repair[r.p.kind], fine, 1)
	f.Hours.Quantiles = quantiles(r.e.shared.hours, coarse, r.p.Segment.Hours)
	f.Days.Quantiles = r.daysAt(coarse)
	for _, p := range fine {
		f.Resale.Quantiles = append(f.Resale.Quantiles, r.market.quantileOf(p)*r.value)
		f.Margin.Quantiles = append(f.Margin.Quantiles, t.quantile(p))
	}
	slices.Sort(f.Days.Quantiles)
	slices.Sort(f.Margin.Quantiles)
	return f
}

func spreadFigure(s Spread, sd float64) Figure {
	return Figure{Mean: s.Mean, SD: sd, P10: s.P10, P50: s.P50, P90: s.P90}
}

// Places are what each place on the car costs on average: spend in pounds and own hours,
// this car's multipliers included. They add up to the mean repair.
func (s *Assessment) Places() []convolve.Place {
	out := slices.Clone(s.places())
	for i := range out {
		out[i].Spend *= s.p.Segment.Spend
		out[i].Hours *= s.p.Segment.Hours
	}
	return out
}

// Occurs returns the chance that candidate i of the case is there, and that it is the
// one charged at its place.
func (s *Assessment) Occurs(i int) (chance, charged float64) {
	if s.k != nil {
		return s.k.likely[i].Occurs, s.k.likely[i].Charged
	}
	return float64(s.b.totals.Count(i)) / float64(len(s.worlds.Repair)), s.b.totals.Charged(i)
}

// JobMean returns what the job of candidate i costs on average where it is charged:
// spend in pounds and own hours, this car's multipliers included.
func (s *Assessment) JobMean(i int) (spend, hours float64) {
	c := &s.p.Case[i]
	if s.k != nil {
		m := s.e.shared.convolve.Job(c)
		return m.Mean(s.p.Segment.Spend, 0), m.Mean(0, s.p.Segment.Hours)
	}
	m := s.e.draws.MomentsOf(c)
	return m.Mean(s.p.Segment.Spend, 0), m.Mean(0, s.p.Segment.Hours)
}
