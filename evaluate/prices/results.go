package prices

import (
	"cmp"
	"fmt"
	"slices"
)

// relistDays is how long a car that comes up again counts as the same offer.
const relistDays = 90

// readResults leaves out what does not count, METHOD.md 15.4, and returns the rest in an order that does not depend
// on the file's: withdrawn lots, cars offered again, rows after the as-of day or too old. Unsold lots stay.
func (m *Model) readResults(results []Result) []Result {
	rows := make([]Result, 0, len(results))
	for i := range results {
		r := results[i]
		r.Segment = segmentOf(r.Segment)
		if column, text := m.resultProblem(&r); text != "" {
			m.tell(Notice{Unusable, ResultsFile, r.Line, column, text})
			continue
		}
		if daysBetween(m.AsOf, r.SaleDate) > 0 {
			m.tell(Notice{AfterAsOf, ResultsFile, r.Line, "sale_date", m.afterAsOf(r.SaleDate)})
			continue
		}
		if r.Outcome == Withdrawn {
			m.site(r.Site).Withdrawn++
			m.tell(Notice{WithdrawnLot, ResultsFile, r.Line, "result", "withdrawn: the row is not used"})
			continue
		}
		rows = append(rows, r)
	}
	slices.SortStableFunc(rows, func(a, b Result) int { return compareResults(&a, &b) })
	rows = m.dropRelisted(rows)
	for i := range rows {
		r := &rows[i]
		if r.Year > 0 && r.Year > r.SaleDate.Year() {
			m.tell(Notice{YearAhead, ResultsFile, r.Line, "year", yearAhead(r.Year, r.SaleDate)})
		}
		if r.Hammer > 0 && r.Outcome != Unsold {
			m.site(r.Site).Sold++
			continue
		}
		r.Hammer = 0
		m.site(r.Site).Unsold++
		m.tell(Notice{NotSold, ResultsFile, r.Line, "hammer", "not sold: counted by site, not used for the price"})
	}
	return rows
}

// compareResults orders rows by day and content; the line decides between equals. Of one day's rows of a car the last
// in this order counts: the one that was sold, at the higher price.
func compareResults(a, b *Result) int {
	if c := cmp.Or(a.SaleDate.Compare(b.SaleDate), cmp.Compare(a.Hammer, b.Hammer), cmp.Compare(a.Value,
		b.Value)); c != 0 {
		return c
	}
	return cmp.Or(cmp.Compare(fold(a.Site), fold(b.Site)),
		cmp.Compare(a.Number, b.Number), cmp.Compare(carName(a.Make, a.Model), carName(b.Make, b.Model)),
		cmp.Compare(a.Guide, b.Guide), cmp.Compare(a.Year, b.Year),
		cmp.Compare(a.Miles.V, b.Miles.V), cmp.Compare(a.Repair.V, b.Repair.V), cmp.Compare(a.Category, b.Category),
		cmp.Compare(a.Stop, b.Stop), cmp.Compare(a.Line, b.Line))
}

// dropRelisted keeps the last row of a car that was offered more than once within 90 days. Rows are ordered by day.
func (m *Model) dropRelisted(rows []Result) []Result {
	type car struct {
		name  string
		year  int
		miles float64
	}
	next := map[car]int{}
	keep := make([]bool, len(rows))
	for i := len(rows) - 1; i >= 0; i-- {
		r := &rows[i]
		keep[i] = true
		if fold(r.Make) == "" || fold(r.Model) == "" || r.Year <= 0 || !r.Miles.Known {
			continue
		}
		k := car{carName(r.Make, r.Model), r.Year, r.Miles.V}
		if j, again := next[k]; again && daysBetween(r.SaleDate, rows[j].SaleDate) <= relistDays {
			keep[i] = false
			m.tell(Notice{Relisted, ResultsFile, r.Line, "sale_date", fmt.Sprintf(
				"the same car was offered again on %s, line %d; only the last row counts", dateText(rows[j].SaleDate),
				rows[j].Line)})
		}
		next[k] = i
	}
	out := rows[:0]
	for i := range rows {
		if keep[i] {
			out = append(out, rows[i])
		}
	}
	return out
}

// resultProblem says what keeps a row from being used: its column, and what to write.
func (m *Model) resultProblem(r *Result) (column, text string) {
	if r.SaleDate.IsZero() {
		return "sale_date", "blank; write the day of the sale, such as 2026-05-27"
	}
	if r.Outcome == Sold && r.Hammer == 0 {
		return "hammer", "blank, and result says sold; write the hammer price"
	}
	for _, p := range []struct {
		column string
		x      float64
	}{{"hammer", r.Hammer}, {"value", r.Value}, {"guide", r.Guide}, {"stop", r.Stop}, {"damage", r.Repair.V},
		{"odometer", r.Miles.V}} {
		if !amount(p.x) {
			return p.column, fmt.Sprintf("%v is not an amount of at least 0; write one such as 1250", p.x)
		}
	}
	if _, ok := m.settings.ValueSpread[segmentOf(r.Segment)]; !ok {
		return "segment", fmt.Sprintf("%q is not a car type of the shop", segmentOf(r.Segment))
	}
	return "", ""
}

// pastListings are the past lots whose value says how listings lie against adverts: those with a value, a year and an
// odometer reading.
func (m *Model) pastListings(rows []Result) []sale {
	var out []sale
	for i := range rows {
		r := &rows[i]
		if r.Value <= 0 || r.Year <= 0 || !r.Miles.Known {
			continue
		}
		fade, counts := faded(daysBetween(r.SaleDate, m.AsOf), m.settings.AdvertHalflife)
		if !counts {
			continue
		}
		out = append(out, sale{line: r.Line, name: carName(r.Make, r.Model), segment: r.Segment, age: ageAt(r.Year,
			r.SaleDate),
			miles: r.Miles.V / milesUnit, fade: fade, listed: r.Value, mark: clean(), past: true})
	}
	return out
}

// A Site is how many past lots of a site there were.
type Site struct {
	Name                    string
	Sold, Unsold, Withdrawn int
}

func (m *Model) site(name string) *Site {
	k := fold(name)
	s := m.sites[k]
	if s == nil {
		s = &Site{Name: name}
		m.sites[k] = s
	}
	if name < s.Name { // of two ways of writing it, the same whatever the order
		s.Name = name
	}
	return s
}

// Sites are the sites of results.csv by name.
func (m *Model) Sites() []Site {
	out := make([]Site, 0, len(m.sites))
	for _, s := range m.sites {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b Site) int { return cmp.Compare(a.Name, b.Name) })
	return out
}
