package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/sale"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

type planner struct {
	judging
	means meansOptions

	sold     string
	together float64
	draws    int
	details  bool
	cmd      *cobra.Command
}

func newPlan(s *streams) *cobra.Command {
	c := &planner{judging: newJudging(s)}
	c.cmd = &cobra.Command{
		Use:   "plan LOTS...",
		Short: "How high to bid in a sale with this much money and this many bays",
		Long: "Works out where to stop on each lot when the same money and bays could buy a later one, and prints the " +
			"sheet to take\n" +
			"along: where to stop, by the money left. After a result, --sold plans the rest again.\n" +
			"The list may have closes (14:05 or 2026-03-04 14:05), opening, guide low, guide high and pay by.",
		Example: "  wreckoner plan samples/sale.csv --cash 25000 --bays 4\n" +
			"  wreckoner plan sale.csv --cash 25000 --bays 4 --html plan.html\n" +
			"  wreckoner plan sale.csv --cash 25000 --bays 4 --sold sold.csv",
		Args: wants(1, 0, "name a lot list"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd.Context(), args) },
	}
	f := c.cmd.Flags()
	c.judging.flags(f)
	c.means.flags(f)
	f.StringVar(
		&c.sold,
		"sold",
		"",
		"results so far: `FILE` with lot, hammer (blank: price not heard; or unsold) and won (yes, no); the rest is planned again",
	)
	f.Float64Var(
		&c.together,
		"together",
		0,
		"lots that close within `MINUTES` of each other are bid on together",
	)
	f.IntVar(&c.draws, "draws", 4096, "simulate `N` sales")
	f.BoolVar(
		&c.details,
		"details",
		false,
		"with --format json: add everything the plan is worked out from",
	)
	return c.cmd
}

// mostDraws bounds --draws: more take minutes and tell nothing new.
const mostDraws = 1 << 20

func (c *planner) check(paths []string) error {
	if err := c.out.check(); err != nil {
		return err
	}
	switch {
	case !(c.together >= 0 && c.together <= 24*60):
		return usagef("--together %v: write minutes from 0 to %d", c.together, 24*60)
	case c.draws < 64 || c.draws > mostDraws:
		return usagef("--draws %d: write a number from 64 to %d", c.draws, mostDraws)
	case c.details && format(c.out.format) != asJSON:
		return usagef("--details goes with --format json")
	}
	return single(append(slices.Clone(paths), c.out.file, c.html.file, c.sold)...)
}

func (c *planner) run(ctx context.Context, paths []string) error {
	if err := c.check(paths); err != nil {
		return err
	}
	resources, said, err := c.means.resources()
	if err != nil {
		return err
	}
	e, opt, err := c.evaluator()
	if err != nil {
		return err
	}
	workshop := e.Shop()
	settings, err := c.settings(workshop, opt)
	if err != nil {
		return err
	}
	r := &report.Plan{
		Resources: resources, Settings: settings, Shop: workshop, Folder: c.shop.folder, Seed: opt.Seed, Points: opt.Points,
		Details: c.details, Quiet: c.out.quiet, Freeze: c.freezeLine,
	}
	if !c.out.quiet {
		c.s.notice(said)
	}
	if err := c.read(ctx, e, r, paths); err != nil {
		return err
	}
	if err := c.work(r); err != nil {
		return err
	}
	if err := c.s.page(c.html, func(w io.Writer) error { return planPage(w, r, paths) }); err != nil {
		return err
	}
	if err := c.out.write(r); err != nil {
		return err
	}
	if len(r.Rejected) > 0 {
		return errRejected
	}
	return c.facts.done(nil)
}

// settings are the shop's, and what the command line says instead.
func (c *planner) settings(workshop *shop.Shop, opt evaluate.Options) (plan.Settings, error) {
	s := sale.Settings(workshop)
	s.Together, s.Draws, s.Seed, s.Workers = c.together, c.draws, opt.Seed, opt.Workers
	for _, x := range []struct {
		flag, text string
		into       *float64
		most       float64
	}{{"--bay-value", c.means.bayValue, &s.BayValue, 1e6}, {"--money-value", c.means.moneyValue, &s.MoneyValue, 10}} {
		if x.text == "" {
			continue
		}
		v, err := tabular.NewCell(x.text).Number(0, x.most)
		if err != nil {
			return s, usageError{fmt.Errorf("%s: %w", x.flag, err)}
		}
		*x.into = v
	}
	return s, nil
}

