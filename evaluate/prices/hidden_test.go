package prices_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/prices/invented"
)

// priceLine is the log price to beat by least squares on value and repair, of past lots, and what is left over.
func priceLine(t *testing.T, past []invented.HiddenLot) (line *mat.VecDense, sd float64) {
	t.Helper()
	x, y := mat.NewDense(len(past), 5, nil), mat.NewVecDense(len(past), nil)
	for i, l := range past {
		x.SetRow(i, hiddenRow(l))
		y.SetVec(i, math.Log(l.Top))
	}
	line = mat.NewVecDense(5, nil)
	if err := line.SolveVec(x, y); err != nil {
		t.Fatal(err)
	}
	for _, l := range past {
		d := math.Log(l.Top) - mat.Dot(mat.NewVecDense(5, hiddenRow(l)), line)
		sd += d * d / float64(len(past))
	}
	return line, math.Sqrt(sd)
}

func hiddenRow(l invented.HiddenLot) []float64 {
	r := l.Repair / l.Value
	return []float64{1, math.Log(l.Value), r, r * r, r * r * r}
}

// buys is what a buyer says and makes of the cars that he wins, a car: he bids up to the highest price at which
// the corrected margin is what he wants. net is made less the target, of sixty lots offered.
func buys(m *prices.Model, lots []invented.HiddenLot, line *mat.VecDense, sd, rel float64) (won, said, made,
	net float64) {
	for _, l := range lots {
		p := prices.Price{Location: mat.Dot(mat.NewVecDense(5, hiddenRow(l)), line), Scale: sd, DF: 1e6}
		s := m.Selection(l.Value, rel*l.Repair, l.Tau2, &p)
		margin := func(h float64) float64 {
			return s.Corrected(h, invented.HiddenKept*l.Value-l.Repair-invented.HiddenFixed-invented.HiddenFees*h)
		}
		need := func(h float64) float64 { return max(800, 0.12*(invented.HiddenFees*h+l.Repair)) }
		stop := 0.0
		for h := 0.005 * l.Value; h < 0.8*l.Value && margin(h) >= need(h); h += 0.005 * l.Value {
			stop = h
		}
		if stop <= l.Top {
			continue
		}
		won++
		said += margin(l.Top)
		made += l.Truth - invented.HiddenFees*l.Top
		net += (l.Truth - invented.HiddenFees*l.Top - need(l.Top)) / float64(len(lots)) * 60
	}
	return won / float64(len(lots)), said / won, made / won, net
}

// Worlds in which rivals know some of what we do not. The figures are reported; what is asked is that in each the
// correction brings what is said nearer to what is made, and that more is made of each car.
func TestWhatWinningTellsInWorldsOfHiddenKnowledge(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates for seconds; the full run has it")
	}
	plain := invented.Settings()
	starter := plain
	starter.MarginSpread, starter.UsualMargin, starter.Selection = prices.Some(0.08), prices.Some(300),
		[3]float64{0, 1, 0.25}
	without, with := fit(t, nil, nil, nil, plain), fit(t, nil, nil, nil, starter)
	usual := invented.Hidden{Keen: 0.16, Private: 0.10, RepairSD: 0.5, Misread: 0.15, Wrong: 0.06, Rivals: 5}
	for _, change := range []func(*invented.Hidden){
		func(*invented.Hidden) {},
		func(w *invented.Hidden) { w.Known = 0.25 },
		func(w *invented.Hidden) { w.Known = 0.5 },
		func(w *invented.Hidden) { w.Keen, w.Private = 0.22, 0.15 },
		func(w *invented.Hidden) { w.Keen, w.Private, w.Known = 0.22, 0.15, 0.25 },
		func(w *invented.Hidden) { w.Keen, w.Private, w.Known = 0.22, 0.15, 0.5 },
		func(w *invented.Hidden) { w.RepairSD, w.Known = 0.05, 0.5 },
	} {
		w := usual
		change(&w)
		rng := seeded(1, 1)
		line, sd := priceLine(t, w.Lots(rng, 8000))
		lots := w.Lots(rng, 8000)
		won, said, made, net := buys(without, lots, line, sd, w.RepairSD)
		won2, said2, made2, net2 := buys(with, lots, line, sd, w.RepairSD)
		t.Logf("known %.2f, private %.2f, repair sd %.2f: won %.2f said %.0f made %.0f net %.0f; corrected %.2f, %.0f, "+
			"%.0f, %.0f",
			w.Known, w.Private, w.RepairSD, won, said, made, net, won2, said2, made2, net2)
		if math.Abs(said2-made2) >= math.Abs(said-made) || made2 <= made {
			t.Errorf("%+v: said %.0f, made %.0f; corrected %.0f, %.0f", w, said, made, said2, made2)
		}
	}
}
