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
		Short: "Compare the ways of getting a job done: what to try first, what to fall back on",
		Long: "Reads ways of getting jobs done (CSV; - is standard input), and says which to try first and what to fall back on.\n\n" +
			"A row is one option of one job:\n" +
			"  job, option     names of your own\n" +
			"  low, mid, high  what is paid for it: one in ten at or under low, half at or under mid, one in ten above high\n" +
			"  hours           own hours; lead_days: the days to wait before they begin\n" +
			"  works           the chance that it fits and works, above 0 and up to 1; 1 is certain\n" +
			"  lost_if_not     how much of what was paid does not come back if it does not work, in money; blank: all of it\n" +
			"  note            carried through\n" +
			"  after           jobs that must be done first, split by spaces or ;\n\n" +
			"Labour rate, hours a day and the cost of a day are the shop's. Where no row has an after, each job stands alone and all\n" +
			"its days cost holding. Where one has, all jobs are jobs of one car: their plans are chosen together, and a day of a\n" +
			"job costs holding only so far as it delays the whole car.",
		Example: "  wreckoner source samples/sourcing.csv\n  wreckoner source --holding 30 samples/sourcing.csv\n  wreckoner source --top 0 --format csv samples/sourcing.csv",
		Args:    cobra.ExactArgs(1),
		RunE:    func(cmd *cobra.Command, args []string) error { return c.run(args[0], cmd.Flags().Changed("holding")) },
	}
	f := cmd.Flags()
	c.shop.flags(f)
	c.lots.flags(f)
	c.out.flags(f)
	f.Float64Var(&c.holding, "holding", 0, "what a day costs, `POUNDS`; without it the shop's holding_per_day")
	f.IntVar(&c.top, "top", 4, "give the `N` cheapest plans of each job; 0 gives all")
	return cmd
}

func (c *sourcing) run(path string, holding bool) error {
	if err := c.out.check(); err != nil {
		return err
	}
	if c.top < 0 {
		return usagef("--top %d: write 0 or more", c.top)
	}
	if !(c.holding >= 0) || math.IsInf(c.holding, 0) {
		return usagef("--holding %v: write 0 or more pounds a day", c.holding)
	}
	if err := single(path, c.out.file); err != nil {
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
