package draw

import (
	"cmp"
	"errors"
	"fmt"
	"html/template"
)

// An Interval is one row: a middle and a range about it, Low <= High.
type Interval struct {
	Label          string
	Low, Mid, High float64
	// Value is written at the end of the row. Blank means Mid.
	Value string
	// Target, if not nil, is a value of the row's own to compare Mid with.
	Target *float64
}

// Intervals draws rows of a dot and a bar on one axis.
type Intervals struct {
	Frame
	Rows   []Interval
	Format Format
	// Axis says what the axis counts. It may be blank.
	Axis string
	// Band and Middle name the bar and the dot. Blank means likely range, and likely.
	Band, Middle string
	// Aim names the rows' targets in the key.
	Aim string
	// Zero draws a line at zero, and rules the part of a bar below it.
	Zero bool
	// Scale, where it has a step, is the axis. What lies beyond it ends in an
	// arrow. The zero value covers all rows.
	Scale Scale
	// Guides are drawn across all rows.
	Guides []Guide
	// Joined links the dots from row to row.
	Joined bool
}

func (p Intervals) names() (band, mid string) {
	return cmp.Or(clean(p.Band), "likely range"), cmp.Or(clean(p.Middle), "likely")
}

func (p Intervals) value(r Interval) string { return cmp.Or(clean(r.Value), p.Format.Value(r.Mid)) }

func (p Intervals) rowWords(r Interval) string {
	band, mid := p.names()
	parts := []string{mid + " " + p.Format.Value(r.Mid), band + " " + p.Format.Value(r.Low) + " to " +
		p.Format.Value(r.High)}
	if clean(r.Value) != "" {
		parts = append(parts, clean(r.Value))
	}
	if r.Target != nil {
		parts = append(parts, cmp.Or(clean(p.Aim), "aim")+" "+p.Format.Value(*r.Target))
	}
	return sentence(r.Label, parts...)
}

// check returns all numbers of the picture, or an error.
func (p Intervals) check() ([]float64, error) {
	if len(p.Rows) == 0 {
		return nil, errors.New("no rows to draw")
	}
	if len(p.Guides) > maxGuides {
		return nil, fmt.Errorf("%d guides are too many to read; at most %d", len(p.Guides), maxGuides)
	}
	if p.Scale != (Scale{}) {
		if err := p.Scale.check(); err != nil {
			return nil, err
		}
	}
	var all []float64
	if p.Zero {
		all = append(all, 0)
	}
	for _, r := range p.Rows {
		values := []float64{r.Low, r.Mid, r.High}
		if r.Target != nil {
			values = append(values, *r.Target)
		}
		if err := finite("row "+clean(r.Label), values...); err != nil {
			return nil, err
		}
		if r.Low > r.High {
			return nil, fmt.Errorf("row %s: low %v is above high %v", clean(r.Label), r.Low, r.High)
		}
		all = append(all, values...)
	}
	for _, g := range p.Guides {
		if err := finite("guide "+clean(g.Label), g.Value); err != nil {
			return nil, err
		}
		all = append(all, g.Value)
	}
	return all, nil
}

// SVG draws the rows. It returns an error where there is no row, no title, or a
// number that cannot be drawn.
func (p Intervals) SVG() (template.HTML, error) {
	all, err := p.check()
	if err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	words := guideWords(p.Format, p.Guides)
	for _, r := range p.Rows {
		words = append(words, p.rowWords(r))
	}
	return p.render(words, func(c *canvas) error {
		p.draw(c, all)
		return nil
	})
}

func (p Intervals) draw(c *canvas, all []float64) {
	labels, values := make([]string, len(p.Rows)), make([]string, len(p.Rows))
	for i, r := range p.Rows {
		labels[i], values[i] = r.Label, p.value(r)
	}
	labelRoom, valueRoom, left, right := c.columns(labels, values)
	var r *ruler
	if p.Scale.Step > 0 {
		r = layRuler(p.Scale, left, right, c.width, p.Format, true)
		r.thin(c.width)
	} else {
		lo, hi := all[0], all[0]
		for _, v := range all {
			lo, hi = min(lo, v), max(hi, v)
		}
		r = fitRuler(lo, hi, left, right, c.width, p.Format)
	}

	y := p.key(c)
	y, lines := c.guides(y, r, p.Format, p.Guides)
	top := y
	bottom := top + rowHeight*float64(len(p.Rows)) + 2
	below := r.draw(c, top, bottom, p.Zero)
	lines(bottom)
	c.height = c.caption(below, r, p.Axis) + 2

	if p.Joined {
		var path []point
		for i, row := range p.Rows {
			x, _ := r.at(row.Mid)
			path = append(path, point{x, top + rowHeight*(float64(i)+0.5)})
		}
		c.polyline("join", path)
	}
	for i, row := range p.Rows {
		y := top + rowHeight*(float64(i)+0.5)
		c.label(edge, y+4, start, "", row.Label, labelRoom)
		c.interval(r, y, row, p.Zero)
		c.label(c.width-edge, y+4, end, "", values[i], valueRoom)
	}
}

func (p Intervals) key(c *canvas) float64 {
	band, mid := p.names()
	items := []keyItem{
		{func(x, y float64) { c.mark(disc, x+6, y) }, mid, markWidth},
		{func(x, y float64) { c.band(x+1, x+29, y, x) }, band, sampleWidth},
	}
	if p.Zero {
		for _, r := range p.Rows {
			if r.Low < 0 {
				items = append(items, keyItem{func(x, y float64) { c.area(ruled, x+1, y-4, 28, 8) }, "below zero", sampleWidth})
				break
			}
		}
	}
	for _, r := range p.Rows {
		if r.Target != nil {
			items = append(items, keyItem{func(x, y float64) { c.target(x+6, y) }, cmp.Or(p.Aim, "aim"), markWidth})
			break
		}
	}
	return c.key(0, items...)
}

// band draws the bar of an interval; what lies left of zero is ruled.
func (c *canvas) band(x0, x1, y, zero float64) {
	if zero = min(max(zero, x0), x1); zero > x0 {
		c.area(ruled, x0, y-4, zero-x0, 8)
	}
	if x1 > zero {
		c.rect("band", zero, y-4, x1-zero, 8)
	}
	c.line("stop", x0, y-6, x0, y+6)
	c.line("stop", x1, y-6, x1, y+6)
}

func (c *canvas) target(x, y float64) {
	c.line("target", x, y-8, x, y+8)
}

// interval draws one row's bar, dot and target about the line y.
func (c *canvas) interval(r *ruler, y float64, row Interval, zero bool) {
	x0, lowOn := r.at(row.Low)
	x1, highOn := r.at(row.High)
	xm, midOn := r.at(row.Mid)
	zx := x0
	if zero {
		zx, _ = r.at(0)
	}
	c.band(x0, x1, y, zx)
	if row.Target != nil {
		x, _ := r.at(*row.Target)
		c.target(x, y)
	}
	if midOn {
		c.mark(disc, xm, y)
	}
	if !lowOn && row.Low < r.Lo || !midOn && row.Mid < r.Lo {
		c.path("more", "M"+unit(r.x0)+" "+unit(y-5)+"l-6 5l6 5")
	}
	if !highOn && row.High > r.Hi || !midOn && row.Mid > r.Hi {
		c.path("more", "M"+unit(r.x1)+" "+unit(y-5)+"l6 5l-6 5")
	}
}
