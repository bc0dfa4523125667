package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/report"
	"wreckoner/evaluate/source"
	"wreckoner/evaluate/tabular"
)

type sourcing struct {
	s    *streams
	shop shopOption
	lots mapOption
	out  output

	holding float64
	top     int
}

func newSource(s *streams) *cobra.Command {
	c := &sourcing{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "source OPTIONS",
		Short: "Ways of getting a job done: what to try first, and what then",
		Long: "Reads a file of ways to get jobs done (CSV; - is standard input), and says which to try first and what to " +
			"fall back\n" +
			"on. wreckoner help options describes the file. Labour rate, hours a day and the cost of a day come " +
			"from the shop\n" +
			"folder. If a row has an after, all jobs are jobs of one car, and a day costs only if it delays the car.",
		Example: "  wreckoner source samples/sourcing.csv\n  wreckoner source --holding 30 samples/sourcing.csv\n  " +
			"wreckoner source --top 0 --format csv samples/sourcing.csv",
		Args: wants(1, 1, "name one file of options"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(args[0], cmd.Flags().Changed("holding")) },
	}
	f := cmd.Flags()
	c.shop.flags(f)
	c.lots.flags(f)
	c.out.flags(f)
	f.Float64Var(&c.holding, "holding", 0, "`POUNDS` that a day costs; without it holding_per_day of the shop folder")
	f.IntVar(&c.top, "top", 4, "show the `N` cheapest plans of each job; 0 shows all")
	return cmd
}

func (c *sourcing) run(path string, holding bool) error {
	if err := c.check(path); err != nil {
		return err
	}
	shop, err := c.shop.load(c.s, c.out.quiet)
	if err != nil {
		return err
	}
	list, err := c.read(path)
	if err != nil {
		return err
	}
	c.s.report(list.Problems)
	switch {
	case list.Unordered:
		return errReported
	case len(list.Jobs) == 0 && len(list.Problems) > 0:
		return errReported
	case len(list.Jobs) == 0:
		return fmt.Errorf("%s: has a header and no rows; write one for each way to get a job done", path)
	}
	rates := source.Rates{Labour: shop.LabourRate, HoursPerDay: shop.HoursPerDay, Holding: shop.HoldingPerDay}
	if holding {
		rates.Holding = c.holding
	}
	result, err := source.Compare(list.Jobs, rates, c.top)
	if err != nil {
		return err
	}
	err = c.out.write(&report.Sourcing{
		Result: result, Rejected: list.Problems, Notices: list.Notices,
		Currency: shop.Currency, Folder: c.shop.folder, Own: holding, Quiet: c.out.quiet,
	})
	if err == nil && len(list.Problems) > 0 {
		err = errRejected
	}
	return err
}

// check says what is wrong with the options.
func (c *sourcing) check(path string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	if c.top < 0 {
		return usagef("--top %d: write 0 or more", c.top)
	}
	if !(c.holding >= 0) || math.IsInf(c.holding, 0) {
		return usagef("--holding %v: write 0 or more pounds a day", c.holding)
	}
	return single(path, c.out.file)
}

// read reads the options and prints what was guessed or passed over.
func (c *sourcing) read(path string) (*source.Sourcing, error) {
	r, name, err := c.s.open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	list, err := source.ReadSourcing(tabular.NewCSV(name, r), c.lots.columns)
	if err != nil {
		return nil, err
	}
	if !c.out.quiet {
		c.s.notice(list.Notices)
	}
	return list, nil
}
