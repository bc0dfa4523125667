package plan

import (
	"fmt"
	"math"
)

// A Sold is a lot that has closed.
type Sold struct {
	Lot    int     // its number in the list of lots, from 0
	Hammer float64 // pounds, before fees
	Heard  bool    // false: closed, the price not heard
	Won    bool
	// Tied is what it ties up in pounds; 0: as the lot's own table says.
	Tied float64
}

// An Overspent is a lot that was bought with more than was left.
type Overspent struct {
	Lot        int
	Tied, Left float64 // pounds
	NoBay      bool    // no bay was free for it
}

// A Standing is where the sale stands.
type Standing struct {
	// First is the next lot to close; those before it are behind us.
	First int
	// Bays and Cash are what is left, NoLimit where there is none; without what comes on top
	// before the next lot.
	Bays int
	Cash float64
	// Common is what is known of how dear the sale runs, from Heard prices.
	Common Common
	Heard  int
	// Gone are lots before the last one reported that nobody reported.
	Gone []int
	// Over are lots bought with more than was left.
	Over []Overspent
}

// standing works out where the sale stands. METHOD.md 19.8 and 19.21.
func standing(lots []Lot, res Resources, growth []gain, sold []Sold, s *Settings) (Standing, error) {
	now := Standing{Bays: res.Bays, Cash: res.Cash}
	by, err := byLot(lots, sold)
	if err != nil {
		return now, err
	}
	for i, x := range by {
		if x != nil {
			now.First = i + 1
		}
	}
	var scores []float64
	for i := range now.First {
		now.add(growth[i])
		x, l := by[i], &lots[i]
		if x == nil {
			now.Gone = append(now.Gone, i)
			continue
		}
		if x.Heard {
			if z, ok := closedScore(Rivals{Hammer: l.Hammer, Gap: s.Gap, Opening: l.Opening}, s.BidStep, x.Hammer, x.Won); ok {
				scores = append(scores, z)
			}
		}
		if x.Won {
			now.buy(i, l, x, s.BidStep)
		}
	}
	now.Common, now.Heard = learn(s.PriceLink, scores), len(scores)
	return now, nil
}

// byLot returns what is reported of each lot, nil for nothing.
func byLot(lots []Lot, sold []Sold) ([]*Sold, error) {
	by := make([]*Sold, len(lots))
	for a := range sold {
		x := &sold[a]
		switch {
		case x.Lot < 0 || x.Lot >= len(lots):
			return nil, fmt.Errorf("sold lot number %d of %d", x.Lot, len(lots))
		case by[x.Lot] != nil:
			return nil, fmt.Errorf("lot %s was sold twice", lots[x.Lot].Name)
		case x.Won && !x.Heard:
			return nil, fmt.Errorf("lot %s was won without a hammer price", lots[x.Lot].Name)
		case x.Heard && (!(x.Hammer > 0) || math.IsInf(x.Hammer, 0)), notFinite(x.Tied) || x.Tied < 0:
			return nil, fmt.Errorf("lot %s was sold at %v, tying up %v", lots[x.Lot].Name, x.Hammer, x.Tied)
		}
		by[x.Lot] = x
	}
	return by, nil
}

func (n *Standing) add(by gain) {
	if n.Bays != NoLimit {
		n.Bays += by.bays
	}
	if n.Cash != NoLimit {
		n.Cash += by.cash
	}
}

func (n *Standing) buy(i int, l *Lot, x *Sold, step float64) {
	tied := x.Tied
	if tied == 0 {
		tied = l.tiedAt(step, x.Hammer)
	}
	o := Overspent{Lot: i, Tied: tied, Left: n.Cash, NoBay: n.Bays == 0}
	if o.NoBay || n.Cash != NoLimit && tied > n.Cash+1e-9 {
		n.Over = append(n.Over, o)
	}
	if n.Bays > 0 {
		n.Bays--
	}
	if n.Cash != NoLimit {
		n.Cash = max(0, n.Cash-tied)
	}
}

// growths returns what comes on top before each lot.
func growths(lots []Lot, changes []Change) ([]gain, error) {
	out := make([]gain, len(lots))
	if len(changes) == 0 {
		return out, nil
	}
	for i := range lots {
		if lots[i].Closes.IsZero() {
			return nil, fmt.Errorf("lot %s has no closing day, and bays or cash grow by date", lots[i].Name)
		}
		for _, c := range changes {
			if c.On.After(lots[i].Closes) || i > 0 && !c.On.After(lots[i-1].Closes) {
				continue
			}
			out[i].bays += c.Bays
			out[i].cash += c.Cash
		}
	}
	return out, nil
}
