package evaluate

import (
	"errors"

	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/stats"
)

// MeanRepair is the mean repair cost of a coded lot, in pounds: that of its assessment, without the rest. It fails as
// Resolve does.
func (b *Worker) MeanRepair(lot *Lot) (float64, error) {
	p, err := b.e.Resolve(lot)
	if err != nil {
		return 0, err
	}
	if b.e.shared != nil {
		r := &b.analytic
		if r.sum == nil {
			r.sum = b.e.shared.convolve.NewSum()
		}
		switch err := r.sum.Add(p.Case); {
		case err == nil:
			return r.sum.Moments().Mean(p.multipliers()), nil
		case !errors.Is(err, convolve.ErrTangled):
			return 0, err
		}
	}
	b.totals.Sum(b.e.draws, p.Case)
	return stats.Mean(b.e.worlds(p, &b.scratch, Overrides{}).Repair), nil
}
