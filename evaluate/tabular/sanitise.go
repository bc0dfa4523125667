package tabular

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Sanitise returns the text with nothing in it that could steer a terminal or
// deceive a reader. Line breaks, tabs and the odd spaces of Unicode become a
// space; control characters, terminal escapes, overrides of the direction of
// writing, and invisible, private and unassigned characters are spelled out
// (\x1b, \u202e); bytes that are no UTF-8 become U+FFFD. Sanitising twice changes
// nothing more.
func Sanitise(text string) string {
	if plain(text) {
		return text
	}
	var b strings.Builder
	b.Grow(len(text) + 16)
	for i, r := range text {
		switch {
		case r == '\r' && strings.HasPrefix(text[i+1:], "\n"):
		case r == '\n', r == '\r', r == '\t', unicode.Is(unicode.Z, r):
			b.WriteByte(' ')
		case r == utf8.RuneError:
			b.WriteRune(utf8.RuneError)
		case unicode.IsPrint(r) && !unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r) &&
			!unicode.Is(unicode.Variation_Selector, r):
			b.WriteRune(r)
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
	}
	return b.String()
}

// plain reports whether the text is printable ASCII throughout.
func plain(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return true
}