// read reads the lists and the results.
func (c *planner) read(ctx context.Context, e *evaluate.Evaluator, r *report.Plan, paths []string) error {
	var lists []*lots.List
	for _, path := range paths {
		list, err := c.s.lots(path, e.Shop(), &c.lots, c.out.quiet)
		if err != nil {
			return err
		}
		c.s.report(list.Problems)
		r.Rejected = append(r.Rejected, list.Problems...)
		r.Notices = append(r.Notices, list.Notices...)
		lists = append(lists, list)
	}
	var err error
	if r.Sale, err = sale.New(ctx, e, lists); err != nil {
		return err
	}
	if entries := r.Sale.Entries; len(entries) > 0 {
		if err := c.means.inTime(entries[0].Plan.Closes); err != nil {
			return err
		}
	}
	c.s.report(r.Sale.Problems)
	r.Rejected = append(r.Rejected, r.Sale.Problems...)
	c.say(r, append(r.Sale.Notices, r.Sale.MarketNotices(e.Shop())...)...)
	return nil
}

// say prints notices, unless the run is quiet, and keeps them.
func (c *planner) say(r *report.Plan, notices ...string) {
	r.Notices = append(r.Notices, notices...)
	if !c.out.quiet {
		c.s.notice(notices)
	}
}

// work plans the sale.
func (c *planner) work(r *report.Plan) error {
	results, err := c.results(r.Sale)
	if err != nil {
		return err
	}
	r.Sold = results.Sold
	if len(r.Resources.Growth) > 0 {
		if err := dated(r.Sale); err != nil {
			return err
		}
	}
	if r.Resources.Bays == plan.NoLimit && r.Resources.Cash == plan.NoLimit {
		c.say(r, "neither --cash nor --bays: each lot keeps its own price to stop at")
	}
	if r.Plan, err = plan.New(r.Sale.Lots(), r.Resources, r.Sold, r.Settings); err != nil {
		return err
	}
	r.Result = r.Plan.Work()
	now := r.Result.Standing
	if len(now.Gone) > 0 {
		names := make([]string, len(now.Gone))
		for a, i := range now.Gone {
			names[a] = r.Sale.Entries[i].Plan.Name
		}
		c.say(r, fmt.Sprintf("no result given for these earlier lots, so they are taken as gone: %s",
			strings.Join(names, ", ")))
	}
	for _, text := range results.Overspent(r.Sale, now) {
		r.Notices = append(r.Notices, "warning: "+text)
		c.s.notice([]string{"warning: " + text}) // however quiet
	}
	return nil
}

// results reads what --sold names.
func (c *planner) results(s *sale.Sale) (r *sale.Results, err error) {
	if c.sold == "" {
		return &sale.Results{}, nil
	}
	in, err := c.s.openSource(c.sold, "")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	if r, err = s.ReadSold(in.Source); err != nil {
		return nil, err
	}
	if !c.out.quiet {
		c.s.notice(r.Notices)
	}
	if len(r.Problems) > 0 {
		c.s.report(r.Problems)
		return nil, errors.New("correct the results first: money already spent may be missing from them")
	}
	return r, nil
}

// dated says which lot has no day, where bays or money come by date.
func dated(s *sale.Sale) error {
	for i := range s.Entries {
		if l := &s.Entries[i]; l.Plan.Closes.Year() <= 1 {
			lot := l.Result.Lot
			return fmt.Errorf(
				"%s:%d: lot %s has no day, and --free and --cash-in go by days; "+
					"write closes as 2026-03-04 14:05, or add a column sale_date",
				lot.File,
				lot.Line,
				l.Plan.Name,
			)
		}
	}
	return nil
}

// freezeLine is the command that keeps the estimate of a lot that was bought, as this one was run.
func (c *planner) freezeLine(name string, lot *evaluate.Lot, hammer float64) string {
	words := []string{"wreckoner", "freeze"}
	if c.shop.folder != "" && c.cmd.Flags().Changed("shop") {
		words = append(words, "--shop", c.shop.folder)
	}
	var columns []string
	for column, header := range c.lots.columns {
		columns = append(columns, column+"="+header)
	}
	slices.Sort(columns)
	for _, m := range columns {
		words = append(words, "--map", m)
	}
	if c.lots.sheet != "" {
		words = append(words, "--sheet", c.lots.sheet)
	}
	if c.lots.site != "" {
		words = append(words, "--site", c.lots.site)
	}
	words = append(
		words,
		lot.File,
		name,
		"--hammer",
		strconv.FormatFloat(hammer, 'f', -1, 64),
		"-o",
		"lot-"+plainName(name)+".json",
	)
	for i, w := range words {
		words[i] = quoted(tabular.Sanitise(w))
	}
	return strings.Join(words, " ")
}

// plainName keeps of a lot number what every file system takes.
func plainName(number string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, number)
}

// quoted writes a word as a shell takes it.
func quoted(word string) string {
	if word != "" && !strings.ContainsFunc(word, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./=:,", r))
	}) {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}

// dayAndTime are how a date is written on the command line.
var dayAndTime = []string{time.DateOnly, "2006-01-02 15:04", "2006-01-02T15:04"}
