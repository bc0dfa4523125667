// Package costs says what damage costs: a row for each zone, class and grade,
// and the rules by which damage that was found makes hidden damage likely. A
// damage code goes in, candidates with their chances come out.
package costs

import (
	"fmt"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/stats"
)

// A Row is what one job costs. Amounts are those of a segment whose multipliers
// are 1.
type Row struct {
	// Item is what the row prices. Its zone counts only where Any is false.
	Item damage.Item
	// Any says that the row serves every zone without a row of its own.
	Any bool
	// Spend is money out, in pounds, VAT included.
	Spend stats.Amount
	// Common is the share of Spend that is the same on every car, such as paint and
	// bought-in trades: 1 less the column parts, 0 to 1.
	Common float64
	// Hours is the shop's own work.
	Hours stats.Amount
	// LeadDays is how long the parts take to come, in days.
	LeadDays float64
	// Builds is how many builds' experience the row is worth, above 0.
	Builds float64
	// Priced is the day of the row's prices; zero: that of the whole table.
	Priced time.Time
	// Basis says in words where the figures come from.
	Basis string
}

// Name prints what the row prices: "nose s2", or "* s2" for any zone.
func (r Row) Name() string { return itemName(r.Any, "*", r.Item) }

func itemName(any bool, star string, item damage.Item) string {
	if any {
		return fmt.Sprintf("%s %s%d", star, item.Class.Letter(), item.Grade)
	}
	return item.String()
}

// Times returns what the row's spend is multiplied by on a car whose parts cost k times
// those that the table is written for (METHOD.md 5.3).
func (r *Row) Times(k float64) float64 {
	if r.Common == 0 {
		return k
	}
	return 1 + (1-r.Common)*(k-1)
}

// A Table holds the rows and rules of one shop.
type Table struct {
	rows  []Row
	rules []Rule
	// row is the row of each item by its index, -1 for none.
	row [damage.ItemCount]int
	// firing are the rules that damage at a spot can fire, by its index.
	firing [damage.SpotCount][]int
}

// New returns the book of these rows and rules. It fails where two rows price
// the same, or two rules say the same. The slices are kept.
func New(rows []Row, rules []Rule) (*Table, error) {
	b := &Table{rows: rows, rules: rules}
	for i := range b.row {
		b.row[i] = -1
	}
	names := map[string]bool{}
	for i, r := range rows {
		if names[r.Name()] {
			return nil, fmt.Errorf("%s has two rows; keep one", r.Name())
		}
		names[r.Name()] = true
		if !r.Any {
			b.row[r.Item.Index()] = i
		}
	}
	for i, r := range rows {
		if !r.Any {
			continue
		}
		for _, z := range damage.Zones() {
			item := r.Item
			item.Zone = z
			if b.row[item.Index()] < 0 {
				b.row[item.Index()] = i
			}
		}
	}
	for n, r := range rules {
		if names[r.Name()] {
			return nil, fmt.Errorf("the rule %s is there twice; keep one", r.Name())
		}
		names[r.Name()] = true
		for i := range b.firing {
			if s := damage.SpotAt(i); s.Class == r.When.Class && (r.AnyZone || s.Zone == r.When.Zone) {
				b.firing[i] = append(b.firing[i], n)
			}
		}
	}
	return b, nil
}

// Rows returns all rows, in the order given. It is not to be changed.
func (b *Table) Rows() []Row { return b.rows }

// Rules returns all rules, in the order given. It is not to be changed.
func (b *Table) Rules() []Rule { return b.rules }

// RowOf returns the number in Rows of the row that prices the item, or false.
func (b *Table) RowOf(item damage.Item) (int, bool) {
	n := b.row[item.Index()]
	return n, n >= 0
}
