package lots

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
)

// A Mapping says under which headers the lists of one site have our columns.
type Mapping struct {
	// Name is the mapping's own, such as a site's.
	Name string
	// Columns gives the header of each of our columns that is called otherwise.
	Columns map[string]string
	// Site holds for every row of a list without a column of sites; "" is none.
	Site string
	// Order is how the list's dates are written, HeaderRow the line of its header where that is not found otherwise.
	Order     typed.Order
	HeaderRow int
	// Words are what cells mean, by column and word.
	Words map[string]map[string]string
}

// Same reports whether two mappings say the same, whatever they are called.
func (m *Mapping) Same(o *Mapping) bool {
	return maps.Equal(m.Columns, o.Columns) && m.Site == o.Site && m.Order == o.Order && m.HeaderRow == o.HeaderRow &&
		maps.EqualFunc(m.Words, o.Words, maps.Equal[map[string]string, map[string]string])
}

// A Reading says how a list's columns are found. The zero value takes them as
// they are called.
type Reading struct {
	// Map gives the header of columns that the list calls otherwise: the user's
	// own word.
	Map map[string]string
	// Saved are mappings kept from other lists. The one whose headers the list
	// has, all of them, serves with a notice; of several the longest.
	Saved []Mapping
	// Site serves for every row of a list without a column of sites. Of several
	// mappings that fit equally well the one with this name or site serves.
	Site string
	// On is the day of the sale of lots that have no date of their own, at which cars
	// have their age; zero: they have none.
	On Day
	// Appraised says that the shop has adverts, which may give a lot with a blank value one.
	Appraised bool
	// Again opens the list once more, to decide before any row is worked out what its rows together tell: the place of
	// the header, what columns mean, the order of day and month. Nil, as for a stream: nothing is decided so.
	Again func() (tabular.Source, io.Closer, error)
	// HeaderRow is the line of the header; 0: it is looked for, or is the first.
	HeaderRow int
	// Order is how dates are written; Unknown: as the list's own dates show.
	Order typed.Order
	// Words are what cells mean, by column and by the word in lower case.
	Words map[string]map[string]string
	// Shop says, for a list that is copied, which kinds of car, categories and sites there are. Nil: any are.
	Shop *shop.Shop
	// Tell asks for how each cell was read that is written otherwise than we write it.
	Tell bool
}

// mappingRow is one row of columns.csv.
type mappingRow struct {
	Name   tabular.Cell `csv:"name"`
	Column tabular.Cell `csv:"column"`
	Header tabular.Cell `csv:"header"`
	Value  tabular.Cell `csv:"value,omitempty"`
	Word   tabular.Cell `csv:"word,omitempty"`
}

// ReadMappings reads columns.csv of a shop folder: name, column, header, value. A
// row says that the lists of that name have one of our columns under another
// header, or, for the column site only, the value that holds in every row, or with a word what that word means in it. A
// folder without the file has no mappings; "" is no folder.
func ReadMappings(folder string) (all []Mapping, problems []tabular.Problem, err error) {
	if folder == "" {
		return nil, nil, nil
	}
	path := filepath.Join(folder, shop.ColumnsFile)
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	_, err = tabular.ReadAll(tabular.NewCSV(path, f), &problems, func(v *mappingRow, k *tabular.Check) {
		var bad error
		if all, bad = addMapping(all, v); bad != nil {
			problems = append(problems, k.Whole(bad))
		}
	})
	return all, problems, err
}

// The rows of columns.csv that are about no column: how dates are written, and the line of the header.
const (
	datesRow  = "dates"
	headerRow = "header_row"
)

// addMapping adds one row to the mapping of its name.
func addMapping(all []Mapping, v *mappingRow) ([]Mapping, error) {
	name, key := v.Name.Text(), tabular.Canonical(v.Column.Text())
	if name == "" {
		return all, errors.New("name is blank; write the name of the mapping, such as the site's")
	}
	at := slices.IndexFunc(all, func(m Mapping) bool { return strings.EqualFold(m.Name, name) })
	m := Mapping{Name: name, Columns: map[string]string{}}
	if at >= 0 {
		m = all[at]
	}
	var err error
	switch key {
	case datesRow:
		m.Order, err = typed.ParseOrder(v.Value.Text())
	case tabular.Canonical(headerRow):
		m.HeaderRow, err = v.Value.Int(1, 1000)
	default:
		err = m.add(v, key)
	}
	if err != nil {
		return all, err
	}
	if at < 0 {
		return append(all, m), nil
	}
	all[at] = m
	return all, nil
}

