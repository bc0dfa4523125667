package main

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
)

type screen struct {
	judging

	rankBy  string
	top     int
	rejects string
	explain string
	hammer  string

	streamed bool
	noHeader bool
	header   string
}

func newScreen(s *streams) *cobra.Command {
	c := &screen{judging: newJudging(s)}
	cmd := &cobra.Command{
		Use:   "screen LOTS...",
		Short: "Every lot of a sale: which to bid on, and where to stop",
		Long: "Reads one or more lot lists (CSV or .xlsx; - is standard input), works out every lot, and ranks them, " +
			"best first.\n" +
			"Rows that cannot be read are reported, and the rest are ranked. wreckoner help lists describes the lists,\n" +
			"wreckoner help table the table, and wreckoner codes the damage code.",
		Example: "  wreckoner screen samples/sale.csv\n  wreckoner screen --shop myshop --rank-by bay-day --top 20 " +
			"sale.csv\n  wreckoner screen --explain 7 samples/sale.csv",
		Args: wants(1, 0, "name a lot list"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd.Context(), args) },
	}
	f := cmd.Flags()
	c.judging.flags(f)
	f.StringVar(&c.rankBy, "rank-by", "",
		"rank by `FIGURE`: margin, return, loss, bay-day, hour or gain; without it gain if results.csv has past lots, "+
			"else margin")
	f.IntVar(&c.top, "top", 0, "show only the best `N` lots; files keep all")
	f.StringVar(&c.rejects, "rejects", "",
		"write the rows that could not be read to `FILE`, each with the reason; of several lists a file each: FILE-LIST")
	f.StringVar(&c.explain, "explain", "", "show the sums for `LOT` instead, from hammer price to margin")
	f.BoolVar(&c.streamed, "stream", false,
		"write each row as soon as it is read, unranked, for lists of any length; --format csv or json (a line each)")
	f.BoolVar(&c.noHeader, "no-header", false, "with --stream: write no header")
	f.StringVar(&c.header, "header", "", "with --stream: the input has no header; take it from the first line of `FILE`")
	f.StringVar(&c.hammer, "hammer", "",
		"with --explain: the hammer `PRICE`; without it the guide price, or the price to stop at")
	return cmd
}

func (c *screen) run(ctx context.Context, paths []string) error {
	by, err := c.check()
	if err != nil {
		return err
	}
	if paths, err = expand(paths, listEndings...); err != nil {
		return err
	}
	files := append(slices.Clone(paths), c.out.file, c.html.file)
	if err := single(append(files, rejectsFiles(c.rejects, paths)...)...); err != nil {
		return err
	}
	e, _, err := c.evaluator()
	if err != nil {
		return err
	}
	switch known := e.Prices() != nil && e.Prices().HasResults(); {
	case known && c.rankBy == "":
		by = bid.ByGain
	case !known && by == bid.ByGain:
		return usagef("--rank-by gain needs chances of winning; put past lots in results.csv of the shop folder")
	}
	return c.facts.done(c.show(ctx, e, paths, by))
}

// check says what is wrong with the options, and returns the order that they ask for.
func (c *screen) check() (bid.Order, error) {
	if err := c.out.check(); err != nil {
		return "", err
	}
	by, err := bid.ParseOrder(cmp.Or(c.rankBy, string(bid.ByMargin)))
	switch {
	case err != nil:
		return "", usageError{fmt.Errorf("--rank-by: %w", err)}
	case c.top < 0:
		return "", usagef("--top %d: write 1 or more", c.top)
	case c.hammer != "" && c.explain == "":
		return "", usagef("--hammer goes with --explain LOT")
	case c.explain != "" && c.html.file != "":
		return "", usagef("--explain shows the sums of one lot and --html writes a whole sale; use one of them")
	}
	return by, c.checkStream()
}

// show writes what was asked for.
func (c *screen) show(ctx context.Context, e *evaluate.Evaluator, paths []string, by bid.Order) error {
	if c.streamed {
		return c.stream(ctx, e, paths)
	}
	if c.explain != "" {
		list := &lots.List{}
		for _, path := range paths {
			one, err := c.s.lots(path, e.Shop(), &c.lots, c.out.quiet)
			if err != nil {
				return err
			}
			list.Lots, list.Problems = append(list.Lots, one.Lots...), append(list.Problems, one.Problems...)
		}
		return c.walk(e, list)
	}
	return c.rank(ctx, e, paths, by)
}

// listEndings are those of files that are taken for lists where a folder is named.
var listEndings = []string{".csv", ".tsv", ".xlsx"}

// checkStream says what cannot be had of a stream.
func (c *screen) checkStream() error {
	switch {
	case !c.streamed && (c.noHeader || c.header != ""):
		return usagef("--header and --no-header go with --stream")
	case !c.streamed:
		return nil
	case format(c.out.format) != asCSV && format(c.out.format) != asJSON:
		return usagef("--stream writes --format csv or json")
	case c.explain != "" || c.html.file != "" || c.rejects != "" || c.top > 0 || c.lots.saveMap != "":
		return usagef("--stream goes with none of --explain, --html, --rejects, --top and --save-map")
	}
	return nil
}

// walk explains one lot.
func (c *screen) walk(e *evaluate.Evaluator, list *lots.List) error {
	lot, err := list.Find(c.explain)
	if err != nil {
		c.s.report(list.Problems)
		return err
	}
	r, err := e.Evaluate(lot)
	if err != nil {
		return err
	}
	if !r.Evaluated() {
		return fmt.Errorf("lot %s: %s", lot.Number, r.Reason)
	}
	at, why := r.At, "the guide price"
	if r.Appraisal.At() > 0 {
		why = "the middle of the prices it may sell for"
	}
	switch {
	case c.hammer != "":
		if at, err = lots.Price(c.hammer); err != nil {
			return usageError{fmt.Errorf("--hammer: %w", err)}
		}
		why = "the hammer price given"
	case at == 0:
		at, why = r.HighestBid, "the price to stop at, as there is no guide price"
	}
	s, err := e.Assess(lot)
	if err != nil {
		return err
	}
	other := s.OtherVAT(at)
	return c.out.write(&report.Workings{
		Lot: lot, Workings: s.Workings(at), At: why, Currency: e.Shop().Currency,
		MarginOtherVAT: other, OtherVAT: report.OtherVAT(e.Shop().VATRegistered, e.Shop().Currency, other),
	})
}
