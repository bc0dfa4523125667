package draw

import "slices"

const (
	rowHeight = 25.0
	barHeight = 11.0
)

// columns divides a picture into labels on the left, values on the right, and
// what lies between them. It returns the room of a label and of a value, and
// the x from which and to which there is room for bars.
func (c *canvas) columns(labels, values []string) (labelRoom, valueRoom, left, right float64) {
	share := 0.34
	if c.width >= deskWidth {
		share = 0.4
	}
	cleaned := make([]string, len(labels))
	for i, l := range labels {
		cleaned[i] = clean(l)
	}
	labelRoom = min(widest(cleaned)*heavy, share*c.width)
	valueRoom = min(widest(values)*heavy, 0.28*c.width)
	return labelRoom, valueRoom, edge + labelRoom + 10, c.width - edge - valueRoom - 10
}

// caption writes what an axis counts, below it and about its middle.
func (c *canvas) caption(y float64, r *ruler, text string) float64 {
	text = clean(text)
	if text == "" {
		return y
	}
	w := min(textWidth(text), c.width-2*edge)
	x := min(max((r.x0+r.x1)/2, edge+w/2), c.width-edge-w/2)
	c.label(x, y+ascent, middle, "quiet", text, c.width-2*edge)
	return y + lineHeight
}

// A Guide is a value that a whole picture is read against: a line across all
// rows, labelled at its end. A picture has at most 4.
type Guide struct {
	Label string
	Value float64
}

const maxGuides = 4

// flag is the label of a guide: its anchor, its box, and on which line above the
// rows it stands, counted upwards.
type flag struct {
	text  string
	line  float64 // the guide's x
	x     float64
	how   anchor
	level int
}

func (f flag) span() (x0, x1 float64) {
	b := textBox(f.x, 0, f.how, f.text)
	return b.x0, b.x1
}

// hides reports whether the two labels meet, or the line of one runs through the
// label of the other.
func (f flag) hides(o flag) bool {
	f0, f1 := f.span()
	o0, o1 := o.span()
	switch {
	case f.level == o.level:
		return f0 < o1+labelGap && o0 < f1+labelGap
	case f.level > o.level:
		return f.line > o0-2 && f.line < o1+2
	}
	return o.line > f0-2 && o.line < f1+2
}

// guides makes room for the labels of the guides above the rows. It returns the
// y below them, and the function that draws the guides down to the bottom.
func (c *canvas) guides(top float64, r *ruler, f Format, guides []Guide) (float64, func(bottom float64)) {
	if len(guides) == 0 {
		return top, func(float64) {}
	}
	flags := make([]flag, len(guides))
	for i, g := range guides {
		flags[i].line, _ = r.at(g.Value)
		flags[i].text = shorten(clean(clean(g.Label)+" "+f.Value(g.Value)), c.width-2*edge)
	}
	levels := c.raise(flags)
	y := top + lineHeight*float64(levels) + 4
	return y, func(bottom float64) {
		base := func(g flag) float64 { return top + ascent + lineHeight*float64(levels-1-g.level) }
		for _, g := range flags {
			c.line("guide", g.line, base(g)+descent-1, g.line, bottom)
		}
		for i, g := range flags {
			c.label(g.x, base(g), g.how, "halo", clean(guides[i].Label)+" "+f.Value(guides[i].Value), c.width-2*edge)
		}
	}
}

// raise puts each flag about, right or left of its line, on as few levels as
// hide nothing, and returns how many those are. Where every way hides something,
// each flag gets a level of its own, and its halo keeps it legible.
func (c *canvas) raise(flags []flag) int {
	for levels := 1; levels <= len(flags); levels++ {
		if c.place(flags, 0, levels) {
			return levels
		}
	}
	for i := range flags {
		f := &flags[i]
		half := textWidth(f.text) / 2
		f.level, f.how = i, middle
		f.x = min(max(f.line, edge+half), c.width-edge-half)
	}
	return len(flags)
}

// place tries all places of the flags from the i-th on.
func (c *canvas) place(flags []flag, i, levels int) bool {
	if i == len(flags) {
		return true
	}
	f := &flags[i]
	for _, f.how = range []anchor{middle, start, end} {
		f.x = f.line + [...]float64{-3, 0, 3}[f.how]
		if x0, x1 := f.span(); x0 < edge || x1 > c.width-edge {
			continue
		}
		for f.level = 0; f.level < levels; f.level++ {
			clear := !slices.ContainsFunc(flags[:i], func(o flag) bool { return f.hides(o) })
			if clear && c.place(flags, i+1, levels) {
				return true
			}
		}
	}
	return false
}

func guideWords(f Format, guides []Guide) []string {
	var words []string
	for _, g := range guides {
		words = append(words, sentence(g.Label, f.Value(g.Value)))
	}
	return words
}
