package glossary_test

import (
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate/glossary"
)

// Every term has a meaning that fits on a few lines, and no term is there twice.
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
	}
	if len(names) < 30 {
		t.Errorf("only %d terms", len(names))
	}
}
