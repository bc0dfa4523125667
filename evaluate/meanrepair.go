package evaluate

import "wreckoner/evaluate/stats"

// MeanRepair is the mean repair cost of a coded lot, in pounds. It fails as Resolve does.
func (b *Worker) MeanRepair(lot *Lot) (float64, error) {
	p, err := b.e.Resolve(lot)
	if err != nil {
		return 0, err
	}
	switch exact, err := b.e.convolved(p, &b.scratch); {
	case err != nil:
		return 0, err
	case exact:
		return b.analytic.repair.Mean, nil
	}
	b.totals.Sum(b.e.draws, p.Case)
	return stats.Mean(b.e.worlds(p, &b.scratch, Overrides{}).Repair), nil
}
