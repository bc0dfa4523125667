package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"wreckoner/damage/book"
	"wreckoner/evaluate/table/whole"
)

func newStart(s *streams) *cobra.Command {
	return &cobra.Command{
		Use:   "start DIR",
		Short: "Write the starter shop folder, to edit",
		Long:  "Writes the built-in starter figures as a shop folder, to be made your own. Nothing is overwritten.",
		Args:  cobra.ExactArgs(1),
		RunE:  func(_ *cobra.Command, args []string) error { return start(s, args[0]) },
	}
}

func start(s *streams, dir string) error {
	files, err := fs.ReadDir(book.Starter(), ".")
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name())
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s is there already; name a new folder, or move it away", path)
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return plainError(err)
	}
	for _, f := range files {
		text, err := fs.ReadFile(book.Starter(), f.Name())
		if err != nil {
			return err
		}
		if err := whole.WriteFile(filepath.Join(dir, f.Name()), text); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.err, "wrote %d files to %s; edit them, then use --shop %s\n", len(files), dir, dir)
	return nil
}
