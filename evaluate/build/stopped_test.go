package build_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A car that is given up was stripped by then, or the ledger is wrong.
func TestStoppedNeedsStripped(t *testing.T) {
	for _, tt := range []struct{ why, rows, want string }{
		{"never stripped", "a,2026-03-02,,,,stopped,,,,\n",
			`ledger.csv:2: what: "a" was stopped on 2026-03-02, but no row says when it was stripped; add a row with what = stripped`},
		{"stripped later", "a,2026-03-04,,,,stripped,,,,\na,2026-03-02,,,,stopped,,,,\n",
			`ledger.csv:3: what: "a" was stopped on 2026-03-02, before it was stripped on 2026-03-04`},
		{"the same day", "a,2026-03-02,,,,stripped,,,,\na,2026-03-02,,,,stopped,,,,\n", ""},
	} {
		l := ledger(t, tt.rows)
		text := ""
		for _, p := range l.Problems {
			text += p.Error() + "\n"
		}
		if !strings.HasPrefix(text, tt.want) || tt.want == "" && text != "" {
			t.Errorf("%s: faults are %q, want %q", tt.why, text, tt.want)
		}
		if b, _ := l.Build("a"); (b.Faults > 0) != (tt.want != "") {
			t.Errorf("%s: %d faults of the build", tt.why, b.Faults)
		}
	}
}

// A build that was given up: what has no row is not known, its repair is in no coverage,
// and its margin is counted to the penny.
func TestReviewOfAStoppedBuild(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	workshop.SellOn, workshop.StripError = &stats.Amount{Low: 0.3, Mid: 0.5, High: 0.7}, 0.25
	c, err := damage.Parse("nose c3 s1?; cabin r2")
	if err != nil {
		t.Fatal(err)
	}
	car := &evaluate.Lot{Number: "1", Segment: "family", Category: "N", Code: c, Value: 700000, Miles: 40}
	f, err := build.Freeze(newEvaluator(t, workshop, evaluate.Options{Points: 1024}), car, 200000, "a", "test")
	if err != nil {
		t.Fatal(err)
	}
	rows := "a,2026-01-05,,,,hammer,2000,,,\na,2026-01-12,,,,stripped,,,,\na,2026-01-13,,,,stopped,,,,\n" +
		"a,2026-01-12,nose,c,3,bumper,,6,,\na,2026-01-20,,,,sale,900,,,\n"
	l := ledger(t, rows)
	b, ok := l.Build("a")
	if !ok || len(l.Problems) > 0 {
		t.Fatal(l.Problems)
	}
	o, err := build.Compare(f, b)
	if err != nil {
		t.Fatal(err)
	}
	if !o.Stopped() {
		t.Error("not said to be given up")
	}
	for _, x := range o.Lines {
		if x.Job == nil && (x.Where != build.Unknown || x.Outside) {
			t.Errorf("%s is %s, outside %v: nobody knows", x.Spot, x.Where, x.Outside)
		}
	}
	calibration, err := build.Calibrate([]*build.Outcome{o})
	if err != nil || calibration != nil {
		t.Errorf("calibrated by a build that was given up: %+v, %v", calibration, err)
	}
	if o.MarginExpected != f.Walk.Total {
		t.Errorf("the margin expected is %s, the workings said %s", o.MarginExpected, f.Walk.Total)
	}
	sum := money.Pence(0)
	for _, s := range o.Walk {
		sum += s.Actual
	}
	if sum != o.MarginActual {
		t.Errorf("strides add up to %s, the margin is %s", sum, o.MarginActual)
	}

	// Beside a finished one it is in the margins, and still in no coverage.
	f, err = build.Freeze(newEvaluator(t, workshop, evaluate.Options{Points: 1024}), car, 200000, "b", "test")
	if err != nil {
		t.Fatal(err)
	}
	b, _ = ledger(t, "b,2026-01-05,,,,hammer,2000,,,\nb,2026-01-12,nose,c,3,bumper,300,6,done,\n"+
		"b,2026-03-20,,,,sale,6900,,,\n").Build("b")
	finished, err := build.Compare(f, b)
	if err != nil {
		t.Fatal(err)
	}
	if calibration, err = build.Calibrate([]*build.Outcome{o, finished}); err != nil {
		t.Fatal(err)
	}
	m := calibration.Margins.AsCoded
	if calibration.Builds != 1 || calibration.Coverage[1].N != 1 || m.Builds != 2 ||
		m.Made != o.MarginActual+finished.MarginActual || m.Promised != o.MarginExpected+finished.MarginExpected {
		t.Errorf("%d builds in the coverage, margins %+v", calibration.Builds, m)
	}
}
