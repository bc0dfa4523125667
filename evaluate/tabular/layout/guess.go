package layout

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// guesser finds the columns of a header.
type guesser struct {
	columns []Column
	headers []string
	samples [][]string // rows below the header
	taken   map[int]bool
	found   map[string]int // column name to position
	doubts  []string       // headers of which two could be one column
	meant   map[string]bool
	fits    map[fitKey]float64
	names   map[string]nameForms
}

// guess returns the position of each column that the header has under another name than its own, or has in another
// place than its own name says. given are the columns that somebody has placed.
func guess(columns []Column, headers []string, samples [][]string, given map[string]string) *guesser {
	g := &guesser{columns: columns, headers: headers, samples: samples, taken: map[int]bool{}, found: map[string]int{},
		meant: map[string]bool{}, fits: map[fitKey]float64{}, names: formsOf(columns)}
	for name, header := range given {
		g.meant[tabular.Canonical(name)] = true
		for i, h := range headers {
			if tabular.Canonical(h) == tabular.Canonical(header) {
				g.taken[i] = true
			}
		}
	}
	for _, rank := range []int{0, 1, 1, 2} { // once more, as a header that two columns are called may now be the other's
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
	fitting := g.candidates(c, rank)
	if len(fitting) == 0 || rank == 0 && g.wordy(c, fitting[0]) {
		return
	}
	if len(fitting) > 1 && rank == 0 {
		return // two columns of one name: whoever binds them says so
	}
	if len(fitting) > 1 && c.Fits != nil {
		var names []string
		for _, at := range fitting {
			names = append(names, fmt.Sprintf("%q", g.headers[at]))
		}
		g.doubts = append(g.doubts, fmt.Sprintf("%s could each be the column %s; say which with --map %s=%s",
			strings.Join(names, " and "), c.Name, c.Name, names[0]))
	}
	g.found[c.Name] = fitting[0]
	g.taken[fitting[0]] = true
}

// candidates returns the positions of the headers of one rank that may be a column.
func (g *guesser) candidates(c *Column, rank int) []int {
	var fitting []int
	for i, h := range g.headers {
		if !g.taken[i] && h != "" && g.rank(c, h) == rank && g.may(c, i, rank) {
			fitting = append(fitting, i)
		}
	}
	return fitting
}

// may reports whether the cells under a header allow that it is a column.
func (g *guesser) may(c *Column, at, rank int) bool {
	fit := g.fit(c, at)
	switch {
	case rank == 0:
		return fit > 0 || !g.better(c, at)
	case rank == 2 && c.Fits != nil && fit < 0.6:
		return false
	}
	return fit > 0 && !g.other(c, at, rank)
}

// rank says how near a header is to a column: 0 its own name, 1 what people call it, 2 nearly, 3 not at all.
func (g *guesser) rank(c *Column, header string) int {
	k := key(header)
	own := g.names[c.Name]
	switch {
	case tabular.Canonical(header) == own.canonical, k == own.keys[0]:
		return 0
	case k == "":
		return 3
	case slices.Contains(own.keys, k):
		return 1
	case own.nearly(header, k, c.Fits != nil):
		return 2
	}
	return 3
}

// nameForms are a column's own name, which comes first, and what people call it, as headers are compared.
type nameForms struct {
	canonical string
	keys      []string
	words     [][]string
}

func formsOf(columns []Column) map[string]nameForms {
	all := map[string]nameForms{}
	for i := range columns {
		c := &columns[i]
		f := nameForms{canonical: tabular.Canonical(c.Name)}
		for _, name := range append([]string{c.Name}, c.Called...) {
			w := words(name)
			f.keys, f.words = append(f.keys, strings.Join(w, "")), append(f.words, w)
		}
		all[c.Name] = f
	}
	return all
}

// nearly reports whether a header has a slip of the keyboard in a name of the column, or, where its cells can tell, has
// a name among other words.
func (f nameForms) nearly(header, k string, tell bool) bool {
	all := words(header)
	for i, n := range f.keys {
		if len(n) >= 5 && len(k) >= len(n)-2 && len(k) <= len(n)+2 && slips(k, n) <= min(len(n)/5, 2) {
			return true
		}
		if inner := f.words[i]; tell && len(n) >= 3 && len(inner) > 0 && len(all) > len(inner) && contains(all, inner) {
			return true
		}
	}
	return false
}

// idle are words of a header that change nothing of what stands under it. "Salvage value" is not the value.
var idle = []string{"the", "of", "our", "a", "an", "lot", "lots", "vehicle", "veh", "car", "cars", "gbp", "pounds",
	"approx", "approximate", "est", "estimated", "current", "yes", "no", "y", "n", "or", "and", "given", "if", "known",
	"in", "k", "000", "000s", "thousand", "thousands"}

// contains reports whether some words stand among others in their order, and the others are idle.
func contains(all, inner []string) bool {
	for i := 0; i+len(inner) <= len(all); i++ {
		if !slices.Equal(all[i:i+len(inner)], inner) {
			continue
		}
		rest := append(slices.Clone(all[:i]), all[i+len(inner):]...)
		return !slices.ContainsFunc(rest, func(w string) bool { return !slices.Contains(idle, w) })
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

// better reports whether another header is what people call a column, and its cells fit where those under the column's
// own name do not: the kind of car stands under "Category" and the marker under "Cat".
func (g *guesser) better(c *Column, at int) bool {
	for i, h := range g.headers {
		if i != at && h != "" && !g.taken[i] && g.rank(c, h) == 1 && g.fit(c, i) > 0.8 {
			return true
		}
	}
	return false
}

// fit returns the share of the cells under a header that fit a column, 1 where there are none.
func (g *guesser) fit(c *Column, at int) float64 {
	if c.Fits == nil {
		return 1
	}
	key := fitKey{c.Name, at}
	if fit, known := g.fits[key]; known {
		return fit
	}
	fit := g.share(c, at)
	g.fits[key] = fit
	return fit
}

// fitKey is a column and the position of a header.
type fitKey struct {
	column string
	at     int
}

// share counts the cells under a header that fit a column.
func (g *guesser) share(c *Column, at int) float64 {
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
			if g.fit(o, at) < 1 || slices.ContainsFunc(g.headers, func(h string) bool {
				return g.rank(o, h) <= 1 &&
					h != g.headers[at]
			}) {
				return false
			}
			g.found[o.Name] = at
			g.taken[at] = true
			return true
		}
	}
	return false
}
