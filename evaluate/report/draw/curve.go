package draw

import (
	"errors"
	"fmt"
	"html/template"
	"math"
)

// A Point is a point of a line.
type Point struct{ X, Y float64 }

// A Line is a line through points, in their order.
type Line struct {
	// Name tells lines apart in the key. It may be blank where there is one.
	Name   string
	Points []Point
}

// A Mark is a point that the picture names.
type Mark struct {
	Label string
	X, Y  float64
	// Drop draws lines from the mark to both axes.
	Drop bool
}

// An Axis is one of the two axes of a curve.
type Axis struct {
	// Label says what it counts.
	Label  string
	Format Format
	// Include lists values that must be on it.
	Include []float64
	// Zero draws the line where the value is zero.
	Zero bool
}

// A Curve draws lines over two axes, with points that are named.
type Curve struct {
	Frame
	X, Y Axis
	// Dots are points without names, such as single sales.
	Dots []Point
	// Lines are at most 4.
	Lines []Line
	// Marks are at most 6.
	Marks []Mark
}

type point struct{ x, y float64 }

const maxLines, maxMarks = 4, int(shapes)

// SVG draws the lines. It returns an error where there is no point, there are too
// many lines or marks, or there is a number that cannot be drawn.
func (p Curve) SVG() (template.HTML, error) {
	xs, ys, err := p.check()
	if err != nil {
		return "", fmt.Errorf("picture %q: %w", p.Title, err)
	}
	return p.render(p.words(), func(c *canvas) error {
		p.draw(c, xs, ys)
		return nil
	})
}

func (p Curve) check() (xs, ys []float64, err error) {
	if len(p.Lines) > maxLines || len(p.Marks) > maxMarks {
		return nil, nil, fmt.Errorf("%d lines and %d marks are too many to tell apart; at most %d and %d", len(p.Lines),
			len(p.Marks), maxLines, maxMarks)
	}
	add := func(what string, x, y float64) {
		if e := finite(what, x, y); e != nil && err == nil {
			err = e
		}
		xs, ys = append(xs, x), append(ys, y)
	}
	for _, l := range p.Lines {
		if len(l.Points) < 2 {
			return nil, nil, fmt.Errorf("line %s has fewer than two points", clean(l.Name))
		}
		for _, q := range l.Points {
			add("line "+clean(l.Name), q.X, q.Y)
		}
	}
	for _, d := range p.Dots {
		add("a dot", d.X, d.Y)
	}
	for _, m := range p.Marks {
		add("mark "+clean(m.Label), m.X, m.Y)
	}
	if len(xs) == 0 {
		return nil, nil, errors.New("no points to draw")
	}
	if e := finite("an axis", append(p.X.Include, p.Y.Include...)...); e != nil && err == nil {
		err = e
	}
	return append(xs, p.X.Include...), append(ys, p.Y.Include...), err
}

// words say each line's ends and each mark: what a curve is read for.
func (p Curve) words() []string {
	at := func(x, y float64) string {
		return p.X.Format.Value(x) + " gives " + p.Y.Format.Value(y)
	}
	words := []string{"Across: " + clean(p.X.Label) + ". Up: " + clean(p.Y.Label) + "."}
	for _, l := range p.Lines {
		first, last := l.Points[0], l.Points[len(l.Points)-1]
		words = append(words, sentence(l.Name, "from "+at(first.X, first.Y), "to "+at(last.X, last.Y)))
	}
	if n := len(p.Dots); n > 0 {
		lo, hi := p.Dots[0].Y, p.Dots[0].Y
		for _, d := range p.Dots {
			lo, hi = min(lo, d.Y), max(hi, d.Y)
		}
		words = append(words, fmt.Sprintf("%d dots, from %s to %s.", n, p.Y.Format.Value(lo), p.Y.Format.Value(hi)))
	}
	for _, m := range p.Marks {
		words = append(words, sentence(m.Label, at(m.X, m.Y)))
	}
	return words
}

func (p Curve) draw(c *canvas, xs, ys []float64) {
	top := p.key(c)
	if label := clean(p.Y.Label); label != "" {
		c.label(edge, top+ascent, start, "quiet", label, c.width-2*edge)
		top += lineHeight
	}
	height := 170.0
	if c.width >= deskWidth {
		height = 240
	}
	top += 9
	bottom := top + height

	yLo, yHi := ends(ys)
	scale := cover(int(height/26)+1, yLo, yHi)
	gutter, short := 0.0, false
	for _, short = range []bool{false, true} {
		gutter = 0
		for _, v := range scale.Ticks() {
			gutter = max(gutter, textWidth(p.Y.Format.tick(v, scale.Step, short)))
		}
		if gutter < 64 {
			break
		}
	}
	left := edge + gutter + 8
	yAt := func(v float64) float64 { return bottom - (v-scale.Lo)/(scale.Hi-scale.Lo)*height }

	xLo, xHi := ends(xs)
	r := fitRuler(xLo, xHi, left, c.width-edge-5, c.width, p.X.Format)
	for _, v := range scale.Ticks() {
		y := yAt(v)
		class := "grid"
		if v == 0 && p.Y.Zero {
			class = "zero"
		}
		if y < bottom {
			c.line(class, r.x0, y, r.x1, y)
		}
		c.text(r.x0-8, y+4, end, "quiet", p.Y.Format.tick(v, scale.Step, short))
	}
	below := r.draw(c, top, bottom, p.X.Zero)
	c.height = c.caption(below, r, p.X.Label) + 2

	at := func(x, y float64) point {
		px, _ := r.at(x)
		return point{px, yAt(y)}
	}
	var paths [][]point
	for i, l := range p.Lines {
		path := make([]point, len(l.Points))
		for j, q := range l.Points {
			path[j] = at(q.X, q.Y)
		}
		path = thin(path, 0.25)
		c.polyline(lineClass(i), path)
		paths = append(paths, path)
	}
	for _, d := range p.Dots {
		q := at(d.X, d.Y)
		c.markOf("dot", disc, q.x, q.y)
	}
	for _, m := range p.Marks {
		if q := at(m.X, m.Y); m.Drop {
			c.path("drop", "M"+unit(r.x0)+" "+unit(q.y)+"H"+unit(q.x)+"V"+unit(bottom))
			paths = append(paths, []point{{r.x0, q.y}, q, {q.x, bottom}})
		}
	}
	p.marks(c, box{r.x0 + 2, top - 8, c.width - edge, bottom - 2}, at, paths)
}