// add adds a row that is about a column.
func (m *Mapping) add(v *mappingRow, key string) error {
	i := slices.IndexFunc(lotColumns, func(c lotColumn) bool { return tabular.Canonical(c.name) == key })
	if i < 0 {
		return tabular.Unknown("column", v.Column.Text(), ColumnNames())
	}
	name := lotColumns[i].name
	switch {
	case v.Word.Given() && v.Value.Given() && !v.Header.Given():
		if m.Words == nil {
			m.Words = map[string]map[string]string{}
		}
		if m.Words[name] == nil {
			m.Words[name] = map[string]string{}
		}
		m.Words[name][wordKey(v.Word.Text())] = v.Value.Text()
		return nil
	case v.Header.Given() == v.Value.Given():
		return errors.New("write either a header or a value")
	case v.Value.Given() && name != "site":
		return errors.New("only site takes a value without a word; write the header of the column")
	}
	if _, twice := m.Columns[name]; twice || v.Value.Given() && m.Site != "" {
		return fmt.Errorf("%q has two rows for the column %s; keep one", m.Name, name)
	}
	if v.Value.Given() {
		m.Site = v.Value.Text()
	} else {
		m.Columns[name] = v.Header.Text()
	}
	return nil
}

// rows are the mapping's rows of columns.csv, in an order that does not change.
func (m *Mapping) rows() [][]string {
	var rows [][]string
	for _, c := range lotColumns {
		if header, ok := m.Columns[c.name]; ok {
			rows = append(rows, []string{m.Name, c.name, header, "", ""})
		}
	}
	if m.Site != "" {
		rows = append(rows, []string{m.Name, "site", "", m.Site, ""})
	}
	if m.Order != typed.Unknown {
		rows = append(rows, []string{m.Name, datesRow, "", m.Order.String(), ""})
	}
	if m.HeaderRow > 0 {
		rows = append(rows, []string{m.Name, headerRow, "", strconv.Itoa(m.HeaderRow), ""})
	}
	for _, c := range lotColumns {
		for _, word := range slices.Sorted(maps.Keys(m.Words[c.name])) {
			rows = append(rows, []string{m.Name, c.name, "", m.Words[c.name][word], word})
		}
	}
	return rows
}

// ColumnNames returns the names of a lot list's columns.
func ColumnNames() []string {
	names := make([]string, len(lotColumns))
	for i, c := range lotColumns {
		names[i] = c.name
	}
	return names
}

// SaveMapping writes a mapping into columns.csv of a shop folder, whole or not at
// all, in place of an earlier one of the same name.
func SaveMapping(folder string, m Mapping) error {
	all, problems, err := ReadMappings(folder)
	if err != nil {
		return err
	}
	if len(problems) > 0 {
		return fmt.Errorf("%w; fix it before another mapping is saved", problems[0])
	}
	all = slices.DeleteFunc(all, func(old Mapping) bool { return strings.EqualFold(old.Name, m.Name) })
	all = append(all, m)
	return tabular.Write(filepath.Join(folder, shop.ColumnsFile), func(w io.Writer) error {
		out := csv.NewWriter(w)
		rows := [][]string{{"name", "column", "header", "value", "word"}}
		for _, m := range all {
			rows = append(rows, m.rows()...)
		}
		return out.WriteAll(rows)
	})
}

// fits reports whether a list with these headers, canonical, has all of the
// mapping's.
func (m Mapping) fits(headers map[string]bool) bool {
	for _, h := range m.Columns {
		if !headers[tabular.Canonical(h)] {
			return false
		}
	}
	return len(m.Columns) > 0
}

