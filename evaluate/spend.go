package evaluate

// A Spend is the distribution of what is spent on damage, own hours not in it, in pounds.
type Spend struct{ P10, P50, P80, P90 float64 }

var spendQuantiles = []float64{0.1, 0.5, cashShare, 0.9}

// Spend returns what is spent on the damage.
func (s *Assessment) Spend() Spend {
	var q [4]float64
	if k := s.k; k != nil {
		k.sum.Distribution(k.e.shared.spend[k.p.kind], 0, &k.spend)
		k.spend.Quantiles(spendQuantiles, q[:])
	} else {
		s.b.sel.Quantiles(s.worlds.Spend, spendQuantiles, q[:])
	}
	return Spend{q[0], q[1], q[2], q[3]}
}
