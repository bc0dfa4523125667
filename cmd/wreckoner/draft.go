package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

type draft struct {
	s    *streams
	shop shopOption
	lots lotOptions
	copy listCopy

	all     bool
	explain bool
	quiet   bool
}

func newDraft(s *streams) *cobra.Command {
	c := &draft{s: s, copy: listCopy{s: s}}
	cmd := &cobra.Command{
		Use:   "draft LOTS",
		Short: "Propose damage codes from the listing's own words",
		Long: "Reads a lot list (CSV or .xlsx; - is standard input) and fills in the damage column where it is blank, " +
			"from the\n" +
			"words in the description column; without one, from words in the damage column. All other cells are copied as\n" +
			"they are; columns named by --map take our names.\n" +
			"Damage that the words make likely but don't say is marked suspected (?). Words that are not understood are " +
			"listed\n" +
			"in a column, not_understood. It is a first draft: check it against the photographs before you rely on it.\n" +
			"What each word means is in lexicon.csv of the shop folder; wreckoner start DIR writes the starter's, to edit.",
		Example: "  wreckoner draft sale.csv -o coded.csv\n" +
			"  wreckoner draft listing.xlsx --map description=\"Damage notes\" -o coded.xlsx\n" +
			"  wreckoner draft --explain --all sale.csv -o proposed.csv",
		Args: wants(1, 1, "name one lot list"),
		RunE: func(_ *cobra.Command, args []string) error { return c.run(args[0]) },
	}
	f := cmd.Flags()
	c.shop.flags(f)
	c.lots.flags(f)
	c.copy.flags(f)
	f.BoolVar(&c.all, "all", false, "propose for every lot, in the column proposed; codes already written stay")
	f.BoolVar(&c.explain, "explain", false, "say which words gave which mark, on standard error and in the column why")
	f.BoolVarP(&c.quiet, "quiet", "q", false, "no notices and no counts")
	return cmd
}

func (c *draft) run(path string) (err error) {
	if err := single(path, c.copy.file); err != nil {
		return err
	}
	lexicon, problems, notices, err := lots.ReadLexicon(c.shop.folder)
	if err != nil {
		return plainError(err)
	}
	c.s.report(problems)
	if !c.quiet {
		c.s.notice(notices)
	}
	if lexicon == nil || len(problems) > 0 {
		return errReported
	}
	list, err := c.open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, list.Close()) }()
	k := lots.NewCoder(list.Carrier, lexicon, c.all, c.explain)
	bad, guarded, err := c.copy.write(k.Header, list.comma, func(out report.Carried) (int, error) {
		return c.rows(list, k,
			out)
	})
	if err != nil {
		return err
	}
	if !c.quiet {
		c.s.notice(list.Notices())
		if guarded > 0 {
			c.s.notice([]string{fmt.Sprintf("%s that a spreadsheet would run as a formula: ' put before it; --raw-text "+
				"leaves it as it is", tabular.Count(guarded, "cell"))})
		}
		if lexicon.BuiltIn {
			c.s.notice([]string{"the built-in lexicon was used"})
		}
		c.s.notice(k.Tally())
	}
	if bad > 0 {
		return errRejected
	}
	return nil
}

// open opens the list. Where it has no description, but words where a code should be, those are it.
func (c *draft) open(path string) (*carried, error) {
	list, err := c.s.carry(path, &c.lots, false, "description")
	if err == nil || path == "-" {
		return list, err
	}
	plain := c.lots
	plain.saveMap = "" // it is not the list's columns yet
	bare, failed := c.s.carry(path, &plain, false)
	if failed != nil {
		return nil, err
	}
	header, failed := bare.Worded()
	if failed = errors.Join(failed, bare.Close()); failed != nil || header == "" {
		return nil, err
	}
	columns := map[string]string{"description": header}
	maps.Copy(columns, c.lots.columns)
	c.lots.columns = columns
	return c.s.carry(path, &c.lots, false, "description")
}

// rows codes every row, and returns how many could not be read.
func (c *draft) rows(list *carried, k *lots.Coder, out report.Carried) (bad int, err error) {
	for row, err := range list.Rows() {
		if err != nil {
			return bad, err
		}
		if row.Problem != nil {
			bad++
			kept, err := out.Raw(row.Raw)
			if err != nil {
				return bad, err
			}
			p := *row.Problem
			if kept {
				p.Message += " (copied as it is, not coded)"
			} else {
				p.Message += " (not in the output)"
			}
			c.s.report([]tabular.Problem{p})
			continue
		}
		cells, explained := k.Code(row)
		if err := out.Row(cells); err != nil {
			return bad, err
		}
		if c.explain {
			c.s.notice(explained)
		}
	}
	return bad, nil
}

// listCopy is where a list is written again, as CSV or .xlsx.
type listCopy struct {
	s    *streams
	file string
	raw  bool
}

func (o *listCopy) flags(f *pflag.FlagSet) {
	f.StringVarP(&o.file, "output", "o", "", "write to `FILE`: a workbook if it ends in .xlsx, else CSV")
	f.BoolVar(&o.raw, "raw-text", false, "don't put ' before text that a spreadsheet would run as a formula")
}

// write writes the header and the rows, and returns how many rows could not be
// read and how many cells were prefixed.
func (o *listCopy) write(header []string, comma rune, rows func(report.Carried) (int, error)) (bad, guarded int,
	err error) {
	out := output{s: o.s, file: o.file}
	err = out.deliver(func(w io.Writer) (err error) {
		var to report.Carried
		if isWorkbook(o.file) {
			name := strings.TrimSuffix(filepath.Base(o.file), filepath.Ext(o.file))
			if to, err = report.CarriedWorkbook(w, report.SheetName(name), header); err != nil {
				return err
			}
		} else {
			to = report.CarriedCSV(w, comma, report.Guard(!o.raw))
			if err := to.Row(header); err != nil {
				return err
			}
		}
		defer func() { err = errors.Join(err, to.Close()) }()
		if bad, err = rows(to); err != nil {
			return err
		}
		guarded = to.Guarded()
		return to.Finish()
	})
	return bad, guarded, err
}