// pick returns the saved mapping to use for a list with these headers, and a notice
// that says so; nil where none fits.
func (r Reading) pick(headers []string) (m *Mapping, notice string) {
	have := map[string]bool{}
	for _, h := range headers {
		have[tabular.Canonical(h)] = true
	}
	best := r.fullest(have)
	if len(best) == 0 {
		return nil, ""
	}
	chosen, more := best[0], ""
	if i := slices.IndexFunc(best, r.ofSite); i >= 0 {
		chosen = best[i]
	} else if len(best) > 1 {
		var names []string
		for _, s := range best[1:] {
			names = append(names, s.Name)
			if !strings.EqualFold(s.Site, chosen.Site) {
				chosen.Site = "" // which of them nobody knows
			}
		}
		more = fmt.Sprintf("; the columns of %s fit too: --site says which", strings.Join(names, ", "))
	}
	if _, mapped := r.Map["site"]; mapped || have["site"] || chosen.Columns["site"] != "" {
		chosen.Site = "" // the list's own column stands above it
	}
	return &chosen, fmt.Sprintf("the columns saved for %q are used: %s%s", chosen.Name, strings.Join(chosen.pairs(),
		", "), more)
}

// fullest returns the saved mappings that fit a list with these headers, canonical, and name the
// most columns.
func (r Reading) fullest(headers map[string]bool) (best []Mapping) {
	for _, s := range r.Saved {
		if !s.fits(headers) || len(best) > 0 && len(s.Columns) < len(best[0].Columns) {
			continue
		}
		if len(best) > 0 && len(s.Columns) > len(best[0].Columns) {
			best = nil
		}
		best = append(best, s)
	}
	return best
}

// ofSite reports whether a saved mapping is that of the site the user named.
func (r Reading) ofSite(m Mapping) bool {
	return r.Site != "" && (strings.EqualFold(m.Name, r.Site) || strings.EqualFold(m.Site, r.Site))
}

// pairs lists what a mapping says, as column=header, in the order of our columns.
func (m Mapping) pairs() (pairs []string) {
	for _, c := range lotColumns {
		if h, ok := m.Columns[c.name]; ok {
			pairs = append(pairs, fmt.Sprintf("%s=%q", c.name, h))
		}
	}
	if m.Site != "" {
		pairs = append(pairs, fmt.Sprintf("site %s", m.Site))
	}
	return pairs
}

// opened is a list whose columns are found.
type opened struct {
	*tabular.Table
	// used is what found them: the user's own words and a saved mapping.
	used Mapping
	// site holds for every row.
	site    string
	notices []string
	// above are the columns of which a blank cell may mean the one above.
	above map[string]bool
	// again opens the list's rows once more, nil where that cannot be done.
	again func() (tabular.Source, io.Closer, error)
}

// savedHeader reports whether a saved mapping has its header on a line, and the line has its headers.
func (r Reading) savedHeader(line int, headers []string) bool {
	m, _ := r.pick(headers)
	return m != nil && m.HeaderRow == line
}

// deepest is the last line on which a saved mapping has its header.
func (r Reading) deepest() int {
	deepest := 0
	for i := range r.Saved {
		deepest = max(deepest, r.Saved[i].HeaderRow)
	}
	return deepest
}

