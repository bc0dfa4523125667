package shop

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/stats"
)

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

// learnable reads what finished builds teach of how prices rise.
func (r *settingsReader) learnable(f *settingsFile, s *Settings) {
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
