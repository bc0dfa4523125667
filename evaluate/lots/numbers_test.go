package lots

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the numbers, the same ones are found twice as by a plain map, and each
// is kept as it was.
func TestNumbers(t *testing.T) {
	number := rapid.OneOf(rapid.StringMatching(`[aAbB]{1,3}`), rapid.StringMatching(`[Kkſsßİi]{1,3}`), rapid.String(),
		rapid.Map(rapid.IntRange(1, 2*textPiece), func(n int) string { return strings.Repeat("x", n) }))
	rapid.Check(t, func(t *rapid.T) {
		var n numbers
		lines := map[string]int{}
		var kept []string
		for i, x := range rapid.SliceOfN(number, 0, 200).Draw(t, "numbers") {
			want, twice := lines[strings.ToLower(x)]
			index, line := n.add(x, i+2)
			if twice != (index < 0) || line != want {
				t.Fatalf("%q in line %d: index %d, line %d; want line %d", x, i+2, index, line, want)
			}
			if !twice {
				lines[strings.ToLower(x)] = i + 2
				kept = append(kept, x)
			}
		}
		for i, x := range kept {
			if got := n.textOf(n.number(int32(i))); got != x {
				t.Fatalf("number %d is %q, was %q", i, got, x)
			}
		}
	})
}

// Beyond every piece and every growth, and a whole list twice.
func TestManyNumbers(t *testing.T) {
	var n numbers
	const many = 3*numberPiece + 5
	for i := range 2 * many {
		index, line := n.add(fmt.Sprintf("Lot %d", i%many), i+2)
		switch {
		case i < many && (int(index) != i || line != 0):
			t.Fatalf("number %d: index %d, line %d", i, index, line)
		case i >= many && (index >= 0 || line != i%many+2):
			t.Fatalf("number %d again: index %d, line %d", i-many, index, line)
		}
	}
	if got := n.textOf(n.number(many - 1)); got != fmt.Sprintf("Lot %d", many-1) {
		t.Error(got)
	}
}
