package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"wreckoner/damage"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
)

type prober struct {
	judging

	found, notThere string // damage codes
}

func newProbe(s *streams) *cobra.Command {
	c := &prober{judging: newJudging(s)}
	cmd := &cobra.Command{
		Use:   "probe LOTS LOT...",
		Short: "One lot: what hidden damage would cost, and what to check first",
		Long: "Says which inspection of a lot (or of several) is worth paying for, and where to stop once you know. " +
			"Then, for\n" +
			"all hidden damage: what it would cost, the margin and the price to stop at with it and without, and what it\n" +
			"is worth to know before bidding; and what every uncertain figure could change.\n" +
			"--html writes a page on which you tick what you find at the car, and the price to stop at moves at once;\n" +
			"--found and --not-there say the same here.",
		Example: "  wreckoner probe samples/sale.csv 7\n" +
			"  wreckoner probe samples/sale.csv 7 --found \"front-near m2\"",
		Args: wants(2, 0, "name the lot list and a lot"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd.Context(), args[0], args[1:]) },
	}
	f := cmd.Flags()
	c.judging.flags(f)
	f.StringVar(&c.found, "found", "", "what you found at the car, as a damage `CODE`: \"nose m1; under m3\"")
	f.StringVar(&c.notThere, "not-there", "", "what you looked for and is not there, as a damage `CODE`")
	return cmd
}

func (c *prober) run(ctx context.Context, path string, numbers []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	if err := single(path, c.out.file, c.html.file); err != nil {
		return err
	}
	e, opt, err := c.evaluator()
	if err != nil {
		return err
	}
	shop := e.Shop()
	opt.Prices, opt.AsCoded = e.Prices(), c.facts.asCoded
	list, err := c.s.lots(path, shop, &c.lots, c.out.quiet)
	if err != nil {
		return err
	}
	r := &report.Probes{Currency: shop.Currency, Seed: opt.Seed, Points: opt.Points, Quiet: c.out.quiet}
	for _, number := range numbers {
		lot, err := list.Find(number)
		if err != nil {
			c.s.report(list.Problems)
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		p, err := probe.Run(shop, opt, lot)
		if err != nil {
			return err
		}
		if err := c.inspect(p); err != nil {
			return err
		}
		r.Probes = append(r.Probes, p)
	}
	if err := c.s.page(c.html, func(w io.Writer) error { return page.Probe(w, r) }); err != nil {
		return err
	}
	return c.facts.done(c.out.write(r))
}

// inspect takes up what was found at the car.
func (c *prober) inspect(p *probe.Probe) error {
	if c.found == "" && c.notThere == "" {
		return nil
	}
	found, err := codeOf("--found", c.found)
	if err != nil {
		return err
	}
	notThere, err := codeOf("--not-there", c.notThere)
	if err != nil {
		return err
	}
	if err := p.Inspect(found, notThere); err != nil {
		return usageError{err}
	}
	return nil
}

// codeOf reads the damage code that an option has; blank is nothing.
func codeOf(option, text string) (damage.Code, error) {
	if text == "" {
		return damage.Code{}, nil
	}
	code, err := damage.Parse(text)
	if err != nil {
		return damage.Code{}, usageError{fmt.Errorf("%s: %w", option, err)}
	}
	return code, nil
}
