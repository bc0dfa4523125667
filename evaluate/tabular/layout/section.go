package layout

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// A section is the rows below a header that comes after the file's first and has its columns in another order, as where
// two lists were pasted together.
type section struct {
	columns []*Column // of each of its headers, nil for one that nobody reads
	from    []int     // for each header of the file, where the section has it, -1 for nowhere
	keyAt   int
	unread  []string // its headers that the file's first header has not
}

// namesOf returns all that columns are called, in the forms in which headers are compared.
func namesOf(columns []Column) map[string]bool {
	names := map[string]bool{}
	for _, f := range formsOf(columns) {
		names[f.canonical] = true
		for _, k := range f.keys {
			names[k] = true
		}
	}
	delete(names, "")
	return names
}

// mostlyNames reports whether a record is a header: three names of columns and more, two thirds of what it holds.
func mostlyNames(known, given int) bool { return known >= 3 && 3*known >= 2*given }

// turn reports whether a row below the header is a header again. It returns how the rows below it stand, nil where
// they stand as the file's first header says. keyAt is where the key stood so far.
func (p *Plan) turn(cells []string, keyAt int) (s *section, is bool) {
	if keyAt < 0 || keyAt >= len(cells) || cells[keyAt] == "" || strings.ContainsAny(cells[keyAt], "0123456789") {
		return nil, false // a row's key has a digit: a quick look that spares most rows a slower one
	}
	if repeats(cells, p.headers) {
		return nil, true
	}
	known, given := 0, 0
	for _, c := range cells {
		if strings.TrimSpace(c) == "" {
			continue
		}
		given++
		name := tabular.Canonical(c)
		if p.names[name] || p.names[key(c)] ||
			slices.ContainsFunc(p.headers, func(h string) bool { return tabular.Canonical(h) == name }) {
			known++
		}
	}
	if !mostlyNames(known, given) {
		return nil, false
	}
	s = p.section(cells)
	return s, s.keyAt >= 0
}

// section finds the file's columns among the cells of a later header: by the first header's own words, then by what
// columns are called.
func (p *Plan) section(cells []string) *section {
	s := &section{columns: make([]*Column, len(cells)), from: make([]int, len(p.headers)), keyAt: -1}
	taken := p.places(cells, s.from)
	for i, c := range p.columns {
		if at := s.from[i]; at >= 0 && c != nil {
			s.columns[at] = c
			if c.Name == p.options.Key {
				s.keyAt = at
			}
		}
	}
	for j, cell := range cells {
		if !taken[j] && strings.TrimSpace(cell) != "" {
			s.unread = append(s.unread, fmt.Sprintf("%q", excerpt(strings.TrimSpace(cell))))
		}
	}
	return s
}

// places finds where a later header has each of the file's headers, and returns which of its cells are found.
func (p *Plan) places(cells []string, from []int) (taken map[int]bool) {
	taken = map[int]bool{}
	for i, h := range p.headers {
		from[i] = slices.IndexFunc(cells, func(c string) bool {
			return tabular.Canonical(c) != "" && tabular.Canonical(c) == tabular.Canonical(h)
		})
		taken[from[i]] = true
	}
	forms := formsOf(p.options.Columns)
	for i, c := range p.columns {
		if from[i] >= 0 || c == nil {
			continue
		}
		for j, cell := range cells {
			if k := key(cell); !taken[j] && k != "" && slices.Contains(forms[c.Name].keys, k) && p.same(c.Name, i, cell) {
				from[i], taken[j] = j, true
				break
			}
		}
	}
	return taken
}

// same reports whether a later header says the same of a column's cells as the file's own at a position.
func (p *Plan) same(column string, at int, later string) bool {
	return p.options.Same == nil || p.options.Same(column, p.headers[at], later)
}

// arrange returns the cells of a row below the section's header in the order of the file's.
func (s *section) arrange(cells []string) []string {
	all := make([]string, len(s.from))
	for i, at := range s.from {
		if at >= 0 && at < len(cells) {
			all[i] = cells[at]
		}
	}
	return all
}

// said says that a header in a line has the columns otherwise.
func (s *section) said(line int) string {
	text := fmt.Sprintf("line %d is a header again with its columns in another order: the rows below are read by it", line)
	if len(s.unread) > 0 {
		text += "; ignored: " + strings.Join(s.unread, ", ")
	}
	return text
}
