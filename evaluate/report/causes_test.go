package report_test

import (
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/learn"
)

// Of prices that rise otherwise than inflation has it, the sentence says the whole rise by costs and by spend beside
// hours, 3 % set and the drift: exp(0.08) - 1 = 8.3 %, exp(0.01) - 1 = 1.0 %; not the part that is written.
func TestPricesHaveRisenInWords(t *testing.T) {
	for want, l := range map[string]*learn.Learned{
		"prices have risen faster than inflation has it: about 8% a year": {Inflation: 0.07, Risen: 0.05,
			Drift: learn.Figure{Mean: 0.01, Written: 0.04}},
		"prices have risen slower than inflation has it: about 1% a year": {Inflation: 0.02, Risen: -0.02,
			Drift: learn.Figure{Mean: 0.01, Written: -0.01}},
	} {
		l.Verdicts = []learn.Verdict{{Cause: learn.Drift, Weight: 0.9, Named: true}}
		r := reviewOf(build.Promise{Builds: 30}, nil)
		r.Calibration.Account = &build.Account{Learned: l}
		if said := strings.Join(r.Words(), "\n"); !strings.Contains(said, want) {
			t.Errorf("%s\nwant %s", said, want)
		}
	}
}
