package reforecast_test

import (
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/stats"
)

// Until the car is stripped the margin is that of a car that need not be finished, on the
// day of purchase the very one that was said; from then on it is that of the car finished.
func TestStrippedEndsTheRightToStop(t *testing.T) {
	workshop := starter(t)
	l := lot(t, "nose c3 s3?40; cabin r3?40; under m3?30")
	finished := forecaster(t, workshop, cars(4096), l)
	workshop.SellOn, workshop.StripHours, workshop.StripError = &stats.Amount{Low: 0.3, Mid: 0.5, High: 0.7}, 6, 0.25
	may := forecaster(t, workshop, cars(4096), l)
	margin := func(f *reforecast.Forecaster, p reforecast.Progress) evaluate.Margin {
		t.Helper()
		out, err := f.Forecast(p, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		return out.Now.Margin
	}
	start, err := may.Forecast(reforecast.Progress{}, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "on the day", start.Now.Margin.Mean, start.Start.Margin.Mean, 0)
	without := margin(finished, reforecast.Progress{}).Mean
	if start.Now.Margin.Mean < without+5 {
		t.Fatalf("the right to stop adds %.2f to %.2f: too little for this test", start.Now.Margin.Mean-without, without)
	}
	// Looked at and found on day 4, before and after the strip.
	found := reforecast.Progress{
		Elapsed: days(4), Jobs: []reforecast.Job{{Spot: at(damage.Nose, damage.Structural), Found: 3}},
	}
	before, plain := margin(may, found), margin(finished, found)
	if before.Mean < plain.Mean-1 || before.LossChance > plain.LossChance+0.002 {
		t.Errorf("with the right to stop %.2f and a loss in %.4f, without %.2f and %.4f", before.Mean, before.LossChance,
			plain.Mean, plain.LossChance)
	}
	found.Stripped = true
	after := margin(may, found)
	if after.Mean >= before.Mean {
		t.Errorf("stripped %.2f, before %.2f: the right to stop is gone", after.Mean, before.Mean)
	}
}
