package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// lotOptions say how lots are read.
type lotOptions struct {
	mapOption
	sheet   string
	site    string
	saveMap string
	on      string
	header  int
	dates   string
	words   []string
	tell    bool // how each cell was read is wanted
	shared  *pflag.FlagSet
	// appraised says that a lot with a blank value may get one from evidence.
	appraised bool
}

func (o *lotOptions) flags(f *pflag.FlagSet) {
	o.mapOption.flags(f)
	f.StringVar(&o.sheet, "sheet", "", "read the sheet `NAME` of a workbook; without it the first")
	f.StringVar(&o.site, "site", "", "the site `NAME` of every lot, if the list has no site column")
	f.StringVar(&o.saveMap, "save-map", "", "remember --map, --site and --read as `NAME`, for lists with the same headers")
	f.StringVar(&o.on, "on", "",
		"the day of the sale, `DATE`, such as 2026-04-30, for lots without a sale_date; without it today. Ages of cars "+
			"are counted to it")
	f.IntVar(&o.header, "header-row", 0, "the header is on line `N`; without it, the first thirty lines are searched")
	f.StringVar(&o.dates, "dates", "",
		"`ORDER` of dates such as 03/04/2026: day-first or month-first; without it the list's other dates decide")
	f.StringArrayVar(&o.words, "read", nil,
		"what a word means in a column: `COLUMN:WORD=MEANING`, as in starts:maybe=unknown; may be repeated")
	o.shared = f
}

// folder is the shop folder, "" where the starter serves.
func (o *lotOptions) folder() string {
	if f := o.shared.Lookup("shop"); f != nil {
		return f.Value.String()
	}
	return ""
}

// reading says how a list is read.
func (o *lotOptions) reading() (r lots.Reading, err error) {
	r = lots.Reading{Map: o.columns, Site: o.site, HeaderRow: o.header, Appraised: o.appraised}
	if o.header < 0 {
		return r, usagef("--header-row %d: write the number of a line", o.header)
	}
	if r.On, err = dayOf(o.on); err != nil {
		return r, usageError{fmt.Errorf("--on: %w", err)}
	}
	if o.dates != "" {
		if r.Order, err = typed.ParseOrder(o.dates); err != nil {
			return r, usageError{fmt.Errorf("--dates: %w", err)}
		}
	}
	if r.Words, err = lots.ParseWords(o.words); err != nil {
		return r, usageError{fmt.Errorf("--read %w", err)}
	}
	if o.saveMap != "" {
		if o.folder() == "" {
			return r, usagef("--save-map %q: name the shop folder with --shop; wreckoner start DIR writes one", o.saveMap)
		}
	}
	saved, problems, err := lots.ReadMappings(o.folder())
	if err != nil {
		return r, plainError(err)
	}
	if len(problems) > 0 {
		return r, problems[0]
	}
	r.Saved = saved
	return r, nil
}

// grown returns the workshop with its cost table at the prices of the day of the sale, as far as
// shop.toml says by how much they rise and when they were taken; the notice names the day.
func (o *lotOptions) grown(s *streams, workshop *shop.Shop, quiet bool) (*shop.Shop, error) {
	day, err := dayOf(o.on)
	if err != nil {
		return nil, usageError{fmt.Errorf("--on: %w", err)}
	}
	out, err := workshop.At(day.Date)
	if err == nil && out != workshop && !quiet {
		s.notice([]string{fmt.Sprintf("costs are taken to the prices of %s, at %.4g%% a year (inflation in %s)",
			day.Date.Format(time.DateOnly), 100*workshop.Inflation, shop.SettingsFile)})
	}
	return out, err
}

// dayOf reads a date, or is today.
func dayOf(text string) (lots.Day, error) {
	if text == "" {
		now := time.Now()
		return lots.Day{Date: time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC), Today: true}, nil
	}
	date, err := tabular.NewCell(text).Date()
	return lots.Day{Date: date}, err
}

// keep saves what found the columns, if that was asked for.
func (o *lotOptions) keep(s *streams, used lots.Mapping) error {
	if o.saveMap == "" {
		return nil
	}
	used.Name = strings.TrimSpace(o.saveMap)
	if len(used.Columns) == 0 { // by which the next such list is known
		return usagef("--save-map %q: the list already has our column names; there is nothing to keep", o.saveMap)
	}
	if err := lots.SaveMapping(o.folder(), used); err != nil {
		return err
	}
	s.notice([]string{fmt.Sprintf("the columns are kept in %s as %q; lists with the same headers need no --map",
		filepath.Join(o.folder(), shop.ColumnsFile), used.Name)})
	return nil
}

// keepable says why the columns of several lists can't be kept under one name.
func (o *lotOptions) keepable(list *lots.Lots) error {
	if o.saveMap == "" {
		return nil
	}
	all := list.Each()
	for _, l := range all[1:] {
		if !l.Used.Same(&all[0].Used) {
			return usagef("--save-map %q: %s is not read as %s is, and one name keeps one way; save the lists one at a time, "+
				"each under its own name", o.saveMap, l.File(), all[0].File())
		}
	}
	return nil
}

// keepOf saves what found the columns of one list, or of several that are alike.
func (o *lotOptions) keepOf(s *streams, list *lots.Lots) error { return o.keep(s, list.Each()[0].Used) }

// again returns what opens a file once more, nil for what can be read once only.
func (s *streams) again(path, sheet string, in input) func() (tabular.Source, io.Closer, error) {
	if _, ok := in.Closer.(*regular); !ok {
		return nil
	}
	return func() (tabular.Source, io.Closer, error) {
		second, err := s.openSource(path, sheet)
		return second.Source, second.Closer, err
	}
}

// lots reads a lot list and prints what was guessed or passed over.
func (s *streams) lots(path string, workshop *shop.Shop, o *lotOptions, quiet bool) (list *lots.List, err error) {
	how, err := o.reading()
	if err != nil {
		return nil, err
	}
	in, err := s.openSource(path, o.sheet)
	if err != nil {
		return nil, err
	}
	how.Again = s.again(path, o.sheet, in)
	how.Tell = o.tell
	defer func() { err = errors.Join(err, in.Close()) }()
	if list, err = lots.ReadList(in.Source, workshop, how); err != nil {
		return nil, err
	}
	if !quiet {
		s.notice(list.Notices)
	}
	if o.tell && !quiet {
		s.notice(list.Readings)
	}
	return list, o.keep(s, list.Used)
}

// carried is a list of which every cell is written again.
type carried struct {
	*lots.Carrier
	io.Closer
	comma rune
}

// carry opens such a list. ours gives all its columns our names.
func (s *streams) carry(path string, o *lotOptions, ours bool, needed ...string) (*carried, error) {
	how, err := o.reading()
	if err != nil {
		return nil, err
	}
	in, err := s.openSource(path, o.sheet)
	if err != nil {
		return nil, err
	}
	how.Again = s.again(path, o.sheet, in)
	// else any word may be a category
	if workshop, problems, _, err := shop.Read(o.folder()); err == nil && len(problems) == 0 {
		how.Shop = workshop
	}
	c := &carried{Closer: in, comma: ','}
	if c.Carrier, err = lots.Carry(in.Source, how, ours, needed...); err == nil {
		err = o.keep(s, c.Used)
	}
	if err != nil {
		return nil, errors.Join(err, in.Close())
	}
	if d, ok := in.Source.(interface{ Delimiter() rune }); ok && !ours {
		c.comma = d.Delimiter()
	}
	return c, nil
}
