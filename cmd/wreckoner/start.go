package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"wreckoner/damage/costs"
	"wreckoner/damage/listing"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

func newStart(s *streams) *cobra.Command {
	return &cobra.Command{
		Use:   "start DIR",
		Short: "Write a shop folder of starter figures, to make your own",
		Long: "Writes the built-in starter figures as a shop folder, for you to change. Nothing is " +
			"overwritten.\nwreckoner help shop says what each file is for.",
		Args: wants(1, 1, "name one new folder"),
		RunE: func(_ *cobra.Command, args []string) error { return start(s, args[0]) },
	}
}

func start(s *streams, dir string) error {
	files, err := starterFiles()
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(dir, f.name)
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s already exists; name a new folder, or move it away", path)
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return plainError(err)
	}
	for _, f := range files {
		if err := tabular.WriteFile(filepath.Join(dir, f.name), f.text); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.err, "wrote %d files to %s; edit them, then use --shop %s\n", len(files), dir, dir)
	return nil
}

type starterFile struct {
	name string
	text []byte
}

// starterFiles returns the shop's tables and the lexicon.
func starterFiles() ([]starterFile, error) {
	entries, err := fs.ReadDir(costs.Starter(), ".")
	if err != nil {
		return nil, err
	}
	var files []starterFile
	for _, e := range entries {
		text, err := fs.ReadFile(costs.Starter(), e.Name())
		if err != nil {
			return nil, err
		}
		files = append(files, starterFile{e.Name(), text})
	}
	return append(files, starterFile{shop.LexiconFile, []byte(listing.StarterCSV())}), nil
}
