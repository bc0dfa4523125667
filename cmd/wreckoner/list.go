package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
)

// lotOptions say how lots are read.
type lotOptions struct {
	mapOption
	sheet   string
	site    string
	saveMap string
	shared  *pflag.FlagSet
	// appraised says that a lot with a blank value may get one from evidence.
	appraised bool
}

func (o *lotOptions) flags(f *pflag.FlagSet) {
	o.mapOption.flags(f)
	f.StringVar(&o.sheet, "sheet", "", "of a workbook, the sheet `NAME`; without it the first")
	f.StringVar(&o.site, "site", "", "the site `NAME` of every lot, for a list without a column of sites")
	f.StringVar(&o.saveMap, "save-map", "", "keep --map and --site in the shop folder as `NAME`; lists with the same headers then need neither")
	o.shared = f
}

// folder is the shop folder, "" where the starter serves.
func (o *lotOptions) folder() string {
	if f := o.shared.Lookup("shop"); f != nil {
		return f.Value.String()
	}
	return ""
}

// reading says how the columns are found.
func (o *lotOptions) reading() (lots.Reading, error) {
	r := lots.Reading{Map: o.columns, Site: o.site, Appraised: o.appraised}
	if o.saveMap != "" {
		if o.folder() == "" {
			return r, usagef("--save-map %q: name the shop folder with --shop; wreckoner start DIR writes one", o.saveMap)
		}
		if len(o.columns) == 0 {
			return r, usagef("--save-map %q keeps what --map says; add --map COLUMN=\"Header\"", o.saveMap)
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

// keep saves what found the columns, if that was asked for.
func (o *lotOptions) keep(s *streams, used lots.Mapping) error {
	if o.saveMap == "" {
		return nil
	}
	used.Name = strings.TrimSpace(o.saveMap)
	if err := lots.SaveMapping(o.folder(), used); err != nil {
		return err
	}
	s.notice([]string{fmt.Sprintf("the columns are kept in %s as %q; lists with the same headers need no --map", filepath.Join(o.folder(), shop.ColumnsFile), used.Name)})
	return nil
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
	defer func() { err = errors.Join(err, in.Close()) }()
	if list, err = lots.ReadList(in.Source, workshop, how); err != nil {
		return nil, err
	}
	if !quiet {
		s.notice(list.Notices)
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
