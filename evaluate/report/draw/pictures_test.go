package draw

import (
	"html/template"
	"math"
	"time"
)

// A picture is what every drawing here is.
type picture interface{ SVG() (template.HTML, error) }

const (
	// attack would end the picture, or start a script, were it not escaped.
	attack = `</text></svg><script>document.title="owned"</script><img src=x onerror="document.title='owned'">&amp;"'`
	long   = "front offside suspension corner, inner wing and the bracket behind it which nobody has looked at yet"
)

// gallery returns every kind of picture, with labels that are short, long and
// hostile, and numbers that are large, negative and close together.
func gallery(size Size) []picture {
	money := Money("GBP")
	frame := func(title string) Frame { return Frame{Title: title, Size: size} }
	stated := 0.8
	scale, err := Fit(5, -3200, 4100)
	if err != nil {
		panic(err)
	}
	lots := []Interval{
		{Label: "14 Corvane Tern", Low: 820, Mid: 2140, High: 3350},
		{Label: "7 Ostrell Pike estate", Low: -640, Mid: 1480, High: 2900},
		{Label: "31 Maddox Vane", Low: -1900, Mid: 310, High: 1820},
		{Label: long, Low: -3100, Mid: -450, High: 1240},
		{Label: attack, Low: 150, Mid: 150, High: 150, Value: "fixed"},
	}
	var curve, margin, loss []Point
	for i := range 201 {
		x := 900 + 31*float64(i)
		p := 1 / (1 + math.Exp(-(x-3600)/620))
		curve = append(curve, Point{x, p})
		margin = append(margin, Point{x, 5200 - 1.13*x})
		loss = append(loss, Point{x, 1 - 1/(1+math.Exp((x-4500)/450))})
	}
	var crowd []Dot
	for i := range 260 {
		crowd = append(crowd, Dot{Label: "build", At: math.Mod(float64(i*i)*0.37, 100.01)})
	}
	return []picture{
		Intervals{Frame: frame("margin of each lot"), Rows: lots, Format: money, Axis: "margin at the guide price",
			Zero: true},
		Intervals{Frame: frame("one row"), Rows: lots[:1], Format: Money("NOK"), Guides: []Guide{{"target", 900},
			{"cash in hand", 1000}, {attack, 3300}}},
		Intervals{Frame: frame("beyond its axis"), Rows: lots, Format: money, Zero: true, Scale: Scale{Lo: -1000, Hi: 2000,
			Step: 1000}},
		Cell{Row: lots[1], Scale: scale, Format: money, Zero: true},
		CellAxis{Title: "margin", Scale: scale, Format: money},
		Curve{Frame: frame("what the repair may cost"),
			X: Axis{Label: "repair", Format: money}, Y: Axis{Label: "chance that it costs no more", Format: Percent(),
				Include: []float64{0, 1}},
			Lines: []Line{{Points: curve}},
			Marks: []Mark{{Label: "P10", X: 2238, Y: 0.1, Drop: true}, {Label: "P50", X: 3600, Y: 0.5, Drop: true},
				{Label: "P80", X: 4460, Y: 0.8, Drop: true}}},
		Curve{Frame: frame("margin against the hammer price"),
			X: Axis{Label: "hammer price", Format: money}, Y: Axis{Label: "mean margin", Format: money, Zero: true},
			Lines: []Line{{Name: "mean margin", Points: margin}, {Name: "P10 of margin " + long, Points: shift(margin, -1400)}},
			Marks: []Mark{{Label: "highest bid", X: 3100, Y: 1697}, {Label: "break-even", X: 4601, Y: 0.87}}},
		Curve{Frame: frame("chance of loss"),
			X: Axis{Label: "hammer price", Format: money}, Y: Axis{Label: "chance of loss", Format: Percent()},
			Lines: []Line{{Points: loss}},
			Marks: []Mark{{Label: "one in ten", X: 3511, Y: 0.1}, {Label: "one in four", X: 4006, Y: 0.25},
				{Label: "one in two", X: 4500, Y: 0.5},
				{Label: "a", X: 4500, Y: 0.51}, {Label: attack, X: 4502, Y: 0.5}, {Label: "c", X: 4503, Y: 0.5}}},
		Tornado{Frame: frame("what moves the margin"), Base: 1480, BaseLabel: "margin as it stands", Format: money,
			Axis: "mean margin",
			Swings: []Swing{{"Resale value, P10 to P90", 240, 2890}, {"Guide price, 80 % to 120 %", 2170, 790},
				{"Nose, structural", 1980, -1130},
				{"Labour rate, 80 % to 125 %", 1655, 1261}, {"Lead time, half to double", 1530, 1380}, {"Bay, mechanical", 1470,
					1400}, {long, 1500, 1475}, {attack, 1480, 1480}}},
		Waterfall{Frame: frame("from resale to margin"), Format: money, Steps: []Step{
			{Label: "resale", Amount: 9150}, {Label: "selling", Amount: -320}, {Label: "hammer",
				Amount: -2600}, {Label: "fees and their VAT", Amount: -534},
			{Label: "outlay is paid", Total: true}, {Label: "repair", Amount: -4120}, {Label: long,
				Amount: -2410}, {Label: attack, Amount: 275}, {Label: "margin", Total: true}}},
		Dots{Frame: frame("where the actuals fell"), Left: "cheaper than estimated", Right: "dearer than estimated",
			Axis: "percentile of the estimate",
			Dots: []Dot{{"B-01", 3}, {"B-02", 12}, {"B-03", 33}, {"B-04", 34}, {"B-05", 34.5}, {"B-06", 35}, {"B-07", 51},
				{"B-08", 77}, {"B-09", 88}, {attack, 98}, {"B-11", 100}, {"B-12", 0}}},
		Dots{Frame: frame("many builds"), Dots: crowd},
		Coverage{Frame: frame("stated and observed"), Axis: "share of builds inside the interval", Levels: []Level{
			{Stated: 0.5, Observed: 0.42, Low: 0.19, High: 0.68, Count: "5 of 12"}, {Stated: stated, Observed: 0.75, Low: 0.47,
				High: 0.91, Count: "9 of 12"}, {Stated: 0.9, Observed: 1, Low: 0.76, High: 1, Count: "12 of 12"}}},
		Bars{Frame: frame("repair by zone"), Format: money, Axis: "mean repair", Parts: []string{"structural", "cosmetic",
			"restraint", "mechanical", "electrical"}, Rows: []Bar{
			{"nose", []float64{640, 380, 720, 310, 190}}, {"front-near", []float64{0, 290, 0, 410, 0}}, {"cabin",
				[]float64{0, 60, 980, 0, 120}}, {long, []float64{5, 5, 5, 5, 5}}, {attack, []float64{0, 0, 0, 0, 0}}}},
		Bars{Frame: frame("one part"), Format: Plain("hours"), Parts: []string{""}, Rows: []Bar{{"nose", []float64{12.4}},
			{"tail", []float64{3}}}},
		Narrowing{Frame: frame("repair at completion as it narrowed"), Format: money, Axis: "repair at completion",
			Guides: []Guide{{"expected at the sale", 3900}, {"spent", 3100}},
			Steps: []Interval{{Label: "2031-03-02", Low: 2400, Mid: 3700, High: 5900}, {Label: "2031-03-19", Low: 2900,
				Mid: 4050, High: 5400},
				{Label: "2031-04-08", Low: 3500, Mid: 4180, High: 4900}, {Label: "2031-04-30", Low: 4110, Mid: 4300, High: 4520}}},
		Schedule{Frame: frame("cars on a time axis"), From: time.Date(2026, 11, 23, 0, 0, 0, 0, time.UTC), Days: 84,
			Wait: "waiting", Work: "in work", Sale: "for sale", Range: "likely range", Rows: []Stretch{
				{Label: "14 Corvane Tern", Value: "14 Apr", Wait: 6, Work: 20, Sale: 41, ReadyLow: 16, ReadyHigh: 29, SoldLow: 28,
					SoldHigh: 70},
				{Label: long, Value: "beyond", Wait: 30, Work: 70, Sale: 140, ReadyLow: 60, ReadyHigh: 90, SoldLow: 100,
					SoldHigh: 190},
				{Label: attack, Value: attack, Sale: 3, SoldHigh: 9},
			}},
	}
}

func shift(points []Point, by float64) []Point {
	out := make([]Point, len(points))
	for i, p := range points {
		out[i] = Point{p.X, p.Y + by}
	}
	return out
}
