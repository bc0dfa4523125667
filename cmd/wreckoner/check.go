package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/source"
	"wreckoner/evaluate/tabular"
)

type check struct {
	s     *streams
	shop  shopOption
	lots  lotOptions
	copy  listCopy
	asOf  asOfOption
	fix   bool
	quiet bool

	builds []string
}

func newCheck(s *streams) *cobra.Command {
	c := &check{s: s, copy: listCopy{s: s}}
	cmd := &cobra.Command{
		Use:   "check PATH...",
		Short: "Check your files: every fault, and how each cell was read",
		Long: "Reads lot lists (CSV or .xlsx), ledgers and shop folders. It reports every fault with its line and " +
			"column, how each\n" +
			"cell was read, and where each row of a ledger went. Nothing is changed. For a shop folder with adverts.csv or\n" +
			"results.csv it also says how well each day's prices could be predicted from the days before it.\n\n" +
			"--fix also writes a tidied copy of a list: UTF-8, commas, our column names, no spaces around cells, no blank " +
			"rows.\n" +
			"No value is changed, and a list with a row that cannot be read is not copied.",
		Example: "  wreckoner check --shop myshop myshop sale.csv\n  wreckoner check ledger.csv --builds builds\n  " +
			"wreckoner check --fix sale.csv -o clean.csv",
		Args: wants(1, 0, "name a lot list, a ledger or a shop folder"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd.Context(), args) },
	}
	c.shop.flags(cmd.Flags())
	c.lots.flags(cmd.Flags())
	c.copy.flags(cmd.Flags())
	c.asOf.flags(cmd.Flags())
	cmd.Flags().BoolVar(&c.fix, "fix", false, "also write a tidied copy of the list")
	cmd.Flags().BoolVarP(&c.quiet, "quiet", "q", false, "no notices")
	cmd.Flags().StringArrayVar(&c.builds, "builds", nil,
		"with a ledger: the estimate `FILE` of a car, a pattern or a folder; may be repeated")
	return cmd
}

func (c *check) run(ctx context.Context, paths []string) (err error) {
	if paths, err = expand(paths); err != nil {
		return err
	}
	if paths, c.builds, err = c.split(paths); err != nil {
		return err
	}
	if err := c.checkFix(paths); err != nil {
		return err
	}
	failed, rejected := false, false
	for _, path := range paths {
		faults, err := c.path(ctx, path)
		if err != nil {
			if errors.Is(err, context.Canceled) {
				return err
			}
			if !errors.Is(err, errReported) {
				fmt.Fprintf(c.s.err, "wreckoner: %s\n", report.CleanLines(err.Error()))
			}
			failed = true
		}
		rejected = rejected || faults > 0
	}
	switch {
	case failed:
		return errReported
	case rejected:
		return errRejected
	}
	return nil
}

// checkFix says what is wrong with the options of the copy.
func (c *check) checkFix(paths []string) error {
	switch {
	case c.fix && (len(paths) != 1 || c.copy.file == ""):
		return usagef("--fix takes one list and names the copy: wreckoner check --fix sale.csv -o clean.csv")
	case c.fix && paths[0] == "-":
		return usagef("--fix reads the list twice; name a file")
	case c.fix:
		return single(paths[0], c.copy.file)
	case c.copy.file != "" || c.copy.raw:
		return usagef("-o and --raw-text go with --fix")
	}
	return nil
}

// split takes the frozen files out of the paths: those that --builds names, and behind a ledger those that it is
// followed by, as in check ledger.csv --builds builds/a.json builds/b.json.
func (c *check) split(paths []string) (others, builds []string, err error) {
	if len(c.builds) == 0 {
		return paths, nil, nil
	}
	if builds, err = expand(c.builds, ".json"); err != nil {
		return nil, nil, err
	}
	for _, p := range paths {
		if strings.EqualFold(filepath.Ext(p), ".json") {
			builds = append(builds, p)
		} else {
			others = append(others, p)
		}
	}
	return others, builds, nil
}

// path checks one file or folder, and returns how many faults it has.
func (c *check) path(ctx context.Context, path string) (int, error) {
	info, err := os.Stat(path)
	switch {
	case path == "-":
	case err != nil:
		return 0, plainError(err)
	case info.IsDir() && c.fix:
		return 0, fmt.Errorf("%s is a folder; --fix copies a lot list", path)
	case info.IsDir():
		return c.folder(path)
	case isShopFile(path):
		return 0, fmt.Errorf("%s is a workshop file; check the folder: wreckoner check %s", path, filepath.Dir(path))
	}
	if faults, known, err := c.other(path); known {
		return faults, err
	}
	return c.list(ctx, path)
}

