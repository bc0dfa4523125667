package draw

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// A canvas gathers the elements of a picture. Its methods are the only place
// where text becomes markup; class names are constants of this package.
type canvas struct {
	b      strings.Builder
	width  float64
	height float64
	texts  []box
}

// A box is a rectangle in units.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(o box) bool { return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 }

// An anchor says which part of a text stands at its x.
type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// textBox bounds a text whose base line is at y.
func textBox(x, y float64, a anchor, s string) box {
	w := textWidth(s)
	switch a {
	case middle:
		x -= w / 2
	case end:
		x -= w
	}
	return box{x, y - ascent, x + w, y + descent}
}

// unit writes a coordinate: tenths are finer than any screen shows.
func unit(v float64) string {
	v = math.Round(v*10) / 10
	if v == 0 {
		v = 0 // not -0
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func (c *canvas) text(x, y float64, a anchor, class, s string) {
	c.label(x, y, a, class, s, math.Inf(1))
}

// label writes a text no wider than width: where it is cut, the whole is in
// its title.
func (c *canvas) label(x, y float64, a anchor, class, s string, width float64) {
	s = clean(s)
	if s == "" {
		return
	}
	factor := 1.0
	if class == "strong" {
		factor = heavy
	}
	shown := shorten(s, width/factor)
	classes := strings.TrimSpace(class + [...]string{"", " mid", " end"}[a])
	c.b.WriteString(`<text x="` + unit(x) + `" y="` + unit(y) + `"`)
	if classes != "" {
		c.b.WriteString(` class="` + classes + `"`)
	}
	c.b.WriteByte('>')
	if shown != s {
		c.b.WriteString("<title>" + template.HTMLEscapeString(s) + "</title>")
	}
	c.b.WriteString(template.HTMLEscapeString(shown) + "</text>")
	c.texts = append(c.texts, textBox(x, y, a, shown))
}

// free reports whether a box is inside the area and clear of all text so far.
func (c *canvas) free(b, area box) bool {
	if b.x0 < area.x0 || b.x1 > area.x1 || b.y0 < area.y0 || b.y1 > area.y1 {
		return false
	}
	for _, t := range c.texts {
		if b.meets(t) {
			return false
		}
	}
	return true
}

func (c *canvas) line(class string, x0, y0, x1, y1 float64) {
	d := "M" + unit(x0) + " " + unit(y0)
	switch {
	case x0 == x1:
		d += "V" + unit(y1)
	case y0 == y1:
		d += "H" + unit(x1)
	default:
		d += "L" + unit(x1) + " " + unit(y1)
	}
	c.path(class, d)
}

func (c *canvas) path(class, d string) {
	c.b.WriteString(`<path class="` + class + `" d="` + d + `"/>`)
}

// polyline draws lines from point to point.
func (c *canvas) polyline(class string, points []point) {
	var d strings.Builder
	for i, p := range points {
		d.WriteByte("ML"[min(i, 1)])
		d.WriteString(unit(p.x) + " " + unit(p.y))
	}
	c.path(class, d.String())
}

func (c *canvas) rect(class string, x, y, w, h float64) {
	fmt.Fprintf(&c.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, unit(x), unit(y), unit(w), unit(h))
}

// A fill is how an area is told from others without colour.
type fill uint8

const (
	solid fill = iota
	ruled      // lines across, as a section in a workshop drawing
	open
	lined // lines along
	dotted
)

// area draws a bar of height h, with its fill. The lines of a fill are dashes
// of one thick stroke, so that they need neither pattern nor id.
func (c *canvas) area(f fill, x, y, w, h float64) {
	if w <= 0 {
		return
	}
	if f == solid {
		c.rect("solid", x, y, w, h)
		return
	}
	c.rect("open", x, y, w, h)
	along := func(class string, y float64) {
		if w > 2 {
			c.line(class, x+1, y, x+w-1, y)
		}
	}
	switch f {
	case ruled:
		class := "ruled"
		if h < barHeight {
			class = "ruled slim"
		}
		along(class, y+h/2)
	case lined:
		along("lined", y+h*0.3)
		along("lined", y+h*0.7)
	case dotted:
		along("dotted", y+h*0.3)
		along("dotted", y+h*0.7)
	}
}

// A shape marks a point. Shapes differ without colour.
type shape uint8

const (
	disc shape = iota
	diamond
	square
	up
	down
	ring
	shapes // how many there are
)

func (c *canvas) mark(s shape, x, y float64) { c.markOf("mark", s, x, y) }

func (c *canvas) markOf(class string, s shape, x, y float64) {
	switch s {
	case disc, ring:
		r := "4.5"
		if s == ring {
			class, r = "ring", "4"
		}
		c.b.WriteString(`<circle class="` + class + `" cx="` + unit(x) + `" cy="` + unit(y) + `" r="` + r + `"/>`)
	case diamond:
		c.path(class, "M"+unit(x)+" "+unit(y-6)+"l6 6l-6 6l-6-6z")
	case square:
		c.path(class, "M"+unit(x-4.5)+" "+unit(y-4.5)+"h9v9h-9z")
	case up:
		c.path(class, "M"+unit(x)+" "+unit(y-6)+"l6 10h-12z")
	case down:
		c.path(class, "M"+unit(x)+" "+unit(y+6)+"l6-10h-12z")
	}
}

// finish closes the picture. The title and the description name it for readers
// who cannot see it.
func (c *canvas) finish(class, title, desc string) template.HTML {
	title, desc = template.HTMLEscapeString(clean(title)), template.HTMLEscapeString(clean(desc))
	return template.HTML(`<svg class="` + class + `" viewBox="0 0 ` + unit(c.width) + " " + unit(math.Ceil(c.height)) +
		`" width="100%" role="img"><title>` + title + `</title><desc>` + desc + `</desc>` + c.b.String() + `</svg>`)
}
