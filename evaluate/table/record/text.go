package record

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

// ReadText reads a whole text file that is no table, such as settings, in the
// encodings that a CSV may have. file is its name in errors.
func ReadText(file string, r io.Reader) (string, error) {
	plain, err := unmark(r)
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
