package report_test

import (
	"encoding/json"
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/stats"
)

// reviewOf is the review of thirty builds whose margins came out as given.
func reviewOf(p build.Promise, corrected *build.Promise) *report.Review {
	return &report.Review{Currency: "GBP", Calibration: &build.Calibration{
		Builds: 30, Coverage: make([]build.LevelCoverage, 3), Account: &build.Account{Learned: &learn.Learned{}},
		Margins: build.Margins{AsCoded: p, Corrected: corrected},
	}}
}

func promiseOf(off, low, high, slope, slopeLow, slopeHigh float64) build.Promise {
	return build.Promise{Builds: 30, Promised: 6000000, Made: 3300000, Behind: 19, Lost: 6,
		Off:  stats.Average{N: 30, Mean: off, Interval: &stats.Interval{Low: low, High: high}},
		Line: stats.Regression{N: 30, Slope: slope, SlopeInterval: &stats.Interval{Low: slopeLow, High: slopeHigh}}}
}

// What is said of promises: sums, how far off a car, and whether a car that promises more makes more.
func TestMarginsInWords(t *testing.T) {
	for _, x := range []struct {
		p    build.Promise
		want string
	}{
		{promiseOf(-900, -1400, -400, 0.45, 0.2, 0.7),
			"Margins of 30 builds: £60,000 promised, £33,000 made, £900 a car less (95% range £400 to £1,400 less). " +
				"19 made less than promised, 6 lost money. For each £100 more that a car promised it made £45 more " +
				"(95% range £20 to £70): the cars that promise most fall furthest short."},
		{promiseOf(3, -290, 300, 0.9, 0.6, 1.2), "made (95% range £290 less to £300 more). 19 made less than promised, " +
			"6 lost money. For each £100 more that a car promised it made £90 more (95% range £60 to £120): what one car " +
			"promises over another can be believed."},
		{promiseOf(500, 200, 800, 1.6, 1.2, 2), "£500 a car more (95% range £200 to £800 more). 19 made less than " +
			"promised, 6 lost money. For each £100 more that a car promised it made £160 more (95% range £120 to £200): " +
			"good cars turn out even better than they promise beside the others."},
		{promiseOf(0, -1, 1, 0.1, -0.3, 0.5), "it made £10 more (95% range −£30 to £50): what one car promises over " +
			"another has not come true."},
		{promiseOf(0, -1, 1, 0.5, -0.4, 1.4), "(95% range −£40 to £140): that can still be chance."},
		{promiseOf(0, -1, 1, 0.5, -0.6, 1.6), "Whether a car that promises more also makes more, these builds cannot " +
			"tell yet."},
	} {
		if said := strings.Join(reviewOf(x.p, nil).Words(), "\n"); !strings.Contains(said, x.want) {
			t.Errorf("%s\nwant %s", said, x.want)
		}
	}
	one := build.Promise{Builds: 1, Promised: 100000, Made: 40000, Behind: 1, Off: stats.Average{N: 1, Mean: -600}}
	c := promiseOf(-100, -600, 400, 1.1, 0.7, 1.5)
	said := strings.Join(reviewOf(one, &c).Words(), "\n")
	for _, want := range []string{"Margins of 1 build: £1,000 promised, £400 made, £600 a car less. 1 made",
		"Corrected for the best of many, 30 builds promised £60,000 and made £33,000, £100 a car less (95% range £600 " +
			"less to £400 more). For each £100"} {
		if !strings.Contains(said, want) {
			t.Errorf("%s\nwant %s", said, want)
		}
	}
}

// Both predictions are in JSON and CSV, with their ranges; what cannot be told is null, not 0.
func TestMarginsInFiles(t *testing.T) {
	p := promiseOf(-900, -1400, -400, 0.45, 0.2, 0.7)
	c := build.Promise{Builds: 2, Promised: 100000, Made: 40000}
	r := reviewOf(p, &c)
	var text strings.Builder
	if err := r.JSON(&text); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Calibration struct {
			Margins struct {
				Promised  float64
				Slope     struct{ Mean, CI_Low *float64 }
				Corrected struct {
					Made  float64
					Slope struct{ Mean *float64 }
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(text.String()), &got); err != nil {
		t.Fatal(err)
	}
	m := got.Calibration.Margins
	if m.Promised != 60000 || m.Slope.Mean == nil || *m.Slope.Mean != 0.45 || *m.Slope.CI_Low != 0.2 ||
		m.Corrected.Made != 400 || m.Corrected.Slope.Mean != nil {
		t.Errorf("%s", text.String())
	}
	var rows []string
	for _, row := range r.Records().Rows {
		if s, ok := row[0].(string); ok && strings.HasPrefix(s, "margin") {
			rows = append(rows, s+" "+row[3].(string))
		}
	}
	if want := "margin as coded, margin a car as coded, margin slope as coded, margin corrected, " +
		"margin a car corrected, margin slope corrected"; strings.Join(rows, ", ") != want {
		t.Errorf("%v", rows)
	}
}
