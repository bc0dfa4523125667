package evaluate

import (
	"math"

	"wreckoner/evaluate/stats"
)

func repairOf(sel *stats.Selector, repair []float64) Repair {
	var r Repair
	r.Mean, r.SD = meanSD(repair)
	var q [5]float64
	sel.Quantiles(repair, repairShares, q[:])
	r.P10, r.P50, r.P80, r.P90, r.P95 = q[0], q[1], q[2], q[3], q[4]
	return r
}

func marginOf(sel *stats.Selector, margin []float64) Margin {
	var m Margin
	m.Mean, m.SD = meanSD(margin)
	var q [3]float64
	m.Shortfall = sel.QuantilesAndWorst(margin, spreadShares, q[:], 0.1)
	m.P10, m.P50, m.P90 = q[0], q[1], q[2]
	m.LossChance = lossChance(margin)
	m.LossFinished, m.LossStopping = m.LossChance, m.LossChance
	return m
}

func lossChance(margin []float64) float64 {
	below := 0
	for _, x := range margin {
		if x < 0 {
			below++
		}
	}
	return float64(below) / float64(len(margin))
}

func spreadOf(sel *stats.Selector, values []float64) Spread {
	var q [3]float64
	sel.Quantiles(values, spreadShares, q[:])
	return Spread{stats.Mean(values), q[0], q[1], q[2]}
}

func (s Spread) times(k float64) Spread { return Spread{k * s.Mean, k * s.P10, k * s.P50, k * s.P90} }

// meanSD goes over the values twice, as a one-pass sum of squares loses digits.
func meanSD(values []float64) (m, sd float64) {
	m = stats.Mean(values)
	square := 0.0
	for _, x := range values {
		square += (x - m) * (x - m)
	}
	return m, math.Sqrt(square / float64(len(values)))
}
