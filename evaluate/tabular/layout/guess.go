package layout

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// A candidate is a header that may be a column.
type candidate struct {
	at   int
	rank int     // 0: the column's own name, 1: what people call it, 2: nearly so
	fit  float64 // share of the cells below it that fit, 1 where none is known
}

// guesser finds the columns of a header.
type guesser struct {
	columns []Column
	headers []string
	samples [][]string // rows below the header
	taken   map[int]bool
	found   map[string]int // column name to position
	doubts  []string       // headers of which two could be one column
	meant   map[string]bool
}

// guess returns the position of each column that the header has under another name than its own, or has in another
// place than its own name says. given are the columns that somebody has placed.
func guess(columns []Column, headers []string, samples [][]string, given map[string]string) *guesser {
	g := &guesser{columns: columns, headers: headers, samples: samples, taken: map[int]bool{}, found: map[string]int{}, meant: map[string]bool{}}
	for name, header := range given {
		g.meant[tabular.Canonical(name)] = true
		for i, h := range headers {
			if tabular.Canonical(h) == tabular.Canonical(header) {
				g.taken[i] = true
			}
		}
	}
	for rank := range 3 {
		for i := range columns {
			g.place(&columns[i], rank)
		}
	}
	return g
}

// place finds a column among the headers of one rank.
func (g *guesser) place(c *Column, rank int) {
	if _, done := g.found[c.Name]; done || g.meant[tabular.Canonical(c.Name)] {
		return
	}
	var fitting []candidate
	for i, h := range g.headers {
		if g.taken[i] || h == "" || g.rank(c, h) != rank {
			continue
		}
		fit := g.fit(c, i)
		if fit == 0 && !(rank == 0 && c.Required) || rank == 2 && c.Fits != nil && fit < 0.6 || rank > 0 && g.other(c, i, rank) {
			continue
		}
		fitting = append(fitting, candidate{i, rank, fit})
	}
	if len(fitting) == 0 || rank == 0 && g.wordy(c, fitting[0].at) {
		return
	}
	if len(fitting) > 1 && rank == 0 {
		return // two columns of one name: whoever binds them says so
	}
	if len(fitting) > 1 && c.Fits != nil {
		var names []string
		for _, f := range fitting {
			names = append(names, fmt.Sprintf("%q", g.headers[f.at]))
		}
		g.doubts = append(g.doubts, fmt.Sprintf("%s could each be the column %s; say which with --map %s=%s",
			strings.Join(names, " and "), c.Name, c.Name, names[0]))
	}
	g.found[c.Name] = fitting[0].at
	g.taken[fitting[0].at] = true
}

// rank says how near a header is to a column: 0 its own name, 1 what people call it, 2 nearly, 3 not at all.
func (g *guesser) rank(c *Column, header string) int {
	k := key(header)
	switch {
	case tabular.Canonical(header) == tabular.Canonical(c.Name), k == key(c.Name):
		return 0
	case k == "":
		return 3
	case slices.ContainsFunc(c.Called, func(name string) bool { return key(name) == k }):
		return 1
	case nearly(header, c):
		return 2
	}
	return 3
}

// nearly reports whether a header has a slip of the keyboard in a name of the column, or has it among other words.
func nearly(header string, c *Column) bool {
	k, all := key(header), words(header)
	for _, name := range append([]string{c.Name}, c.Called...) {
		n := key(name)
		if len(n) >= 5 && slips(k, n) <= min(len(n)/5, 2) {
			return true
		}
		if inner := words(name); c.Fits != nil && len(n) >= 3 && len(inner) > 0 && len(all) > len(inner) && contains(all, inner) {
			return true
		}
	}
	return false
}

// contains reports whether some words stand among others in their order.
func contains(all, inner []string) bool {
	for i := 0; i+len(inner) <= len(all); i++ {
		if slices.Equal(all[i:i+len(inner)], inner) {
			return true
		}
	}
	return false
}

// slips counts the letters to change, add or drop: Wagner and Fischer 1974, Journal of the ACM 21, 168-173.
func slips(a, b string) int {
	if len(a) > 60 || len(b) > 60 {
		return 60
	}
	last := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range len(a) {
		row := make([]int, len(b)+1)
		row[0] = i + 1
		for j := range len(b) {
			change := 1
			if a[i] == b[j] {
				change = 0
			}
			row[j+1] = min(last[j]+change, last[j+1]+1, row[j]+1)
		}
		last = row
	}
	return last[len(b)]
}

// fit returns the share of the cells under a header that fit a column, 1 where there are none.
func (g *guesser) fit(c *Column, at int) float64 {
	if c.Fits == nil {
		return 1
	}
	n, good := 0, 0
	for _, row := range g.samples {
		if at >= len(row) || strings.TrimSpace(row[at]) == "" {
			continue
		}
		n++
		if c.Fits(strings.TrimSpace(row[at])) {
			good++
		}
	}
	if n == 0 {
		return 1
	}
	return float64(good) / float64(n)
}

// other reports whether another column is called so as well, and its cells fit it better.
func (g *guesser) other(c *Column, at, rank int) bool {
	fit := g.fit(c, at)
	for i := range g.columns {
		o := &g.columns[i]
		_, done := g.found[o.Name]
		if o.Name == c.Name || done || g.meant[tabular.Canonical(o.Name)] || g.rank(o, g.headers[at]) > rank {
			continue
		}
		if better := g.fit(o, at); better > fit || better == fit && (rank == 2 || c.Fits == nil) {
			return true
		}
	}
	return false
}

// wordy reports whether a column has its own name, and yet its cells are those of the one that stands in for it: under
// "damage" stand words, and no column is called description.
func (g *guesser) wordy(c *Column, at int) bool {
	if c.Or == "" || len(g.samples) == 0 || g.fit(c, at) > 0 {
		return false
	}
	if _, done := g.found[c.Or]; done || g.meant[tabular.Canonical(c.Or)] {
		return false
	}
	for i := range g.columns {
		if o := &g.columns[i]; o.Name == c.Or {
			if g.fit(o, at) < 1 || slices.ContainsFunc(g.headers, func(h string) bool { return g.rank(o, h) <= 1 && h != g.headers[at] }) {
				return false
			}
			g.found[o.Name] = at
			g.taken[at] = true
			return true
		}
	}
	return false
}