// open finds the columns of a list.
func (r Reading) open(source tabular.Source, reader *lotReader) (*opened, error) {
	o := &opened{used: Mapping{Columns: map[string]string{}, Order: r.Order, HeaderRow: r.HeaderRow, Words: r.Words}}
	columns := reader.columns()
	options := layout.Options{Columns: columns, Key: "lot", Given: r.Map, HeaderRow: r.HeaderRow,
		HeaderAt: r.savedHeader, Deepest: r.deepest(),
		Same: func(column, first, later string) bool { return formOf(column, first) == formOf(column, later) },
		Pick: func(headers []string) map[string]string {
			if m, _ := r.pick(headers); m != nil {
				return m.Columns
			}
			return nil
		}}
	plan, source, err := r.plan(source, options, reader)
	if err != nil {
		return nil, err
	}
	file, sheet := source.Place()
	wanted := tabular.Options{Map: r.Map, At: plan.At()}
	for _, c := range columns {
		c.Required, c.Or = false, "" // asked for all at once, below
		wanted.Columns = append(wanted.Columns, c.Column)
	}
	if m, notice := r.pick(plan.Headers()); m != nil {
		o.take(m, r)
		wanted.Saved = m.Columns
		o.notices = append(o.notices, file+": "+notice)
	}
	if o.Table, err = tabular.Open(source, wanted); err != nil {
		return nil, err
	}
	if lacks := plan.Wanting(); lacks != "" {
		return nil, tabular.Problems{{File: file, Sheet: sheet, Line: o.HeaderLine(), Text: o.HeaderRaw(), Message: lacks}}
	}
	if pairs := plan.Guessed(); len(pairs) > 0 {
		o.notices = append(o.notices, fmt.Sprintf("%s: columns read as: %s; use --map to change", file,
			strings.Join(pairs, ", ")))
	}
	maps.Copy(o.used.Columns, plan.Found)
	for name, h := range r.Map {
		for _, c := range columns {
			if tabular.Canonical(c.Name) == tabular.Canonical(name) {
				o.used.Columns[c.Name] = h
			}
		}
	}
	o.above = plan.Above
	if r.Again != nil {
		o.again = func() (tabular.Source, io.Closer, error) {
			again, closer, err := r.Again()
			if err != nil {
				return nil, nil, err
			}
			loose, ok := again.(tabular.Loose)
			if !ok {
				return nil, nil, errors.Join(fmt.Errorf("a list that is read again is a %T", again), closer.Close())
			}
			return plan.Arrange(loose), closer, nil
		}
	}
	o.dates(reader, file)
	return o, o.place(r, file)
}

// take takes over what a saved mapping says and nobody has said otherwise.
func (o *opened) take(m *Mapping, r Reading) {
	o.used.Name, o.used.Site = m.Name, m.Site
	maps.Copy(o.used.Columns, m.Columns)
	if o.used.Order == typed.Unknown {
		o.used.Order = m.Order
	}
	if o.used.HeaderRow == 0 {
		o.used.HeaderRow = m.HeaderRow
	}
	words := map[string]map[string]string{}
	for _, some := range []map[string]map[string]string{m.Words, r.Words} {
		for column, meant := range some {
			if words[column] == nil {
				words[column] = map[string]string{}
			}
			maps.Copy(words[column], meant)
		}
	}
	o.used.Words = words
}

// dates settles the order of day and month.
func (o *opened) dates(reader *lotReader, file string) {
	if o.used.Order != typed.Unknown {
		return
	}
	if o.used.Order = typed.Decide(reader.votes); o.used.Order != typed.Unknown && reader.open > 0 {
		o.notices = append(o.notices, fmt.Sprintf("%s: dates are read %s, as its other dates show; use --dates to change",
			file, o.used.Order))
	}
}

// place settles the site of the whole list.
func (o *opened) place(r Reading, file string) error {
	switch {
	case r.Site != "" && o.At("site") >= 0:
		return fmt.Errorf("--site %q: %s has a column of sites, %q; leave --site out", r.Site, tabular.Sanitise(file),
			o.Header("site"))
	case r.Site != "":
		o.used.Site = r.Site
	case o.At("site") >= 0:
		o.used.Site = ""
	}
	o.site = o.used.Site
	return nil
}

// plan finds the header and the columns. The source that it returns starts with the header.
func (r Reading) plan(source tabular.Source, options layout.Options, reader *lotReader) (*layout.Plan, tabular.Source,
	error) {
	loose, ok := source.(tabular.Loose)
	if r.Again == nil || !ok {
		return layout.From(source, r.HeaderRow, options)
	}
	again, closer, err := r.Again()
	if err != nil {
		return nil, nil, err
	}
	defer closer.Close() // it was only read
	second, ok := again.(tabular.Loose)
	if !ok {
		return nil, nil, fmt.Errorf("a list that is read twice is a %T", again)
	}
	options.Heading, options.Observe = reader.heading, reader.observe
	plan, err := layout.Survey(second, options)
	if err != nil {
		file, _ := source.Place()
		return nil, nil, fmt.Errorf("%s: cannot be read: %w", tabular.Sanitise(file), err)
	}
	return plan, plan.Arrange(loose), nil
}
