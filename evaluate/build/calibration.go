package build

import (
	"fmt"
	"slices"

	"wreckoner/evaluate/stats"
)

// Few is the number of builds below which no verdict on the intervals is given.
const Few = 20

// confidence is that of every interval of a long-run figure.
const confidence = 0.95

// Levels are the central intervals that are held against the outcomes.
var Levels = []float64{0.5, 0.8, 0.9}

// PinballLevels are the quantiles over which the pinball loss is averaged.
var PinballLevels = []float64{0.1, 0.25, 0.5, 0.75, 0.9}

// A Calibration says how the estimates of several builds did.
type Calibration struct {
	// Builds is the number of finished builds, without those that were given up after the
	// strip; Stopped is the number of these.
	Builds, Stopped int
	// Coverage is how often the repair came out within its interval of each level.
	Coverage []LevelCoverage
	// Uniformity of the percentiles of the repair.
	Uniformity stats.Uniformity
	// Bias is that of the repair against its P50, Price that of the sale price.
	Bias, Price stats.LogRatio
	// Account is what the builds say together: the habits of each class, and what is wrong.
	Account *Account
	// Margins are what was promised and what was made, over all builds.
	Margins Margins
	// CRPS and Pinball are mean scores of the repair, in pounds: smaller is better.
	// Sharpness is the mean width of P10 to P90 over P50.
	CRPS, Pinball, Sharpness float64
	// Rivals are rough forecasts of the same builds.
	Rivals []Rival
}

// A LevelCoverage is how often outcomes fell within the interval of a level.
type LevelCoverage struct {
	Level float64
	stats.Proportion
}

// Calibrate scores finished builds. They are put in the order in which they were
// sold. It needs at least one. Builds that were given up after the strip are left out: it is
// nil where there are no others.
func Calibrate(outcomes []*Outcome) (*Calibration, error) {
	if len(outcomes) == 0 {
		return nil, fmt.Errorf("no finished build to go by")
	}
	all, given := outcomes, len(outcomes)
	outcomes = slices.DeleteFunc(slices.Clone(outcomes), (*Outcome).Stopped)
	if len(outcomes) == 0 {
		return nil, nil
	}
	slices.SortStableFunc(outcomes, func(a, b *Outcome) int { return a.Build.Sold.Compare(b.Build.Sold) })
	c := &Calibration{Builds: len(outcomes), Stopped: given - len(outcomes)}
	var percentiles, actuals, low, mid, high, sales, prices []float64
	for _, o := range outcomes {
		p, x := &o.Frozen.Predicted.Repair, o.Actual.Pounds()
		percentiles, actuals = append(percentiles, o.Percentile), append(actuals, x)
		low, mid, high = append(low, p.P10), append(mid, p.P50), append(high, p.P90)
		sales, prices = append(sales, o.Build.Sale.Pence.Pounds()), append(prices, o.Frozen.Predicted.Resale.P50)
		c.CRPS += p.CRPS(x) / float64(len(outcomes))
		for _, level := range PinballLevels {
			c.Pinball += stats.Pinball(level, p.Quantile(level), x) / float64(len(outcomes)*len(PinballLevels))
		}
	}
	for _, level := range Levels {
		p, err := stats.Coverage(percentiles, level, confidence)
		if err != nil {
			return nil, err
		}
		c.Coverage = append(c.Coverage, LevelCoverage{level, p})
	}
	var err error
	if c.Uniformity, err = stats.NewUniformity(percentiles); err != nil {
		return nil, err
	}
	if c.Bias, err = stats.NewLogRatio(actuals, mid, confidence); err != nil {
		return nil, err
	}
	if c.Price, err = stats.NewLogRatio(sales, prices, confidence); err != nil {
		return nil, err
	}
	if c.Sharpness, _, err = stats.Sharpness(low, mid, high); err != nil {
		return nil, err
	}
	c.rivals(outcomes)
	if c.Margins, err = margins(all); err != nil {
		return nil, err
	}
	c.Account, err = account(all)
	return c, err
}
