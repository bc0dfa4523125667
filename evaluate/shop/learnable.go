package shop

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/stats"
)

// mostCoding is the largest chance that a code is off by a grade one way.
const mostCoding = 0.95

// perClass is one figure for every class, or a table of figures by class letter, such as { s = 0.1, c = 0.07 }. A class
// that the table does not have is 0.
type perClass map[string]float64

// UnmarshalTOML reads one number or a table.
func (p *perClass) UnmarshalTOML(v any) error {
	number := func(v any) (float64, bool) {
		switch v := v.(type) {
		case int64:
			return float64(v), true
		case float64:
			return v, true
		}
		return 0, false
	}
	*p = perClass{}
	if x, ok := number(v); ok {
		for _, c := range damage.Classes() {
			(*p)[c.Letter()] = x
		}
		return nil
	}
	table, ok := v.(map[string]any)
	if !ok {
		return fmt.Errorf("write one share, such as 0.08, or a share for each class, such as { s = 0.1, c = 0.07 }")
	}
	for letter, v := range table {
		if _, err := damage.ParseClass(letter); err != nil {
			return fmt.Errorf("%q is not a class; write s, c, r, m or e", letter)
		}
		x, ok := number(v)
		if !ok {
			return fmt.Errorf("%v is not a number; write a share, such as 0.08", v)
		}
		(*p)[strings.ToLower(letter)] = x
	}
	return nil
}

// perClassOf returns the figures of all classes as shop.toml has them, nil where all are 0.
func perClassOf(x [damage.ClassCount]float64) *perClass {
	if x == [damage.ClassCount]float64{} {
		return nil
	}
	p := perClass{}
	for _, c := range damage.Classes() {
		p[c.Letter()] = x[c]
	}
	return &p
}

// day is a date, written 2026-04-30 with or without quotes.
type day struct{ time.Time }

// UnmarshalTOML reads a date.
func (d *day) UnmarshalTOML(v any) (err error) {
	switch v := v.(type) {
	case time.Time:
		d.Time = time.Date(v.Year(), v.Month(), v.Day(), 0, 0, 0, 0, time.UTC)
		return nil
	case string:
		if d.Time, err = time.Parse(time.DateOnly, v); err == nil {
			return nil
		}
	}
	return fmt.Errorf("%v is not a date; write year-month-day, such as 2026-04-30", v)
}

// MarshalText writes the date as it is read.
func (d day) MarshalText() ([]byte, error) { return []byte(d.Format(time.DateOnly)), nil }

// learnable reads the settings that finished builds teach.
func (r *settingsReader) learnable(f *settingsFile, s *Settings) {
	for _, x := range []struct {
		key  string
		from *perClass
		into *[damage.ClassCount]float64
	}{{"coding_up", f.CodingUp, &s.CodingUp}, {"coding_down", f.CodingDown, &s.CodingDown}} {
		if x.from == nil {
			continue
		}
		for _, c := range damage.Classes() {
			chance := (*x.from)[c.Letter()]
			if math.IsNaN(chance) || chance < 0 || chance > mostCoding {
				r.fault(r.line("", 0, x.key), x.key, fmt.Sprint(chance), "%s", rangeText(chance, 0, mostCoding))
				continue
			}
			x.into[c] = chance
		}
	}
	for _, c := range damage.Classes() {
		if up, down := s.CodingUp[c], s.CodingDown[c]; up+down >= 1 {
			r.fault(r.line("", 0, "coding_up"), "coding_up", "",
				"coding_up %v and coding_down %v of %s come to 1 or more; lower one of them", up, down, c)
		}
	}
	if f.CostsAsOf != nil {
		s.CostsAsOf = f.CostsAsOf.Time
	}
	if x := f.Inflation; x != nil {
		if s.Inflation = *x; math.IsNaN(*x) || *x < -0.5 || *x > 0.5 {
			s.Inflation = 0
			r.fault(r.line("", 0, "inflation"), "inflation", fmt.Sprint(*x), "%s", rangeText(*x, -0.5, 0.5))
		}
	}
}

const daysInYear = 365.25

// Priced returns the day of a row's prices: its own, or that of the whole table; zero where nobody said.
func (s *Shop) Priced(r *costs.Row) time.Time {
	if r.Priced.IsZero() {
		return s.CostsAsOf
	}
	return r.Priced
}

// At returns the shop with its cost table as it is on a day: the spend of each row has grown by exp(Inflation x years)
// since the row was priced, and the day is that of its prices. A row of which nobody said when it was priced stays as
// it is; so does the whole shop where nothing grows.
func (s *Shop) At(on time.Time) (*Shop, error) {
	rows, grown := slices.Clone(s.Costs.Rows()), false
	for i := range rows {
		priced := s.Priced(&rows[i])
		if on.IsZero() || priced.IsZero() || s.Inflation == 0 || priced.Equal(on) {
			continue
		}
		k := math.Exp(s.Inflation * on.Sub(priced).Hours() / 24 / daysInYear)
		a := rows[i].Spend
		rows[i].Spend = stats.Amount{Low: k * a.Low, Mid: k * a.Mid, High: k * a.High, Shape: a.Shape}
		rows[i].Priced, grown = on, true
	}
	if !grown {
		return s, nil
	}
	out := *s
	var err error
	out.Costs, err = costs.New(rows, s.Costs.Rules())
	return &out, err
}
