package tabular

import (
	"fmt"
	"io"
)

// Delimiter returns what stands between the cells; a comma until the header is
// read.
func (s *CSV) Delimiter() rune {
	if s.comma == 0 {
		return ','
	}
	return rune(s.comma)
}

// UTF8 reports whether all that was read so far was UTF-8, with or without a mark.
func (s *CSV) UTF8() bool { return !s.wide && s.decoder.western.count == 0 }

// ReadText reads a whole text file that is no table, such as settings, in the
// encodings that a CSV may have. file is its name in errors.
func ReadText(file string, r io.Reader) (string, error) {
	plain, _, err := unmark(r)
	if err != nil {
		return "", fmt.Errorf("%s: %w", file, err)
	}
	text, err := io.ReadAll(plain)
	if err != nil {
		return "", fmt.Errorf("%s: %w", file, err)
	}
	var d decoder
	return d.text(text, 1), nil
}
