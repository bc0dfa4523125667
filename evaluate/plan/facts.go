package plan

import (
	"math"
	"slices"
)

// Facts are what the texts about a whole sale need.
type Facts struct {
	// NotScarce: every stop is within a step of the lot's own limit, so money and bays
	// are not scarce.
	NotScarce bool
	// NoBid says why there is nothing to bid on.
	NoBid NoBid
	// LikelyNothing: most likely nothing is bought.
	LikelyNothing bool
}

// A Reason says why there is nothing to bid on.
type Reason string

// Why there may be nothing to bid on.
const (
	SomethingToBid Reason = ""
	NoLots         Reason = "lots"   // none to come
	NoBays         Reason = "bays"   // none is free, nor becomes so
	CashTooShort   Reason = "cash"   // it does not reach the cheapest first bid
	LimitsZero     Reason = "limits" // every lot's own limit is 0
	WorthMore      Reason = "worth"  // bays and money are worth more after the sale
)

// A NoBid says why there is nothing to bid on.
type NoBid struct {
	Reason Reason
	// Cheapest is the lot with the cheapest first bid, which Needs pounds, where cash is too short.
	Cheapest int
	Needs    float64
	// Held counts the lots by what holds their limit at 0.
	Held map[Held]int
	// Nearest are the lots, three at most, whose break-even bid comes nearest to
	// the guide, where every limit is 0.
	Nearest []int
}

func (p *Plan) facts(r *Result) Facts {
	f := Facts{NotScarce: true, LikelyNothing: r.NoneChance > 0.5}
	any := false
	for i, l := range r.Lots {
		any = any || l.Stop > 0 || !l.Never
		if int(math.Round(l.Stop/p.settings.BidStep)) < len(p.ladders[i].worth)-1 {
			f.NotScarce = false
		}
	}
	if !any {
		f.NotScarce, f.NoBid = false, p.noBid()
	}
	return f
}

// noBid returns the first reason that holds.
func (p *Plan) noBid() NoBid {
	least, cheapest := math.Inf(1), -1
	for i, d := range p.ladders {
		if len(d.cost) > 0 && d.cost[0] < least {
			least, cheapest = d.cost[0], i
		}
	}
	switch {
	case len(p.lots) == 0:
		return NoBid{Reason: NoLots}
	case cheapest < 0:
		return p.allZero()
	case least > p.most+1e-9:
		return NoBid{Reason: CashTooShort, Cheapest: p.Standing.First + cheapest, Needs: least}
	case p.mostBays < 1:
		return NoBid{Reason: NoBays}
	}
	return NoBid{Reason: WorthMore}
}

func (p *Plan) allZero() NoBid {
	out := NoBid{Reason: LimitsZero, Held: map[Held]int{}}
	for i := range p.lots {
		out.Held[p.lots[i].Held]++
		if p.lots[i].Guide > 0 && p.lots[i].BreakEven > 0 {
			out.Nearest = append(out.Nearest, p.Standing.First+i)
		}
	}
	share := func(i int) float64 { return p.all[i].BreakEven / p.all[i].Guide }
	slices.SortStableFunc(out.Nearest, func(a, b int) int {
		switch {
		case share(a) > share(b):
			return -1
		case share(a) < share(b):
			return 1
		}
		return 0
	})
	out.Nearest = out.Nearest[:min(3, len(out.Nearest))]
	return out
}
