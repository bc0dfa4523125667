package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

type reforecaster struct {
	s    *streams
	out  output
	html htmlOption

	asIs, parts, asOf string
	ledgerAs          ledgerOptions
}

func newReforecast(s *streams) *cobra.Command {
	c := &reforecaster{s: s, out: output{s: s}}
	cmd := &cobra.Command{
		Use:   "reforecast FILE LEDGER",
		Short: "A car in progress: spent so far, still to pay, go on or stop",
		Long: "Reads a car's estimate and the ledger (CSV; - is standard input), and says what the repair will come to, " +
			"how long it\n" +
			"will take, and whether to finish the car, sell it as it is or break it for parts.\n\n" +
			"Finished jobs count at cost, open jobs at what is still to pay; damage found is included, and damage checked " +
			"and not\n" +
			"there is dropped. Jobs that cost more than expected, and hidden damage found, raise the forecast for the rest.\n" +
			"wreckoner help ledger describes the ledger.",
		Example: "  wreckoner reforecast samples/half/tarnrake.json samples/half/ledger.csv\n" +
			"  wreckoner reforecast tarnrake.json ledger.csv --as-is 3200,3800,4500",
		Args: wants(2, 2, "name the car's estimate and the ledger"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args[0], args[1]) },
	}
	f := cmd.Flags()
	f.StringVar(&c.asIs, "as-is", "", "`PRICE` or LOW,MID,HIGH: what the car would fetch as it is, after selling costs")
	f.StringVar(&c.parts, "parts", "",
		"`PRICE` or LOW,MID,HIGH: what its parts would fetch, after breaking and selling costs")
	f.StringVar(&c.asOf, "as-of", "",
		"count days to `DATE`, such as 2026-04-30; without it, to the car's last date in the ledger")
	c.ledgerAs.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	return cmd
}

func (c *reforecaster) run(path, ledger string) error {
	if err := c.check(path, ledger); err != nil {
		return err
	}
	offers, err := c.offers()
	if err != nil {
		return err
	}
	asOf, err := dayOption("--as-of", c.asOf)
	if err != nil {
		return err
	}
	frozen, err := c.s.frozen(path)
	if err != nil {
		return err
	}
	l, err := c.s.ledger(ledger, &c.ledgerAs, []*build.Frozen{frozen}, c.out.quiet)
	if err != nil {
		return err
	}
	c.s.against(l, c.out.quiet, frozen)
	car, err := carOf(l, frozen.Build)
	if err != nil {
		return err
	}
	f, err := reforecast.New(frozen)
	if err != nil {
		return err
	}
	progress, notices := reforecast.Read(car, f.Shop().LabourRate, asOf)
	now, err := f.Forecast(progress, offers)
	if err != nil {
		return err
	}
	if bad := car.Faults + l.Unplaced; bad > 0 {
		notices = append(notices, fmt.Sprintf("%s that may belong to this car could not be read; the figures leave them out",
			tabular.Count(bad, "ledger row")))
	}
	now.Notices = append(notices, now.Notices...)
	r := &report.Reforecast{
		Build: frozen.Build, Lot: f.Lot(), Forecast: now, LabourRate: f.Shop().LabourRate,
		Currency: f.Shop().Currency, Seed: frozen.Seed, Points: frozen.Points, Quiet: c.out.quiet,
	}
	if err := ifDone(r, f, progress, offers); err != nil {
		return err
	}
	if err := c.page(f, car, r); err != nil {
		return err
	}
	err = c.out.write(r)
	if err == nil && len(l.Problems) > 0 {
		return errRejected
	}
	return err
}

// ifDone adds what would be if the jobs were done of which no row says how they stand.
func ifDone(
	r *report.Reforecast, f *reforecast.Forecaster, p reforecast.Progress, offers reforecast.Offers,
) (err error) {
	done, unsaid := p.AllSaid()
	if len(unsaid) == 0 || r.Forecast.Finished {
		return nil
	}
	r.Unsaid = unsaid
	r.IfDone, err = f.Forecast(done, offers)
	return err
}

// check says what is wrong with the options and files.
func (c *reforecaster) check(path, ledger string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	if path == "-" && ledger == "-" {
		return usagef("reforecast: only one of the two can be standard input")
	}
	return single(path, ledger, c.out.file, c.html.file)
}

// offers reads what the car may be sold for unfinished.
func (c *reforecaster) offers() (o reforecast.Offers, err error) {
	if o.AsItStands, err = offer("--as-is", c.asIs); err != nil {
		return o, err
	}
	o.ForParts, err = offer("--parts", c.parts)
	return o, err
}

// carOf returns the build of that name in a ledger; one on which nothing was spent where the ledger is empty.
func carOf(l *build.Ledger, name string) (*build.Build, error) {
	car, ok := l.Build(name)
	switch {
	case ok:
		return car, nil
	case len(l.Builds) == 0 && len(l.Problems) == 0:
		return &build.Build{Name: name}, nil
	}
	return nil, l.Missing(name)
}

// page writes the page, with what was believed on the days before.
func (c *reforecaster) page(f *reforecast.Forecaster, car *build.Build, r *report.Reforecast) error {
	return c.s.page(c.html, func(w io.Writer) error {
		history, err := f.History(car, page.MostMoments)
		if err != nil {
			return err
		}
		return page.Reforecast(w, r, history)
	})
}

// offer reads one amount, or three in rising order; nil where there is none.
func offer(option, text string) (*stats.Amount, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	cells := strings.Split(text, ",")
	if len(cells) != 3 {
		cells = []string{text} // with a thousands comma or not
	}
	var points []float64
	for _, cell := range cells {
		p, err := money.Parse(cell)
		if err == nil && p < 0 {
			err = fmt.Errorf("%q is negative; write 0 or more", cell)
		}
		if err != nil {
			return nil, usagef("%s: %w; one amount, or low, mid and high such as 2600,3000,3500", option, err)
		}
		points = append(points, p.Pounds())
	}
	if len(points) == 1 {
		a := stats.Fixed(points[0])
		return &a, nil
	}
	a, err := stats.New(points[0], points[1], points[2], stats.Skewed)
	if err != nil {
		return nil, usagef("%s: %w", option, err)
	}
	return &a, nil
}
