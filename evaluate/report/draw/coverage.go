package draw

import (
	"cmp"
	"html/template"
)

// A Level is how often something came true that was stated to with a
// probability, and the interval in which the true share lies. All are shares.
type Level struct {
	Stated, Observed, Low, High float64
	// Count says what Observed was counted from, such as "9 of 12".
	Count string
}

// Coverage draws what was stated against what was observed.
type Coverage struct {
	Frame
	Levels []Level
	// Axis says what the axis counts. It may be blank.
	Axis string
	// Interval names the whiskers. Blank means the range that it is in 95 times in 100.
	Interval string
}

// SVG draws one row a level.
func (p Coverage) SVG() (template.HTML, error) {
	rows := Intervals{
		Frame: p.Frame, Format: Percent(), Axis: p.Axis, Middle: "observed", Aim: "stated",
		Band: cmp.Or(p.Interval, "95 in 100"),
	}
	for _, l := range p.Levels {
		value := rows.Format.Value(l.Observed)
		if l.Count != "" {
			value = l.Count
		}
		rows.Rows = append(rows.Rows, Interval{
			Label: "stated " + rows.Format.Value(l.Stated), Low: l.Low, Mid: l.Observed, High: l.High,
			Value: value, Target: &l.Stated,
		})
	}
	// The axis is that of all shares, whatever was observed.
	rows.Scale = Scale{Lo: 0, Hi: 1, Step: 0.2}
	return rows.SVG()
}
