package main

import (
	"io"
	"path/filepath"

	"github.com/spf13/pflag"
)

// htmlOption names a page to write beside the normal output.
type htmlOption struct{ file string }

func (o *htmlOption) flags(f *pflag.FlagSet) {
	f.StringVar(&o.file, "html", "", "also write a page to `FILE`, to look at or print")
}

// page writes the page, if one is asked for.
func (s *streams) page(o htmlOption, write func(io.Writer) error) error {
	if o.file == "" {
		return nil
	}
	return s.whole(o.file, write)
}

// listName names a list for a page's heading.
func listName(path string) string {
	if path == "-" {
		return "standard input"
	}
	return filepath.Base(path)
}
