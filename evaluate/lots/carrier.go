package lots

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// A Carrier reads a list of which every cell is to be written again.
type Carrier struct {
	// Header is what the columns are to be called.
	Header []string
	// Used is what found the columns that are called otherwise.
	Used Mapping

	list    *opened
	mapped  map[int]bool // columns that a mapping named, which comes before a header's own name
	site    string       // to be added, in a last column
	notices []string
}

// Carry opens a lot list to be written again. No column but the needed ones is
// required. Columns that a mapping found take our names, and with ours all that
// we read do; the rest keep theirs. A site for the whole list becomes a column.
func Carry(source tabular.Source, how Reading, ours bool, needed ...string) (*Carrier, error) {
	reader := newLotReader(how.Shop, how)
	reader.copied, reader.needed = true, needed
	columns := reader.columns()
	o, err := how.open(source, reader)
	if err != nil {
		return nil, err
	}
	c := &Carrier{list: o, Used: o.used, mapped: map[int]bool{}, site: o.site, Header: slices.Clone(o.Headers()),
		notices: o.notices}
	var renamed []string
	guessed := strings.Join(o.notices, "\n") // says already what was read as what
	for name := range o.used.Columns {
		c.mapped[o.At(name)] = true
	}
	for _, column := range columns {
		at := c.At(column.Name)
		if at < 0 || !ours && tabular.Canonical(c.Header[at]) == tabular.Canonical(column.Name) ||
			c.Header[at] == column.Name {
			continue
		}
		if other := c.other(column.Name, at); other >= 0 {
			c.notices = append(c.notices, fmt.Sprintf("%s: %q keeps its name, as column %d is already called %q", o.File(),
				c.Header[at], other+1, c.Header[other]))
			continue
		}
		if said := fmt.Sprintf("%s=%q", column.Name, c.Header[at]); !strings.Contains(guessed, said) {
			renamed = append(renamed, fmt.Sprintf("%q read as %s", c.Header[at], column.Name))
		}
		c.Header[at] = column.Name
	}
	if len(renamed) > 0 {
		c.notices = append(c.notices, fmt.Sprintf("%s: %s", o.File(), strings.Join(renamed, ", ")))
	}
	if c.site != "" {
		c.Header = append(c.Header, "site")
	}
	return c, nil
}

// other returns another column that goes by a name, or -1.
func (c *Carrier) other(name string, but int) int {
	return slices.IndexFunc(c.Header, func(h string) bool {
		return tabular.Canonical(h) == tabular.Canonical(name) && h != c.Header[but]
	})
}

// At returns where a column is in the rows, or -1.
func (c *Carrier) At(name string) int {
	if at := c.list.At(name); at >= 0 {
		if _, mapped := c.Used.Columns[name]; mapped || !c.mapped[at] {
			return at
		}
	}
	if c.site != "" && tabular.Canonical(name) == "site" {
		return len(c.Header) - 1
	}
	return -1
}

// Worded returns the header of the damage column where that has a listing's own words, and not codes only; "" where it
// has none. It reads the list to the first of them.
func (c *Carrier) Worded() (header string, err error) {
	at := c.At("damage")
	if at < 0 {
		return "", nil
	}
	for row, err := range c.Rows() {
		if err != nil {
			return "", err
		}
		if row.Problem == nil && inWords(row.Cells[at]) {
			return c.list.Headers()[at], nil
		}
	}
	return "", nil
}

// File returns the list's name.
func (c *Carrier) File() string { return c.list.File() }

// Notices says what was guessed. They are complete after the last row.
func (c *Carrier) Notices() []string { return slices.Concat(c.notices, c.list.Notices()) }

// A Carried is a row, a cell for each of the header, as they stand in the file.
type Carried struct {
	tabular.Place
	Cells []string
	// Problem is not nil where the row cannot be read; it then has no cells.
	Problem *tabular.Problem
}

// Rows yields the rows in order; an error is the last.
func (c *Carrier) Rows() iter.Seq2[Carried, error] {
	return func(yield func(Carried, error) bool) {
		for row, err := range tabular.Read[struct{}](c.list.Table) {
			r := Carried{Place: row.Place, Problem: row.Problem}
			if err == nil && row.Problem == nil {
				r.Cells = row.Cells()
				if c.site != "" {
					r.Cells = append(r.Cells, c.site)
				}
			}
			if !yield(r, err) {
				return
			}
		}
	}
}

// Trim takes the spaces off the ends of every cell, and returns of how many.
func Trim(cells []string) int {
	trimmed := 0
	for i, cell := range cells {
		if text := tabular.NewCell(cell).Text(); text != cell {
			cells[i] = text
			trimmed++
		}
	}
	return trimmed
}
