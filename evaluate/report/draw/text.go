package draw

import (
	"strings"
	"unicode"
)

const (
	// fontSize is the size of all text, in units. A picture of 360 units in a
	// column of 358 pixels has it at 11.9 pixels.
	fontSize = 12
	// ascent and descent bound a line of text in common system fonts.
	ascent, descent = 12.5, 4.5
	lineHeight      = ascent + descent
	// edge is kept free on both sides of a picture.
	edge = 1.5
	// heavy is how much wider than plain text bold text can be.
	heavy = 1.16
)

// ascii holds how wide the characters from space to tilde are, in hundredths
// of the font's size: the wider of the advance widths of Liberation Sans (those
// of Arial and Helvetica) and DejaVu Sans, rounded up. Measured in a browser.
var ascii = [...]uint8{
	32, 41, 46, 84, 64, 96, 78, 28, 40, 40, 50, 84, 32, 37, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64,
	64, 64, 34, 34, 84, 84, 84, 56, 102, 69, 69, 73, 77, 67, 62, 78, 76, 30, 50, 67, 57, 87, 75, 79,
	67, 79, 73, 67, 62, 74, 69, 99, 69, 67, 69, 40, 34, 40, 84, 56, 50, 62, 64, 55, 64, 62, 36, 64,
	64, 28, 28, 58, 28, 98, 64, 62, 64, 64, 42, 53, 40, 64, 60, 82, 60, 60, 53, 64, 34, 64, 84,
}

// runeWidth bounds the width of a character, in sizes of the font.
func runeWidth(r rune) float64 {
	if i := int(r) - ' '; i >= 0 && i < len(ascii) {
		return float64(ascii[i]) / 100
	}
	switch r {
	case '\u00a0', '·':
		return 0.32
	case '£', '€':
		return 0.64
	case '−':
		return 0.84
	case '–':
		return 0.56
	}
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r >= 0x1f000: // pictographs
		return 1.4
	case strings.ContainsRune("ÆæŒœŴ…—", r) || r >= 0x250:
		return 1.1
	case unicode.IsUpper(r):
		return 0.85
	}
	return 0.68
}

// textWidth bounds the width of a text, in units.
func textWidth(s string) float64 {
	var w float64
	for _, r := range s {
		w += runeWidth(r)
	}
	return w * fontSize
}

// shorten returns s, or as much of its start as fits in width with an ellipsis.
func shorten(s string, width float64) string {
	if textWidth(s) <= width {
		return s
	}
	w := textWidth("…")
	for i, r := range s {
		if w += runeWidth(r) * fontSize; w > width {
			return strings.TrimRight(s[:i], " \u200d") + "…"
		}
	}
	return s
}

// clean makes one line of any text: white space and control characters become
// single spaces, what is not UTF-8 becomes the replacement character, and marks
// that turn the direction of the text that follows are left out.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		case r == '\u00a0':
			return r
		case unicode.IsControl(r) || unicode.IsSpace(r):
			return ' '
		case r == 0xfffe || r == 0xffff: // not in XML
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
	fields := strings.FieldsFunc(s, func(r rune) bool { return r == ' ' })
	return strings.Join(fields, " ")
}

// widest returns the width of the widest of the texts.
func widest(texts []string) float64 {
	var w float64
	for _, t := range texts {
		w = max(w, textWidth(t))
	}
	return w
}

// sentence joins a name and its numbers for a description.
func sentence(name string, parts ...string) string {
	name = clean(name)
	if name == "" {
		return strings.Join(parts, ", ") + "."
	}
	return name + ": " + strings.Join(parts, ", ") + "."
}
