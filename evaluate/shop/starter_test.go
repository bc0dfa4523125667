package shop_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

func starter(t testing.TB) *shop.Shop {
	t.Helper()
	workshop, problems, notices, err := shop.Read("")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Error(p)
	}
	for _, n := range notices {
		t.Error("the starter shows a notice:", n)
	}
	if t.Failed() {
		t.FailNow()
	}
	return workshop
}

func item(t testing.TB, text string) damage.Item {
	t.Helper()
	code, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return code.Marks()[0].Item
}

// interval is the 80 % prediction interval of what one item costs on a car of a
// segment.
func interval(t testing.TB, workshop *shop.Shop, text, segment string, labour float64) (low, high float64) {
	t.Helper()
	n, ok := workshop.Costs.RowOf(item(t, text))
	if !ok {
		t.Fatalf("no row for %s", text)
	}
	i, ok := workshop.Segment(segment)
	if !ok {
		t.Fatalf("no segment %s", segment)
	}
	row, s := workshop.Costs.Rows()[n], workshop.Segments[i]
	k := row.Common + (1-row.Common)*s.Classes[row.Item.Class] // the car's own, but for paint and hire
	at := func(z float64) float64 { return k*row.Spend.At(z) + labour*s.Hours*row.Hours.At(z) }
	return at(-stats.Z90), at(stats.Z90)
}

func TestStarterAgainstTheTrade(t *testing.T) {
	workshop := starter(t)
	// Common practice, no source: on a prestige sports car, front airbags fired
	// cost between 4,000 and 5,000 in all, where the dashboard alone is a little
	// over 3,000 new. Bags are new at new prices here, which is why it is near the
	// lower end of ours.
	if low, high := interval(t, workshop, "cabin r2", "prestige", workshop.LabourRate); low > 4000 || high < 5000 {
		t.Errorf("cabin r2, prestige: %.0f to %.0f, want 4,000 to 5,000 inside", low, high)
	}
	// Common practice, no source: a front loom section with its junction box,
	// sold only as one piece, is about 1,000.
	for _, segment := range []string{"family", "prestige"} {
		if low, high := interval(t, workshop, "nose e3", segment, 0); low > 1000 || high < 1000 {
			t.Errorf("nose e3, %s: %.0f to %.0f, want 1,000 inside", segment, low, high)
		}
	}
	// Common practice, no source.
	for why, x := range map[string][2]string{
		"a fired bag can fuse its connectors to the loom":                             {"cabin r2", "cabin e1"},
		"bonnet-latch sensors are replaced after a nose hit as a precaution":          {"nose s1", "nose e1"},
		"a pushed-back nose reaches the cooling pack":                                 {"nose s2", "nose m1"},
		"the floor of a car that ran over something reaches the fuel and brake lines": {"under s2", "under m1"},
	} {
		c, err := workshop.Costs.Case("family", costs.Findings(mustCode(t, x[0]), 0.4))
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, cand := range c {
			found = found || cand.Kind == costs.Hidden && cand.Spot == item(t, x[1]).Spot
		}
		if !found {
			t.Errorf("%s brings nothing at %s: %s", x[0], item(t, x[1]).Spot, why)
		}
	}
	// Common practice, no source: a marker takes roughly a seventh to two fifths
	// off a car's value, more for structural than for non-structural.
	s, n := category(t, workshop, "S", "family").Share, category(t, workshop, "N", "family").Share
	for _, share := range []stats.Amount{s, n} {
		if share.Low < 1.0/7-0.01 || share.High > 0.43 {
			t.Errorf("a marker takes %v to %v, want within a seventh to a little over two fifths", share.Low, share.High)
		}
	}
	if s.Mid <= n.Mid || s.Low <= n.Low || s.High <= n.High {
		t.Errorf("structural takes %+v, non-structural %+v", s, n)
	}
}

func mustCode(t testing.TB, text string) damage.Code {
	t.Helper()
	code, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return code
}

func category(t testing.TB, workshop *shop.Shop, name, segment string) shop.Category {
	t.Helper()
	i, ok := workshop.Category(name, segment)
	if !ok {
		t.Fatalf("no category %s", name)
	}
	return workshop.Categories[i]
}

// What the insurers' markers permit, read on gov.uk (Scrapping your vehicle and
// insurance write-offs): A cannot be repaired, the whole vehicle is crushed; B
// cannot be repaired, the body shell is crushed, other parts may be salvaged; S
// and N may be repaired; C and D, until 1 October 2017, may be repaired.
func TestCategoriesPermitWhatTheRulesDo(t *testing.T) {
	workshop := starter(t)
	for name, want := range map[string]struct {
		rebuild bool
		says    []string
	}{
		"A":          {false, []string{"may not return to the road", "whole vehicle", "crushed"}},
		"B":          {false, []string{"may not return to the road", "body shell", "crushed", "parts may be salvaged"}},
		"S":          {true, []string{"structural", "log book goes back"}},
		"N":          {true, []string{"no structural"}},
		"C":          {true, []string{"2017", "more than the vehicle was worth"}},
		"D":          {true, []string{"2017", "less than its worth"}},
		"unrecorded": {true, nil},
	} {
		for _, s := range workshop.Segments {
			c := category(t, workshop, name, s.Name)
			if c.Rebuild != want.rebuild {
				t.Errorf("%s for %s: rebuild %v", name, s.Name, c.Rebuild)
			}
			for _, words := range want.says {
				if !strings.Contains(c.Note, words) {
					t.Errorf("%s does not say %q: %s", name, words, c.Note)
				}
			}
		}
	}
}

func TestStarterIsWhole(t *testing.T) {
	workshop := starter(t)
	if len(workshop.Segments) < 5 || len(workshop.Costs.Rules()) < 30 || len(workshop.Tariff.Sites()) != 2 ||
		len(workshop.Inspections) < 4 {
		t.Errorf("%d segments, %d rules, sites %v, %d looks", len(workshop.Segments), len(workshop.Costs.Rules()),
			workshop.Tariff.Sites(), len(workshop.Inspections))
	}
	for _, r := range workshop.Costs.Rows() {
		if r.Basis == "" || r.Builds <= 0 {
			t.Errorf("%s has no basis or no weight", r.Name())
		}
	}
	for _, r := range workshop.Costs.Rules() {
		if len(strings.Fields(r.Why)) < 5 {
			t.Errorf("%s does not say why: %q", r.Name(), r.Why)
		}
	}
	// Every item has a row, and a worse grade costs more.
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			before := -1.0
			for g := damage.Grade(1); g.Valid(); g++ {
				i := damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}
				n, ok := workshop.Costs.RowOf(i)
				if !ok {
					t.Fatalf("no row for %s", i)
				}
				cost := workshop.Costs.Rows()[n].Spend.Mid + workshop.LabourRate*workshop.Costs.Rows()[n].Hours.Mid
				if cost <= before {
					t.Errorf("%s costs %.0f, no more than the grade below", i, cost)
				}
				before = cost
			}
		}
	}
}

// A worse grade costs more on every kind of car and at every age.
func TestWorseGradesCostMore(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	for _, text := range workshop.Reversed() {
		t.Error(text)
	}
}
