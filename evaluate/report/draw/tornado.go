package draw

import (
	"cmp"
	"errors"
	"fmt"
	"html/template"
	"math"
	"slices"
)

// A Swing is what a result is with one input at its low and at its high, all
// else as it is. Either may be the larger.
type Swing struct {
	Label     string
	Low, High float64
}

// A Tornado draws swings about a base, the widest first.
type Tornado struct {
	Frame
	Base float64
	// BaseLabel names the base.
	BaseLabel string
	// Swings may be in any order.
	Swings []Swing
	Format Format
	// Axis says what the axis counts. It may be blank.
	Axis string
	// AtLow and AtHigh name the two ends in the key. Blank means at the input's
	// low, and at its high.
	AtLow, AtHigh string
}

// SVG draws the swings. It returns an error where there is none, or a number
// that cannot be drawn.
func (p Tornado) SVG() (template.HTML, error) {
	values := []float64{p.Base}
	for _, s := range p.Swings {
		values = append(values, s.Low, s.High)
	}
	err := finite("tornado", values...)
	if len(p.Swings) == 0 {
		err = errors.New("no swings to draw")
	}
	if err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	p.AtLow = cmp.Or(clean(p.AtLow), "at the input’s low")
	p.AtHigh = cmp.Or(clean(p.AtHigh), "at its high")
	p.BaseLabel = cmp.Or(clean(p.BaseLabel), "base")
	p.Swings = slices.Clone(p.Swings)
	slices.SortStableFunc(p.Swings, func(a, b Swing) int {
		return cmp.Compare(math.Abs(b.High-b.Low), math.Abs(a.High-a.Low))
	})
	words := []string{sentence(p.BaseLabel, p.Format.Value(p.Base))}
	for _, s := range p.Swings {
		words = append(words, sentence(s.Label, p.Format.Value(s.Low)+" "+p.AtLow, p.Format.Value(s.High)+" "+p.AtHigh))
	}
	lo, hi := ends(values)
	return p.render(words, func(c *canvas) error {
		p.draw(c, lo, hi)
		return nil
	})
}

func (p Tornado) draw(c *canvas, lo, hi float64) {
	var labels, values []string
	for _, s := range p.Swings {
		labels = append(labels, clean(s.Label))
		values = append(values, p.Format.Value(s.Low), p.Format.Value(s.High))
	}
	room := widest(values) + 12 // a value, and the mark beside it
	// On a phone each label has a line of its own, above its bar.
	above := c.width < deskWidth
	left, labelRoom, row := edge+room, c.width-2*edge, lineHeight+rowHeight-4
	if !above {
		labelRoom, row = min(widest(labels), 0.4*c.width), rowHeight
		left += labelRoom + 10
	}
	r := fitRuler(lo, hi, left, c.width-edge-room, c.width, p.Format)
	base, _ := r.at(p.Base)

	y := c.key(0,
		keyItem{func(x, y float64) { c.mark(ring, x+6, y) }, p.AtLow, markWidth},
		keyItem{func(x, y float64) { c.mark(disc, x+6, y) }, p.AtHigh, markWidth},
		keyItem{func(x, y float64) { c.area(ruled, x+1, y-barHeight/2, 28, barHeight) }, "below " + p.BaseLabel, sampleWidth},
	)
	top, line := c.guides(y, r, p.Format, []Guide{{p.BaseLabel, p.Base}})
	bottom := top + row*float64(len(p.Swings)) + 4
	below := r.draw(c, top, bottom, true)
	c.height = c.caption(below, r, p.Axis) + 2
	line(bottom)

	for i, s := range p.Swings {
		y := top + row*float64(i)
		if above {
			c.label(edge, y+ascent+2, start, "halo", s.Label, labelRoom)
			y += lineHeight + (row-lineHeight)/2
		} else {
			y += row / 2
			c.label(edge, y+4, start, "", s.Label, labelRoom)
		}
		x0, _ := r.at(min(s.Low, s.High))
		x1, _ := r.at(max(s.Low, s.High))
		mid := min(max(base, x0), x1)
		c.area(ruled, x0, y-barHeight/2, mid-x0, barHeight)
		c.area(solid, mid, y-barHeight/2, x1-mid, barHeight)
		ends := [2]struct {
			v float64
			s shape
		}{{s.Low, ring}, {s.High, disc}}
		if s.Low > s.High {
			ends[0], ends[1] = ends[1], ends[0]
		}
		c.mark(ends[0].s, x0, y)
		c.mark(ends[1].s, x1, y)
		c.text(x0-9, y+4, end, "halo", p.Format.Value(ends[0].v))
		c.text(x1+9, y+4, start, "halo", p.Format.Value(ends[1].v))
	}
}
