package main

import (
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"wreckoner/evaluate"
	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// asOfOption is the day of the reckoning.
type asOfOption struct{ text string }

func (o *asOfOption) flags(f *pflag.FlagSet) {
	f.StringVar(&o.text, "as-of", "",
		"use what was known on `DATE`, such as 2026-04-30; without it, on the latest day of any row")
}

// day is the day named; zero where none is.
func (o *asOfOption) day() (time.Time, error) {
	if o.text == "" {
		return time.Time{}, nil
	}
	day, err := tabular.NewCell(o.text).Date()
	if err != nil {
		return time.Time{}, usageError{fmt.Errorf("--as-of: %w", err)}
	}
	return day, nil
}

// evidenceOptions say how evidence is used.
type evidenceOptions struct {
	asOf    asOfOption
	asCoded bool
	// faults is how many rows of evidence were left out, after judge.
	faults int
}

func (o *evidenceOptions) flags(f *pflag.FlagSet) {
	o.asOf.flags(f)
	f.BoolVar(&o.asCoded, "as-coded", false, "margins without the top-bidder allowance (wreckoner help words)")
}

// judge returns the evaluator of a shop, with what the evidence in its folder says. Faults and
// notices are reported, and the other rows count.
func (o *evidenceOptions) judge(s *streams, folder string, workshop *shop.Shop, opt evaluate.Options,
	quiet bool) (*evaluate.Evaluator, error) {
	day, err := o.asOf.day()
	if err != nil {
		return nil, err
	}
	opt.AsCoded = o.asCoded
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		return nil, err
	}
	files, err := evidence.Read(folder, workshop)
	if err != nil {
		return nil, plainError(err)
	}
	s.report(files.Problems)
	o.faults = len(files.Problems)
	if files.Empty() && !workshop.Evidence.Corrects() {
		return e, nil
	}
	m, notices, err := files.Fit(e, day, false)
	if err != nil {
		return nil, err
	}
	if !quiet {
		s.notice(append(files.Notices, notices...))
	}
	e.Appraise(m)
	return e, nil
}

// done is what a command that did its work returns.
func (o *evidenceOptions) done(err error) error {
	if err == nil && o.faults > 0 {
		return errRejected
	}
	return err
}

// evidence says what the evidence of a shop folder says by itself.
func (c *check) evidence(files *evidence.Files, workshop *shop.Shop) error {
	if files.Empty() {
		return nil
	}
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		return err
	}
	day, err := c.asOf.day()
	if err != nil {
		return err
	}
	m, notices, err := files.Fit(e, day, true)
	if err != nil {
		return err
	}
	if !c.quiet {
		c.s.notice(notices)
	}
	c.s.print("as of %s: %s, %s, %s\n", m.AsOf.Format(time.DateOnly), tabular.Count(len(files.Adverts), "advert"),
		tabular.Count(len(files.Results), "past lot"), tabular.Count(len(files.Builds), "build"))
	for _, site := range m.Sites() {
		name := site.Name
		if name == "" {
			name = "no site named"
		}
		c.s.print("%s: %d sold, %d not sold, %d withdrawn\n", tabular.Sanitise(name), site.Sold, site.Unsold, site.Withdrawn)
	}
	report, err := files.Backtest(e, day)
	if err != nil {
		return err
	}
	c.backtest(&report)
	return nil
}

// backtest says how well each day's prices were foretold from the days before it.
func (c *check) backtest(r *prices.BacktestReport) {
	if r.Guided.Lots+r.Bare.Lots+r.Sales.Lots == 0 {
		return
	}
	c.s.print("back-test: each day predicted from the days before it (8 in 10 should fall inside their range; the " +
		"smaller\n" +
		"error is better: mean CRPS as a share of the price)\n")
	for _, line := range []struct {
		what, other string
		score       *prices.Score
	}{
		{"hammer prices of lots with a guide price", "guide_spread alone", &r.Guided},
		{"hammer prices of lots without one", "guide_share alone", &r.Bare},
		{"own sales", "the list's value alone", &r.Sales},
	} {
		if n := line.score.Lots; n > 0 {
			c.s.print("  %s: %d of %d inside, error %.1f%%; by %s %d inside, error %.1f%%\n", line.what, line.score.Inside, n,
				100*line.score.CRPS, line.other, line.score.FixedInside, 100*line.score.FixedCRPS)
		}
	}
}
