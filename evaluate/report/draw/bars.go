package draw

import (
	"errors"
	"fmt"
	"html/template"
)

// A Bar is one row of parts, in the order of the picture's parts.
type Bar struct {
	Label string
	Parts []float64
}

// Bars draws rows of parts end to end, each with its total.
type Bars struct {
	Frame
	// Parts names the parts in the key; at most 5. One part needs no name.
	Parts  []string
	Rows   []Bar
	Format Format
	// Axis says what the axis counts. It may be blank.
	Axis string
}

const maxParts = int(dotted) + 1

// SVG draws the rows. It returns an error where there is none, a row has
// another number of parts, or a part is negative or cannot be drawn.
func (p Bars) SVG() (template.HTML, error) {
	most, words, err := p.check()
	if err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	return p.render(words, func(c *canvas) error {
		p.draw(c, most)
		return nil
	})
}

func (p Bars) check() (most float64, words []string, err error) {
	if len(p.Rows) == 0 {
		return 0, nil, errors.New("no rows to draw")
	}
	if len(p.Parts) == 0 || len(p.Parts) > maxParts {
		return 0, nil, fmt.Errorf("%d parts; name from 1 to %d", len(p.Parts), maxParts)
	}
	for _, row := range p.Rows {
		name := "row " + clean(row.Label)
		if len(row.Parts) != len(p.Parts) {
			return 0, nil, fmt.Errorf("%s has %d parts, not %d", name, len(row.Parts), len(p.Parts))
		}
		if err := finite(name, row.Parts...); err != nil {
			return 0, nil, err
		}
		parts := []string{p.Format.Value(row.total())}
		for i, v := range row.Parts {
			if v < 0 {
				return 0, nil, fmt.Errorf("%s: a part of %v; parts cannot be negative", name, v)
			}
			if v > 0 && len(p.Parts) > 1 {
				parts = append(parts, clean(p.Parts[i])+" "+p.Format.Value(v))
			}
		}
		words = append(words, sentence(row.Label, parts...))
		most = max(most, row.total())
	}
	return most, words, finite("bars", most)
}

func (b Bar) total() float64 {
	var t float64
	for _, v := range b.Parts {
		t += v
	}
	return t
}

func (p Bars) draw(c *canvas, most float64) {
	var labels, values []string
	for _, row := range p.Rows {
		labels = append(labels, row.Label)
		values = append(values, p.Format.Value(row.total()))
	}
	labelRoom, valueRoom, left, right := c.columns(labels, values)
	r := fitRuler(0, most, left, right, c.width, p.Format)
	var items []keyItem
	if len(p.Parts) > 1 {
		for i, name := range p.Parts {
			items = append(items, keyItem{func(x, y float64) { c.area(fill(i), x+1, y-barHeight/2, 28, barHeight) }, name,
				sampleWidth})
		}
	}
	top := c.key(0, items...)
	bottom := top + rowHeight*float64(len(p.Rows)) + 2
	below := r.draw(c, top, bottom, true)
	c.height = c.caption(below, r, p.Axis) + 2
	for i, row := range p.Rows {
		y := top + rowHeight*(float64(i)+0.5)
		var sum float64
		for k, v := range row.Parts {
			x0, _ := r.at(sum)
			sum += v
			x1, _ := r.at(sum)
			c.area(fill(k), x0, y-barHeight/2, x1-x0, barHeight)
		}
		c.label(edge, y+4, start, "", row.Label, labelRoom)
		c.label(c.width-edge, y+4, end, "", values[i], valueRoom)
	}
}
