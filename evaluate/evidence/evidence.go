// Package evidence reads what a shop folder keeps of prices: adverts.csv with adverts and own
// sales, results.csv with past lots, builds.csv with won cars; and fits package prices to them.
//
// A row that cannot be read or used is a problem with its line, and the other rows count. A
// file that is not there, or has a header only, is no evidence.
package evidence

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
)

// Files is what the three files of a shop folder hold.
type Files struct {
	Adverts []prices.Advert
	Results []Past
	Builds  []prices.Build
	// Problems are the rows that are left out.
	Problems []tabular.Problem
	// Notices say what was guessed or passed over while reading.
	Notices []string
	// SoldBuilds are the builds whose own sale is among the adverts, WonBuilds those whose
	// lot is among the results, as [tabular.NameKey] has their names.
	SoldBuilds, WonBuilds map[string]bool

	folder string
	found  int
}

// A Past is one row of results.csv.
type Past struct {
	prices.Result
	// Code is the damage, where the row is Coded.
	Code  damage.Code
	Coded bool
}

// AsLot is the row as a lot of a list.
func (p *Past) AsLot() *evaluate.Lot {
	return &evaluate.Lot{
		Number: p.Number, Make: p.Make, Model: p.Model, Year: p.Year, Odometer: int(p.Miles.V), Segment: p.Segment,
		Category: p.Category, Code: p.Code, Value: money.FromPounds(p.Value), Guide: money.FromPounds(p.Guide), Site: p.Site,
		Plus: p.VATPlus, File: shop.ResultsFile, Line: p.Line,
	}
}

// Read reads the files of a shop folder; "" is the starter, which has none. The error is for
// a file that cannot be read at all.
func Read(folder string, workshop *shop.Shop) (*Files, error) {
	r := &reader{shop: workshop, cells: lots.NewCells(workshop),
		files: &Files{folder: folder, SoldBuilds: map[string]bool{}, WonBuilds: map[string]bool{}}}
	if folder == "" {
		return r.files, nil
	}
	if err := read(r, shop.AdvertsFile, advertColumns, r.advert); err != nil {
		return nil, err
	}
	if err := read(r, shop.ResultsFile, resultColumns, r.result); err != nil {
		return nil, err
	}
	if err := read(r, shop.BuildsFile, buildColumns, r.build); err != nil {
		return nil, err
	}
	r.check()
	return r.files, nil
}

// Count is how many of the three files the folder has.
func (f *Files) Count() int { return f.found }

// Empty says that there is no row of evidence.
func (f *Files) Empty() bool { return len(f.Adverts)+len(f.Results)+len(f.Builds) == 0 }

// Fit fits the models to the rows. e judges by the same shop, and gives coded past lots their
// mean repair cost; where it cannot, the row counts as uncoded, with a notice. asOf is the day of
// the reckoning; zero: the latest day of any row. Of what is passed over as a matter of course, such
// as lots that were not sold, more than three of a kind are told in one notice unless all is wanted.
func (f *Files) Fit(e *evaluate.Evaluator, asOf time.Time, all bool) (*prices.Model, []string, error) {
	results, notices := f.costed(e)
	m, err := prices.Fit(f.Adverts, results, f.Builds, e.Shop().PriceSettings(asOf))
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", f.shown(shop.SettingsFile), err)
	}
	return m, append(notices, f.told(m.Notices(), all)...), nil
}

// passedOver says in a word what is done with rows of these kinds.
var passedOver = map[prices.Kind]string{
	prices.SameCar: "are of a car that a later row has", prices.Relisted: "are of a car that was offered again",
	prices.WithdrawnLot: "are withdrawn lots, which are not used",
	prices.NotSold:      "are lots that were not sold, which are counted and not used for the price",
	prices.TooOld:       "are too old to count", prices.AfterAsOf: "are after the day of this reckoning and left out",
}

// told words the notices of a model.
func (f *Files) told(notices []prices.Notice, all bool) (out []string) {
	type group struct {
		kind prices.Kind
		file string
	}
	counts := map[group]int{}
	for _, n := range notices {
		counts[group{n.Kind, n.File}]++
	}
	said := map[group]bool{}
	for _, n := range notices {
		g := group{n.Kind, n.File}
		what, usual := passedOver[n.Kind]
		n.File = f.shown(n.File)
		switch {
		case all || !usual || counts[g] <= 3:
			out = append(out, n.String())
		case !said[g]:
			said[g] = true
			out = append(out, fmt.Sprintf("%s: %d rows %s, the first on line %d", n.File, counts[g], what, n.Line))
		}
	}
	return out
}

// Backtest foretells every day's prices from the rows of earlier days. asOf leaves out later rows.
func (f *Files) Backtest(e *evaluate.Evaluator, asOf time.Time) (prices.BacktestReport, error) {
	results, _ := f.costed(e)
	adverts := f.Adverts
	if !asOf.IsZero() {
		results = slices.DeleteFunc(results, func(r prices.Result) bool { return r.SaleDate.After(asOf) })
		adverts = slices.DeleteFunc(slices.Clone(adverts), func(a prices.Advert) bool { return a.Day().After(asOf) })
	}
	return prices.Backtest(adverts, results, e.Shop().PriceSettings(time.Time{}))
}