func (p Curve) key(c *canvas) float64 {
	var items []keyItem
	for i, l := range p.Lines {
		items = append(items, keyItem{func(x, y float64) { c.line(lineClass(i), x, y, x+sampleWidth, y) }, l.Name,
			sampleWidth})
	}
	return c.key(0, items...)
}

func lineClass(i int) string { return [...]string{"line", "line b", "line c", "line d"}[i] }

// marks draws the marks, and each one's label where it hides least: clear of
// all other text, and off the lines if it can be. One that has no room in the
// picture is written below it.
func (p Curve) marks(c *canvas, area box, at func(x, y float64) point, paths [][]point) {
	var left []keyItem
	spots := make([]point, len(p.Marks))
	for i, m := range p.Marks {
		spots[i] = at(m.X, m.Y)
		c.mark(shape(i), spots[i].x, spots[i].y)
	}
	for i, m := range p.Marks {
		text := clean(clean(m.Label) + " " + p.X.Format.Value(m.X))
		shown := shorten(text, c.width*0.6)
		best, cost := point{}, math.Inf(1)
		var how anchor
		for _, dy := range [...]float64{-10, 4, 18, -26, 34, -42, 50, -58, 66, -74, 82} {
			for _, a := range [...]anchor{end, start, middle} {
				dx := [...]float64{10, 0, -10}[a]
				if dy == 4 && a == middle {
					continue
				}
				q := point{spots[i].x + dx, spots[i].y + dy}
				b := textBox(q.x, q.y, a, shown)
				if !c.free(b, area) {
					continue
				}
				if k := crossings(b, paths, spots) + math.Abs(dy-4)/40; k < cost {
					best, cost, how = q, k, a
				}
			}
		}
		if math.IsInf(cost, 1) {
			left = append(left, keyItem{func(x, y float64) { c.mark(shape(i), x+6, y) }, text, markWidth})
			continue
		}
		if dy := best.y - spots[i].y; dy < -20 || dy > 30 {
			y := best.y + descent - 1
			if dy > 0 {
				y = best.y - ascent + 1
			}
			c.line("leader", spots[i].x, spots[i].y, best.x, y)
		}
		c.label(best.x, best.y, how, "halo", text, c.width*0.6)
	}
	if len(left) > 0 {
		c.height = c.key(c.height+4, left...)
	}
}

// crossings counts what a label in the box would hide: lengths of lines, in
// units of ten, and marks.
func crossings(b box, paths [][]point, spots []point) float64 {
	var n float64
	for _, path := range paths {
		for i, q := range path[1:] {
			p := path[i]
			const pace = 3
			steps := math.Ceil(math.Hypot(q.x-p.x, q.y-p.y) / pace)
			for k := range int(steps) {
				t := (float64(k) + 0.5) / steps
				if x, y := p.x+t*(q.x-p.x), p.y+t*(q.y-p.y); x > b.x0 && x < b.x1 && y > b.y0 && y < b.y1 {
					n += pace / 10.0
				}
			}
		}
	}
	for _, s := range spots {
		if b.meets(box{s.x - 6, s.y - 6, s.x + 6, s.y + 6}) {
			n += 4
		}
	}
	return n
}

// thin leaves out points that are within slack of the line through those kept:
// Douglas and Peucker (1973), Cartographica 10, 112-122.
func thin(path []point, slack float64) []point {
	if len(path) < 3 {
		return path
	}
	a, b := path[0], path[len(path)-1]
	far, at := 0.0, 0
	for i := 1; i < len(path)-1; i++ {
		if d := distance(path[i], a, b); d > far {
			far, at = d, i
		}
	}
	if far <= slack {
		return []point{a, b}
	}
	head := thin(path[:at+1], slack)
	return append(head[:len(head)-1:len(head)-1], thin(path[at:], slack)...)
}

// distance returns how far p is from the segment a to b.
func distance(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	if l := dx*dx + dy*dy; l > 0 {
		t := min(max(((p.x-a.x)*dx+(p.y-a.y)*dy)/l, 0), 1)
		a.x, a.y = a.x+t*dx, a.y+t*dy
	}
	return math.Hypot(p.x-a.x, p.y-a.y)
}
