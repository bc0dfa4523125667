package shop

import (
	"fmt"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/tabular"
)

type ageRow struct {
	From  tabular.Cell `csv:"from"`
	S     tabular.Cell `csv:"s"`
	C     tabular.Cell `csv:"c"`
	R     tabular.Cell `csv:"r"`
	M     tabular.Cell `csv:"m"`
	E     tabular.Cell `csv:"e"`
	Hours tabular.Cell `csv:"hours"`
	Note  tabular.Cell `csv:"note,omitempty"`
}

// hasAges reports whether there is a table of ages: a folder without one has none.
func (r *shopReader) hasAges() bool {
	switch {
	case r.texts != nil:
		_, ok := r.texts[AgesFile]
		return ok
	case r.own != nil:
		return exists(r.own, AgesFile)
	}
	return exists(costs.Starter(), AgesFile)
}

// ages reads ages.csv, after the segments.
func (r *shopReader) ages() error {
	if !r.hasAges() {
		return nil
	}
	return each(r, AgesFile, func(v *ageRow, k *tabular.Check) {
		a := Age{Note: v.Note.Text(), From: k.Int("from", v.From, 0, 200)}
		if !k.Failed {
			k.Bad("from", r.follows(a.From))
		}
		for c, cell := range []tabular.Cell{v.S, v.C, v.R, v.M, v.E} { // in the order of classes
			a.Classes[c] = multiplier(k, damage.Class(c).Letter(), cell)
		}
		a.Hours = multiplier(k, "hours", v.Hours)
		if !k.Failed {
			r.bounded(&a, k)
		}
		if !k.Failed {
			r.shop.Ages = append(r.shop.Ages, a)
		}
	})
}

// follows says what is wrong with the first year of a band.
func (r *shopReader) follows(from int) error {
	n := len(r.shop.Ages)
	switch {
	case n == 0 && from != 0:
		return fmt.Errorf("%d: the first band begins at 0, so that every age has one; write 0", from)
	case n > 0 && from <= r.shop.Ages[n-1].From:
		return fmt.Errorf("%d: the band before begins at %d; write a later year, or put the rows in order", from,
			r.shop.Ages[n-1].From)
	}
	return nil
}

// bounded checks a band's multipliers times those of every segment.
func (r *shopReader) bounded(a *Age, k *tabular.Check) {
	within := func(column string, factor, of float64, segment string) bool {
		if x := factor * of; x < LeastMultiplier || x > MostMultiplier {
			k.Bad(column, fmt.Errorf("%v times the %v of %s is %.4g; a multiplier must stay from %v to %v: write another",
				factor, of, segment, x, LeastMultiplier, MostMultiplier))
			return false
		}
		return true
	}
	for _, c := range damage.Classes() {
		for i := range r.shop.Segments {
			if s := &r.shop.Segments[i]; !within(c.Letter(), a.Classes[c], s.Class(c), s.Name) {
				break
			}
		}
	}
	for i := range r.shop.Segments {
		if s := &r.shop.Segments[i]; !within("hours", a.Hours, s.Hours, s.Name) {
			break
		}
	}
}

// multiplier reads what the cost table is multiplied by.
func multiplier(k *tabular.Check, column string, c tabular.Cell) float64 {
	x, err := c.Number(0, 1e4)
	switch {
	case err != nil:
	case x > MostMultiplier:
		err = fmt.Errorf("%v times the cost table is more than any car costs; did you mean %v?", x, x/100)
	case x < LeastMultiplier:
		err = fmt.Errorf("%v times the cost table makes the work free; write 1 for what the table says", x)
	}
	k.Bad(column, err)
	return x
}

// Reversed says where a worse grade costs less than the one below it, by the middle of its
// spend and hours, on some segment and age; one line for each row of the cost table.
func (s *Shop) Reversed() []string {
	var out []string
	total := func(row *costs.Row, m *Multipliers) float64 {
		return row.Spend.Mid*row.Times(m.Classes[row.Item.Class]) + s.LabourRate*row.Hours.Mid*m.Hours
	}
	rows := s.Costs.Rows()
	for i := range rows {
		worse := &rows[i]
		for j := range rows {
			row := &rows[j]
			if row.Any != worse.Any || !row.Any && row.Item.Zone != worse.Item.Zone || row.Item.Class != worse.Item.Class ||
				row.Item.Grade+1 != worse.Item.Grade {
				continue
			}
			if text := s.reversedOn(row, worse, total); text != "" {
				out = append(out, text)
			}
		}
	}
	return out
}

func (s *Shop) reversedOn(row, worse *costs.Row, total func(*costs.Row, *Multipliers) float64) string {
	for segment := range s.Segments {
		for band := -1; band < len(s.Ages); band++ {
			m := s.Multipliers(segment, band)
			if a, b := total(row, &m), total(worse, &m); b < a {
				age := ""
				if band >= 0 {
					age = fmt.Sprintf(" from %d years", s.Ages[band].From)
				}
				return fmt.Sprintf("%s costs less than %s on %s%s: %.0f against %.0f, mid spend and hours; look at parts and "+
					"the multipliers", worse.Name(), row.Name(), s.Segments[segment].Name, age, b, a)
			}
		}
	}
	return ""
}
