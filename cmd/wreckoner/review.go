package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/tabular"
)

type reviewer struct {
	s    *streams
	cars carFiles
	out  output
	html htmlOption

	details bool
}

func newReview(s *streams) *cobra.Command {
	c := &reviewer{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "review FILES... --ledger LEDGER",
		Short: "Finished cars: estimate and actual, and where estimates go wrong",
		Long: "Reads the estimates kept by wreckoner freeze and the ledger (CSV or .xlsx; - is standard input), and " +
			"compares what each\n" +
			"car was expected to cost with what it did. A car is finished when the ledger has its sale.\n" +
			"wreckoner help ledger describes the ledger.",
		Example: "  wreckoner review samples/builds/*.json --ledger samples/builds/ledger.csv\n  wreckoner review " +
			"vantry.json --ledger ledger.csv",
		Args: wants(1, 0, "name the estimates that wreckoner freeze wrote"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	f.BoolVar(&c.details, "details", false, "show every car line by line, and the scores that statisticians read")
	c.cars.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	return cmd
}

func (c *reviewer) run(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	paths, err := c.cars.estimates("review", paths, c.out.file, c.html.file)
	if err != nil {
		return err
	}
	set, err := c.s.builds(paths, c.cars.ledger, &c.cars.columns, c.out.quiet)
	if err != nil {
		return err
	}
	r := &report.Review{Outcomes: set.outcomes, Aside: set.aside, Unplaced: set.ledger.Unplaced, Currency: set.currency,
		Details: c.details, Quiet: c.out.quiet}
	if len(set.outcomes) > 0 {
		if r.Calibration, err = build.Calibrate(set.outcomes); err != nil {
			return err
		}
		if r.Winning, err = build.WinningOf(set.outcomes); err != nil {
			return err
		}
	}
	if lacking := build.LackingOf(set.outcomes, set.ledger.File); lacking != "" && !c.out.quiet {
		c.s.notice([]string{lacking})
	}
	if others := set.ledger.Others(set.names()); others != "" && !c.out.quiet {
		c.s.notice([]string{others})
	}
	if err := c.s.page(c.html, func(w io.Writer) error { return page.Review(w, r) }); err != nil {
		return err
	}
	if err := c.out.write(r); err != nil {
		return err
	}
	if len(set.ledger.Problems) > 0 {
		return errRejected
	}
	return nil
}

// builds are frozen estimates beside the ledger.
type builds struct {
	ledger   *build.Ledger
	outcomes []*build.Outcome
	aside    []report.Aside
	currency string
}

// names are those of all the builds, finished or not.
func (s *builds) names() (all []string) {
	for _, o := range s.outcomes {
		all = append(all, o.Frozen.Build)
	}
	for _, a := range s.aside {
		all = append(all, a.Build)
	}
	return all
}

// builds reads frozen estimates and the ledger, and compares those that are
// finished.
func (s *streams) builds(paths []string, ledger string, columns *ledgerOptions, quiet bool) (*builds, error) {
	inputs := slices.DeleteFunc(append(slices.Clone(paths), ledger), func(p string) bool { return p != "-" })
	if len(inputs) > 1 {
		return nil, usagef("only one of the files can be standard input")
	}
	var all []*build.Frozen
	set := &builds{}
	at := map[string]string{}
	for _, path := range paths {
		f, err := s.frozen(path)
		if other, ok := errors.AsType[*build.VersionError](err); ok && len(paths) > 1 {
			set.aside = append(set.aside, report.Aside{Build: filepath.Base(path), Reason: other.Error()})
			continue
		}
		if err != nil {
			return nil, err
		}
		if first, dup := at[tabular.Canonical(f.Build)]; dup {
			return nil, fmt.Errorf("%s: is build %q, and so is %s; name each build once", path, f.Build, first)
		}
		at[tabular.Canonical(f.Build)] = path
		if currency := f.Shop().Currency; len(all) > 0 && currency != all[0].Shop().Currency {
			return nil, fmt.Errorf("%s: is in %s, the others in %s; review them separately", path, currency,
				all[0].Shop().Currency)
		}
		all = append(all, f)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s", set.aside[0].Reason)
	}
	l, err := s.ledger(ledger, columns, all, quiet)
	if err != nil {
		return nil, err
	}
	s.against(l, quiet, all...)
	set.ledger, set.currency = l, all[0].Shop().Currency
	for _, f := range all {
		b, ok := l.Build(f.Build)
		if !ok {
			err = l.Missing(f.Build)
		} else {
			var o *build.Outcome
			if o, err = build.Compare(f, b); err == nil {
				set.outcomes = append(set.outcomes, o)
				continue
			}
		}
		set.aside = append(set.aside, report.Aside{Build: f.Build, Lot: f.Kept.Lot, Reason: err.Error()})
	}
	return set, nil
}

// against says what in the ledger does not fit the frozen builds.
func (s *streams) against(l *build.Ledger, quiet bool, frozen ...*build.Frozen) {
	expected := map[string]build.Expected{}
	for _, f := range frozen {
		x, err := f.Expected()
		if err != nil {
			x = build.Expected{Hammer: f.Hammer} // whoever works with the estimate reports it
		}
		expected[f.Build] = x
	}
	if !quiet {
		s.notice(l.Against(expected, time.Now()))
	}
}
