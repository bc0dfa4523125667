package glossary_test

import (
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate/glossary"
)

func TestFaults(t *testing.T) {
	for _, c := range []struct {
		text string
		want string // the words found, with | between
	}{
		{"stop at £3,950", ""},
		{"bid to £3,950", "bid to"},
		{"what the whole\nway costs", "whole\nway"},
		{"there is no lot 7", ""},
		{"sale.pdf is no workbook", "is no"},
		{"the column segment_link, segments.csv and --points", ""},
		{"this segment", "segment"},
		{"33 % of all", "33 %"},
		{"%.1f %% of all", "%.1f %%"},
		{"33% of %d %ss, %d %s", ""},
		{"amended, and commended", ""},
		{"Not read: colour", "Not read:"},
	} {
		var found []string
		for _, f := range glossary.Faults("", c.text) {
			found = append(found, strings.TrimSpace(f.Found))
		}
		if got := strings.Join(found, "|"); got != c.want {
			t.Errorf("%q: found %q, want %q", c.text, got, c.want)
		}
	}
}

// Every term has a meaning that fits on a few lines, no term is there twice, and the glossary keeps to its own words.
func TestTermsAreSound(t *testing.T) {
	var names []string
	for _, x := range glossary.Terms() {
		if x.Term == "" || x.Meaning == "" || !strings.HasSuffix(x.Meaning, ".") || len(x.Meaning) > 160 {
			t.Errorf("%+v: write a term, and a sentence of at most 160 characters", x)
		}
		if slices.Contains(names, x.Term) {
			t.Errorf("%q is there twice", x.Term)
		}
		names = append(names, x.Term)
		for _, f := range glossary.Faults("evaluate/glossary/glossary.csv", x.Term+": "+x.Meaning) {
			t.Errorf("%s: %s", x.Term, f)
		}
	}
	if len(names) < 30 {
		t.Errorf("only %d terms", len(names))
	}
}
