package costs_test

import (
	"fmt"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/stats"
)

func item(t testing.TB, text string) damage.Item {
	t.Helper()
	code, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return code.Marks()[0].Item
}

// any returns rows for every class and grade.
func anyRows() []costs.Row {
	var rows []costs.Row
	for _, c := range damage.Classes() {
		for g := damage.Grade(1); g.Valid(); g++ {
			rows = append(rows, costs.Row{Item: damage.Item{Spot: damage.Spot{Class: c}, Grade: g}, Any: true,
				Spend: stats.Fixed(100 * float64(g)), Builds: 1, Basis: "test"})
		}
	}
	return rows
}

func rule(t testing.TB, when, then string, chance float64) costs.Rule {
	t.Helper()
	r := costs.Rule{Chance: chance, Seen: 4, Why: "test"}
	if rest, ok := strings.CutPrefix(when, "* "); ok {
		r.AnyZone, when = true, "nose "+rest
	}
	if rest, ok := strings.CutPrefix(then, "same "); ok {
		r.Same, then = true, "nose "+rest
	}
	r.When, r.Then = item(t, when), item(t, then)
	return r
}

// describeMisread is describe with the chances that hang on nothing.
func describeMisread(c costs.Case) string {
	lines := strings.Split(describe(c), "\n")
	for i, x := range c {
		switch {
		case x.Kind == costs.Seen || x.Kind == costs.Misread:
			lines[i] += fmt.Sprintf(" %.2f", x.Chance)
		case x.Step > 0:
			lines[i] = strings.Replace(lines[i], "hidden", fmt.Sprintf("hidden, or by itself %.2f", x.Step), 1)
		}
	}
	return strings.Join(lines, "\n")
}

func describe(c costs.Case) string {
	var lines []string
	for _, x := range c {
		line := fmt.Sprintf("%s %s", x.Item, x.Kind)
		if x.Kind == costs.Suspected {
			line += fmt.Sprintf(" %.2f", x.Chance)
		}
		for _, tr := range x.Triggers {
			line += fmt.Sprintf(" [%s", tr.Spot)
			for g, n := range tr.Rule {
				if n >= 0 {
					line += fmt.Sprintf(" %d:%.2f", g, tr.Chance[g])
				}
			}
			line += "]"
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

func TestCase(t *testing.T) {
	rules := []costs.Rule{
		rule(t, "nose s2", "bay m1", 0.3),
		rule(t, "nose s3", "bay m1", 0.6),
		rule(t, "* s2", "bay m1", 0.9), // own zone comes first
		rule(t, "* c2", "same e1", 0.2),
		rule(t, "tail s1", "bay m1", 0.1),
		rule(t, "nose s2", "nose s3", 0.15),
	}
	b, err := costs.New(anyRows(), rules)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ why, code, want string }{
		{"nothing coded", "none", ""},
		{"a rule fires at its grade", "nose s2", `
nose s2 seen
nose s3 hidden [nose s 2:0.15]
bay m1 hidden [nose s 2:0.30]`},
		{"a rule fires above its grade; the highest matching grade applies; at or below the seen grade nothing is added", "nose s3", `
nose s3 seen
bay m1 hidden [nose s 3:0.60]`},
		{"which rule applies depends on the grade that occurs; a coded suspicion stands", "nose s2 s3?", `
nose s2 seen
nose s3 suspected 0.40
bay m1 hidden [nose s 2:0.30 3:0.60]`},
		{"triggers in different spots are kept apart; any zone where the zone has none of its own", "nose s2; tail s2; roof s2?70", `
nose s2 seen
nose s3 hidden [nose s 2:0.15]
tail s2 seen
roof s2 suspected 0.70
bay m1 hidden [nose s 2:0.30] [tail s 2:0.10] [roof s 2:0.90]`},
		{"same is the trigger's zone", "roof c3", `
roof c3 seen
roof e1 hidden [roof c 3:0.20]`},
		{"a mark of absence rules out its grade and above", "nose s2 s3-; bay m1-", `
nose s2 seen`},
		{"below the grade nothing fires", "nose s1 c1", `
nose s1 seen
nose c1 seen`},
	} {
		code, err := damage.Parse(tt.code)
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.Case("", costs.Findings(code, 0.4))
		if err != nil {
			t.Fatal(err)
		}
		if got := describe(c); got != strings.TrimSpace(tt.want) {
			t.Errorf("%s: %s gives\n%s\nwant%s", tt.why, tt.code, got, tt.want)
		}
	}
}

func TestRowsOfAZoneComeBeforeThoseOfAny(t *testing.T) {
	rows := append(anyRows(), costs.Row{Item: item(t, "roof s2"), Spend: stats.Fixed(999), Builds: 1, Basis: "test"})
	b, err := costs.New(rows, nil)
	if err != nil {
		t.Fatal(err)
	}
	if n, ok := b.RowOf(item(t, "roof s2")); !ok || b.Rows()[n].Spend.Mid != 999 {
		t.Errorf("roof s2 is priced by row %d", n)
	}
	if n, ok := b.RowOf(item(t, "nose s2")); !ok || b.Rows()[n].Spend.Mid != 200 {
		t.Errorf("nose s2 is priced by row %d", n)
	}
	if _, err := costs.New(append(rows, rows[0]), nil); err == nil {
		t.Error("a second row for the same item passes")
	}
	empty, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := empty.Case("", []costs.Finding{{Item: item(t, "nose s2"), Chance: 1}}); err == nil {
		t.Error("a case without a row passes")
	}
}

func TestOdds(t *testing.T) {
	b, err := costs.New(anyRows(), []costs.Rule{rule(t, "nose s2", "bay m1", 0.2)})
	if err != nil {
		t.Fatal(err)
	}
	code, err := damage.Parse("nose s2; tail c1?50")
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", costs.Findings(code, 0.4))
	if err != nil {
		t.Fatal(err)
	}
	// Odds 1:1 become 3:1, 1:4 become 3:4.
	if got, want := describe(c.WithOdds(3)),
		"nose s2 seen\ntail c1 suspected 0.75\nbay m1 hidden [nose s 2:0.43]"; got != want {
		t.Errorf("three times the odds:\n%s", got)
	}
	if got := describe(c.WithOdds(1)); got != describe(c) {
		t.Errorf("the odds as they are:\n%s", got)
	}
	if c[1].Chance != 0.5 {
		t.Error("WithOdds changed the case it was called on")
	}
}

// What is certain has no odds to move: 0 times infinity is no number.
func TestOddsOfWhatIsCertain(t *testing.T) {
	c := costs.Case{{Kind: costs.Suspected, Chance: 0.5},
		{Kind: costs.Hidden, Triggers: []costs.Trigger{{Chance: [damage.GradeCount + 1]float64{0, 1, 0.2}}}}}
	moved := c.WithOdds(0)
	if moved[0].Chance != 0 || moved[1].Triggers[0].Chance[1] != 1 || moved[1].Triggers[0].Chance[2] != 0 {
		t.Errorf("%+v", moved)
	}
	if twice := c.WithOdds(2)[0].Chance; twice != 2.0/3 {
		t.Errorf("twice the odds of a half are %v, want two thirds", twice)
	}
}
