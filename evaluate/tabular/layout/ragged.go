package layout

import (
	"fmt"
	"regexp"
	"strings"

	"wreckoner/evaluate/tabular"
)

// endsInFigure is a text behind which a delimiter may be missing.
var endsInFigure = regexp.MustCompile(`[\s;:][£$€]?[0-9][0-9,.]*k?$`)

// A mender puts a row with too many or too few cells right, where only one way fits.
type mender struct {
	columns []*Column // of each header, nil for one that nobody reads
	comma   string
	sheet   bool // the cells have their places: none is joined with its neighbour
}

// mend returns the cells of a row, one for each header, or what is wrong with it. what says what was taken for what.
func (m *mender) mend(cells []string) (fixed []string, what, fault string) {
	n := len(m.columns)
	for len(cells) > n && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	switch {
	case len(cells) == n:
		return cells, "", ""
	case len(cells) < n && m.sheet:
		return append(append([]string(nil), cells...), make([]string, n-len(cells))...), "", ""
	case len(cells) < n:
		return m.short(cells)
	case m.sheet:
		return nil, "", tabular.Beyond(len(cells))
	}
	return m.long(cells)
}

// short reads a row whose last cells are missing, where all that is there fits its column.
func (m *mender) short(cells []string) (fixed []string, what, fault string) {
	fixed = append(append([]string(nil), cells...), make([]string, len(m.columns)-len(cells))...)
	for i, c := range m.columns {
		if i < len(cells) && (c == nil || c.Fits == nil) && endsInFigure.MatchString(strings.TrimSpace(cells[i])) {
			return nil, "", tabular.Ragged(len(cells), len(m.columns))
		}
		if c != nil && !c.fits(fixed[i]) {
			return nil, "", tabular.Ragged(len(cells), len(m.columns))
		}
	}
	return fixed, "its last cells are missing and read as blank", ""
}

// mostSpare is how many cells a row may have too many.
const mostSpare = 12

// long reads a row with delimiters within its cells, where only one way of joining them fits.
func (m *mender) long(cells []string) (fixed []string, what, fault string) {
	spare := len(cells) - len(m.columns)
	if spare > mostSpare {
		return nil, "", tabular.Ragged(len(cells), len(m.columns))
	}
	ways := m.ways(cells, spare)
	switch len(ways) {
	case 0:
		return nil, "", tabular.Ragged(len(cells), len(m.columns))
	case 1:
		for i, run := range ways[0] {
			if run > 1 {
				what = fmt.Sprintf("the %s in %q is read as part of the cell, as it fits no other way", delimiterName(m.comma),
					excerpt(m.join(cells, ways[0], i)))
			}
			fixed = append(fixed, m.join(cells, ways[0], i))
		}
		return fixed, what, ""
	}
	return nil, "", m.both(cells, ways)
}

func delimiterName(d string) string {
	switch d {
	case ";":
		return "semicolon"
	case "\t":
		return "tab"
	}
	return "comma"
}

// both says two ways in which a row can be read.
func (m *mender) both(cells []string, ways [][]int) string {
	for i := range m.columns {
		if ways[0][i] != ways[1][i] {
			return fmt.Sprintf("%s, and could be read in two ways, with %q or with %q in one cell; put the right one in quotes",
				strings.SplitN(tabular.Ragged(len(cells), len(m.columns)), ";", 2)[0],
				excerpt(m.widest(cells, ways[0])), excerpt(m.widest(cells, ways[1])))
		}
	}
	return tabular.Ragged(len(cells), len(m.columns))
}

// widest is the cell of a way that takes the most.
func (m *mender) widest(cells []string, way []int) string {
	best := 0
	for i, run := range way {
		if run > way[best] {
			best = i
		}
	}
	return m.join(cells, way, best)
}

// join returns the cell i of a way of reading.
func (m *mender) join(cells []string, way []int, i int) string {
	from := 0
	for _, run := range way[:i] {
		from += run
	}
	return strings.Join(cells[from:from+way[i]], m.comma)
}

// ways returns up to two ways of joining cells so that each fits its column: how many go to each.
func (m *mender) ways(cells []string, spare int) [][]int {
	dead := map[[2]int]bool{}
	var found [][]int
	way := make([]int, len(m.columns))
	var try func(i, from int) bool
	try = func(i, from int) bool {
		if i == len(m.columns) {
			if from == len(cells) {
				found = append(found, append([]int(nil), way...))
				return true
			}
			return false
		}
		if dead[[2]int{i, from}] {
			return false
		}
		any := false
		for run := 1; from+run <= len(cells)-(len(m.columns)-i-1) && run <= spare+1; run++ {
			if !m.may(i, cells[from:from+run]) {
				continue
			}
			way[i] = run
			if try(i+1, from+run) {
				any = true
			}
			if len(found) > 1 {
				return true
			}
		}
		dead[[2]int{i, from}] = !any
		return any
	}
	try(0, 0)
	return found
}

// may reports whether some cells joined can be the cell of a header.
func (m *mender) may(i int, cells []string) bool {
	c := m.columns[i]
	if c == nil {
		return true
	}
	return c.fits(strings.Join(cells, m.comma))
}

func excerpt(text string) string { return tabular.Shorten(text, 60) }
