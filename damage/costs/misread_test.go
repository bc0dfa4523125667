package costs_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// A seen mark g is g - 1 for sure, g with chance 1 - down, g + 1 with chance up; with the
// special cases of METHOD.md 6.2 and 6.4.
func TestMisread(t *testing.T) {
	b, err := costs.New(anyRows(), []costs.Rule{
		rule(t, "nose s2", "nose s3", 0.15),
		rule(t, "nose s2", "nose s1", 0.5),
		rule(t, "tail c2", "nose s3", 0.3),
		rule(t, "nose s2", "bay m1", 0.2),
		rule(t, "nose s3", "bay m1", 0.6),
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ why, code, want string }{
		{"the grades either side", "roof s2", `
roof s1 misread 1.00
roof s2 seen 0.94
roof s3 misread 0.10`},
		{"at grade 1 something was seen; up stands", "roof s1", `
roof s1 seen 1.00
roof s2 misread 0.10`},
		{"nothing above grade 4", "roof s4", `
roof s3 misread 1.00
roof s4 seen 0.94`},
		{"the code has its own chance for the next grade", "roof s2 s3?30", `
roof s1 misread 1.00
roof s2 seen 0.94
roof s3 suspected 0.30`},
		{"a suspicion two grades up leaves the next grade open", "roof s1 s3?30", `
roof s1 seen 1.00
roof s2 misread 0.10
roof s3 suspected 0.30`},
		{"the next grade is ruled out", "roof s2 s3-", `
roof s1 misread 1.00
roof s2 seen 0.94`},
		{"a grade beyond the next is ruled out", "roof s2 s4-", `
roof s1 misread 1.00
roof s2 seen 0.94
roof s3 misread 0.10`},
		{"a rule to the next grade, of this mark or from elsewhere, stays beside the step; one to a lesser is dropped; rules read the code as written", "nose s2; tail c2", `
nose s1 misread 1.00
nose s2 seen 0.94
nose s3 hidden, or by itself 0.10 [nose s 2:0.15] [tail c 2:0.30]
tail c1 misread 1.00
tail c2 seen 0.94
tail c3 misread 0.10
bay m1 hidden [nose s 2:0.20]`},
		{"what is only suspected is not misread", "roof s2?", "roof s2 suspected 0.40"},
	} {
		code, err := damage.Parse(tt.code)
		if err != nil {
			t.Fatal(err)
		}
		found := costs.Findings(code, 0.4)
		for i := range found {
			found[i].Up, found[i].Down = 0.1, 0.06
		}
		c, err := b.Case("", found)
		if err != nil {
			t.Fatal(err)
		}
		if got := describeMisread(c); got != strings.TrimSpace(tt.want) {
			t.Errorf("%s: %s gives\n%s\nwant%s", tt.why, tt.code, got, tt.want)
		}
	}
}

// Moving the odds of what is suspected and hidden leaves misread marks as they are.
func TestOddsLeaveMisreadMarks(t *testing.T) {
	b, err := costs.New(anyRows(), []costs.Rule{rule(t, "nose s2", "nose s3", 0.2)})
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", []costs.Finding{{Item: item(t, "nose s2"), Chance: 1, Up: 0.1, Down: 0.06}})
	if err != nil {
		t.Fatal(err)
	}
	want := "nose s1 misread 1.00\nnose s2 seen 0.94\nnose s3 hidden, or by itself 0.10 [nose s 2:0.43]"
	if got := describeMisread(c.WithOdds(3)); got != want {
		t.Errorf("three times the odds:\n%s\nwant\n%s", got, want)
	}
	if down, up := c.Steps(); down < 0.0599 || down > 0.0601 || up != 0.1 {
		t.Errorf("the steps read back are %v down and %v up", down, up)
	}
}
