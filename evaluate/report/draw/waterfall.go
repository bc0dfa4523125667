package draw

import (
	"cmp"
	"errors"
	"fmt"
	"html/template"
)

// A Step is one step of a waterfall.
type Step struct {
	Label string
	// Amount is added to what stands so far. The first starts from zero.
	Amount float64
	// Total shows what stands so far, and adds nothing; Amount is ignored.
	Total bool
}

// A Waterfall draws the way from a start to an end, a row a step.
type Waterfall struct {
	Frame
	Steps  []Step
	Format Format
	// Axis says what the axis counts. It may be blank.
	Axis string
	// Plus and Minus name the two kinds of steps in the key. Blank means adds,
	// and takes away.
	Plus, Minus string
}

// SVG draws the steps. It returns an error where there is none, or a number
// that cannot be drawn.
func (p Waterfall) SVG() (template.HTML, error) {
	if len(p.Steps) == 0 {
		return "", fmt.Errorf("picture %q: %w", p.Title, errors.New("no steps to draw"))
	}
	// stands[i] is what stands before step i.
	stands := make([]float64, len(p.Steps)+1)
	texts := make([]string, len(p.Steps))
	var words []string
	for i, s := range p.Steps {
		stands[i+1] = stands[i]
		if s.Total {
			texts[i] = p.Format.Value(stands[i])
		} else {
			stands[i+1] += s.Amount
			if texts[i] = p.Format.Signed(s.Amount); i == 0 {
				texts[i] = p.Format.Value(s.Amount)
			}
		}
		words = append(words, sentence(s.Label, texts[i]))
	}
	if err := finite("waterfall", stands...); err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	return p.render(words, func(c *canvas) error {
		p.draw(c, stands, texts)
		return nil
	})
}

func (p Waterfall) draw(c *canvas, stands []float64, texts []string) {
	var labels []string
	for _, s := range p.Steps {
		labels = append(labels, s.Label)
	}
	labelRoom, valueRoom, left, right := c.columns(labels, texts)
	lo, hi := ends(stands)
	r := fitRuler(min(lo, 0), max(hi, 0), left, right, c.width, p.Format)
	top := c.key(0,
		keyItem{func(x, y float64) { c.area(solid, x+1, y-barHeight/2, 28, barHeight) }, cmp.Or(clean(p.Plus), "adds"),
			sampleWidth},
		keyItem{func(x, y float64) { c.area(ruled, x+1, y-barHeight/2, 28, barHeight) },
			cmp.Or(clean(p.Minus), "takes away"), sampleWidth},
		keyItem{func(x, y float64) { c.rect("total", x+1, y-barHeight/2, 28, barHeight) }, "stands", sampleWidth},
	)
	bottom := top + rowHeight*float64(len(p.Steps)) + 2
	below := r.draw(c, top, bottom, true)
	c.height = c.caption(below, r, p.Axis) + 2

	for i, s := range p.Steps {
		y := top + rowHeight*(float64(i)+0.5)
		from, to := stands[i], stands[i+1]
		class := ""
		if s.Total {
			from, class = 0, "strong"
		}
		x0, _ := r.at(min(from, to))
		x1, _ := r.at(max(from, to))
		switch {
		case s.Total:
			c.rect("total", x0, y-barHeight/2, max(x1-x0, 1), barHeight)
		case to < from:
			c.area(ruled, x0, y-barHeight/2, max(x1-x0, 1), barHeight)
		default:
			c.area(solid, x0, y-barHeight/2, max(x1-x0, 1), barHeight)
		}
		if i+1 < len(p.Steps) {
			x, _ := r.at(to)
			c.line("link", x, y+barHeight/2, x, y+rowHeight-barHeight/2)
		}
		c.label(edge, y+4, start, class, s.Label, labelRoom)
		c.label(c.width-edge, y+4, end, class, texts[i], valueRoom)
	}
}
