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
		Short: "A new shop folder: the book and the hidden chances, learned from finished builds",
		Long: "Reads frozen estimates and the ledger, and writes a new shop folder in which each book row and each hidden chance with\n" +
			"evidence says what it should say next time. A row that rests on many builds moves little. What has no evidence is as it\n" +
			"was, to the last byte. learned.csv in the folder names the builds, so that none is counted twice. The folder that is\n" +
			"learned on from (--shop) is never changed.",
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
		return fmt.Errorf("%s is there already; learning never changes a folder: name a new one", c.to)
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
		return fmt.Errorf("%s: nothing is learned from a ledger with faults (%d, named above); mend them first", c.ledger, n)
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
		return fmt.Errorf("no build of these is finished; no folder was written")
	}
	if r.Lesson, err = build.Learn(workshop, fresh); err != nil {
		return err
	}
	if err := shop.Revise(c.shop.folder, c.to, r.Lesson.Revision(before, fresh)); err != nil {
		return err
	}
	return c.out.write(r)
}
