package page_test

import (
	"math"
	"testing"

	"wreckoner/evaluate/plan"
)

// What the page looks up is close to what plan --sold works out anew where it learns nothing, that
// is, where only our own results are reported: a table of 24 levels read between its levels for a
// grid of 200. Where the stop has a step in it the two may differ by more than a bid or two.
func TestTheTableIsCloseToAPlanMadeAnew(t *testing.T) {
	if testing.Short() {
		t.Skip("plans the rest of a sale fifty times")
	}
	res := plan.Resources{Bays: 3, Cash: 20000}
	p := evening(t, 0, res, 0)
	p.Settings.PriceLink, p.Settings.Draws = 0, 64
	var err error
	if p.Plan, err = plan.New(p.Sale.Lots(), res, nil, p.Settings); err != nil {
		t.Fatal(err)
	}
	p.Result = p.Plan.Work()
	l := &tally{p: p, sold: map[int]plan.Sold{}, last: -1}
	var sold []plan.Sold
	off, sum, n, far := 0.0, 0.0, 0, 0
	for i := range p.Result.Lots {
		again, err := plan.New(p.Sale.Lots(), res, sold, p.Settings)
		if err != nil {
			t.Fatal(err)
		}
		bays, cash := l.free(i)
		table, anew := l.stop(i), again.Stop(i, bays, cash)
		off += math.Abs(table - anew)
		sum += anew
		if math.Abs(table-anew) > 0.1*anew+50 {
			far++
		}
		n++
		x := plan.Sold{Lot: i}
		if i%12 == 6 && table > 0 {
			x.Hammer, x.Heard, x.Won = table, true, true
		}
		l.sold[i], sold = x, append(sold, x)
	}
	t.Logf("%d stops, %.1f %% off on average, %d by more than a tenth", n, 100*off/sum, far)
	if off > 0.04*sum || far > n/5 {
		t.Errorf("%d stops differ by %.1f %% on average, %d of them by more than a tenth", n, 100*off/sum, far)
	}
}
