package evaluate

import "wreckoner/evaluate/stats"

// MeanRepair is the mean repair cost of a coded lot, in pounds. It fails as Prospect does.
func (b *Bench) MeanRepair(lot *Lot) (float64, error) {
	p, err := b.e.Prospect(lot)
	if err != nil {
		return 0, err
	}
	switch exact, err := b.e.convolved(p, &b.bench); {
	case err != nil:
		return 0, err
	case exact:
		return b.analytic.repair.Mean, nil
	}
	b.tally.Sum(b.e.space, p.Case)
	return stats.Mean(b.e.worlds(p, &b.bench, Overrides{}).Repair), nil
}
