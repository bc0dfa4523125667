package prices

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// A Seen is one advert or own sale of a model, set beside the line at one mileage.
type Seen struct {
	// Age in years on the row's day; Price what the car would be worth unmarked and at that mileage, pounds.
	Age, Price float64
	Line       int
}

// A Band is what adverts say of a car at an age: the line, and its 8 in 10, pounds.
type Band struct{ Age, Low, Mid, High float64 }

// Seen are the adverts and own sales behind a lot's value, each moved along the line to the lot's mileage, and the
// line with its range at even ages from the youngest to the oldest of them and of the lot; nil where adverts do not
// serve the lot.
func (m *Model) Seen(l *Lot) ([]Seen, []Band) {
	if v, err := m.Value(l); err != nil || v.Adverts == 0 {
		return nil, nil
	}
	at := *l
	at.Value, at.MeanDays = 0, 0
	line := func(age float64) (Value, error) {
		at.SaleDate = time.Date(l.Year, time.July, 1, 0, 0, 0, 0,
			time.UTC).Add(time.Duration(age * daysPerYear * 24 * float64(time.Hour)))
		return m.Value(&at)
	}
	k, model := m.market, m.market.models[carName(l.Make, l.Model)]
	young := m.Age(l)
	old := young
	var out []Seen
	for i := range k.rows {
		r := &k.rows[i]
		if r.kind != priceRow || r.model != model || r.fade == 0 {
			continue
		}
		age := r.xm[1] + centreAge
		v, err := line(age)
		if err != nil { // too few of them for a car without a value in the list
			return nil, nil
		}
		young, old = min(young, age), max(old, age)
		out = append(out, Seen{Age: age, Price: math.Exp(math.Log(v.AdvertPrice) + r.y - k.fitted(r)), Line: r.line})
	}
	slices.SortFunc(out, func(a, b Seen) int { return cmp.Or(cmp.Compare(a.Age, b.Age), cmp.Compare(a.Price, b.Price)) })
	const steps = 12
	var bands []Band
	for i := range steps + 1 {
		age := young + (old-young)*float64(i)/steps
		v, err := line(age)
		if err != nil {
			return nil, nil
		}
		low, high := v.Interval()
		bands = append(bands, Band{age, low, v.AdvertPrice, high})
	}
	return out, bands
}

// A Knocked is a past lot that had a guide price, pounds.
type Knocked struct {
	Guide, Hammer float64
	Line          int
}

// Knocked are the past lots of a site that had a guide price and were sold, in the order of the guide.
func (m *Model) Knocked(site string) []Knocked {
	var out []Knocked
	for i := range m.guided.used {
		r := &m.guided.used[i]
		if r.site == fold(site) {
			out = append(out, Knocked{r.guide, r.hammer, r.line})
		}
	}
	slices.SortFunc(out, func(a, b Knocked) int {
		return cmp.Or(cmp.Compare(a.Guide, b.Guide),
			cmp.Compare(a.Hammer, b.Hammer))
	})
	return out
}

// Age is a lot's age in years on the day of its sale, METHOD.md 15.2; 0 where its year is blank.
func (m *Model) Age(l *Lot) float64 {
	if l.Year == 0 {
		return 0
	}
	day := l.SaleDate
	if day.IsZero() {
		day = m.AsOf
	}
	return ageAt(l.Year, day)
}