// list checks a lot list, and returns how many faults it has.
func (c *check) list(ctx context.Context, path string) (int, error) {
	workshop, err := c.shop.load(c.s, c.quiet)
	if errors.Is(err, errReported) {
		return 0, fmt.Errorf("%s: the shop folder has faults; fix them before the list is checked against it", path)
	}
	if err != nil {
		return 0, err
	}
	c.lots.tell = true
	facts := evidenceOptions{asOf: c.asOf}
	// few: only faults are of interest
	e, err := facts.judge(c.s, c.shop.folder, workshop, evaluate.Options{Points: 64}, true)
	if err != nil {
		return 0, err
	}
	c.lots.appraised = e.Prices() != nil
	list, err := c.s.lots(path, workshop, &c.lots, c.quiet)
	if err != nil {
		return 0, err
	}
	good, err := evaluated(ctx, e, list)
	if err != nil {
		return 0, err
	}
	c.s.report(list.Problems)
	c.s.print("%s: %s\n", tabular.Sanitise(path), tally(good, "lot", len(list.Problems)))
	switch what := list.Mendable(); {
	case c.fix:
		if err := c.mend(path); err != nil {
			return 0, err
		}
	case len(what) > 0 && path != "-" && !c.quiet:
		c.s.notice([]string{fmt.Sprintf("%s: check --fix with -o COPY writes it %s; no value is changed", path,
			strings.Join(what, ", "))})
	}
	return len(list.Problems), nil
}

// evaluated returns how many lots of a list can be worked out. The others go to its problems.
func evaluated(ctx context.Context, e *evaluate.Evaluator, list *lots.List) (good int, err error) {
	for chunk := range slices.Chunk(list.Lots, 1024) { // the results are of no interest
		_, errs, err := e.All(ctx, chunk, nil)
		if err != nil {
			return 0, err
		}
		for i, err := range errs {
			if err != nil {
				list.Reject(chunk[i], err)
			} else {
				good++
			}
		}
	}
	return good, nil
}

// other checks a ledger or a list of ways to get jobs done, as the columns tell;
// known is false for anything else.
func (c *check) other(path string) (faults int, known bool, err error) {
	if path == "-" || c.fix {
		return 0, false, nil
	}
	isLedger, isSourcing := c.kindOf(path)
	switch {
	case isLedger:
		faults, err = c.ledger(path)
		return faults, true, err
	case !isSourcing:
		return 0, false, nil
	}
	in, err := c.s.openSource(path, c.lots.sheet)
	if err != nil {
		return 0, true, err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	options, err := source.ReadSourcing(in.Source, c.lots.columns)
	if err != nil {
		return 0, true, err
	}
	return c.said(path, "job", len(options.Jobs), options.Problems, options.Notices), true, nil
}

// kindOf says whether a file is a ledger or a list of ways to get jobs done, by its columns. A file that cannot be read
// is neither: the reader of lots says it better.
func (c *check) kindOf(path string) (isLedger, isSourcing bool) {
	if header, err := c.header(path); err == nil && header.Has("job") && header.Has("option") {
		return false, true
	}
	how, err := c.lots.reading()
	if err != nil {
		return false, false
	}
	count := func(fit func(tabular.Loose) (int, int, error)) (found, missing int, ok bool) {
		in, err := c.s.openSource(path, c.lots.sheet)
		if err != nil {
			return 0, 0, false
		}
		defer in.Close()
		loose, ok := in.Source.(tabular.Loose)
		if !ok {
			return 0, 0, false
		}
		found, missing, err = fit(loose)
		return found, missing, err == nil
	}
	workshop, problems, _, err := shop.Read(c.shop.folder)
	if err != nil || len(problems) > 0 {
		workshop = nil
	}
	asLots, lotsMissing, lotsOK := count(func(s tabular.Loose) (int, int, error) { return lots.Fit(s, workshop, how) })
	asLedger, ledgerMissing, ledgerOK := count(func(s tabular.Loose) (int, int, error) {
		return build.Fit(s, build.Reading{Map: how.Map, HeaderRow: how.HeaderRow})
	})
	if !lotsOK || !ledgerOK {
		return false, false
	}
	if lotsMissing != ledgerMissing {
		return ledgerMissing < lotsMissing, false
	}
	return asLedger > asLots, false
}

// ledger checks a ledger, and prints where each row went.
func (c *check) ledger(path string) (int, error) {
	var names []string
	var kept []*build.Frozen
	for _, file := range c.builds {
		f, err := c.s.frozen(file)
		if err != nil {
			return 0, err
		}
		kept, names = append(kept, f), append(names, f.Build)
	}
	l, err := c.s.readLedger(path, &c.lots, kept)
	if err != nil {
		return 0, err
	}
	faults := c.said(path, "build", len(l.Builds), l.Problems, l.Notices)
	if !c.quiet {
		for _, line := range l.Went(names) {
			c.s.print("%s\n", tabular.Sanitise(line))
		}
	}
	return faults, nil
}

// header reads no more than the header of a list.
func (c *check) header(path string) (t *tabular.Table, err error) {
	in, err := c.s.openSource(path, c.lots.sheet)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	return tabular.Open(in.Source, tabular.Options{})
}

// said reports what was found in a file, and returns how many faults that is.
func (c *check) said(path, what string, good int, problems []tabular.Problem, notices []string) int {
	c.s.report(problems)
	if !c.quiet {
		c.s.notice(notices)
	}
	c.s.print("%s: %s\n", tabular.Sanitise(path), tally(good, what, len(problems)))
	return len(problems)
}

// mend writes the copy.
func (c *check) mend(path string) (err error) {
	list, err := c.s.carry(path, &c.lots, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, list.Close()) }()
	trimmed, copied := 0, 0
	_, guarded, err := c.copy.write(list.Header, list.comma, func(out report.Carried) (int, error) {
		for row, err := range list.Rows() {
			if err != nil {
				return 0, err
			}
			if row.Problem != nil {
				return 0, fmt.Errorf("%s is not written: line %d of %s cannot be read and would be lost; fix it first",
					c.copy.file, row.Problem.Line, path)
			}
			trimmed += lots.Trim(row.Cells)
			copied++
			if err := out.Row(row.Cells); err != nil {
				return 0, err
			}
		}
		return 0, nil
	})
	if err != nil {
		return err
	}
	if !c.quiet {
		c.s.notice(list.Notices())
	}
	c.s.print("%s: %s copied, %d cells trimmed", tabular.Sanitise(c.copy.file), tabular.Count(copied, "lot"), trimmed)
	if guarded > 0 {
		c.s.print(", %d given a ' in front, as a spreadsheet would run them", guarded)
	}
	c.s.print("; no value was changed\n")
	return nil
}

