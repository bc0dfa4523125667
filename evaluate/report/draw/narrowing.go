package draw

import "html/template"

// Narrowing draws how an estimate moved and narrowed, first step on top.
type Narrowing struct {
	Frame
	// Steps are in order of time.
	Steps  []Interval
	Format Format
	// Axis says what the axis counts. It may be blank.
	Axis string
	// Guides are values to compare all steps with.
	Guides []Guide
}

// SVG draws one row a step, their middles joined.
func (p Narrowing) SVG() (template.HTML, error) {
	return Intervals{Frame: p.Frame, Rows: p.Steps, Format: p.Format, Axis: p.Axis, Guides: p.Guides, Joined: true}.SVG()
}
