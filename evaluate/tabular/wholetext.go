package tabular

import "io"

// WriteFile writes bytes to a new file, or over the old one, whole or not at all.
func WriteFile(path string, content []byte) error {
	return Write(path, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}
