package draw

import (
	"cmp"
	"errors"
	"fmt"
	"html/template"
	"slices"
)

// A Dot is one thing with a percentile, 0 to 100.
type Dot struct {
	Label string
	At    float64
}

// Dots draws percentiles on a line from 0 to 100, stacked where they would
// overlap: were all estimates right, they would spread evenly.
type Dots struct {
	Frame
	Dots []Dot
	// Axis says what the axis counts. It may be blank.
	Axis string
	// Left and Right say what it means to be at either end. They may be blank.
	Left, Right string
}

// SVG draws the dots. It returns an error where there is none, or one outside 0
// to 100.
func (p Dots) SVG() (template.HTML, error) {
	if len(p.Dots) == 0 {
		return "", fmt.Errorf("picture %q: %w", p.Title, errors.New("no dots to draw"))
	}
	f := Format{}
	dots := slices.Clone(p.Dots)
	slices.SortStableFunc(dots, func(a, b Dot) int { return cmp.Compare(a.At, b.At) })
	inside := 0
	var words []string
	for _, d := range dots {
		if !(d.At >= 0 && d.At <= 100) {
			return "", fmt.Errorf("picture %q: %s: %v is not a percentile from 0 to 100", p.Title, clean(d.Label), d.At)
		}
		if d.At >= 10 && d.At <= 90 {
			inside++
		}
		words = append(words, sentence(d.Label, f.Value(d.At)))
	}
	count := fmt.Sprintf("%d of %d within the likely range", inside, len(dots))
	words = append([]string{count + "."}, words...)
	return p.render(words, func(c *canvas) error {
		p.draw(c, dots, count)
		return nil
	})
}

func (p Dots) draw(c *canvas, dots []Dot, count string) {
	r := layRuler(Scale{Lo: 0, Hi: 100, Step: 10}, 10, c.width-10, c.width, Format{}, false)
	for i := range r.ticks {
		if i%2 == 1 && i != 1 && i != 9 {
			r.ticks[i].label = ""
		}
	}
	r.thin(c.width)
	var xs []float64
	for _, d := range dots {
		x, _ := r.at(d.At)
		xs = append(xs, x)
	}
	// Smaller dots where the stack would be high.
	var levels []int
	radius, high := 0.0, 0
	for _, radius = range []float64{5, 4, 3, 2.5} {
		if levels, high = stack(xs, 2*radius+1); high <= 10 {
			break
		}
	}
	x10, _ := r.at(10)
	x90, _ := r.at(90)

	// The bracket over the middle four fifths, as a measure in a drawing.
	c.text((x10+x90)/2, ascent, middle, "", count)
	top := lineHeight + 6.0
	c.path("bracket", "M"+unit(x10)+" "+unit(top+6)+"V"+unit(top)+"H"+unit(x90)+"V"+unit(top+6))
	bottom := top + 14 + float64(high)*(2*radius+1) + 2
	below := r.draw(c, top+6, bottom, false)
	for i, x := range xs {
		y := bottom - 3 - radius - float64(levels[i])*(2*radius+1)
		class := "dot"
		if d := dots[i].At; d < 10 || d > 90 {
			class = "dot out"
		}
		c.b.WriteString(`<circle class="` + class + `" cx="` + unit(x) + `" cy="` + unit(y) + `" r="` + unit(radius) +
			`"><title>` +
			template.HTMLEscapeString(clean(dots[i].Label)+" "+Format{}.Value(dots[i].At)) + `</title></circle>`)
	}
	half := (c.width - 2*edge - labelGap) / 2
	if left, right := clean(p.Left), clean(p.Right); left != "" || right != "" {
		c.label(edge, below+ascent, start, "quiet", leftArrow(left), half)
		c.label(c.width-edge, below+ascent, end, "quiet", rightArrow(right), half)
		below += lineHeight
	}
	c.height = c.caption(below, r, p.Axis) + 2
}

func leftArrow(s string) string {
	if s == "" {
		return ""
	}
	return "‹ " + s
}

func rightArrow(s string) string {
	if s == "" {
		return ""
	}
	return s + " ›"
}

// stack returns for each x, ascending, the lowest level on which it keeps its
// distance, and how many levels there are.
func stack(xs []float64, distance float64) (levels []int, high int) {
	var last []float64
	for _, x := range xs {
		level := slices.IndexFunc(last, func(l float64) bool { return x-l >= distance })
		if level < 0 {
			level = len(last)
			last = append(last, 0)
		}
		last[level] = x
		levels = append(levels, level)
	}
	return levels, len(last)
}
