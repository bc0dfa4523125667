package evaluate_test

import (
	"math"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// The expected gain is the sum of METHOD.md 15.24 over the mean margins that the screen shows at each price, with the
// right not to finish the car and the top-bidder allowance: within half a per cent of it, or 50 pence. Worlds are the same
// lot by other arithmetic, and agree as well as worlds do.
func TestExpectedGainIsOfTheMarginsShown(t *testing.T) {
	for _, registered := range []bool{false, true} {
		for _, results := range []int{0, 100} {
			if testing.Short() && registered != (results == 0) {
				continue
			}
			s := starter(t)
			s.VATRegistered = registered
			m := evidenceOf(t, s, results)
			e := evaluatorOf(t, s, evaluate.Options{Prices: m})
			drawn := evaluatorOf(t, s, evaluate.Options{Prices: m, Points: 2048})
			more := 0
			for i, l := range sampleLots(t, s) {
				if testing.Short() && i%2 == 0 {
					continue
				}
				r, err := e.Evaluate(l)
				if err != nil {
					t.Fatal(err)
				}
				if r.HighestBid == 0 {
					continue
				}
				study, err := e.Assess(l)
				if err != nil {
					t.Fatal(err)
				}
				want := r.Appraisal.Price.ExpectedGain(func(pounds float64) float64 {
					return study.MeanMargin(money.FromPounds(pounds))
				}, r.HighestBid.Pounds(), s.BidStep.Pounds())
				if math.Abs(r.Gain-want) > 0.005*want+0.5 {
					t.Errorf("lot %s: gain %.2f, the sum over prices %.2f", l.Number, r.Gain, want)
				}
				if r.Gain > 100 {
					more++
				}
				if i%8 > 0 || testing.Short() {
					continue
				}
				w, err := drawn.Evaluate(l)
				if err != nil {
					t.Fatal(err)
				}
				if d := math.Abs(w.Gain - r.Gain); d > 0.06*r.Gain+10 {
					t.Errorf("lot %s: gain %.2f, by worlds %.2f", l.Number, r.Gain, w.Gain)
				}
			}
			if more < 5 {
				t.Errorf("only %d lots bring 100", more)
			}
		}
	}
}

// The mean repair cost by itself is the one that a whole judgement has.
func TestMeanRepairIsTheResults(t *testing.T) {
	s := starter(t)
	for _, points := range []int{0, 256} {
		e := evaluatorOf(t, s, evaluate.Options{Points: points})
		worker := e.Worker()
		for i, l := range sampleLots(t, s) {
			if testing.Short() && i%3 > 0 {
				continue
			}
			r, err := e.Evaluate(l)
			if err != nil {
				t.Fatal(err)
			}
			if !r.Evaluated() {
				continue
			}
			got, err := worker.MeanRepair(l)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-r.Repair.Mean) > 1e-9*r.Repair.Mean {
				t.Errorf("%d points, lot %s: mean repair %v, want %v", points, l.Number, got, r.Repair.Mean)
			}
		}
	}
}
