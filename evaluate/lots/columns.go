package lots

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Mapping says under which headers the lists of one site have our columns.
type Mapping struct {
	// Name is the mapping's own, such as a site's.
	Name string
	// Columns gives the header of each of our columns that is called otherwise.
	Columns map[string]string
	// Site serves for every row of a list without a column of sites; "" is none.
	Site string
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
	// Appraised says that the shop has adverts, which may give a lot with a blank value one.
	Appraised bool
}

// mappingRow is one row of columns.csv.
type mappingRow struct {
	Name   tabular.Cell `csv:"name"`
	Column tabular.Cell `csv:"column"`
	Header tabular.Cell `csv:"header"`
	Value  tabular.Cell `csv:"value"`
}

// ReadMappings reads columns.csv of a shop folder: name, column, header, value. A
// row says that the lists of that name have one of our columns under another
// header, or, for the column site only, the value that serves in every row. A
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
	t, err := tabular.Open(tabular.NewCSV(path, f), tabular.Options{Columns: tabular.ColumnsOf("name", "column", "header", "?", "value")})
	var faults tabular.Problems
	if errors.As(err, &faults) {
		return nil, faults, nil
	}
	if err != nil {
		return nil, nil, err
	}
	for row, err := range tabular.Read[mappingRow](t) {
		if err != nil {
			return nil, nil, err
		}
		if row.Problem != nil {
			problems = append(problems, *row.Problem)
			continue
		}
		var bad error
		if all, bad = addMapping(all, &row.Values); bad != nil {
			problems = append(problems, row.Whole(bad))
		}
	}
	return all, problems, nil
}

// addMapping adds one row to the mapping of its name.
func addMapping(all []Mapping, v *mappingRow) ([]Mapping, error) {
	name, column := v.Name.Text(), tabular.Canonical(v.Column.Text())
	i := slices.IndexFunc(lotColumns, func(c tabular.Column) bool { return tabular.Canonical(c.Name) == column })
	switch {
	case name == "":
		return all, errors.New("name is blank; write the name of the mapping, such as the site's")
	case i < 0:
		return all, tabular.Unknown("column", v.Column.Text(), ColumnNames())
	case v.Header.Given() == v.Value.Given():
		return all, errors.New("write either a header or a value")
	case v.Value.Given() && column != "site":
		return all, errors.New("only site takes a value; write the header of the column")
	}
	at := slices.IndexFunc(all, func(m Mapping) bool { return strings.EqualFold(m.Name, name) })
	if at < 0 {
		at = len(all)
		all = append(all, Mapping{Name: name, Columns: map[string]string{}})
	}
	m := &all[at]
	if _, twice := m.Columns[lotColumns[i].Name]; twice || v.Value.Given() && m.Site != "" {
		return all, fmt.Errorf("%q has two rows for the column %s; keep one", name, lotColumns[i].Name)
	}
	if v.Value.Given() {
		m.Site = v.Value.Text()
	} else {
		m.Columns[lotColumns[i].Name] = v.Header.Text()
	}
	return all, nil
}

