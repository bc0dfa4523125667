package build

import (
	"fmt"
	"slices"

	"wreckoner/damage"
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
	// Classes hold the bias of each class, in the order of damage.Classes.
	Classes []ClassBias
	// CRPS and Pinball are mean scores of the repair, in pounds: smaller is better.
	// Sharpness is the mean width of P10 to P90 over P50.
	CRPS, Pinball, Sharpness float64
	// Rivals are naive forecasts of the same builds.
	Rivals []Rival
}

// A LevelCoverage is how often outcomes fell within the interval of a level.
type LevelCoverage struct {
	Level float64
	stats.Proportion
}

// A ClassBias is the habitual error of one class of damage.
type ClassBias struct {
	Class damage.Class
	stats.LogRatio
}

// A Rival is a naive forecast, with its mean CRPS in pounds. Skill is how much
// smaller ours is, as a share of it; Known is false where that cannot be said.
type Rival struct {
	Name  string
	CRPS  float64
	Skill float64
	Known bool
}

// Calibrate scores finished builds. They are put in the order in which they were
// sold. It needs at least one. Builds that were given up after the strip are left out: it is
// nil where there are no others.
func Calibrate(outcomes []*Outcome) (*Calibration, error) {
	if len(outcomes) == 0 {
		return nil, fmt.Errorf("no finished build to go by")
	}
	given := len(outcomes)
	outcomes = slices.DeleteFunc(slices.Clone(outcomes), (*Outcome).Stopped)
	if len(outcomes) == 0 {
		return nil, nil
	}
	slices.SortStableFunc(outcomes, func(a, b *Outcome) int { return a.Build.Sold.Compare(b.Build.Sold) })
	c := &Calibration{Builds: len(outcomes), Stopped: given - len(outcomes)}
	var percentiles, actuals, means, low, mid, high, sales, prices []float64
	for _, o := range outcomes {
		p, x := &o.Frozen.Predicted.Repair, o.Actual.Pounds()
		percentiles, actuals, means = append(percentiles, o.Percentile), append(actuals, x), append(means, p.Mean)
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
	last, err := stats.LastRatio(actuals, means)
	if err != nil {
		return nil, err
	}
	c.rival("the same mean, no spread", means, actuals)
	c.rival("the mean times the last build's ratio", last, actuals)
	return c, c.classes(outcomes)
}

// rival adds a forecast without spread.
func (c *Calibration) rival(name string, forecasts, actuals []float64) {
	r := Rival{Name: name}
	for i, x := range actuals {
		r.CRPS += stats.CRPSPoint(forecasts[i], x) / float64(len(actuals))
	}
	r.Skill, r.Known = stats.Skill(c.CRPS, r.CRPS)
	c.Rivals = append(c.Rivals, r)
}

// classes finds each class's bias, over the builds in which it was more likely
// than not and was there.
func (c *Calibration) classes(outcomes []*Outcome) error {
	for _, class := range damage.Classes() {
		var actuals, mid []float64
		for _, o := range outcomes {
			for _, x := range o.Classes {
				if x.Class == class && x.Forecast != nil && x.Forecast.P50 > 0 && x.Actual > 0 {
					actuals, mid = append(actuals, x.Actual.Pounds()), append(mid, x.Forecast.P50)
				}
			}
		}
		r, err := stats.NewLogRatio(actuals, mid, confidence)
		if err != nil {
			return err
		}
		c.Classes = append(c.Classes, ClassBias{class, r})
	}
	return nil
}
