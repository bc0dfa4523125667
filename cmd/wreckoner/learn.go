package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/shop"
)

type learner struct {
	s    *streams
	shop shopOption
	cars carFiles
	out  output

	to string
}

func newLearn(s *streams) *cobra.Command {
	c := &learner{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "learn FILES... --ledger LEDGER -o DIR",
		Short: "Learn from finished cars: a new shop folder with better figures",
		Long: "Reads the estimates kept by wreckoner freeze and the ledger, and writes a new shop folder with changed " +
			"figures in\n" +
			"costs.csv and hidden.csv, and in shop.toml coding_up, coding_down, severity_link and inflation. How far each " +
			"moves\n" +
			"depends on how many builds there are: a row with many builds behind it moves little. Nothing else is changed.\n" +
			"learned.csv names the builds used, so that none counts twice. The old folder (--shop) is never changed.\n" +
			"inflation is best set from a published index.",
		Example: "  wreckoner learn cars/*.json --ledger ledger.csv -o myshop-2\n  wreckoner " +
			"learn --shop myshop-2 vantry.json --ledger ledger.csv -o myshop-3",
		Args: wants(1, 0, "name the estimates that wreckoner freeze wrote"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	c.shop.flags(f)
	c.cars.flags(f)
	c.out.flags(f)
	o := f.Lookup("output")
	o.Usage = "the new shop folder `DIR`, which must not exist yet"
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
	paths, err := c.cars.estimates("learn", paths, c.to)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(c.to); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s already exists; learning never changes a folder: name a new one", c.to)
	}
	workshop, err := c.shop.load(c.s, c.out.quiet)
	if err != nil {
		return err
	}
	before, err := c.already(workshop)
	if err != nil {
		return err
	}
	r := &report.Lesson{From: c.shop.folder, To: c.to, Quiet: c.out.quiet}
	fresh, err := c.fresh(paths, before, r)
	if err != nil {
		return err
	}
	if r.Lesson, err = build.Learn(workshop, fresh); err != nil {
		return err
	}
	if len(r.Lesson.Builds) < fewBuilds {
		if err := r.Lesson.Compare(fresh); err != nil {
			return err
		}
	}
	revision := r.Lesson.Revision(before.learned, fresh)
	if r.Evidence, err = c.evidence(workshop, fresh, &revision); err != nil {
		return err
	}
	if err := shop.Revise(c.shop.folder, c.to, revision); err != nil {
		return err
	}
	return c.out.write(r)
}

// fresh returns the finished builds that the folder has not learned from before, which has those of
// before, and writes to the report what else there is. It fails where there are none.
func (c *learner) fresh(paths []string, before *already, r *report.Lesson) ([]*build.Outcome, error) {
	set, err := c.s.builds(paths, c.cars.ledger, &c.cars.columns, c.out.quiet)
	if err != nil {
		return nil, err
	}
	if n := len(set.ledger.Problems); n > 0 {
		return nil, fmt.Errorf("%s: nothing is learned from a ledger with faults (%d, named above); correct them first",
			c.cars.ledger, n)
	}
	r.Aside, r.Currency = set.aside, set.currency
	var fresh []*build.Outcome
	fresh, r.Skipped, r.Listed = before.fresh(set.outcomes)
	switch {
	case len(fresh) > 0:
		return fresh, nil
	case len(r.Skipped)+len(r.Listed) > 0:
		return nil, fmt.Errorf("%s has already learned from all these builds (%s); there is nothing new, and no folder "+
			"was written", c.shop.folder, r.Known())
	}
	for _, a := range set.aside {
		fmt.Fprintf(c.s.err, "%s: %s\n", report.CleanLines(a.Build), report.CleanLines(a.Reason))
	}
	fmt.Fprintln(c.s.err, "none of these builds is finished; no folder was written")
	return nil, errRejected
}

// evidence has the new folder's evidence grow by builds that were bought with evidence, and its
// margin_spread learned from past lots. What it returns is complete once the folder is written.
func (c *learner) evidence(workshop *shop.Shop, fresh []*build.Outcome, revision *shop.Revision) (*report.Gathered,
	error) {
	with := slices.DeleteFunc(slices.Clone(fresh), func(o *build.Outcome) bool { return o.Frozen.Evidence == nil })
	if len(with) == 0 {
		return nil, nil
	}
	out := &report.Gathered{}
	o := evidenceOptions{asCoded: true}
	e, err := o.judge(c.s, c.shop.folder, workshop, evaluate.Options{}, true)
	if err != nil {
		return nil, err
	}
	if files, err := evidence.Read(c.shop.folder, workshop); err != nil {
		return nil, plainError(err)
	} else if spread, enough := files.MarginSpread(e); enough {
		out.MarginSpread = spread
		revision.Settings = append(revision.Settings, shop.SettingEdit{Key: "margin_spread", Values: []float64{spread},
			Note: "learned from past lots"})
	}
	revision.Finish = func(folder string) error {
		learned, problems, _, err := shop.Read(folder)
		if err != nil {
			return err
		}
		if len(problems) > 0 {
			return problems[0]
		}
		predicted := make([]prices.Build, len(with))
		for i, o := range with {
			then := *o.Frozen.Shop()
			then.Costs = learned.Costs
			e, err := evaluate.New(&then, o.Frozen.Options())
			if err != nil {
				return err
			}
			if predicted[i], err = o.AsBuild(e); err != nil {
				return err
			}
		}
		out.Rows, err = evidence.Learn(folder, learned, with, predicted)
		return err
	}
	return out, nil
}
