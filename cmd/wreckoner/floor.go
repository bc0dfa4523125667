package main

import (
	"encoding/json"
	"io"
	"time"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/shop"
)

type floorCommand struct {
	s       *streams
	columns ledgerOptions
	out     output
	html    htmlOption

	ledger, shop, asOf, forPlan string
	seed                        uint64
}

func newFloor(s *streams) *cobra.Command {
	c := &floorCommand{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "floor FILES... --ledger LEDGER",
		Short: "All open cars: which to work on next, what to chase, when the money comes",
		Long: "Reads every frozen estimate and the ledger, and says of the cars that are not sold which to work on next and what to\n" +
			"chase by phone today; then how each stands, and week by week what cash they tie up, what bays they take and what own\n" +
			"hours they want.\n\n" +
			"A row of the ledger with a due date is a part that is ordered and not here; any later row of the same zone and class\n" +
			"without one says that it came. In shop.toml, bays is how many cars can be worked on indoors.\n" +
			"wreckoner review -h describes the ledger.",
		Example: "  wreckoner floor samples/floor/*.json --ledger samples/floor/ledger.csv --as-of 2026-03-09\n" +
			"  wreckoner floor cars/*.json --ledger ledger.csv --html wall.html",
		Args: cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args) },
	}
	f := cmd.Flags()
	f.StringVar(&c.ledger, "ledger", "", "the `LEDGER`")
	f.StringVar(&c.asOf, "as-of", "", "`DATE` to count days from, such as 2026-04-30; without it today")
	f.StringVar(&c.shop, "shop", "", "shop `DIR` for bays and hours; without it those of the car bought last, as frozen")
	f.Uint64Var(&c.seed, "seed", 1, "picks the simulated runs; the same seed gives the same figures")
	f.StringVar(&c.forPlan, "for-plan", "", "also write what comes free, and when, as JSON to `FILE`")
	c.columns.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	return cmd
}

func (c *floorCommand) run(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	paths, err := expand(paths, ".json")
	if err != nil {
		return err
	}
	if c.ledger == "" {
		return usagef("floor: name the ledger: --ledger ledger.csv")
	}
	if err := single(append(paths, c.ledger, c.out.file, c.html.file, c.forPlan)...); err != nil {
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
	k, err := c.s.kept(paths, c.ledger, &c.columns, c.out.quiet)
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