// costed returns the past lots with their mean repair costs, and says which codes nobody can cost.
func (f *Files) costed(e *evaluate.Evaluator) (results []prices.Result, notices []string) {
	results = make([]prices.Result, len(f.Results))
	bench := e.Worker()
	for i := range f.Results {
		p := &f.Results[i]
		results[i] = p.Result
		if !p.Coded {
			continue
		}
		cost, err := bench.MeanRepair(p.AsLot())
		if err != nil {
			notices = append(notices, tabular.Problem{File: f.shown(shop.ResultsFile), Line: p.Line, Column: "damage",
				Message: err.Error() + "; the row counts as one without a damage code"}.Error())
			continue
		}
		results[i].Repair = prices.Some(cost)
	}
	return results, notices
}

// shown is a file's name in messages.
func (f *Files) shown(name string) string { return strings.TrimSuffix(f.folder, "/") + "/" + name }

// reader turns rows into evidence.
type reader struct {
	shop  *shop.Shop
	cells lots.Cells
	files *Files
	// order is how the dates of the file are written, the latest file's where it does not show.
	order typed.Order
	// kilometres says that the odometer's column is in kilometres; plus that an amount of the row
	// had VAT on top.
	kilometres, plus bool
}

// read reads the rows of one file. row gets the cells, and a function that reports a fault.
func read[T any](r *reader, name string, c columns, row func(v *T, line int, bad func(column string,
	err error) bool)) (err error) {
	f, err := os.Open(filepath.Join(r.files.folder, name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	r.files.found++
	shown := r.files.shown(name)
	source := layout.LookAhead(tabular.NewCSV(shown, f))
	plan := c.plan(source.First().Cells)
	t, err := tabular.Open(source, tabular.Options{Columns: c.all(), At: plan.At()})
	var faults tabular.Problems
	if errors.As(err, &faults) {
		r.files.Problems = append(r.files.Problems, faults...)
		return nil
	}
	if err != nil {
		return err
	}
	if missing := c.missing(t); missing != "" {
		r.files.Problems = append(r.files.Problems, tabular.Problem{File: shown, Line: t.HeaderLine(), Message: missing})
		return nil
	}
	if read := plan.Guessed(); len(read) > 0 {
		r.files.Notices = append(r.files.Notices, fmt.Sprintf("%s: columns read as: %s", shown, strings.Join(read, ", ")))
	}
	rows, err := gather[T](r, t, c)
	if err != nil {
		return err
	}
	for _, v := range rows {
		r.plus = false
		row(&v.Values, v.Line, func(column string, err error) bool {
			if err != nil {
				r.files.Problems = append(r.files.Problems, v.At(column, err))
			}
			return err != nil
		})
	}
	r.files.Notices = slices.Concat(r.files.Notices, t.Ignored(), t.Notices())
	return nil
}

// gather returns the rows of a file that can be read, and finds how its dates are written.
func gather[T any](r *reader, t *tabular.Table, c columns) (rows []tabular.Row[T], err error) {
	header := strings.ToLower(t.Header("odometer") + " " + t.Header("miles"))
	r.kilometres = strings.Contains(header, "kilomet") || slices.Contains(strings.Fields(header), "km")
	var votes [3]int
	open := 0
	for v, err := range tabular.Read[T](t) {
		if err != nil {
			return nil, err
		}
		if v.Problem != nil {
			r.files.Problems = append(r.files.Problems, *v.Problem)
			continue
		}
		for _, name := range c.days {
			text := v.Cell(name).Text()
			if yearFirst(text) {
				continue
			}
			shows, either := typed.ShowsOrder(text)
			votes[shows]++
			if either {
				open++
			}
		}
		rows = append(rows, v)
	}
	if votes[typed.DayFirst]+votes[typed.MonthFirst] > 0 {
		r.order = typed.Decide(votes)
	}
	if open > 0 && r.order != typed.Unknown {
		r.files.Notices = append(r.files.Notices, fmt.Sprintf("%s: %s that could be two: read %s, as other dates of the "+
			"folder show", t.File(), tabular.Count(open, "date"), r.order))
	}
	return rows, nil
}

// missing says which needed columns are not there.
func (c columns) missing(t *tabular.Table) string {
	var lacks []string
	near := ""
	for _, name := range c.needed {
		if t.Has(name) {
			continue
		}
		lacks = append(lacks, strconv.Quote(name))
		if meant := tabular.Nearest(name, t.Extra()); meant != "" && near == "" {
			near = fmt.Sprintf("did you mean %q? ", meant)
		}
	}
	if len(lacks) == 0 {
		return ""
	}
	n := len(c.needed) - 1
	return fmt.Sprintf("no column %s; %sthe header needs %s and %s", strings.Join(lacks, " or "), near,
		strings.Join(c.needed[:n], ", "), c.needed[n])
}

// check leaves out the rows that package prices cannot use, and says why.
func (r *reader) check() {
	f, settings := r.files, r.shop.PriceSettings(time.Time{})
	var bad, more []prices.Notice
	f.Adverts, bad = prices.CheckAdverts(f.Adverts, &settings)
	plain := make([]prices.Result, len(f.Results))
	for i := range f.Results {
		plain[i] = f.Results[i].Result
	}
	plain, more = prices.CheckResults(plain, &settings)
	lines := make(map[int]bool, len(plain))
	for i := range plain {
		lines[plain[i].Line] = true
	}
	kept := f.Results[:0]
	for _, p := range f.Results {
		if lines[p.Line] {
			kept = append(kept, p)
		}
	}
	f.Results = kept
	for _, n := range append(bad, more...) {
		f.Problems = append(f.Problems, tabular.Problem{File: f.shown(n.File), Line: n.Line, Column: n.Column,
			Message: n.Text})
	}
}
