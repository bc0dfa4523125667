package learn

import (
	"fmt"
	"math"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/stats"
)

// A Row is one row of the cost table: what a job costs on a car whose multipliers are 1.
type Row struct {
	// Item is what the row prices. Its zone counts only where Any is false.
	Item damage.Item
	// Any says that the row is for every zone without a row of its own.
	Any bool
	// Spend is money paid out, in the workshop's currency.
	Spend stats.Amount
	// Hours is the workshop's own work, in hours.
	Hours stats.Amount
	// Builds is how many builds' experience the row is worth, above 0.
	Builds float64
	// Priced is the day of the row's prices; zero: that of all rows, Settings.Priced.
	Priced time.Time
}

// Name prints what the row prices: "nose s2", or "* s2" for any zone.
func (r Row) Name() string {
	if r.Any {
		return fmt.Sprintf("* %s%d", r.Item.Class.Letter(), r.Item.Grade)
	}
	return r.Item.String()
}

// A Rule is what is known of one rule of hidden damage: how likely it is, and how many builds stand behind that.
type Rule struct {
	// Chance that the rule's damage is there where its trigger is, above 0 and at most 1.
	Chance float64
	// Seen is how many builds stand behind the chance, above 0.
	Seen float64
}

// A Table is the workshop's cost rows and hidden rules. What is learned comes back in the same order.
type Table struct {
	Rows  []Row
	Rules []Rule
}

// Settings are the workshop's figures that are learned, or that learning needs.
type Settings struct {
	// LabourRate is what an hour of the workshop's own work is worth, 0 or more.
	LabourRate float64
	// SeverityLink and HiddenLink are correlations: 0 or more, and below 1.
	SeverityLink, HiddenLink float64
	// CodingUp and CodingDown are the chances that a seen mark is one grade worse, or one better, by class. Their
	// means over the classes are where learning starts; what is learned scales all five.
	CodingUp, CodingDown [damage.ClassCount]float64
	// Inflation is by how much spend grows a year, on the log scale: 0.03 is 3 %.
	Inflation float64
	// Priced is the date of the table's prices. Where it is zero, no job has an age and nothing is learned of prices.
	Priced time.Time
	// Today is the day on which the learned table will be used. Where it is zero, it is the day of the last job.
	Today time.Time
}

const (
	daysInYear = 365.25
	z90        = stats.Z90
)

// years returns how long after the date of the prices a day is; 0 where either is not known.
func (s *Settings) years(day time.Time) float64 {
	if s.Priced.IsZero() || day.IsZero() {
		return 0
	}
	return day.Sub(s.Priced).Hours() / 24 / daysInYear
}

// age returns how long after the date of a row's prices a day is, in years; 0 where either is not known.
func (s *Settings) age(r *Row, day time.Time) float64 {
	if r.Priced.IsZero() {
		return s.years(day)
	}
	own := Settings{Priced: r.Priced}
	return own.years(day)
}

func between(what string, x, low, high float64) error {
	if math.IsNaN(x) || x < low || x > high {
		return fmt.Errorf("%s is %v; it has to lie between %v and %v", what, x, low, high)
	}
	return nil
}

func (s *Settings) check() error {
	type figure struct {
		what      string
		x         float64
		low, high float64
	}
	all := []figure{
		{"the labour rate", s.LabourRate, 0, 1e6},
		{"severity_link", s.SeverityLink, 0, 1},
		{"hidden_link", s.HiddenLink, 0, 0.99},
		{"inflation", s.Inflation, -1, 1},
	}
	for _, c := range damage.Classes() {
		all = append(all, figure{"coding_up of " + c.String(), s.CodingUp[c], 0, 0.95},
			figure{"coding_down of " + c.String(), s.CodingDown[c], 0, 0.95})
	}
	for _, f := range all {
		if err := between(f.what, f.x, f.low, f.high); err != nil {
			return err
		}
	}
	return nil
}

// rowIndex finds the row of an item: that of its own zone before that of any zone.
type rowIndex [damage.ItemCount]int

func (t *Table) index() (*rowIndex, error) {
	own, anywhere := map[damage.Item]int{}, map[damage.Item]int{}
	for i, r := range t.Rows {
		if err := r.check(); err != nil {
			return nil, err
		}
		m, key := own, r.Item
		if r.Any {
			m, key.Zone = anywhere, 0
		}
		if _, twice := m[key]; twice {
			return nil, fmt.Errorf("cost row %s is there twice; keep one", r.Name())
		}
		m[key] = i
	}
	for i, r := range t.Rules {
		if err := between(fmt.Sprintf("the chance of hidden rule %d", i+1), r.Chance, 0, 1); err != nil {
			return nil, err
		}
		if err := between(fmt.Sprintf("seen of hidden rule %d", i+1), r.Seen, 0, 1e9); err != nil {
			return nil, err
		}
	}
	var x rowIndex
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			for g := damage.Grade(1); g.Valid(); g++ {
				it := damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}
				starred := it
				starred.Zone = 0
				i, ok := own[it]
				if !ok {
					if i, ok = anywhere[starred]; !ok {
						i = -1
					}
				}
				x[it.Index()] = i
			}
		}
	}
	return &x, nil
}

func (r *Row) check() error {
	if !r.Item.Grade.Valid() || int(r.Item.Class) >= damage.ClassCount || int(r.Item.Zone) >= damage.ZoneCount {
		return fmt.Errorf("a cost row is for %v, which is not an item", r.Item)
	}
	for _, a := range []stats.Amount{r.Spend, r.Hours} {
		if _, err := stats.New(a.Low, a.Mid, a.High, a.Shape); err != nil {
			return fmt.Errorf("cost row %s: %w", r.Name(), err)
		}
	}
	return between("builds of cost row "+r.Name(), r.Builds, 1e-9, 1e9)
}

// of returns the row of a grade at a spot, -1 where no row prices it or the grade is outside 1 to 4.
func (x *rowIndex) of(s damage.Spot, g damage.Grade) int {
	if !g.Valid() {
		return -1
	}
	return x[damage.Item{Spot: s, Grade: g}.Index()]
}
