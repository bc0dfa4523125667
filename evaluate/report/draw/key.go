package draw

// A keyItem is one entry of a key: a sample, drawn in so many units to the right
// of x about the line y, and what it stands for.
type keyItem struct {
	sample func(x, y float64)
	text   string
	width  float64
}

// Samples are a bar or a line, or a mark.
const sampleWidth, markWidth = 30, 12

// key writes the entries from the top, on as many lines as they need, and
// returns the y below them.
func (c *canvas) key(top float64, items ...keyItem) float64 {
	x, y := edge, top
	for _, item := range items {
		text := clean(item.text)
		if text == "" {
			continue
		}
		room := item.width + 6 + textWidth(text)
		if x > edge && x+room > c.width-edge {
			x, y = edge, y+lineHeight+2
		}
		item.sample(x, y+lineHeight/2)
		c.label(x+item.width+6, y+ascent, start, "quiet", text, c.width-edge-x-item.width-6)
		x += room + 18
	}
	if x == edge {
		return top
	}
	return y + lineHeight + 6
}
