package report

import (
	"fmt"
	"math"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// A promiseJSON is one prediction of the margin against what was made. Off is made less promised, a car; slope is how
// much more was made for each pound more that was promised; a figure that the builds cannot tell is null.
type (
	rangeJSON struct {
		Mean   *float64 `json:"mean"`
		CILow  *float64 `json:"ci_low"`
		CIHigh *float64 `json:"ci_high"`
	}
	promiseJSON struct {
		Builds   int       `json:"builds"`
		Promised float64   `json:"promised"`
		Made     float64   `json:"made"`
		Behind   int       `json:"behind"`
		Lost     int       `json:"lost"`
		Off      rangeJSON `json:"off"`
		Slope    rangeJSON `json:"slope"`
	}
	marginsJSON struct {
		promiseJSON
		Corrected *promiseJSON `json:"corrected"`
	}
)

func rangeOf(mean float64, i *stats.Interval, round func(float64) float64) rangeJSON {
	if i == nil {
		return rangeJSON{}
	}
	mean, low, high := round(mean), round(i.Low), round(i.High)
	return rangeJSON{&mean, &low, &high}
}

func promiseOf(p *build.Promise) *promiseJSON {
	if p == nil {
		return nil
	}
	return &promiseJSON{p.Builds, p.Promised.Pounds(), p.Made.Pounds(), p.Behind, p.Lost,
		rangeOf(p.Off.Mean, p.Off.Interval, cents), rangeOf(p.Line.Slope, p.Line.SlopeInterval, share)}
}

// margins sums up what was promised and what was made, by both predictions that freeze keeps.
func (r *Review) margins() []string {
	m := &r.Calibration.Margins
	p := &m.AsCoded
	text := fmt.Sprintf("Margins of %s: %s promised, %s made%s. %d made less than promised, %d lost money. %s",
		tabular.Count(p.Builds, "build"), sumIn(r.Currency, p.Promised.Pounds()), sumIn(r.Currency,
			p.Made.Pounds()), r.off(p),
		p.Behind, p.Lost, r.slope(p))
	if m.Corrected == nil {
		return []string{text}
	}
	c := m.Corrected
	return []string{text, fmt.Sprintf("Corrected for the best of many, %s promised %s and made %s%s. %s",
		tabular.Count(c.Builds, "build"), sumIn(r.Currency, c.Promised.Pounds()), sumIn(r.Currency,
			c.Made.Pounds()), r.off(c),
		r.slope(c))}
}

// leastOff is the difference a car, in pounds, below which what was made is what was promised.
const leastOff = 5

// off says how far what was made lies from what was promised, a car, and where that lies 95 times in 100.
func (r *Review) off(p *build.Promise) string {
	text := ""
	if math.Abs(p.Off.Mean) >= leastOff {
		text = fmt.Sprintf(", %s a car %s", sumIn(r.Currency, math.Abs(p.Off.Mean)), moreOrLess(p.Off.Mean))
	}
	i := p.Off.Interval
	if i == nil {
		return text
	}
	low, high := sumIn(r.Currency, math.Abs(i.Low)), sumIn(r.Currency, math.Abs(i.High))
	switch {
	case i.Low >= 0:
		return text + fmt.Sprintf(" (95%% range %s to %s more)", low, high)
	case i.High <= 0:
		return text + fmt.Sprintf(" (95%% range %s to %s less)", high, low)
	}
	return text + fmt.Sprintf(" (95%% range %s less to %s more)", low, high)
}

func moreOrLess(x float64) string {
	if x > 0 {
		return "more"
	}
	return "less"
}

// widestSlope is the widest range of a slope that is printed.
const widestSlope = 2.0

// slope says whether cars that promise more make more.
func (r *Review) slope(p *build.Promise) string {
	i := p.Line.SlopeInterval
	if i == nil || i.High-i.Low > widestSlope {
		return "Whether a car that promises more also makes more, these builds cannot tell yet."
	}
	hundred := func(x float64) string { return draw.Money(r.Currency).Value(math.Round(100 * x)) }
	text := fmt.Sprintf("For each %s more that a car promised it made %s more (95%% range %s to %s): ", hundred(1),
		hundred(p.Line.Slope), hundred(i.Low), hundred(i.High))
	switch {
	case i.Low > 0 && i.High < 1:
		return text + "the cars that promise most fall furthest short."
	case i.Low > 0 && i.Low <= 1:
		return text + "what one car promises over another can be believed."
	case i.Low > 1:
		return text + "good cars turn out even better than they promise beside the others."
	case i.High < 1:
		return text + "what one car promises over another has not come true."
	}
	return text + "that can still be chance."
}

// promises is the table of both predictions.
func (r *Review) promises() *Table {
	t := tableOf(left("promise"), right("builds"), right("promised"), right("made"), right("made less promised, a car"),
		right("more made of 100 more promised"))
	ranged := func(x rangeJSON, times float64, write func(float64) string) string {
		if x.Mean == nil {
			return "cannot tell"
		}
		return fmt.Sprintf("%s (%s to %s)", write(times**x.Mean), write(times**x.CILow), write(times**x.CIHigh))
	}
	whole := func(x float64) string { return fmt.Sprintf("%.0f", x) }
	add := func(name string, p *build.Promise) {
		if p == nil {
			return
		}
		j := promiseOf(p)
		t.Add(name, fmt.Sprint(p.Builds), Pounds(j.Promised), Pounds(j.Made), ranged(j.Off, 1, Pounds),
			ranged(j.Slope, 100, whole))
	}
	m := &r.Calibration.Margins
	add("as coded", &m.AsCoded)
	add("corrected for the best of many", m.Corrected)
	return t
}

// promiseRecords adds the rows of one prediction: the sums, made less promised a car, and the slope.
func promiseRecords(add func(part, oneBuild, lot, name string, cells map[string]any), name string, p *promiseJSON) {
	if p == nil {
		return
	}
	add("margin", "", "", name, map[string]any{"n": p.Builds, "expected": p.Promised, "actual": p.Made,
		"difference": cents(p.Made - p.Promised)})
	for _, x := range []struct {
		part string
		rangeJSON
	}{{"margin a car", p.Off}, {"margin slope", p.Slope}} {
		add(x.part, "", "", name, map[string]any{"n": p.Builds, "figure": orNil(x.Mean), "ci_low": orNil(x.CILow),
			"ci_high": orNil(x.CIHigh)})
	}
}
