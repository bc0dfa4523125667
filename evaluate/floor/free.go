package floor

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// A Change is a bay or money that comes free on a day, as the plan of a sale takes it.
type Change struct {
	On   time.Time `json:"on"`
	Bays int       `json:"bays"`
	// Cash is in pounds.
	Cash float64 `json:"cash"`
	// Car that it comes from.
	Car string `json:"car"`
}

// Free is what the plan of a sale may count on from the cars that are open.
type Free struct {
	AsOf string `json:"as_of"`
	// Bays are free today; nil where nobody says how many there are.
	Bays *int `json:"bays_free"`
	// ToPay is what the open cars still have to be paid for, in pounds, on average: it is
	// not to be spent at the sale.
	ToPay float64 `json:"still_to_pay"`
	// Comes is what comes on top, by day. A bay comes when its car is ready, money when it
	// is sold.
	Comes []Change `json:"comes"`
}

// Free returns what comes free. level says how sure the days are, 0.1, 0.5 or 0.9: in that
// share of the runs it has come by then. The money of a sale is its average.
func (f *Floor) Free(level float64) Free {
	out := Free{AsOf: f.AsOf.Format(time.DateOnly), Comes: []Change{}}
	if f.Bays > 0 {
		out.Bays = new(max(0, f.Bays-f.BaysNow))
	}
	over := max(0, f.BaysNow-f.Bays) // more cars than bays: the first that go free none
	at := func(p10, p50, p90 float64) time.Time {
		x := p50
		switch {
		case level < 0.3:
			x = p10
		case level > 0.7:
			x = p90
		}
		return f.Day(x).Truncate(24*time.Hour).AddDate(0, 0, 1)
	}
	for i := range f.Lines {
		l := &f.Lines[i]
		out.ToPay += l.ToPay.Mean
		if f.Bays > 0 && l.Stage.InBay() && l.Stage != ToCollect {
			out.Comes = append(
				out.Comes,
				Change{On: at(l.ReadyIn.P10, l.ReadyIn.P50, l.ReadyIn.P90), Bays: 1, Car: l.Name},
			)
		}
		if l.Proceeds > 0 {
			out.Comes = append(
				out.Comes,
				Change{On: at(l.SoldIn.P10, l.SoldIn.P50, l.SoldIn.P90), Cash: pennies(l.Proceeds), Car: l.Name},
			)
		}
	}
	out.ToPay = pennies(out.ToPay)
	slices.SortStableFunc(
		out.Comes,
		func(a, b Change) int { return cmp.Or(a.On.Compare(b.On), cmp.Compare(a.Car, b.Car)) },
	)
	out.Comes = slices.DeleteFunc(out.Comes, func(c Change) bool {
		if c.Bays > 0 && over > 0 {
			over--
			return true
		}
		return false
	})
	return out
}

func pennies(x float64) float64 { return math.Round(x*100) / 100 }
