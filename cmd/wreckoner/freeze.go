package main

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

type freezer struct {
	s      *streams
	shop   shopOption
	lots   lotOptions
	engine engineOptions
	facts  evidenceOptions

	hammer string
	file   string
	build  string
	quiet  bool
}

func newFreeze(s *streams) *cobra.Command {
	c := &freezer{s: s}
	cmd := &cobra.Command{
		Use:   "freeze LOTS LOT --hammer PRICE -o FILE",
		Short: "When you buy a car, keep its estimate",
		Long: "Writes one JSON file with everything in it: the lot as read, the price paid, every figure of your shop " +
			"folder that the\n" +
			"estimate uses, and the estimate itself. Later changes to the shop folder don't change it, and it is never " +
			"overwritten.\n" +
			"The ledger uses the build's name; without --build that is the name of the lot list and the lot number.",
		Example: "  wreckoner freeze samples/sale.csv 7 --hammer 3250 -o vantry.json\n  wreckoner freeze sale.csv 7 " +
			"--hammer 3250 --build \"red vantry\" -o vantry.json",
		Args: wants(2, 2, "name the lot list and one lot"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args[0], args[1]) },
	}
	f := cmd.Flags()
	c.shop.flags(f)
	c.lots.flags(f)
	c.engine.flags(f)
	c.facts.flags(f)
	f.StringVar(&c.hammer, "hammer", "", "the hammer `PRICE` you paid")
	f.StringVarP(&c.file, "output", "o", "", "write to `FILE`, which must not exist yet")
	f.StringVar(&c.build, "build", "", "`NAME` of the car in the ledger")
	f.BoolVarP(&c.quiet, "quiet", "q", false, "no notices and no summary")
	return cmd
}

func (c *freezer) run(path, number string) error {
	hammer, err := c.check()
	if err != nil {
		return err
	}
	opt, err := c.engine.options()
	if err != nil {
		return err
	}
	if _, err := os.Lstat(c.file); err == nil {
		return c.exists()
	} else if !errors.Is(err, fs.ErrNotExist) {
		return plainError(err)
	}
	e, err := c.s.evaluator(&c.shop, &c.lots, &c.facts, opt, c.quiet)
	if err != nil {
		return err
	}
	list, err := c.s.lots(path, e.Shop(), &c.lots, c.quiet)
	if err != nil {
		return err
	}
	lot, err := list.Find(number)
	if err != nil {
		c.s.report(list.Problems)
		return err
	}
	if lot.Value > 0 && hammer > lot.Value && !c.quiet {
		c.s.notice([]string{fmt.Sprintf("the hammer price of %s is above the car's value of %s before the damage: is it "+
			"mistyped?", hammer, lot.Value)})
	}
	frozen, err := build.Freeze(e, lot, hammer, c.name(path, lot), Version)
	if err != nil {
		return err
	}
	if err := c.s.fresh(c.file, frozen.Write); errors.Is(err, fs.ErrExist) {
		return c.exists() // another freeze was quicker
	} else if err != nil {
		return err
	}
	if !c.quiet {
		c.tell(lot, frozen, hammer)
	}
	return c.facts.done(nil)
}

// check says what is wrong with the options, and returns the hammer price paid.
func (c *freezer) check() (money.Pence, error) {
	if c.hammer == "" {
		return 0, usagef("freeze: say what was paid: --hammer 3250")
	}
	if c.file == "" || c.file == "-" {
		return 0, usagef("freeze: name the file to write, such as -o car.json")
	}
	hammer, err := lots.Price(c.hammer)
	if err != nil {
		return 0, usageError{fmt.Errorf("--hammer: %w", err)}
	}
	return hammer, nil
}

// exists says that the file to write is already there.
func (c *freezer) exists() error {
	return fmt.Errorf("%s already exists, and an estimate is never overwritten; name another file", c.file)
}

// tell says what was kept.
func (c *freezer) tell(lot *evaluate.Lot, frozen *build.Frozen, hammer money.Pence) {
	p, currency := &frozen.Predicted, draw.Money(frozen.Shop().Currency)
	tens := func(x float64) string { return currency.Value(10 * math.Round(x/10)) }
	before := ""
	if plain := tens(p.Margin.Mean); plain != tens(frozen.Promised()) {
		before = fmt.Sprintf(" (%s before the top-bidder allowance)", plain)
	}
	fmt.Fprintf(c.s.err, "kept the estimate of lot %s as build %q in %s: repair likely %s (8 in 10 such cars: %s to "+
		"%s), average margin %s at %s%s\n",
		tabular.Sanitise(lot.Number), tabular.Sanitise(frozen.Build), tabular.Sanitise(c.file),
		tens(p.Repair.P50), tens(p.Repair.P10), tens(p.Repair.P90), tens(frozen.Promised()), currency.Value(hammer.Pounds()),
		before)
}

// name is the build's: the one given, or the list's and the lot's.
func (c *freezer) name(path string, lot *evaluate.Lot) string {
	if name := strings.TrimSpace(c.build); name != "" {
		return name
	}
	stem := filepath.Base(path)
	if path == "-" {
		stem = "sale"
	}
	return strings.TrimSuffix(stem, filepath.Ext(stem)) + " " + lot.Number
}

// frozen reads a frozen estimate.
func (s *streams) frozen(path string) (f *build.Frozen, err error) {
	r, name, err := s.open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	return build.Read(name, r)
}

// ledger reads a ledger, and prints its faults and what is doubtful. kept are the frozen files that it is read for.
func (s *streams) ledger(path string, o *ledgerOptions, kept []*build.Frozen, quiet bool) (l *build.Ledger, err error) {
	lotsAlike := &lotOptions{mapOption: o.mapOption, header: o.header, dates: o.dates}
	if l, err = s.readLedger(path, lotsAlike, kept); err != nil {
		return nil, err
	}
	s.report(l.Problems)
	if !quiet {
		s.notice(l.Notices)
	}
	return l, nil
}

// ledgerOptions say how a ledger is read.
type ledgerOptions struct {
	mapOption
	header int
	dates  string
}

func (o *ledgerOptions) flags(f *pflag.FlagSet) {
	o.mapOption.flags(f)
	f.IntVar(&o.header, "header-row", 0,
		"the ledger's header is on line `N`; without it, the first thirty lines are searched")
	f.StringVar(&o.dates, "dates", "",
		"`ORDER` of the ledger's dates such as 03/04/2026: day-first or month-first; without it its other dates decide")
}

// readLedger reads a ledger as options say.
func (s *streams) readLedger(path string, o *lotOptions, kept []*build.Frozen) (l *build.Ledger, err error) {
	how := build.Reading{Map: o.columns, HeaderRow: o.header}
	if o.dates != "" {
		if how.Order, err = typed.ParseOrder(o.dates); err != nil {
			return nil, usageError{fmt.Errorf("--dates: %w", err)}
		}
	}
	for _, f := range kept {
		workshop := f.Shop()
		how.Currency = workshop.Currency
		for _, x := range workshop.Fixed {
			how.Fixed = append(how.Fixed, x.Name)
		}
		for _, x := range workshop.Extras {
			how.Fixed = append(how.Fixed, x.Name)
		}
	}
	in, err := s.openSource(path, o.sheet)
	if err != nil {
		return nil, err
	}
	how.Again = s.again(path, o.sheet, in)
	defer func() { err = errors.Join(err, in.Close()) }()
	if l, err = how.Ledger(in.Source); err == nil {
		l.Notices = append(l.Notices, l.CallByLot(kept)...)
	}
	return l, err
}
