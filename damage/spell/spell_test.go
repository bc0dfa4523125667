package spell_test

import (
	"testing"

	"pgregory.net/rapid"

	"wreckoner/damage/spell"
)

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		source, a, b string
		want         int
	}{
		{"Wagner and Fischer (1974): without swaps it is their distance", "kitten", "sitting", 3},
		{"Damerau (1964): two neighbours exchanged are one error", "bumper", "bupmer", 1},
		{"Damerau (1964): a letter missing", "bonnet", "bonet", 1},
		{"Damerau (1964): a letter too many", "bonnet", "bonnnet", 1},
		{"Damerau (1964): a wrong letter", "bonnet", "bonmet", 1},
		{"optimal string alignment edits no letter twice, from memory", "ca", "abc", 3},
		{"definition: all letters put in", "", "sill", 4},
		{"definition: equal", "sill", "sill", 0},
		{"counted by hand: two swaps", "smashed", "smahsde", 2},
		{"counted by hand: a letter missing", "quarter", "quater", 1},
	} {
		if got := spell.Distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("%s: %q to %q is %d, want %d", c.source, c.a, c.b, got, c.want)
		}
	}
}

// It is symmetric, and between the difference of the lengths and the longer of them.
func TestDistanceBounds(t *testing.T) {
	word := rapid.SliceOfN(rapid.RuneFrom([]rune("abcé")), 0, 8)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := spell.Distance(a, b)
		if d != spell.Distance(b, a) || d < max(len(a)-len(b), len(b)-len(a)) || d > max(len(a), len(b)) {
			t.Fatalf("%q to %q is %d", string(a), string(b), d)
		}
	})
}
