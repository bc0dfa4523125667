package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"wreckoner/evaluate"
	"wreckoner/evaluate/table"
	"wreckoner/evaluate/table/record"
)

type check struct {
	s     *streams
	shop  shopOption
	lots  lotOptions
	quiet bool
}

func newCheck(s *streams) *cobra.Command {
	c := &check{s: s}
	cmd := &cobra.Command{
		Use:   "check PATH...",
		Short: "Read files, report every fault, change nothing",
		Long:  "Reads lot lists and shop folders, and reports every fault with its line and column. Nothing is changed.",
		Args:  cobra.MinimumNArgs(1),
		RunE:  func(cmd *cobra.Command, args []string) error { return c.run(cmd.Context(), args) },
	}
	c.shop.flags(cmd.Flags())
	c.lots.flags(cmd.Flags())
	cmd.Flags().BoolVarP(&c.quiet, "quiet", "q", false, "no notices")
	return cmd
}

func (c *check) run(ctx context.Context, paths []string) error {
	failed, rejected := false, false
	for _, path := range paths {
		faults, err := c.path(ctx, path)
		if err != nil {
			fmt.Fprintf(c.s.err, "wreckoner: %s\n", err)
			failed = true
		}
		rejected = rejected || faults > 0
	}
	switch {
	case failed:
		return errReported
	case rejected:
		return errRejected
	}
	return nil
}

// path checks one file or folder, and returns how many faults it has.
func (c *check) path(ctx context.Context, path string) (int, error) {
	info, err := os.Stat(path)
	switch {
	case path == "-":
	case err != nil:
		return 0, plainError(err)
	case info.IsDir():
		return c.folder(path)
	case isShopFile(path):
		return 0, fmt.Errorf("%s is a file of a shop folder; check the folder: wreckoner check %s", path, filepath.Dir(path))
	}
	shop, err := c.shop.load(c.s, c.quiet)
	if errors.Is(err, errReported) {
		return 0, fmt.Errorf("%s: the shop has faults, so that the list cannot be judged by it", path)
	}
	if err != nil {
		return 0, err
	}
	list, err := c.s.lots(path, shop, &c.lots, c.quiet)
	if err != nil {
		return 0, err
	}
	e, err := evaluate.New(shop, evaluate.Options{Points: 64}) // few: only faults are of interest
	if err != nil {
		return 0, err
	}
	results, err := c.s.judge(ctx, e, list)
	if err != nil {
		return 0, err
	}
	c.s.report(list.Problems)
	fmt.Fprintf(c.s.out, "%s: %s\n", record.Sanitise(path), tally(len(results), "lot", len(list.Problems)))
	return len(list.Problems), nil
}

func (c *check) folder(path string) (int, error) {
	shop, problems, notices, err := table.ReadShop(path)
	if err != nil {
		return 0, err
	}
	c.s.report(problems)
	if !c.quiet {
		c.s.notice(notices)
	}
	own, builtIn := 0, []string{}
	for _, x := range shop.Sources {
		if x.BuiltIn {
			builtIn = append(builtIn, x.File)
		} else {
			own++
		}
	}
	text := tally(own, "file", len(problems))
	if len(builtIn) > 0 {
		text += "; built in: " + strings.Join(builtIn, ", ")
	}
	fmt.Fprintf(c.s.out, "%s: %s\n", record.Sanitise(path), text)
	return len(problems), nil
}

func isShopFile(path string) bool {
	switch filepath.Base(path) {
	case table.SettingsFile, table.BookFile, table.HiddenFile, table.SegmentsFile, table.CategoriesFile, table.FeesFile, table.LooksFile:
		return true
	}
	return false
}

func tally(good int, what string, faults int) string {
	plural := func(n int, what string) string {
		if n == 1 {
			return "1 " + what
		}
		return fmt.Sprintf("%d %ss", n, what)
	}
	if faults == 0 {
		return plural(good, what) + " read, no fault"
	}
	return plural(good, what) + " read, " + plural(faults, "fault")
}