// folder checks a shop folder, and returns how many faults it has.
func (c *check) folder(path string) (int, error) {
	workshop, problems, notices, err := shop.Read(path)
	if err != nil {
		return 0, err
	}
	lexicon, more, also, err := lots.ReadLexicon(path)
	if err != nil {
		return 0, plainError(err)
	}
	problems, notices = append(problems, more...), append(notices, also...)
	mappings, more, err := lots.ReadMappings(path)
	if err != nil {
		return 0, plainError(err)
	}
	problems = append(problems, more...)
	if len(problems) == 0 {
		for _, text := range workshop.Reversed() {
			notices = append(notices, shop.CostsFile+": "+text)
		}
	}
	files, err := evidence.Read(path, workshop)
	if err != nil {
		return 0, plainError(err)
	}
	sound := len(problems) == 0
	problems, notices = append(problems, files.Problems...), append(notices, files.Notices...)
	c.s.report(problems)
	if !c.quiet {
		c.s.notice(notices)
	}
	own, builtIn := filesOf(workshop)
	if lexicon == nil || !lexicon.BuiltIn {
		own++
	} else {
		builtIn = append(builtIn, shop.LexiconFile)
	}
	if len(mappings) > 0 || len(more) > 0 {
		own++
	}
	own += files.Count()
	text := tally(own, "file", len(problems))
	if len(builtIn) > 0 {
		text += "; built in: " + strings.Join(builtIn, ", ")
	}
	c.s.print("%s: %s\n", tabular.Sanitise(path), text)
	if sound {
		err = c.evidence(files, workshop)
	}
	return len(problems), err
}

// filesOf returns how many files of a shop are its folder's own, and the names of those built in.
func filesOf(workshop *shop.Shop) (own int, builtIn []string) {
	for _, x := range workshop.Sources {
		if x.BuiltIn {
			builtIn = append(builtIn, x.File)
		} else {
			own++
		}
	}
	return own, builtIn
}

// isShopFile reports whether a path has the name of a file of a shop folder.
func isShopFile(path string) bool {
	switch filepath.Base(path) {
	case shop.SettingsFile, shop.CostsFile, shop.HiddenFile, shop.SegmentsFile, shop.AgesFile, shop.CategoriesFile,
		shop.FeesFile,
		shop.InspectionsFile, shop.LexiconFile, shop.ColumnsFile, shop.AdvertsFile, shop.ResultsFile, shop.BuildsFile:
		return true
	}
	return false
}

func tally(good int, what string, faults int) string {
	if faults == 0 {
		return tabular.Count(good, what) + " read, no fault"
	}
	return tabular.Count(good, what) + " read, " + tabular.Count(faults, "fault")
}
