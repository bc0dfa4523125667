// Package lots reads lot lists: the good rows, and what is wrong with the others; and it
// writes lists again with damage codes drafted from their descriptions.
package lots

import (
	"fmt"
	"io"
	"iter"
	"slices"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A List is a lot list as read: the good rows, and what is wrong with the rest.
type List struct {
	Lots     []*evaluate.Lot
	Problems []tabular.Problem
	Notices  []string
	// Readings say how cells were read that are not written as we write them, where that was asked for.
	Readings []string
	// Used is what found the columns that are called otherwise, to be saved for
	// the next list of the same site.
	Used Mapping

	torn   bool           // a row cannot be read
	names  map[string]int // how many lots go by each name
	source tabular.Source
}

// MostLots and MostText are how many rows of one list are held in memory, and how
// many bytes of them: far above any sale, and what keeps a file that is no sale
// from filling the memory. MostRanked is how many are ranked by those who hold
// no more than a key of each.
const (
	MostLots   = 100_000
	MostText   = 512 << 20
	MostRanked = 10_000_000
)

// ReadList reads a lot list for a shop. Rows that cannot be read become problems; the error
// is for a list of which nothing can be read.
func ReadList(source tabular.Source, workshop *shop.Shop, how Reading) (*List, error) {
	lots, err := OpenLots(source, workshop, how)
	if err != nil {
		return nil, err
	}
	list := &List{source: source, Used: lots.Used}
	rows, size := 0, 0
	for entry, err := range lots.All() {
		if err != nil {
			return nil, err
		}
		lots.Unique(&entry)
		rows++
		if size += len(entry.Raw); rows > MostLots || size > MostText {
			return nil, lots.Beyond(entry,
				"a list of more than %s does not fit; split it. Only screen reads more, without --explain", Most())
		}
		for _, r := range entry.Readings {
			list.Readings = append(list.Readings, fmt.Sprintf("%s:%d: %s", lots.table.File(), entry.Line, r))
		}
		if len(entry.Problems) > 0 {
			list.torn = list.torn || entry.Lot == nil
			list.Problems = append(list.Problems, entry.Problems...)
			continue
		}
		list.Lots = append(list.Lots, entry.Lot)
	}
	list.Notices = lots.Notices()
	return list, nil
}

// Most says in words how much of a list is held in memory.
func Most() string {
	return fmt.Sprintf("%s lots or %d MiB", money.Group(MostLots), MostText>>20)
}

// Lots are the rows of a lot list, one after the other, in bounded memory.
type Lots struct {
	// Used is what found the columns.
	Used Mapping

	source  tabular.Source
	table   *tabular.Table
	reader  *lotReader
	notices []string
	numbers numbers
	again   func() (tabular.Source, io.Closer, error)
	parts   []*Lots // of several lists read as one
	cars    *cars   // of several lists: which were listed before
}

func ended(err error) error {
	if err == io.EOF {
		return nil
	}
	return err
}

// A ListRow is one row of a lot list: a lot, or what is wrong with it. Where the
// row as such cannot be read, Lot is nil.
type ListRow struct {
	Lot      *evaluate.Lot
	Line     int
	Raw      string
	Problems []tabular.Problem
	// Readings say how cells were read that were not written as we write them, where Reading.Tell asks for it.
	Readings []string
	// List is which of several lists has the row, from 0.
	List int
}

// OpenLots reads the header of a lot list.
func OpenLots(source tabular.Source, workshop *shop.Shop, how Reading) (*Lots, error) {
	return OpenAll([]tabular.Source{source}, workshop, []Reading{how})
}

// OpenAll opens one or more lists, to be read one after the other as one. Lots of several lists that have one number
// are told apart by their sites, days and lists.
func OpenAll(sources []tabular.Source, workshop *shop.Shop, hows []Reading) (*Lots, error) {
	n := newNames(len(sources) > 1)
	all := &Lots{}
	for i, source := range sources {
		l, err := openLots(source, workshop, hows[i], n)
		if err != nil {
			return nil, err
		}
		all.parts = append(all.parts, l)
	}
	if n.count() {
		var sited []uint64
		for _, l := range all.parts {
			some, err := l.sites(n)
			if err != nil {
				return nil, err
			}
			sited = append(sited, some...)
		}
		n.sited = repeated(sited)
	}
	first := all.parts[0]
	if len(all.parts) == 1 {
		return first, nil
	}
	all.Used, all.source, all.table, all.cars = first.Used, first.source, first.table, newCars()
	return all, nil
}

func openLots(source tabular.Source, workshop *shop.Shop, how Reading, n *names) (*Lots, error) {
	r := newLotReader(workshop, how)
	if how.Again != nil {
		r.names = n
	}
	o, err := how.open(source, r)
	if err != nil {
		return nil, err
	}
	r.begin(o)
	l := &Lots{Used: o.used, source: source, table: o.Table, reader: r, notices: o.notices, again: o.again}
	if o.site != "" {
		if r.site, err = r.siteNamed(o.site); err != nil {
			return nil, fmt.Errorf("%s: the site of the whole list: %w", tabular.Sanitise(l.table.File()), err)
		}
	}
	return l, nil
}

// Notices says what was guessed or passed over, complete after the last row.
func (l *Lots) Notices() []string {
	if len(l.parts) > 0 {
		var all []string
		for _, p := range l.parts {
			all = append(all, p.Notices()...)
		}
		return append(all, l.cars.notices...)
	}
	return slices.Concat(l.reader.dated(), l.notices, l.table.Notices(), l.reader.ignored,
		l.reader.said.notices(l.table.File()))
}

// All yields the rows. Each is read by itself: that a lot number stands twice
// is not seen here, but by Unique. An error is the last thing that is yielded.
func (l *Lots) All() iter.Seq2[ListRow, error] {
	if len(l.parts) > 0 {
		return l.each
	}
	l.reader.extras()
	return func(yield func(ListRow, error) bool) {
		for row, err := range tabular.Read[struct{}](l.table) {
			if err != nil {
				yield(ListRow{}, err)
				return
			}
			entry := ListRow{Line: row.Line, Raw: row.Raw}
			if row.Problem != nil {
				entry.Problems = []tabular.Problem{*row.Problem}
			} else {
				entry.Lot, entry.Problems, entry.Readings = l.reader.lot(row.Place)
			}
			if !yield(entry, nil) {
				return
			}
		}
	}
}

// each yields the rows of several lists.
func (l *Lots) each(yield func(ListRow, error) bool) {
	for i, p := range l.parts {
		for row, err := range p.All() {
			row.List = i
			if err == nil && row.Lot != nil && len(row.Problems) == 0 {
				l.cars.see(row.Lot)
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}

// Reject makes a lot that was read a problem after all, as it cannot be judged.
func (l *List) Reject(lot *evaluate.Lot, err error) {
	l.Problems = append(l.Problems, Unjudged(lot, err))
}

// Unjudged is the problem of a lot that was read and cannot be judged.
func Unjudged(lot *evaluate.Lot, err error) tabular.Problem {
	p := tabular.Problem{File: lot.File, Sheet: lot.Sheet, Line: lot.Line, Column: evaluate.FaultColumn(err),
		Message: err.Error()}
	if p.Column == "damage" {
		p.Text = lot.Code.String()
	}
	return p
}

// Mendable says what a copy of the list could put right without touching a value,
// such as its encoding; nil where there is nothing, or where a row that cannot be
// read would be lost.
func (l *List) Mendable() []string {
	if l.torn {
		return nil
	}
	var what []string
	if c, ok := l.source.(*tabular.CSV); ok {
		if !c.UTF8() {
			what = append(what, "in UTF-8")
		}
		if c.Delimiter() != ',' {
			what = append(what, "with commas")
		}
	}
	if len(l.Used.Columns) > 0 {
		what = append(what, "under our column names")
	}
	return what
}
