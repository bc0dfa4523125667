package report

import (
	"math"
	"strings"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/shop"
)

func TestCostWords(t *testing.T) {
	for _, c := range []struct {
		own, rest float64
		want      string
	}{
		{282, 1080, "The job costs about £280, and the rest of the car is then about £1,080 dearer"},
		{282, 20, "The job costs about £280"},
		{980, -300, "The job costs about £980; it takes the place of a lesser one, so the car is about £680 dearer in all"},
		{980, -1300, "The job costs about £980"},
	} {
		if got := CostWords(c.own, c.rest, "GBP"); got != c.want {
			t.Errorf("%v and %v: %q, want %q", c.own, c.rest, got, c.want)
		}
	}
}

// Over 99% and under 1% are said in words.
func TestPaysWords(t *testing.T) {
	for _, c := range []struct {
		chance float64
		pays   bool
		want   string
	}{{0.76, false, Percent(0.76)}, {0.995, false, "however likely"}, {0.004, false, "never"}, {math.NaN(), true,
		"however likely"}, {math.NaN(), false, "never"}} {
		got := strings.ReplaceAll(PaysWords(&probe.Unknown{BreakEvenChance: c.chance, Pays: c.pays}), "\n", " ")
		if got != c.want {
			t.Errorf("%v, %v: %q, want %q", c.chance, c.pays, got, c.want)
		}
	}
}

// The first line of a probe says what to do; a price of nothing is "don't bid".
func TestTheAnswerOfAProbe(t *testing.T) {
	at := func(p money.Pence) *probe.Outcome { return &probe.Outcome{HighestBid: p} }
	for _, c := range []struct {
		worth      float64
		clear, bad *probe.Outcome
		want       string
	}{
		{2544, at(1090000), at(395000), "Worth paying for: ramp (costs £110, worth £2,544); if clear (" + Percent(0.43) +
			") stop at £10,900, else £3,950."},
		{500, at(1090000), at(0), "Worth paying for: ramp (costs £110, worth £500); if clear (" + Percent(0.43) +
			") stop at £10,900, else don't bid."},
		{500, at(0), at(395000), "Worth paying for: ramp (costs £110, worth £500); if clear (" + Percent(0.43) +
			") don't bid, else stop at £3,950."},
		{500, nil, at(395000),
			"Worth paying for: ramp (costs £110, worth £500); it is sure to show something: stop at £3,950."},
		{97, at(1), at(1), "No inspection is worth its price: the best, ramp, is worth £97 and costs £110."},
		{0.2, at(1), at(1), "No inspection is worth paying for: whatever it showed, you would do the same at any likely " +
			"price."},
	} {
		p := &probe.Probe{Result: &evaluate.Result{}, Inspections: []probe.InspectionWorth{{
			Inspection: shop.Inspection{Name: "ramp", Price: 110}, Worth: c.worth, ClearChance: 0.43, Clear: c.clear, Bad: c.bad,
		}}}
		if got := advice(p, "GBP"); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
