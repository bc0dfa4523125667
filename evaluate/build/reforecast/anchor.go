package reforecast

import (
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/stats"
)

// figuresOf returns the figures that a frozen estimate holds.
func figuresOf(p *build.Predicted) Figures {
	f := Figures{
		Repair: spreadIn(&p.Repair), Hours: spreadIn(&p.Hours), Days: spreadIn(&p.Days), Other: spreadIn(&p.Other),
		Resale: spreadIn(&p.Resale),
		Margin: evaluate.Margin{
			Mean: p.Margin.Mean, SD: p.Margin.SD, P10: p.Margin.P10, P50: p.Margin.P50, P90: p.Margin.P90,
			LossChance: p.LossChance,
		},
	}
	// The mean of the worst tenth, from the quantiles that lie in it.
	worst := p.Margin.Quantiles[:max(1, len(p.Margin.Quantiles)/10)]
	f.Margin.Shortfall = stats.Mean(worst)
	return f
}

func spreadIn(f *build.Forecast) evaluate.Spread {
	return evaluate.Spread{Mean: f.Mean, P10: f.P10, P50: f.P50, P90: f.P90}
}

// anchor shows what was simulated as a difference from what was said when the car was
// bought. How far the simulation of that day lies from what was said moves each figure
// as far as it still has to come: in full on the day of purchase, not at all once it is
// known.
func (f *Forecaster) anchor(p *Progress, out *Forecast) {
	if p.none() && out.Elapsed == 0 && p.asFrozen() {
		out.Now = f.start
		out.ToCome, out.HoursToCome, out.OtherToCome, out.DaysLeft =
			f.start.Repair, f.start.Hours, f.start.Other, f.start.Days
		for i := range out.Jobs {
			out.Jobs[i].ToCome = out.Jobs[i].Start
		}
		return
	}
	repair := share(out.ToCome.Mean, f.drawn.Repair.Mean)
	days := share(out.DaysLeft.Mean, f.drawn.Days.Mean)
	other := share(out.OtherToCome.Mean, f.drawn.Other.Mean)
	hours := share(out.HoursToCome.Mean, f.drawn.Hours.Mean)
	shift(&out.Now.Repair, f.drawn.Repair, f.start.Repair, repair)
	shift(&out.ToCome, f.drawn.Repair, f.start.Repair, repair)
	shift(&out.Now.Hours, f.drawn.Hours, f.start.Hours, hours)
	shift(&out.HoursToCome, f.drawn.Hours, f.start.Hours, hours)
	shift(&out.Now.Days, f.drawn.Days, f.start.Days, days)
	shift(&out.DaysLeft, f.drawn.Days, f.start.Days, days)
	shift(&out.Now.Other, f.drawn.Other, f.start.Other, other)
	shift(&out.OtherToCome, f.drawn.Other, f.start.Other, other)
	if p.Sale != nil {
		return
	}
	shift(&out.Now.Resale, f.drawn.Resale, f.start.Resale, 1)
	m, was, said := &out.Now.Margin, &f.drawn.Margin, &f.start.Margin
	m.Mean += repair * (said.Mean - was.Mean)
	m.P10 += repair * (said.P10 - was.P10)
	m.P50 += repair * (said.P50 - was.P50)
	m.P90 += repair * (said.P90 - was.P90)
	m.Shortfall += repair * (said.Shortfall - was.Shortfall)
	m.LossChance = min(1, max(0, m.LossChance+repair*(said.LossChance-was.LossChance)))
}

// share is how much of what was expected is still to come, from 0 to 1.
func share(left, expected float64) float64 {
	if !(expected > 0) {
		return 0
	}
	return min(1, max(0, left/expected))
}

// shift moves a spread by a share of the way from what was drawn to what was said.
func shift(s *evaluate.Spread, drawn, said evaluate.Spread, share float64) {
	if share == 0 {
		return
	}
	s.Mean = max(0, s.Mean+share*(said.Mean-drawn.Mean))
	s.P10 = max(0, s.P10+share*(said.P10-drawn.P10))
	s.P50 = max(s.P10, s.P50+share*(said.P50-drawn.P50))
	s.P90 = max(s.P50, s.P90+share*(said.P90-drawn.P90))
}