// ColumnNames returns the names of a lot list's columns.
func ColumnNames() []string {
	names := make([]string, len(lotColumns))
	for i, c := range lotColumns {
		names[i] = c.Name
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
		return fmt.Errorf("%w; mend it before another mapping is saved", problems[0])
	}
	all = slices.DeleteFunc(all, func(old Mapping) bool { return strings.EqualFold(old.Name, m.Name) })
	all = append(all, m)
	return tabular.Write(filepath.Join(folder, shop.ColumnsFile), func(w io.Writer) error {
		out := csv.NewWriter(w)
		rows := [][]string{{"name", "column", "header", "value"}}
		for _, m := range all {
			for _, c := range lotColumns { // in our own order, so that it does not change
				if header, ok := m.Columns[c.Name]; ok {
					rows = append(rows, []string{m.Name, c.Name, header, ""})
				}
			}
			if m.Site != "" {
				rows = append(rows, []string{m.Name, "site", "", m.Site})
			}
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

// pick returns the saved mapping that serves for a list with these headers, and a
// notice that says so; a nil mapping is none.
func (r Reading) pick(headers []string) (m *Mapping, notice string) {
	have := map[string]bool{}
	for _, h := range headers {
		have[tabular.Canonical(h)] = true
	}
	var best []Mapping
	for _, s := range r.Saved {
		if !s.fits(have) || len(best) > 0 && len(s.Columns) < len(best[0].Columns) {
			continue
		}
		if len(best) > 0 && len(s.Columns) > len(best[0].Columns) {
			best = nil
		}
		best = append(best, s)
	}
	if len(best) == 0 {
		return nil, ""
	}
	chosen, more := best[0], ""
	for i, s := range best {
		if r.Site != "" && (strings.EqualFold(s.Name, r.Site) || strings.EqualFold(s.Site, r.Site)) {
			chosen, best = best[i], best[:1]
			break
		}
	}
	if len(best) > 1 {
		var names []string
		for _, s := range best[1:] {
			names = append(names, s.Name)
			if !strings.EqualFold(s.Site, chosen.Site) {
				chosen.Site = "" // which of them nobody knows
			}
		}
		more = fmt.Sprintf("; so do those of %s: --site says which", strings.Join(names, ", "))
	}
	if _, mapped := r.Map["site"]; mapped || have["site"] || chosen.Columns["site"] != "" {
		chosen.Site = "" // the list's own column stands above it
	}
	var pairs []string
	for _, c := range lotColumns {
		if h, ok := chosen.Columns[c.Name]; ok {
			pairs = append(pairs, fmt.Sprintf("%s=%q", c.Name, h))
		}
	}
	if chosen.Site != "" {
		pairs = append(pairs, fmt.Sprintf("site %s", chosen.Site))
	}
	return &chosen, fmt.Sprintf("the columns saved for %q serve: %s%s", chosen.Name, strings.Join(pairs, ", "), more)
}

// ahead is a source whose header was looked at.
type ahead struct {
	tabular.Source
	first tabular.Record
	err   error
	taken bool
}

// lookAhead reads the header, which stays the first record.
func lookAhead(s tabular.Source) *ahead {
	a := &ahead{Source: s}
	a.first, a.err = s.Next()
	return a
}

// Next returns the header first.
func (a *ahead) Next() (tabular.Record, error) {
	if !a.taken {
		a.taken = true
		return a.first, a.err
	}
	return a.Source.Next()
}

// opened is a list whose columns are found.
type opened struct {
	*tabular.Table
	// used is what found them: the user's own words and a saved mapping.
	used Mapping
	// site serves in every row.
	site    string
	notices []string
}

// open finds the columns of a list.
func (r Reading) open(source tabular.Source, columns []tabular.Column) (*opened, error) {
	a := lookAhead(source)
	o := &opened{used: Mapping{Columns: map[string]string{}}}
	options := tabular.Options{Columns: columns, Map: r.Map}
	file, _ := source.Place()
	m, notice := r.pick(a.first.Cells)
	if m != nil {
		options.Saved = m.Columns
		o.used.Name, o.used.Site = m.Name, m.Site
		for c, h := range m.Columns {
			o.used.Columns[c] = h
		}
		o.notices = append(o.notices, file+": "+notice)
	}
	var err error
	if o.Table, err = tabular.Open(a, options); err != nil {
		return nil, err
	}
	for name, h := range r.Map {
		for _, c := range columns {
			if tabular.Canonical(c.Name) == tabular.Canonical(name) {
				o.used.Columns[c.Name] = h
			}
		}
	}
	switch {
	case r.Site != "" && o.At("site") >= 0:
		return nil, fmt.Errorf("--site %q: %s has a column of sites, %q; leave --site out", r.Site, tabular.Sanitise(file), o.Header("site"))
	case r.Site != "":
		o.used.Site = r.Site
	case o.At("site") >= 0:
		o.used.Site = ""
	}
	o.site = o.used.Site
	return o, nil
}
