package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/shop"
)

type learner struct {
	s    *streams
	shop shopOption
	maps ledgerOptions
	out  output

	ledger string
	to     string
}

func newLearn(s *streams) *cobra.Command {
	c := &learner{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "learn FILES... --ledger LEDGER -o DIR",
		Short: "Learn from finished builds: write a new shop folder with better figures",
		Long: "Reads frozen estimates and the ledger, and writes a new shop folder: costs.csv, hidden.csv, and in shop.toml coding_up,\n" +
			"coding_down, severity_link and inflation, each as far as the builds speak for it. A row that rests on many builds moves\n" +
			"little. Everything else stays as it was, to the last byte. learned.csv in the folder names the builds, so that none is\n" +
			"counted twice. The folder that is learned on from (--shop) is never changed. inflation is best set from a published index.",
		Example: "  wreckoner learn samples/builds/*.json --ledger samples/builds/ledger.csv -o myshop-2\n  wreckoner learn --shop myshop-2 vantry.json --ledger ledger.csv -o myshop-3",
		Args:    cobra.MinimumNArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	f.StringVar(&c.ledger, "ledger", "", "the `LEDGER`")
	c.shop.flags(f)
	c.maps.flags(f)
	c.out.flags(f)
	o := f.Lookup("output")
	o.Usage = "the new shop folder `DIR`, which must not be there yet"
	return cmd
}

// fewBuilds is the number below which what both folders say of the cars is shown.
const fewBuilds = 30

func (c *learner) run(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	if c.to, c.out.file = c.out.file, ""; c.to == "" {
		return usagef("learn: name the new shop folder: -o myshop-2")
	}
	if c.ledger == "" {
		return usagef("learn: name the ledger: --ledger ledger.csv")
	}
	paths, err := expand(paths, ".json")
	if err != nil {
		return err
	}
	if err := single(append(paths, c.ledger, c.to)...); err != nil {
		return err
	}
	if _, err := os.Lstat(c.to); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s already exists; learning never changes a folder: name a new one", c.to)
	}
	workshop, err := c.shop.load(c.s, c.out.quiet)
	if err != nil {
		return err
	}
	before, problems, err := shop.ReadLearned(c.shop.folder)
	if err != nil {
		return plainError(err)
	}
	if c.s.report(problems); len(problems) > 0 {
		return errReported
	}
	set, err := c.s.builds(paths, c.ledger, &c.maps, c.out.quiet)
	if err != nil {
		return err
	}
	if n := len(set.ledger.Problems); n > 0 {
		return fmt.Errorf("%s: nothing is learned from a ledger with faults (%d, named above); correct them first", c.ledger, n)
	}
	r := &report.Lesson{From: c.shop.folder, To: c.to, Aside: set.aside, Currency: set.currency, Quiet: c.out.quiet}
	var fresh []*build.Outcome
	for _, o := range set.outcomes {
		if shop.Knows(before, o.Build.Name, o.Frozen.Digest) {
			r.Skipped = append(r.Skipped, o.Build.Name)
			continue
		}
		fresh = append(fresh, o)
	}
	switch {
	case len(fresh) == 0 && len(r.Skipped) > 0:
		return fmt.Errorf("%s was learned from all of these builds already (%s); there is nothing new, and no folder was written", c.shop.folder, shop.LearnedFile)
	case len(fresh) == 0:
		for _, a := range set.aside {
			fmt.Fprintf(c.s.err, "%s: %s\n", report.CleanLines(a.Build), report.CleanLines(a.Reason))
		}
		fmt.Fprintln(c.s.err, "no build of these is finished; no folder was written")
		return errRejected
	}
	if r.Lesson, err = build.Learn(workshop, fresh); err != nil {
		return err
	}
	if len(r.Lesson.Builds) < fewBuilds {
		if err := r.Lesson.Compare(fresh); err != nil {
			return err
		}
	}
	if err := shop.Revise(c.shop.folder, c.to, r.Lesson.Revision(before, fresh)); err != nil {
		return err
	}
	return c.out.write(r)
}
