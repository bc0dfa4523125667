package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/year"
)

type yearCommand struct {
	s    *streams
	cars carFiles
	out  output
	html htmlOption

	shop, from, to string
	details        bool
}

func newYear(s *streams) *cobra.Command {
	c := &yearCommand{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "year FILES... --ledger LEDGER",
		Short: "All sold cars: what to buy more of, what hours and bays earned",
		Long: "Reads the estimates kept by wreckoner freeze and the ledger. For the cars sold it says what to buy more " +
			"of and less of,\n" +
			"what an hour of yours, a bay day and the money tied up earned, how far off the estimates were, the profit " +
			"before tax,\n" +
			"and twelve months' turnover beside vat_threshold. It is not tax advice.\n\n" +
			"For costs that belong to no car, such as rent and wages, write ledger rows with a date and what, and no build.\n" +
			"wreckoner help ledger describes the ledger.",
		Example: "  wreckoner year samples/floor/*.json --ledger samples/floor/ledger.csv\n" +
			"  wreckoner year cars/*.json --ledger ledger.csv --from 2025-04-06",
		Args: wants(1, 0, "name the estimates that wreckoner freeze wrote"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	f.StringVar(&c.from, "from", "", "first `DATE`, such as 2025-04-06; without it, a year before the last")
	f.StringVar(&c.to, "to", "", "last `DATE`; without it, the day of the last sale")
	f.StringVar(&c.shop, "shop", "",
		"shop folder `DIR` for vat_threshold and sale_every; without it, as kept with the car bought last")
	f.BoolVar(&c.details, "details", false, "list every car, even where there are many")
	c.cars.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	return cmd
}

func (c *yearCommand) run(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	paths, err := c.cars.estimates("year", paths, c.out.file, c.html.file)
	if err != nil {
		return err
	}
	var set year.Settings
	if set.From, err = dayOption("--from", c.from); err != nil {
		return err
	}
	if set.To, err = dayOption("--to", c.to); err != nil {
		return err
	}
	k, err := c.s.kept(paths, c.cars.ledger, &c.cars.columns, c.out.quiet)
	if err != nil {
		return err
	}
	r, err := c.year(k, set)
	if err != nil {
		return err
	}
	if err := c.s.page(c.html, func(w io.Writer) error { return page.Year(w, r) }); err != nil {
		return err
	}
	if err := c.out.write(r); err != nil {
		return err
	}
	if k.bad {
		return errRejected
	}
	return nil
}

// year works out the year of the sold cars.
func (c *yearCommand) year(k *keptFiles, set year.Settings) (*report.Year, error) {
	workshop := floor.Latest(k.frozen, k.ledger)
	if c.shop != "" {
		var err error
		if workshop, err = (&shopOption{c.shop}).load(c.s, c.out.quiet); err != nil {
			return nil, err
		}
	}
	set.Threshold, set.Registered, set.SaleEvery =
		workshop.VATThreshold, workshop.VATRegistered, workshop.DaysBetweenSales()
	r := &report.Year{Said: append(k.said, floor.Strangers(k.frozen, k.ledger)...), Currency: k.currency,
		Details: c.details, Quiet: c.out.quiet}
	var cars []year.Car
	for _, f := range k.frozen {
		b, ok := k.ledger.Build(f.Build)
		if !ok || !b.Finished() {
			r.Open++
			continue
		}
		o, err := build.Compare(f, b)
		if err != nil {
			r.Said = append(r.Said, fmt.Sprintf("%s: sold, and not counted: %v", f.Build, err))
			continue
		}
		car, err := year.Sold(o)
		if err != nil {
			return nil, err
		}
		cars = append(cars, car)
	}
	var err error
	if r.Year, err = year.New(cars, year.Costs(k.ledger), set); err != nil {
		return nil, usageError{err}
	}
	return r, nil
}
