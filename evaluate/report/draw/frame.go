package draw

import (
	"errors"
	"fmt"
	"html/template"
	"math"
	"strings"
)

// Size says how wide a picture is laid out, in units of its viewBox. The style
// sheet keeps a unit near a pixel.
type Size uint8

const (
	// Phone is 360 units wide, and shown at most 448 pixels wide.
	Phone Size = iota
	// Desk is 720 units wide, and shown at most 832 pixels wide. On a phone its
	// text would be too small.
	Desk
	// Both gives the two pictures, of which the style sheet shows the one that
	// fits the page. It takes twice the bytes.
	Both
)

const (
	phoneWidth = 360
	deskWidth  = 720
	// limit bounds the numbers that can be drawn: beyond it a float64 has no
	// decimals left for ticks.
	limit = 1e15
)

var errNoTitle = errors.New("a picture without a title says nothing to those who cannot see it; give it one")

// A Frame is what all pictures have.
type Frame struct {
	// Title names the picture for a reader who cannot see it. It must not be
	// blank. It is not shown: pages have headings.
	Title string
	// Note is said after the title and before the numbers.
	Note string
	// Size is the layout. The zero value is Phone.
	Size Size
}

// render draws the picture at the sizes that the frame asks for. words are the
// sentences that carry the numbers.
func (f Frame) render(words []string, draw func(*canvas) error) (template.HTML, error) {
	if strings.TrimSpace(f.Title) == "" {
		return "", errNoTitle
	}
	if f.Note != "" {
		words = append([]string{f.Note}, words...)
	}
	desc := strings.Join(words, " ")
	one := func(width float64, class string) (template.HTML, error) {
		c := &canvas{width: width}
		if err := draw(c); err != nil {
			return "", fmt.Errorf("picture %q: %w", f.Title, err)
		}
		return c.finish("draw "+class, f.Title, desc), nil
	}
	switch f.Size {
	case Phone:
		return one(phoneWidth, "phone")
	case Desk:
		return one(deskWidth, "desk")
	}
	phone, err := one(phoneWidth, "phone only")
	if err != nil {
		return "", err
	}
	desk, err := one(deskWidth, "desk only")
	return phone + desk, err
}

// finite returns an error that names the first number that cannot be drawn.
func finite(what string, values ...float64) error {
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > limit {
			return fmt.Errorf("%s: %v cannot be drawn", what, v)
		}
	}
	return nil
}
