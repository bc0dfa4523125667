package draw

import (
	"errors"
	"fmt"
	"html/template"
	"math"
	"time"
)

// A Stretch is one row of a schedule: what a thing goes through one after the other, each
// until so many days from the first day. Nothing is below 0, and Wait <= Work <= Sale.
type Stretch struct {
	Label string
	// Value is written at the end of the row.
	Value string
	// Wait, Work and Sale are the days until which it waits, is worked on, and is for sale.
	Wait, Work, Sale float64
	// ReadyLow to ReadyHigh and SoldLow to SoldHigh are the likely ranges of the ends of
	// Work and Sale.
	ReadyLow, ReadyHigh, SoldLow, SoldHigh float64
}

// A Schedule draws rows of stretches on an axis of days.
type Schedule struct {
	Frame
	From time.Time
	// Days that the axis covers, above 0. What lies beyond ends in an arrow.
	Days float64
	Rows []Stretch
	// Names of the three stretches, and of the likely range.
	Wait, Work, Sale, Range string
}

func (p Schedule) check() error {
	if len(p.Rows) == 0 {
		return errors.New("no rows to draw")
	}
	if !(p.Days > 0) {
		return fmt.Errorf("an axis of %v days", p.Days)
	}
	for _, r := range p.Rows {
		if err := finite(
			"row "+clean(r.Label),
			r.Wait,
			r.Work,
			r.Sale,
			r.ReadyLow,
			r.ReadyHigh,
			r.SoldLow,
			r.SoldHigh,
		); err != nil {
			return err
		}
		if !(0 <= r.Wait && r.Wait <= r.Work && r.Work <= r.Sale && r.ReadyLow <= r.ReadyHigh && r.SoldLow <= r.SoldHigh) {
			return fmt.Errorf("row %s: its days are not in order", clean(r.Label))
		}
	}
	return nil
}

// SVG draws the rows. It returns an error where there is none, or one that cannot be drawn.
func (p Schedule) SVG() (template.HTML, error) {
	if err := p.check(); err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	var words []string
	for _, r := range p.Rows {
		words = append(words, p.rowWords(r))
	}
	return p.render(words, func(c *canvas) error {
		p.draw(c)
		return nil
	})
}

// day writes the date that lies so many days from the first.
func (p Schedule) day(in float64) string {
	return p.From.AddDate(0, 0, int(math.Round(in))).Format("2 Jan")
}

// rowWords say a row for a reader who cannot see it.
func (p Schedule) rowWords(r Stretch) string {
	var parts []string
	from := 0.0
	for _, s := range []struct {
		name  string
		until float64
	}{{p.Wait, r.Wait}, {p.Work, r.Work}, {p.Sale, r.Sale}} {
		if s.until > from {
			parts = append(parts, clean(s.name)+" until "+p.day(s.until))
			from = s.until
		}
	}
	return sentence(r.Label, append(parts, "sold, "+clean(p.Range)+" "+p.day(r.SoldLow)+" to "+p.day(r.SoldHigh))...)
}

// stretchHeight is the height of a row: a bar, and below it the likely ranges, each on a
// line of its own.
const stretchHeight = 40.0

func (p Schedule) draw(c *canvas) {
	labels, values := make([]string, len(p.Rows)), make([]string, len(p.Rows))
	for i, r := range p.Rows {
		labels[i], values[i] = r.Label, r.Value
	}
	labelRoom, valueRoom, left, right := c.columns(labels, values)
	r := p.ruler(left, right, c.width)
	top := p.key(c)
	bottom := top + stretchHeight*float64(len(p.Rows)) + 2
	c.height = r.draw(c, top, bottom, false) + 2
	for i, row := range p.Rows {
		y := top + stretchHeight*float64(i)
		c.label(edge, y+17, start, "", row.Label, labelRoom)
		c.label(c.width-edge, y+17, end, "", values[i], valueRoom)
		c.stretch(r, y, row)
	}
}

// ruler lays the days between left and right, labelled by their dates.
func (p Schedule) ruler(left, right, width float64) *ruler {
	for _, step := range []float64{7, 14, 28, 56, 112, 224} {
		s := Scale{0, p.Days, step}
		if s.check() != nil {
			continue
		}
		r := layRuler(s, left, right, width, Format{}, false)
		for i, v := range s.Ticks() {
			if i < len(r.ticks) {
				r.ticks[i].label = p.From.AddDate(0, 0, int(v)).Format("2 Jan")
			}
		}
		if r.whole(1, width) {
			return r
		}
	}
	r := layRuler(Scale{0, p.Days, p.Days}, left, right, width, Format{}, false)
	for i := range r.ticks {
		r.ticks[i].label = ""
	}
	return r
}

func (p Schedule) key(c *canvas) float64 {
	return c.key(0,
		keyItem{func(x, y float64) { c.area(dotted, x+1, y-5.5, 28, barHeight) }, p.Wait, sampleWidth},
		keyItem{func(x, y float64) { c.area(solid, x+1, y-5.5, 28, barHeight) }, p.Work, sampleWidth},
		keyItem{func(x, y float64) { c.area(lined, x+1, y-5.5, 28, barHeight) }, p.Sale, sampleWidth},
		keyItem{func(x, y float64) { c.span(x+1, x+29, y) }, p.Range, sampleWidth},
	)
}

// span draws a likely range as a shaded band with ends.
func (c *canvas) span(x0, x1, y float64) {
	if x1 > x0 {
		c.rect("band", x0, y-2.5, x1-x0, 5)
	}
	c.line("stop", x0, y-4, x0, y+4)
	c.line("stop", x1, y-4, x1, y+4)
}

func (c *canvas) stretch(r *ruler, y float64, row Stretch) {
	from := 0.0
	for i, until := range []float64{row.Wait, row.Work, row.Sale} {
		x0, _ := r.at(from)
		x1, _ := r.at(until)
		c.area([]fill{dotted, solid, lined}[i], x0, y+7, x1-x0, barHeight)
		from = until
	}
	if row.Sale > r.Hi {
		c.path("more", "M"+unit(r.x1)+" "+unit(y+7.5)+"l6 5l-6 5")
	}
	for i, s := range [][2]float64{{row.ReadyLow, row.ReadyHigh}, {row.SoldLow, row.SoldHigh}} {
		if s[1] <= 0 || s[0] > r.Hi {
			continue
		}
		x0, _ := r.at(s[0])
		x1, _ := r.at(s[1])
		c.span(x0, x1, y+24+9*float64(i))
	}
}
