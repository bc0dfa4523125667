package year

import (
	"cmp"
	"slices"
)

// A Table is what the cars earned by one thing that they differ in.
type Table struct {
	// By what: category, car type, where it was hit, price paid, site.
	By string
	// Pooled says that the groups are drawn toward the workshop's mean, Mean; T that their
	// true means differ by so much (standard deviation), in pounds an hour.
	Pooled  bool
	Mean, T float64
	Groups  []Group
}

// ByHammer is the table by the price paid.
const ByHammer = "hammer price"

// A Group is the cars of a kind.
type Group struct {
	Name string
	Cars int
	// AnHour is margin and wages an own hour of these cars, in pounds, SD how far it may be
	// off by chance; 0 where nobody can tell.
	AnHour, SD float64
	// Pooled is what is believed beside the others, nil where it is not pooled.
	Pooled *Pooled
	// Enough cars to be advised on.
	Enough bool
}

// Advised is the chance of being above, or below, the workshop's mean from which a group
// is advised on.
const Advised = 0.8

// More and Fewer report whether to buy more, or fewer, such cars.
func (g *Group) More() bool  { return g.Enough && g.Pooled != nil && g.Pooled.Above >= Advised }
func (g *Group) Fewer() bool { return g.Enough && g.Pooled != nil && g.Pooled.Above <= 1-Advised }

// tables groups the cars that have hours.
func tables(cars []Car) []Table {
	var out []Table
	for _, by := range []struct {
		name string
		of   func(*Car) string
	}{
		{"category", func(c *Car) string { return c.Category }}, {"car type", func(c *Car) string { return c.Type }},
		{"where it was hit", func(c *Car) string { return c.Hit }}, {ByHammer, func(c *Car) string { return c.Band }},
		{"site", func(c *Car) string { return c.Site }},
	} {
		groups := map[string][]*Car{}
		for i := range cars {
			if c := &cars[i]; c.Hours > 0 {
				groups[by.of(c)] = append(groups[by.of(c)], c)
			}
		}
		if len(groups) > 0 {
			out = append(out, tableOf(by.name, groups))
		}
	}
	return out
}

// tableOf works out a table. What chance does to a car is taken to be alike in all groups:
// the variance of earned less the group's pounds an hour x its hours; so a group of one has
// a variance too.
func tableOf(by string, groups map[string][]*Car) Table {
	t := Table{By: by}
	square, spare := 0.0, 0
	sums := map[string]Sum{}
	for name, cars := range groups {
		s := Sum{}
		for _, c := range cars {
			s.add(c)
		}
		sums[name] = s
		x, _ := s.AnHour()
		for _, c := range cars {
			off := c.Earned() - x*c.Hours
			square += off * off
		}
		spare += len(cars) - 1
		t.Groups = append(t.Groups, Group{Name: name, Cars: len(cars), AnHour: x, Enough: len(cars) >= LeastCars})
	}
	slices.SortFunc(t.Groups, func(a, b Group) int { return cmp.Compare(a.Name, b.Name) })
	if spare == 0 || square == 0 {
		t.sort()
		return t
	}
	var means []Mean
	for i := range t.Groups {
		g := &t.Groups[i]
		h := sums[g.Name].HourHours
		v := square / float64(spare) * float64(g.Cars) / (h * h)
		g.SD = sqrt(v)
		means = append(means, Mean{g.AnHour, v})
	}
	pooled, mu, t2, ok := Pool(means)
	if t.Pooled, t.Mean, t.T = ok, mu, sqrt(t2); ok {
		for i := range t.Groups {
			t.Groups[i].Pooled = &pooled[i]
		}
	}
	t.sort()
	return t
}

func (t *Table) sort() {
	at := func(g *Group) float64 {
		if g.Pooled != nil {
			return g.Pooled.Mean
		}
		return g.AnHour
	}
	slices.SortStableFunc(t.Groups, func(a, b Group) int { return cmp.Compare(at(&b), at(&a)) })
}
