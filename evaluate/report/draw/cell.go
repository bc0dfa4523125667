package draw

import (
	"html/template"
)

// cellWidth is the width of a cell in units, and in pixels.
const cellWidth = 160

// A Cell draws one interval without text, for a cell of a table whose other
// cells say the numbers. Cells of one scale and format line up.
type Cell struct {
	Row    Interval
	Scale  Scale
	Format Format
	// Band, Middle and Zero are those of Intervals.
	Band, Middle string
	Zero         bool
}

// SVG draws the interval.
func (p Cell) SVG() (template.HTML, error) {
	rows := Intervals{Frame: Frame{Title: p.Row.Label}, Rows: []Interval{p.Row}, Format: p.Format, Band: p.Band,
		Middle: p.Middle}
	if _, err := rows.check(); err != nil {
		return "", err
	}
	r, err := cellRuler(p.Scale, p.Format)
	if err != nil {
		return "", err
	}
	words := rows.rowWords(Interval{Low: p.Row.Low, Mid: p.Row.Mid, High: p.Row.High, Value: p.Row.Value,
		Target: p.Row.Target})
	return rows.cell(words, func(c *canvas) {
		c.height = 20
		if x, on := r.at(0); on && p.Zero {
			c.line("zero", x, 0, x, c.height)
		}
		c.interval(r, 10, p.Row, p.Zero)
	})
}

// A CellAxis draws the axis of cells, for the head of their column.
type CellAxis struct {
	// Title names the axis.
	Title  string
	Scale  Scale
	Format Format
}

// SVG draws the axis.
func (p CellAxis) SVG() (template.HTML, error) {
	r, err := cellRuler(p.Scale, p.Format)
	if err != nil {
		return "", err
	}
	words := "From " + p.Format.Value(p.Scale.Lo) + " to " + p.Format.Value(p.Scale.Hi) + "."
	return Frame{Title: p.Title}.cell(words, func(c *canvas) {
		c.height = 28
		c.line("axis", r.x0, 24, r.x1, 24)
		for _, t := range r.ticks {
			c.line("axis", t.x, 20, t.x, 24)
			if t.label != "" {
				c.text(t.x, 15, middle, "quiet", t.label)
			}
		}
	})
}

func cellRuler(s Scale, f Format) (*ruler, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	r := layRuler(s, 8, cellWidth-8, cellWidth, f, true)
	r.thin(cellWidth)
	return r, nil
}

func (f Frame) cell(words string, draw func(*canvas)) (template.HTML, error) {
	if clean(f.Title) == "" {
		return "", errNoTitle
	}
	c := &canvas{width: cellWidth}
	draw(c)
	return c.finish("draw cell", f.Title, words), nil
}
