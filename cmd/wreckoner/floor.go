package main

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/shop"
)

type floorCommand struct {
	s    *streams
	cars carFiles
	out  output
	html htmlOption

	shop, asOf, forPlan string
	seed                uint64
}

func newFloor(s *streams) *cobra.Command {
	c := &floorCommand{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "floor FILES... --ledger LEDGER",
		Short: "All open cars: what to work on, what to chase, when money comes in",
		Long: "Reads the estimates kept by wreckoner freeze and the ledger. For the cars not sold yet it says which to " +
			"work on next\n" +
			"and what to chase by phone today; then how far each has got, and week by week how much cash they tie up and how\n" +
			"many bays and hours of yours they need.\n\n" +
			"A ledger row with a due date is a part on order; a later row of the same zone and class without one means it " +
			"came.\n" +
			"In shop.toml, bays is how many cars can be worked on indoors. wreckoner help ledger describes the ledger.",
		Example: "  wreckoner floor samples/floor/*.json --ledger samples/floor/ledger.csv\n" +
			"  wreckoner floor cars/*.json --ledger ledger.csv --as-of 2026-03-09",
		Args: wants(1, 0, "name the estimates that wreckoner freeze wrote"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	f.StringVar(&c.asOf, "as-of", "", "`DATE` to count days from, such as 2026-04-30; without it today")
	f.StringVar(&c.shop, "shop", "", "shop folder `DIR` for bays and hours; without it, as kept with the car bought last")
	f.Uint64Var(&c.seed, "seed", 1, "`N` picks the simulated runs; the same seed gives the same figures")
	f.StringVar(&c.forPlan, "for-plan", "",
		"also write as JSON to `FILE` what comes free, and the day by which it has in half of the runs")
	c.cars.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	return cmd
}

func (c *floorCommand) run(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	paths, err := c.cars.estimates("floor", paths, c.out.file, c.html.file, c.forPlan)
	if err != nil {
		return err
	}
	asOf, err := dayOption("--as-of", c.asOf)
	if err != nil {
		return err
	}
	var workshop *shop.Shop
	if c.shop != "" {
		if workshop, err = (&shopOption{c.shop}).load(c.s, c.out.quiet); err != nil {
			return err
		}
	}
	k, err := c.s.kept(paths, c.cars.ledger, &c.cars.columns, c.out.quiet)
	if err != nil {
		return err
	}
	if asOf.IsZero() {
		now := time.Now()
		asOf = time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	}
	whole, strangers, err := floor.Whole(k.frozen, k.ledger, workshop, floor.Settings{AsOf: asOf, Seed: c.seed})
	if err != nil {
		return err
	}
	r := &report.Floor{Floor: whole, Said: append(k.said, strangers...), Currency: k.currency, Quiet: c.out.quiet}
	if err := c.write(r); err != nil {
		return err
	}
	if k.bad {
		return errRejected
	}
	return nil
}

func (c *floorCommand) write(r *report.Floor) error {
	if c.forPlan != "" && !c.out.quiet {
		r.Said = append(r.Said, fmt.Sprintf("%s has the day by which each bay and sale has come in half of the runs; the "+
			"table has the average, which is later", c.forPlan))
	}
	if err := c.s.page(c.html, func(w io.Writer) error { return page.Floor(w, r) }); err != nil {
		return err
	}
	if c.forPlan != "" {
		err := c.s.whole(c.forPlan, func(w io.Writer) error {
			enc := json.NewEncoder(w)
			enc.SetIndent("", " ")
			return enc.Encode(r.Free(0.5))
		})
		if err != nil {
			return err
		}
	}
	return c.out.write(r)
}
