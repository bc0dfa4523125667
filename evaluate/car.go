package evaluate

import (
	"fmt"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A Coded says what a damage code was written from.
type Coded string

// What a code may have been written from; blank is photographs.
const (
	FromPhotos Coded = "photos"
	FromWords  Coded = "words"
	FromSeen   Coded = "seen"
)

// mostCoding is the largest chance that a code is off by a grade one way.
const mostCoding = 0.95

// Times is what the chances of a misread code are multiplied by.
func (c Coded) Times() float64 {
	switch c {
	case FromWords:
		return 1.5
	case FromSeen:
		return 0.3
	}
	return 1
}

// kindOf numbers a segment and a band of ages, -1 for none.
func kindOf(s *shop.Shop, segment, band int) int { return segment*(len(s.Ages)+1) + band + 1 }

// age finds how old the car is at the sale, and what its kind multiplies the cost table by.
func (p *ResolvedLot) age(e *Evaluator) {
	band := -1
	if p.Lot.Year > 0 && p.Lot.SaleYear > 0 {
		p.Age, p.Aged = max(0, p.Lot.SaleYear-p.Lot.Year), true
		band = e.shop.Band(p.Age)
	}
	p.kind = kindOf(e.shop, p.segment, band)
	p.scales = e.scales[p.kind]
	p.Multipliers = e.shop.Multipliers(p.segment, band)
	p.Segment.Hours = p.Multipliers.Hours
}

// Multipliers returns what the cost table is multiplied by on a lot's car.
func (e *Evaluator) Multipliers(lot *Lot) (shop.Multipliers, error) {
	p := &ResolvedLot{Lot: lot}
	var ok bool
	if p.segment, ok = e.shop.Segment(lot.Segment); !ok {
		return shop.Multipliers{}, fmt.Errorf("lot %s: the workshop has no car type %q", lot.Number, lot.Segment)
	}
	p.age(e)
	return p.Multipliers, nil
}

// doubtCodes gives the seen marks the chances that they are off by a grade, times up and
// down. A quoted mark is known.
func (p *ResolvedLot) doubtCodes(s *shop.Settings, found []costs.Finding, up, down float64) {
	for i := range found {
		f := &found[i]
		if f.State != damage.Seen || p.Lot.quote(f.Item) != nil {
			continue
		}
		more, less := p.misread(s, f.Item)
		f.Up, f.Down = min(mostCoding, up*more), min(mostCoding, down*less)
	}
}

// misread returns the chances that a seen mark is a grade worse, and that it is a grade
// better, by what the code was written from.
func (p *ResolvedLot) misread(s *shop.Settings, i damage.Item) (up, down float64) {
	times := p.Lot.CodedFrom.Times()
	return min(mostCoding, times*s.CodingUp[i.Class]), min(mostCoding, times*s.CodingDown[i.Class])
}

// Quoted reports whether somebody offers an item for an amount: what is quoted is known.
func (l *Lot) Quoted(item damage.Item) bool { return l.quote(item) != nil }

func (l *Lot) quote(item damage.Item) *Quote {
	for i := range l.Quotes {
		if l.Quotes[i].Item == item {
			return &l.Quotes[i]
		}
	}
	return nil
}

// Price says of each candidate what it costs on this car.
func (p *ResolvedLot) Price(c costs.Case) {
	for i := range c {
		x := &c[i]
		if x.Scale = 0; p.scales != nil {
			x.Scale = p.scales[x.Row]
		}
		if q := p.Lot.quote(x.Item); q != nil {
			x.Quote = &costs.Quote{Spend: q.Spend / p.Segment.Spend, Hours: q.Hours / p.Segment.Hours, HasHours: q.HasHours}
		}
	}
}

// Priced says as what kind of car the lot is priced, nil where the shop has one price for
// all classes and ages.
func (p *ResolvedLot) Priced(s *shop.Shop) *Priced {
	same := !s.AgeMatters()
	for _, k := range p.Multipliers.Classes {
		same = same && k == p.Segment.Spend
	}
	if same {
		return nil
	}
	return &Priced{p.Age, p.Aged, p.Multipliers}
}

// apply finds the extras that are charged on this car, surely or perhaps.
func (p *ResolvedLot) apply(s *shop.Shop) {
	years, miles, taken := s.Worn(p.Age, p.Aged, p.Lot.Odometer)
	last, worn := reached(s, years, miles)
	p.extras = make([]applied, 0, len(s.Extras))
	for i := range s.Extras {
		x := &s.Extras[i]
		if x.Wear && last[x.Name] != i+1 || p.Lot.Year > 0 && p.Lot.Year < x.YearFrom {
			continue
		}
		chance := chanceOf(x, p)
		if chance == 0 {
			continue
		}
		a := applied{i, chance >= 1, 1}
		if x.Scaled {
			a.times = p.Multipliers.Classes[x.Scale]
		}
		p.extras = append(p.extras, a)
	}
	p.ageNotes(s, worn && taken, years, miles)
}

// reached returns, of the extras of wear, 1 more than the number of the last that is
// reached for each name; any says that the shop has such extras.
func reached(s *shop.Shop, years int, miles float64) (last map[string]int, any bool) {
	for i := range s.Extras {
		x := &s.Extras[i]
		if any = any || x.Wear; x.Wear && years >= x.AgeFrom && miles >= x.OdometerFrom {
			if last == nil {
				last = map[string]int{}
			}
			last[x.Name] = i + 1
		}
	}
	return last, any
}

// ageNotes says what was taken where nobody gave the year or the miles.
func (p *ResolvedLot) ageNotes(s *shop.Shop, worn bool, years int, miles float64) {
	switch {
	case !p.Aged && len(s.Ages) > 0 && worn:
		p.warn("age", "", fmt.Sprintf(
			"no year: parts are priced as in the cost table, and wear as for a car %d years old with %s miles", years,
			money.Group(int64(miles))))
	case !p.Aged && len(s.Ages) > 0:
		p.warn("age", "", "no year: parts are priced as in the cost table")
	case !p.Aged && worn:
		p.warn("age", "", fmt.Sprintf("no year: wear is taken as for a car %d years old with %s miles", years,
			money.Group(int64(miles))))
	case worn:
		p.warn("odometer", "", fmt.Sprintf("no odometer reading: %s miles are assumed", money.Group(int64(miles))))
	}
}
